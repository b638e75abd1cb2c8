"""Does another bar go where the old one sat? Length, width and thickness, each with what to do.

The room for a bar is the old bar: what it measured, or what was assumed of it. A size that nobody measured is a
range, and where the range holds both answers the verdict is "measure first". All limits are common practice
without a source; ferrite and alnico are brittle, so nothing is ever forced, ground or cut here.

>>> one_size("thickness", here=(3.175e-3, 3.175e-3), new=(4.06e-3, 4.06e-3))
'too large'
"""

import re
from dataclasses import dataclass
from typing import Literal

from polepiece.constants import INCH
from polepiece.errors import InputError
from polepiece.guitar import Dimension, Guitar, Magnet, Pickup, key_path
from polepiece.typed_number import DIGITS, typed_float

Verdict = Literal["fits", "shim", "too large", "measure first"]
Range = tuple[float, float]  # m

DIMENSIONS: tuple[Dimension, ...] = ("length", "width", "thickness")
OVER: dict[Dimension, float] = {"length": 0.5e-3, "width": 0.1e-3, "thickness": 0.1e-3}  # m more that still goes in
UNDER: dict[Dimension, float] = {"length": 1.0e-3, "width": 0.1e-3, "thickness": 0.1e-3}  # m less that sits firmly
EPSILON = 1e-9  # m; a limit itself still fits

NEW_BAR: dict[Dimension, tuple[float, float, float]] = {  # usual, low, high of a bought long bar, m
    "length": (2.5 * INCH, 2.25 * INCH, 2.52 * INCH),
    "width": (0.5 * INCH, 0.488 * INCH, 0.504 * INCH),
    "thickness": (0.125 * INCH, 0.120 * INCH, 0.135 * INCH),
}
THICKEST_FERRITE = 0.160 * INCH
THICKEST_ROUGH = 0.145 * INCH  # rough cast is thicker and uneven; how much is an assumption
ALLOWED: dict[Dimension, Range] = {"length": (20e-3, 90e-3), "width": (3e-3, 30e-3), "thickness": (1e-3, 12e-3)}
_SIZE = re.compile(rf"({DIGITS})\s*[x×*]\s*({DIGITS})\s*[x×*]\s*({DIGITS})\s*(mm|in|inch|\")")
_HOW = "such as 63.5x12.7x3.2mm or 2.5x0.5x0.125in"
_ORDER: tuple[Verdict, ...] = ("fits", "shim", "measure first", "too large")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeCheck:
    """One dimension of the new bar against the old one; all lengths in m."""

    dimension: Dimension
    here: float  # of the bar in the pickup
    here_range: Range
    here_assumed: bool
    new: float  # of the bar that goes in
    new_range: Range
    new_assumed: bool
    verdict: Verdict
    nominal: Verdict  # of the two values alone, without their ranges
    words: str  # what to do


@dataclass(frozen=True, slots=True, kw_only=True)
class BarFit:
    """A bar against a pickup: three checks and the worst of their verdicts."""

    grade: str
    finish: str
    bars: int  # how many of them the pickup takes
    magnetised_through: str  # what to ask for when buying
    checks: tuple[SizeCheck, ...]
    verdict: Verdict

    @property
    def assumed(self) -> bool:
        """Whether any size in it was not measured."""
        return any(one.here_assumed or one.new_assumed for one in self.checks)


def bar_fit(
    guitar: Guitar,
    pickup: str,
    grade: str,
    *,
    finish: str = "polished",
    size: tuple[float, float, float] | None = None,
) -> BarFit:
    """Check a bar against the one that sits in ``pickup``.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    grade : str
        Slug of the bar that goes in; ferrite and rough cast come thicker.
    finish : str
        "polished" or "rough-cast".
    size : (length, width, thickness), m, optional
        Of the new bar, measured. None: a bought long bar, 2.5 x 0.5 x 0.125 in with its usual scatter.

    Raises
    ------
    InputError
        For rod magnets, which cannot be swapped, and for a size that is no bar's.
    """
    the_pickup = guitar.pickup(pickup)
    if (stay := the_pickup.built.magnets_stay) is not None:
        raise InputError(f"{the_pickup.name} has no bar: {stay.reason}.")
    place = guitar.pickups.index(the_pickup)
    checks = []
    for k, dimension in enumerate(DIMENSIONS):
        new, new_range = _new(dimension, grade, finish, None if size is None else size[k])
        here, here_range, assumed = _here(guitar, place, the_pickup.magnet, dimension)
        verdict = one_size(dimension, here=here_range, new=new_range)
        nominal = one_size(dimension, here=(here, here), new=(new, new))
        checks.append(
            SizeCheck(
                dimension=dimension, here=here, here_range=here_range, here_assumed=assumed, new=new,
                new_range=new_range, new_assumed=size is None, verdict=verdict, nominal=nominal,
                words=_words(the_pickup, dimension, verdict, nominal, which=_which(assumed, size is None)),
            )
        )  # fmt: skip
    return BarFit(
        grade=grade, finish=finish, bars=the_pickup.built.bars,
        magnetised_through=the_pickup.magnet.magnetised_through, checks=tuple(checks),
        verdict=max((one.verdict for one in checks), key=_ORDER.index),
    )  # fmt: skip


