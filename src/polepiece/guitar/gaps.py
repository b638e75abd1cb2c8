"""Distances from strings to poles: what the two gaps and the screws of a pickup mean for every string.

The gaps of a pickup stand for its body: they are measured from the outer strings, pressed at the last fret,
to the tops of their poles *as drawn* (a screw not yet raised). A screw that is raised comes nearer to its
own string by as much, and the body does not move. On a humbucker the drawn screw head is what is measured.
"""

from collections.abc import Sequence
from math import sqrt

from polepiece.guitar.records import Pickup

OVER_COVER = 0.5e-3  # m, underside of a string over a cover's upper face at least; assumption: what a fretted string
#                      swings towards it. The tables of potentials reach 0.3 mm under that


def drawn_pole_tops(pickup: Pickup) -> tuple[float, ...]:
    """Return the height above z = 0 of the measured pole top under each string, m, string 1 first."""
    return pickup.built.pole_tops(pickup.poles)


def string_undersides(pickup: Pickup) -> tuple[float, ...]:
    """Return the height above z = 0 of the underside of a string over each pole, m, string 1 first.

    Straight from string 1 to the last string, and on it the arch of the fingerboard where its radius is known: the
    two gaps are those of the outer poles.
    """
    tops = drawn_pole_tops(pickup)
    first, last = tops[0] + pickup.gap_treble, tops[-1] + pickup.gap_bass
    steps = max(len(tops) - 1, 1)
    half = _half_row(pickup)
    return tuple(
        first
        + (last - first) * place / steps
        + arch(pickup.fingerboard_radius, half * (1.0 - 2.0 * place / steps), half)
        for place in range(len(tops))
    )


def underside_at(pickup: Pickup, y: float) -> float:
    """Return the height above z = 0 of the underside of a string at ``y`` (m), m: `string_undersides` in between."""
    tops, half = drawn_pole_tops(pickup), _half_row(pickup)
    first, last = tops[0] + pickup.gap_treble, tops[-1] + pickup.gap_bass
    share = 0.5 * (1.0 - y / half) if half > 0.0 else 0.0
    return first + (last - first) * share + arch(pickup.fingerboard_radius, y, half)


def arch(radius: float | None, y: float, half: float) -> float:
    """Return how far a string at ``y`` lies above the line through those at +-``half``, m; a circle of ``radius``.

    12 in over 52 mm: sqrt(R^2) - sqrt(R^2 - 26^2) = 1.11 mm in the middle. A radius no larger than the row is flat.
    """
    if radius is None or radius <= max(abs(y), half):
        return 0.0
    return sqrt(radius**2 - y**2) - sqrt(radius**2 - half**2)


def _half_row(pickup: Pickup) -> float:
    return 0.5 * (pickup.poles.count - 1) * pickup.poles.pole_spacing


def string_gaps(pickup: Pickup) -> tuple[float, ...]:
    """Return the gap of each string to its own pole, raised screws included, m, string 1 first."""
    heights = zip(string_undersides(pickup), drawn_pole_tops(pickup), pickup.built.raised(pickup.poles))
    return tuple(underside - top - up for underside, top, up in heights)


def row_gaps(pickup: Pickup, raised: Sequence[float]) -> tuple[float, ...]:
    """Return the gap of each string to a screw of the other row, turned up by ``raised`` (m), m, string 1 first.

    The rows are a centimetre and a half apart along the string: its rise over that is left out, as everywhere.
    """
    heights = zip(string_undersides(pickup), drawn_pole_tops(pickup), raised)
    return tuple(underside - top - up for underside, top, up in heights)


def cover_face(pickup: Pickup) -> float | None:
    """Return the height above z = 0 of the upper face of the cover, m; None where there is none."""
    cover = pickup.cover
    return None if cover is None else cover.z + 0.5 * cover.thickness


def over_cover(pickup: Pickup) -> tuple[float, ...]:
    """Return how far the underside of each string lies above the cover, m, string 1 first; empty without a cover."""
    face = cover_face(pickup)
    return () if face is None else tuple(underside - face for underside in string_undersides(pickup))


def safe_gaps(pickup: Pickup) -> tuple[float, ...]:
    """Return the smallest gap that is ever planned under each string, m, string 1 first.

    That to its pole, or the gap at which it is `OVER_COVER` over the cover, whichever is larger.
    """
    built, count = pickup.built, pickup.poles.count
    span, steps = built.safe_gap_bass - built.safe_gap_treble, max(count - 1, 1)
    safe = tuple(built.safe_gap_treble + span * place / steps for place in range(count))
    if pickup.cover is None:
        return safe
    room = zip(safe, string_gaps(pickup), over_cover(pickup))
    return tuple(max(least, gap - over + OVER_COVER) for least, gap, over in room)


def has_own_poles(pickup: Pickup, strings: int) -> bool:
    """Whether every string has a pole of its own, so that the n-th pole is that of the n-th string."""
    return pickup.poles.count == strings


def pole_words(number: int | str) -> str:
    """Return one of many poles of which none is a string's own: two rods a string, say."""
    return f"pole {number}, counted from the thin strings"
