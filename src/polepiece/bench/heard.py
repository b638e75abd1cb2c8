"""Whether a change is heard, in one scale for every page and command: likely, maybe, hardly, no.

The bounds are in thresholds of the quantity that decides (`quantities.threshold_of`): one is just heard side by side,
level-matched; two are still noticed in a mix or the next day (common practice, no source).
"""

from collections.abc import Iterable, Mapping
from typing import Literal

from polepiece.bench.quantities import IN_A_MIX, QUANTITIES, threshold_of
from polepiece.bench.state import BANDS

Heard = Literal["likely", "maybe", "hardly", "no"]
HARDLY = 0.5  # thresholds: less is not heard by anyone who was asked beforehand (judgement)
HEARD_WORDS: dict[str, str] = {
    "likely": "likely to be heard",
    "maybe": "maybe heard, side by side",
    "hardly": "hardly heard, even side by side",
    "no": "not heard",
}
OF_ANY = ("level", *BANDS, "wound")  # what is asked where no complaint says which quantity decides


def heard_scale(thresholds: float, *, sure: bool = True) -> Heard:
    """Return how likely a change is heard.

    Parameters
    ----------
    thresholds : float
        Size of the change over its threshold.
    sure : bool
        Its 90 % interval does not reach down to no change.
    """
    size = abs(thresholds)
    if size >= IN_A_MIX:
        return "likely" if sure else "maybe"
    return "maybe" if size >= 1.0 else "hardly" if size >= HARDLY else "no"


def loudest(difference: Mapping[str, float], keys: Iterable[str] = OF_ANY) -> str | None:
    """Return the quantity that moved most, in thresholds, by its key; None where none is there.

    Parameters
    ----------
    difference : mapping
        After minus before by dotted key (`State.numbers`).
    keys : iterable of str
        Keys of `QUANTITIES` that have a number of their own.
    """
    there = [key for key in keys if QUANTITIES[key].number in difference]
    return max(there, key=lambda key: abs(difference[QUANTITIES[key].number]) / threshold_of(key), default=None)


def difference_words(difference: Mapping[str, float], interval: Mapping[str, tuple[float, float]]) -> str:
    """Return a difference in a sentence: the level, what moves most beside it, and whether that is heard.

    Where the level is as before, the far end of its interval is judged. What moves by less than half a threshold is
    left out.

    >>> difference_words({"level_db": 0.1, "bands_db.presence": 0.5}, {"level_db": (-0.6, 0.6)})
    'as loud as before within 0.6 dB; 0.5 dB more presence: hardly heard, even side by side'
    """
    level, span = difference.get("level_db", 0.0), interval.get("level_db")
    key = loudest(difference, [one for one in OF_ANY if one != "level"])
    same = abs(level) < HARDLY * threshold_of("level")
    within = max(0.1, *map(abs, span or (level,)))
    parts = [f"as loud as before within {within:.1f} dB" if same else _level_words(level, span)]
    sizes = [_thresholds("level", within if same else level, None if same else span)]
    if key is not None:
        number = QUANTITIES[key].number
        value = difference[number]
        if abs(value) >= HARDLY * threshold_of(key):
            parts.append(f"{QUANTITIES[key].moved_words(value)}{span_words(interval.get(number))}")
        sizes.append(_thresholds(key, value, interval.get(number)))
    size, sure = max(sizes)
    return f"{'; '.join(parts)}: {HEARD_WORDS[heard_scale(size, sure=sure)]}"


def span_words(span: tuple[float, float] | None) -> str:
    """Return an interval in brackets behind a size that is said without sign: its ends without theirs where it may."""
    if span is None:
        return ""
    low, high = sorted(span)
    if low >= 0.0 or high <= 0.0:
        low, high = sorted((abs(low), abs(high)))
        return f" ({low:.1f} to {high:.1f})"
    return f" ({low:+.1f} to {high:+.1f})"


def _thresholds(key: str, value: float, span: tuple[float, float] | None) -> tuple[float, bool]:
    sure = span is None or not span[0] <= 0.0 <= span[1]
    return abs(value) / threshold_of(key), sure


def _level_words(level: float, span: tuple[float, float] | None) -> str:
    return f"{QUANTITIES['level'].moved_words(level)}{span_words(span)}"
