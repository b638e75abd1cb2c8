"""One row of a plan as it is answered: what to do, what one gets and with which interval, what gets worse, its cost.

Made from the row and from nothing else; `answer` puts rows into sentences.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from polepiece.bench import BANDS, QUANTITIES, loudest, span_words, threshold_of
from polepiece.moves import KINDS, move_words
from polepiece.planning.record import Row

MOST_BESIDE = 2  # of what gets better beside the quantity that decides
_BARS = {"magnet", "charge", "flip"}


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerRow:
    """One line for the bench."""

    rank: int  # of the plan, for ``--why``
    do: str  # pickup and hand movement
    get: str  # the quantity that decides, with the one interval of the row
    heard: str  # likely, maybe, hardly, no
    time: str  # minutes, and what is bought
    worse: str  # what gets worse, in words; empty where nothing does


def is_bar(row: Row) -> bool:
    """Tell whether a row moves a magnet."""
    return bool(_BARS & set(row.kind.split("+")))


def answer_row(row: Row) -> AnswerRow:
    """Return one row in words; the page's table says the same."""
    return AnswerRow(
        rank=row.rank, do=row.done or moves_in_words(row) or "do nothing", get=_get(row), heard=heard_of(row),
        time=f"{row.minutes} min, {cost_of(row)}" if row.change else "", worse="; ".join(worse_of(row)),
    )  # fmt: skip


def heard_of(row: Row) -> str:
    """Return the scale of a row; of a plan that was kept before there was one, from its yes, maybe or no."""
    return row.heard or {"yes": "likely", "maybe": "maybe"}.get(row.likely_heard, "no")


def moves_in_words(row: Row) -> str:
    """Return the moves of a row as they are said, one after the other."""
    return ", ".join(move_words(one) for one in row.moves)


def cost_of(row: Row) -> str:
    """Return the cost of a row in a word or two."""
    if row.cost != "none":
        return row.cost
    soldered = any(KINDS[kind].in_cavity for kind in row.kind.split("+") if kind in KINDS)
    return "free" if row.free else "solder" if soldered else "no parts"


def worse_of(row: Row) -> list[str]:
    """Return what gets worse: quantities, then what is no quantity (a control that is gone, hum, balance)."""
    known = [key for key in row.worse if key in QUANTITIES and key != _lost_in_figures(row)]
    if any("against the" in one for one in row.loses):  # how loud it is against the others says it already
        known = [key for key in known if key != "level"]
    said = [QUANTITIES[k].beside_words(row.moved[k]) if k in row.moved else QUANTITIES[k].short for k in known]
    return said + list(row.loses)


def better_of(row: Row) -> list[str]:
    """Return what gets better beside the quantity that decides, in words."""
    known = [key for key in row.better if key in row.moved and key != _decides(row)]
    known.sort(key=lambda key: -abs(row.moved[key]) / threshold_of(key))
    return [QUANTITIES[key].beside_words(row.moved[key]) for key in known[:MOST_BESIDE]]


def _judged_by(row: Row) -> tuple[Mapping[str, float], Mapping[str, tuple[float, float]]]:
    if row.use == "re-set" and row.effect_at_old_level is not None:
        return row.effect_at_old_level, row.interval_at_old_level
    return row.effect, row.interval


def _decides(row: Row) -> str | None:
    if row.decides == "pull" and "shift" in row.better:  # pull itself is not heard, its effect is
        return "shift"
    return row.decides if row.decides in QUANTITIES else loudest(_judged_by(row)[0])


def interval_of(row: Row) -> tuple[str, float, tuple[float, float] | None] | None:
    """Return the one quantity of a row that is said with its interval: key, change in its unit, 90 % interval.

    The quantity that decides where it has an interval of its own; else the string that moves most (unevenness is made
    of strings), or the level.
    """
    effect, spans = _judged_by(row)
    key = _decides(row)
    if key is None:
        return None
    quantity = QUANTITIES[key]
    if (number := quantity.number or quantity.same) in spans:
        return key, row.moved.get(key, effect.get(number, 0.0)), spans[number]
    hertz = effect.get("resonance_hz")
    if key == "resonance" and hertz and "resonance_hz" in spans and key in row.moved:
        low, high = (one * row.moved[key] / hertz for one in spans["resonance_hz"])
        return key, row.moved[key], (min(low, high), max(low, high))
    if key == "shift" and (string := _most_detuned(effect)) in spans:
        low, high = spans[string]
        return key, -effect[string], (-high, -low)
    others = ("level", *BANDS, "wound") if key != "unevenness" else tuple(f"string{n}" for n in range(1, 10))
    other = loudest(effect, [one for one in others if QUANTITIES[one].number in spans])
    if other is None:
        return key, row.moved.get(key, 0.0), None
    return other, effect[QUANTITIES[other].number], spans[QUANTITIES[other].number]


def _lost_in_figures(row: Row) -> str | None:
    """Return the quantity that is said in figures although it gets worse, so that it is not said a second time."""
    shown = interval_of(row)
    return shown[0] if shown is not None and shown[0] != _decides(row) and shown[0] in row.worse else None


def _most_detuned(effect: Mapping[str, float]) -> str:
    """Return the number of the string whose detuning moves most; a shift is negative, so a rise is less of it."""
    found = [key for key in effect if key.startswith("partial_shift_cents.")]
    return max(found, key=lambda key: abs(effect[key]), default="")


def _get(row: Row) -> str:
    shown, key = interval_of(row), _decides(row)
    if shown is None or key is None:
        return "in phase with the other pickup" if row.kind == "flip" else ""
    at, value, span = shown
    quantity = QUANTITIES[at]
    ends = "" if span is None else f" ({span[0]:+.1f} to {span[1]:+.1f})"
    figure = f"{quantity.short} {value:+.1f} {quantity.unit}{ends}"
    joint = "; worse: " if _lost_in_figures(row) else ": "
    return figure if at == key else f"{QUANTITIES[key].beside_words(row.moved.get(key, 0.0))}{joint}{figure}"


def said_of_row(row: Row) -> str:
    """Return what a row does as a clause with its interval in brackets."""
    shown, key = interval_of(row), _decides(row)
    if shown is None or key is None:
        return ""
    at, value, span = shown
    figure = f"{QUANTITIES[at].moved_words(value)}{span_words(span)}"
    joint = "; worse: " if _lost_in_figures(row) else "; "
    return figure if at == key else f"{QUANTITIES[key].beside_words(row.moved.get(key, 0.0))}{joint}{figure}"