def parse_bar_size(text: str) -> tuple[float, float, float]:
    """Read the size of a bar, "63.5 x 12.7 x 3.2 mm" or "2.5x0.5x0.125in", as (length, width, thickness) in m.

    Raises
    ------
    InputError
        When it is no three numbers with one unit, out of order, or no size of a bar.
    """
    numbers = _SIZE.fullmatch(text.strip().lower())
    if numbers is None:
        raise InputError(
            f"a bar of {text!r} is not understood; write length x width x thickness with one unit, {_HOW}."
        )
    unit = INCH if numbers[4] in ("in", '"', "inch") else 1e-3
    size = tuple(typed_float(numbers[k], f"a bar of {text!r}", allowed=f"Write {_HOW}") * unit for k in (1, 2, 3))
    for dimension, value in zip(DIMENSIONS, size):
        low, high = ALLOWED[dimension]
        if not low <= value <= high:
            slip = "inches given as mm?" if value < low else "mm given as inches, or another order?"
            raise InputError(
                f"a bar of {text!r} has a {dimension} of {value * 1e3:.3g} mm; bars lie between {low * 1e3:.0f} and "
                f"{high * 1e3:.0f} mm: {slip} Write length x width x thickness, {_HOW}."
            )
    return size[0], size[1], size[2]


def one_size(dimension: Dimension, *, here: Range, new: Range) -> Verdict:
    """Return the verdict of one dimension of which both sizes are known within ranges, m.

    Raises
    ------
    InputError
        When a range is no size of a bar.
    """
    for low, high in (here, new):
        if not 0.0 < low <= high < 0.2:
            raise InputError(f"a bar's {dimension} of {low * 1e3:.4g} to {high * 1e3:.4g} mm is no size; it is in m.")
    largest, smallest = new[1] - here[0], new[0] - here[1]
    found = {_at(dimension, largest), _at(dimension, smallest)}
    return found.pop() if len(found) == 1 else "measure first"


def _at(dimension: Dimension, excess: float) -> Verdict:
    if excess > OVER[dimension] + EPSILON:
        return "too large"
    return "shim" if excess < -UNDER[dimension] - EPSILON else "fits"


def _new(dimension: Dimension, grade: str, finish: str, measured: float | None) -> tuple[float, Range]:
    if measured is not None:
        return measured, (measured, measured)
    usual, low, high = NEW_BAR[dimension]
    if dimension == "thickness" and grade.startswith("ceramic"):
        high = THICKEST_FERRITE
    elif dimension == "thickness" and (finish == "rough-cast" or grade.endswith("rough-cast")):
        high = THICKEST_ROUGH
    return usual, (low, high)


def _here(guitar: Guitar, place: int, magnet: Magnet, dimension: Dimension) -> tuple[float, Range, bool]:
    value = float(getattr(magnet, dimension))
    path = key_path(place, f"magnet.{dimension}")
    for one in guitar.assumed:
        if one.path == path:
            low = value if one.low is None else min(one.low * 1e-3, value)
            high = value if one.high is None else max(one.high * 1e-3, value)
            return value, (low, high), True
    return value, (value, value), False


def _which(here_assumed: bool, new_assumed: bool) -> str:
    return "both bars" if here_assumed and new_assumed else "the old bar" if here_assumed else "the new bar"


def _words(pickup: Pickup, dimension: Dimension, verdict: Verdict, nominal: Verdict, *, which: str) -> str:
    assert pickup.built.bar_work is not None
    do = pickup.built.bar_work.fit_words
    if verdict != "measure first":
        return do[dimension, verdict]
    others = [do[dimension, "shim"], do[dimension, "too large"]]
    likely = {"fits": "the usual sizes fit", "shim": "the usual sizes leave room", "too large": "likely too large"}
    return f"{which}; {likely[nominal]}. If {others[0]}. If {others[1]}"
