"""Where the trade says of a bar what was not found in this pickup: one sentence, both named."""

from collections.abc import Mapping

from polepiece.guitar import grade_words
from polepiece.trade.judged import ASSUMED_GRADES, QUANTITY, cells_of
from polepiece.trade.table import Cell, Claim

FOUND = 0.5  # dB: half of what is heard side by side; less than that is not found (judgement)
_NAMES = {"low end": "lows", "mid end": "mids", "top end": "top", "treble": "top", "treble over lows": "top"}


def not_found(old: str, new: str, difference: Mapping[str, float]) -> str:
    """Return what people say of ``new`` against ``old`` and was not found; empty where they agree, or say nothing.

    Parameters
    ----------
    old, new : str
        Grades, as in the guitar file.
    difference : mapping
        New minus old at the same gap, by dotted key (`State.numbers`).
    """
    if old == new or not difference or {old, new} & set(ASSUMED_GRADES):
        return ""
    parts = []
    for grade, other, sign in ((new, old, 1.0), (old, new, -1.0)):
        for cell in cells_of(grade):
            for claim in cell.claims:
                if claim.other == other and (text := _missing(cell, claim, sign, difference)):
                    parts.append(text)
    return "" if not parts else f"People say {'; '.join(parts[:1])}."


def _missing(cell: Cell, claim: Claim, sign: float, difference: Mapping[str, float]) -> str:
    weights = QUANTITY[claim.quantity]
    if claim.relation not in ("above", "below") or not weights.keys() <= difference.keys():
        return ""
    value = sign * sum(weight * difference[key] for key, weight in weights.items())
    wanted = value if claim.relation == "above" else -value
    if wanted >= FOUND:
        return ""
    much = "the other way round" if wanted <= -FOUND else "hardly any difference"
    name = _NAMES.get(claim.quantity, claim.quantity)
    unsure = "" if cell.strength == "agreed" else f", {cell.strength}"
    return f"of {grade_words(cell.grade)} ({cell.column}{unsure}): {cell.says}; computed here, {name}: {much}"
