"""Which points of the axes are candidates: every combination, Latin hypercubes, Sobol points; by place, in any order.

A grid is worked out by place and takes no memory. Latin hypercubes and Sobol points (SciPy, `scipy.stats.qmc`) are
made whole: eight bytes a candidate and axis.

References
----------
McKay, Beckman and Conover 1979 (Latin hypercubes); Sobol 1967, Owen 1998 (scrambled points).
"""

from collections.abc import Sequence
from math import prod

import numpy as np
from scipy.stats import qmc

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import InputError
from polepiece.study.axis import Axis
from polepiece.study.setup import Values

DESIGNS = ("grid", "latin-hypercube", "sobol")
MOST_DRAWN = 20_000_000  # points of a design that is held in memory


class Grid:
    """Every combination; the first axis is the slowest."""

    def __init__(self, axes: Sequence[Axis]) -> None:
        if open_ends := [one.text for one in axes if one.continuous]:
            (first, *_) = open_ends
            raise InputError(f"{first}: a grid needs steps; write {first}:5, or --design latin-hypercube or sobol.")
        self.axes = tuple(axes)
        self.count = prod(one.count for one in axes)

    def values(self, place: int) -> Values:
        """Return the values of the candidate at a place."""
        out: list[float | str] = []
        for axis in reversed(self.axes):
            place, at = divmod(place, axis.count)
            out.append(axis.values[at])
        return tuple(reversed(out))

    def order(self, places: range) -> IntArray:
        """Return places in the order of work: as they are, for the dearest axis is the slowest already."""
        return np.arange(places.start, places.stop)

    def group(self, place: int, axes: int) -> object:
        """Return what places that share the first ``axes`` values have in common."""
        return place // prod(one.count for one in self.axes[axes:])


class Drawn:
    """Points of a Latin hypercube or of Sobol's sequence, sorted so that what is dear to move moves seldom."""

    def __init__(self, axes: Sequence[Axis], design: str, count: int, seed: int) -> None:
        if not 1 <= count <= MOST_DRAWN:
            raise InputError(f"--count is {count}; it is 1 to {MOST_DRAWN}; a grid has its own.")
        self.axes, self.count = tuple(axes), count
        if design == "sobol":  # a whole power of two is balanced; what is over is left out
            points = qmc.Sobol(len(axes), rng=np.random.default_rng(seed)).random_base2(max(count - 1, 0).bit_length())
            self.points: FloatArray = points[:count]
        else:
            self.points = qmc.LatinHypercube(len(axes), rng=np.random.default_rng(seed)).random(count)
        self._steps = [
            self.points[:, k]
            if axis.continuous
            else np.minimum((self.points[:, k] * axis.count).astype(int), axis.count - 1)
            for k, axis in enumerate(axes)
        ]
        self._sorted = np.lexsort(tuple(reversed(self._steps)))

    def values(self, place: int) -> Values:
        """Return the values of the candidate at a place."""
        return tuple(axis.value_at(float(one)) for axis, one in zip(self.axes, self.points[place]))

    def order(self, places: range) -> IntArray:
        """Return the places of work at some stretch of the order of work."""
        return np.asarray(self._sorted[places.start : places.stop])

    def group(self, place: int, axes: int) -> object:
        """Return what places that share the first ``axes`` values have in common."""
        at = int(self._sorted[place])
        return tuple(float(one[at]) for one in self._steps[:axes])


Design = Grid | Drawn


def design_of(axes: Sequence[Axis], design: str, count: int | None, seed: int) -> Design:
    """Return the candidates of a design.

    Parameters
    ----------
    axes : sequence of Axis
        What is dear to move first.
    design : str
        One of `DESIGNS`.
    count : int, optional
        Of candidates; a grid has its own.
    seed : int

    Raises
    ------
    InputError
        When the design is none, or its number of candidates is missing, too large or not to be chosen.
    """
    if design not in DESIGNS:
        raise InputError(f"--design is {design!r}; it is one of {', '.join(DESIGNS)}.")
    if design == "grid":
        grid = Grid(axes)
        if count not in (None, grid.count):
            raise InputError(f"--count is {count}; this grid has {grid.count} candidates: leave --count out.")
        return grid
    if count is None:
        raise InputError(f"--design {design} needs --count, the number of candidates.")
    return Drawn(axes, design, count, seed)
