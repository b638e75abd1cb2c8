"""What a gauss probe laid on every pole top should say, with its interval.

A probe has its element a little above the face that it lies on; how far is not printed on most of them, so the
interval spans `PROBE_LOW` to `PROBE_HIGH` beside what the bar, its charge and its contact leave open.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench.bench import Bench
from polepiece.bench.readings import field
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Guitar, Pickup, field_ratio, ninety_ends
from polepiece.guitar import draws as draws_of
from polepiece.pickup import engine, string_places

PROBE = 1.0e-3  # m from the face to the sensing element; assumption, flat Hall probes
PROBE_LOW, PROBE_HIGH = 0.5e-3, 1.5e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class PoleTop:
    """One pole top: vertical flux density at the probe's element, + = up, out of the pickup."""

    row: str  # "screws", "slugs" or "rods"
    pole: int  # 1 is under string 1
    flux_density: float  # T, at PROBE above the face
    interval: tuple[float, float]  # T, 90 %
    on_cover: bool  # the face is the cover's, not the pole's


def pole_tops(guitar: Guitar, pickup: str, *, draws: int = DRAWS, bench: Bench | None = None) -> tuple[PoleTop, ...]:
    """Return what a probe should say on every pole, rows one after the other, string 1 first.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    draws : int
        Of the 90 % interval.
    bench : Bench, optional

    Notes
    -----
    The value is the field of the solved magnet at the element. A draw moves it by the factor by which it moves the
    field along the string over that pole: magnet and poles stay the same shape, so near and far go together.
    """
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    low, high = ninety_ends(drawn_factors(guitar, the_pickup, draws, bench))
    places = pole_places(the_pickup)
    at = {}
    for height in (PROBE, PROBE_LOW, PROBE_HIGH):
        points = np.array([(one.x, one.y, one.face + height) for one in places])
        at[height] = field(guitar, the_pickup.name, points, bench=bench).flux_density[:, 2]
    out = []
    for k, one in enumerate(places):
        string = min(one.pole, len(low)) - 1
        ends = [at[h][k] * f for h in (PROBE_LOW, PROBE_HIGH) for f in (low[string], high[string])]
        out.append(
            PoleTop(
                row=one.row, pole=one.pole, flux_density=float(at[PROBE][k]),
                interval=(float(min(ends)), float(max(ends))), on_cover=one.on_cover,
            )
        )  # fmt: skip
    return tuple(out)


@dataclass(frozen=True, slots=True, kw_only=True)
class PolePlace:
    """Where a probe is laid: the middle of a pole top in the pickup's own axes, m."""

    row: str
    pole: int  # 1 is under string 1
    x: float
    y: float
    face: float  # z of what it lies on
    on_cover: bool


def pole_places(pickup: Pickup) -> tuple[PolePlace, ...]:
    """Return every pole top, rows one after the other, string 1 first."""
    out, poles = [], pickup.poles
    for row in sorted(pickup.built.rows, key=lambda row: row.side):
        tops = np.array(row.pole.tops_now(poles))
        y = np.linspace(0.5, -0.5, len(tops)) * (len(tops) - 1) * poles.pole_spacing
        face, covered = _face(pickup, tops)
        out += [
            PolePlace(
                row=row.pole.name, pole=k + 1, x=row.x(poles), y=float(y[k]), face=float(face[k]),
                on_cover=bool(covered[k]),
            )
            for k in row.numbers(poles)
        ]  # fmt: skip
    return tuple(out)


def _face(pickup: Pickup, tops: FloatArray) -> tuple[FloatArray, "np.ndarray"]:
    """Return the height of what the probe lies on, and whether that is the cover."""
    if pickup.cover is None:
        return tops, np.zeros(len(tops), dtype=bool)
    cover = pickup.cover.z + 0.5 * pickup.cover.thickness
    return np.maximum(tops, cover), tops < cover


def drawn_factors(guitar: Guitar, pickup: Pickup, count: int, bench: Bench) -> FloatArray:
    """Return the factor of every draw on the field over every string's pole (d, k)."""
    solved = bench.magnetised(guitar, pickup)
    moves = bench.moves(pickup, solved)
    y, height = string_places(guitar, pickup)
    nominal = engine.vertical_field(solved.model, solved.pickup_table, y, height)
    ratio = field_ratio(guitar, pickup)
    return np.array(
        [
            engine.vertical_field(solved.model, solved.pickup_table + moves.at(one, pickup.magnet, ratio), y, height)
            / nominal
            for one in draws_of(count, bench.seed)
        ]
    )
