"""What the trade says of bars in a stock full-size humbucker: common practice, no source.

Nothing here enters a computed number, and no constant was chosen by it. Each cell carries how sure the trade is
of it, and the comparison by which it can be judged; a word that has no measure ("firm", "even") is not computed.
"""

from dataclasses import dataclass
from typing import Literal

Strength = Literal["agreed", "leaning", "disputed"]
Relation = Literal["above", "below", "not below", "about"]

BASIS = "common practice, no source"
CONFOUNDED = (
    "Confounded: reputations come from whole pickups. Ferrite sits in hot coils, Alnico 2 in mild ones, and nobody "
    "says how the bars were charged. A bar adds no turns. Large: 3 to ferrite. Moderate: 2 to 5. Small and often "
    "missed blind: 2-3-4, 5 against unoriented, polished against rough. Half a millimetre of height often does more."
)
COLUMNS = ("level", "lows", "mids", "highs", "where")
SAME_LEVEL = 1.5  # dB: "about the same level" of 2 and 4
AS_IT = 0.5  # dB: "as polished 5": half of what is heard side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """``quantity`` of the grade against that of the grade ``other``; "about" is within +-``within``."""

    quantity: str  # key of `trade.QUANTITY`
    relation: Relation
    other: str
    within: float = 0.0  # dB


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell: the saying in our words, how sure the trade is, and what can be checked of it."""

    grade: str
    column: str
    says: str
    strength: Strength
    claims: tuple[Claim, ...] = ()  # none: not computed
    why_not: str = ""  # where no claim stands for the saying, or only for a part of it


def _above(quantity: str, *others: str) -> tuple[Claim, ...]:
    return tuple(Claim(quantity=quantity, relation="above", other=one) for one in others)


def _below(quantity: str, *others: str) -> tuple[Claim, ...]:
    return tuple(Claim(quantity=quantity, relation="below", other=one) for one in others)


def _about(quantity: str, other: str, within: float) -> tuple[Claim, ...]:
    return (Claim(quantity=quantity, relation="about", other=other, within=within),)


def _cell(
    grade: str, column: str, says: str, strength: Strength = "agreed", claims: tuple[Claim, ...] = (), why_not: str = ""
) -> Cell:
    return Cell(grade=grade, column=column, says=says, strength=strength, claims=claims, why_not=why_not)


FIRM = "firmness is feel under the hand and in the attack; no quantity here stands for it"
EVEN = '"even" has no reference to be compared with'
WHERE = "where a bar is used is custom, not a computed quantity"
_A2, _A3, _A4, _A5, _A8 = "alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8"
_FERRITE, _UNORIENTED, _ROUGH = "ceramic-8", "alnico-5-unoriented", "alnico-5-rough-cast"

CELLS: tuple[Cell, ...] = (
    _cell(_A2, "level", "moderate: over 3, under 5", claims=(*_above("level", _A3), *_below("level", _A5))),
    _cell(_A2, "lows", "soft, not very firm", why_not=FIRM),
    _cell(_A2, "mids", "come forward", "leaning", _above("mids", _A5), "taken as: more against the level than 5 has"),
    _cell(_A2, "highs", "sweet, rounded off", claims=_below("treble", _A5)),
    _cell(_A2, "where", "everywhere, very common", why_not=WHERE),
    _cell(_A3, "level", "the least of all", claims=_below("level", _A2, _A4, _A5, _A8, _FERRITE)),
    _cell(_A3, "lows", "less than 2", claims=_below("low end", _A2)),
    _cell(_A3, "highs", "clearer, a little more than 2", "disputed", _above("treble", _A2)),
    _cell(_A3, "where", "neck humbuckers and single coils, seldom at the bridge", why_not=WHERE),
    _cell(_A4, "level", "moderate, much like 2", claims=_about("level", _A2, SAME_LEVEL)),
    _cell(_A4, "lows", "even", why_not=EVEN),
    _cell(_A4, "mids", "even", why_not=EVEN),
    _cell(_A4, "highs", "even", "leaning", why_not=EVEN),
    _cell(_A4, "where", "both places; more at the bridge", "disputed", why_not=WHERE),
    _cell(_A5, "level", "fairly high, over 2", claims=_above("level", _A2)),
    _cell(_A5, "lows", "strong and firm", claims=_above("low end", _A2), why_not=f"strong alone is judged; {FIRM}"),
    _cell(_A5, "mids", "stand back, in a mild coil", "leaning", _below("mids", _A2),
          "taken as: less against the level than 2 has"),
    _cell(_A5, "highs", "strong", claims=_above("treble", _A2)),
    _cell(_A5, "where", "any place, the most common", why_not=WHERE),
    _cell(
        _A8, "level", "fairly high, no less than 5",
        claims=(Claim(quantity="level", relation="not below", other=_A5), *_above("level", _A2)),
    ),
    _cell(_A8, "lows", "firm", why_not=FIRM),
    _cell(_A8, "mids", "strong", claims=_above("mid end", _A5)),
    _cell(_A8, "highs", "strong, but softer than 5 at the very top", "leaning",
          (*_above("top end", _A2), *_below("presence", _A5))),
    _cell(_A8, "where", "high gain", why_not=WHERE),
    _cell(_FERRITE, "level", "the strongest impression", "leaning", _above("level", _A2, _A3, _A4, _A5),
          "impression is not computed, level is"),
    _cell(_FERRITE, "lows", "firm and tight", why_not=FIRM),
    _cell(_FERRITE, "highs", "the most of all, most presence; can turn hard",
          claims=_above("treble", _A2, _A3, _A4, _A5)),
    _cell(_FERRITE, "where", "high gain", why_not=WHERE),
    _cell(_UNORIENTED, "level", "between 2 and 5", claims=(*_above("level", _A2), *_below("level", _A5))),
    _cell(_UNORIENTED, "lows", "less firm than 5", why_not=FIRM),
    _cell(_UNORIENTED, "highs", "more than 2, less than 5", claims=(*_above("treble", _A2), *_below("treble", _A5))),
    _cell(_ROUGH, "level", "as polished 5", claims=_about("level", _A5, AS_IT)),
    _cell(_ROUGH, "lows", "as 5", claims=_about("lows", _A5, AS_IT)),
    _cell(_ROUGH, "mids", "as 5", claims=_about("mids", _A5, AS_IT)),
    _cell(_ROUGH, "highs", "a trace less at the top", "disputed", _below("presence", _A5)),
    _cell(_ROUGH, "where", "a mild cure for shrillness", why_not=WHERE),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One statement nobody fights over; the tests hold these and no others."""

    name: str
    claims: tuple[tuple[str, Claim], ...]  # (grade, claim), all must hold


STATEMENTS: tuple[Statement, ...] = (
    Statement(
        name="3 has the least level",
        claims=tuple((_A3, c) for c in _below("level", _A2, _A4, _A5, _A8, _FERRITE)),
    ),
    Statement(name="2 and 4 lie within 1.5 dB", claims=tuple((_A4, c) for c in _about("level", _A2, SAME_LEVEL))),
    Statement(name="5 is louder than 2", claims=tuple((_A5, c) for c in _above("level", _A2))),
    Statement(name="8 is louder than 2", claims=tuple((_A8, c) for c in _above("level", _A2))),
    Statement(name="ferrite is louder than 2", claims=tuple((_FERRITE, c) for c in _above("level", _A2))),
    Statement(
        name="ferrite has more treble against lows than 2",
        claims=tuple((_FERRITE, c) for c in _above("treble over lows", _A2)),
    ),
)
