"""Which bars to keep: the fewest and cheapest with which one pickup becomes the most different voices.

A voice is what a bar makes of the pickup at the same gap; two are as far apart as the quantity (level, lows, mids,
highs, presence) in which they differ most, in thresholds of hearing side by side.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from polepiece.bench import BANDS, QUANTITIES, Grades, threshold_of
from polepiece.errors import InputError

MOST = 6  # bars
APART = 1.0  # thresholds: nearer voices are one, heard side by side
KEYS = ("level", *BANDS)
RULE = (
    "Two voices are as far apart as they differ in level or in a band, in thresholds of hearing; nearer than one "
    "threshold they count as one. First come bars that are owned, the farthest from all kept first; then the bar with "
    "the most thresholds from the nearest one kept for its price; the end is where every other bar is within a "
    "threshold of one that is kept."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """A bar to keep: how far its voice is from the nearest before it, and what it costs."""

    grade: str
    apart: float  # thresholds
    nearest: str  # of those before it: a grade, or the bar that is in
    quantity: str  # in which they differ most: a key of `QUANTITIES`
    difference: float  # in that quantity, against the nearest, in its unit
    owned: bool
    price: Decimal | None  # None: not known; counted as the middle of the known ones


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawerSet:
    """The bars to keep in order; ``same`` are those within a threshold of one of them, and of which."""

    present: str
    voices: tuple[Voice, ...]
    same: tuple[tuple[str, str, float], ...]  # grade, the bar it is like, thresholds apart

    @property
    def cost(self) -> Decimal:
        """What the bars cost that are not owned and have a known price."""
        return sum((one.price for one in self.voices if one.price is not None and not one.owned), Decimal(0))


def drawer_set(
    found: Grades,
    *,
    owned: Collection[str] = (),
    prices: Mapping[str, Decimal] | None = None,
    most: int = MOST,
    at_level: bool = False,
) -> DrawerSet:
    """Return the bars to keep for one pickup.

    Parameters
    ----------
    found : Grades
        Of that pickup (`polepiece.bench.compare_grades`).
    owned : collection of str
        Grades that are in the drawer already.
    prices : mapping, optional
        Of a bar by its grade, all in one currency.
    most : int
        Bars.
    at_level : bool
        With the gap re-set to the old level, which `found` must hold: differences in level are set aside then.

    Raises
    ------
    InputError
        For less than one bar, or a level that was not asked for.

    Notes
    -----
    Greedy: a bar's worth is its least distance to those kept (farthest-point rule, which is at most twice as far from
    the best spread of as many points as can be, T. Gonzalez, Theoretical Computer Science 38, 293 (1985), from memory);
    divided by its price among bars that have to be bought.
    """
    if most < 1:
        raise InputError(f"{most} bars are to be kept; one at least is needed.")
    points = _points(found, at_level=at_level)
    known = dict(prices or {})
    usual = median(known.values()) if known else Decimal(1)
    there = found.present if found.present in points else ""
    kept = {there or "the bar that is in": points.get(there, dict.fromkeys(KEYS, 0.0))}
    left = {grade: point for grade, point in points.items() if grade != there}
    voices: list[Voice] = []

    def worth(grade: str) -> tuple[bool, float]:
        apart = _nearest(left[grade], kept)[1]
        mine = grade in owned
        return mine, apart if mine else apart / float(max(known.get(grade, usual), Decimal("0.01")))

    while left and len(voices) < most:
        able = [grade for grade in left if _nearest(left[grade], kept)[1] >= APART]
        if not able:
            break
        grade = max(able, key=worth)
        nearest, apart, key = _nearest(left[grade], kept)
        moved = left[grade][key] - kept[nearest][key]
        voices.append(
            Voice(
                grade=grade, apart=apart, nearest=nearest, quantity=key, difference=moved,
                owned=grade in owned, price=known.get(grade),
            )
        )  # fmt: skip
        kept[grade] = left.pop(grade)
    alike = []
    for grade, point in left.items():
        nearest, apart, _ = _nearest(point, kept)
        if apart < APART:
            alike.append((grade, nearest, apart))
    return DrawerSet(present=found.present, voices=tuple(voices), same=tuple(alike))


def _points(found: Grades, *, at_level: bool) -> dict[str, dict[str, float]]:
    """Return the voice of each grade: its differences against the bar that is in, in their units."""
    out = {}
    for one in found.results:
        moved = one.difference
        if at_level:
            if one.at_level is None:
                raise InputError("the grades were not computed at the old level; ask for at_level there.")
            moved = one.at_level.difference | {QUANTITIES["level"].number: 0.0}
        out[one.grade] = {key: moved.get(QUANTITIES[key].number, 0.0) for key in KEYS}
    return out


def _nearest(point: Mapping[str, float], kept: Mapping[str, Mapping[str, float]]) -> tuple[str, float, str]:
    """Return the nearest voice that is kept, how far it is in thresholds, and the quantity in which."""
    best = ("", float("inf"), KEYS[0])
    for name, other in kept.items():
        key = max(KEYS, key=lambda one: abs(point[one] - other[one]) / threshold_of(one))
        apart = abs(point[key] - other[key]) / threshold_of(key)
        if apart < best[1]:
            best = (name, apart, key)
    return best
