"""Places in the air that a pickup's potential is asked for again and again: half of them, where they lie even in x."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import InputError
from polepiece.magnetics.elements import ACROSS
from polepiece.magnetics.match import SAME_PLACE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Probes:
    """Groups of places of which only some are asked, ``points``; the rest is like these, on the other side of x = 0."""

    points: FloatArray  # (groups, n, 3) m, that are asked
    unfold: IntArray  # (m,) which of them each place is like
    side: FloatArray  # (m,) -1 where it is on the other side, else 1

    @classmethod
    def of(cls, places: FloatArray, *, halved: bool) -> "Probes":
        """Return the probes at ``places`` (groups, m, 3), m; ``halved``: what they see lies even and odd in x.

        Raises
        ------
        InputError
            When they are to be halved and a group is not its own image in x = 0.
        """
        count = places.shape[1]
        if not halved or not len(places):
            return cls(points=places, unfold=np.arange(count), side=np.ones(count))
        if not is_even(places):
            raise InputError("the probes of a folded mesh are given from -x to x, each group its own image in x = 0.")
        x = places[0, :, 0]
        near = np.flatnonzero(x > -SAME_PLACE)
        like = np.where(x > -SAME_PLACE, np.arange(count), np.arange(count)[::-1]) - near[0]
        return cls(points=places[:, near], unfold=like, side=np.where(x > -SAME_PLACE, 1.0, -1.0))

    @property
    def reach_over(self) -> bool:
        """Whether any place lies on the other side of what is asked."""
        return bool((self.side < 0.0).any())

    def between(self, even: FloatArray, odd: FloatArray) -> FloatArray:
        """Return (groups, m, m) from what is even and what is odd between those that are asked, (groups, n, n)."""
        even, odd = (one[:, self.unfold][:, :, self.unfold] for one in (even, odd))
        return np.asarray(even + self.side[:, None] * self.side * odd)

    def whole(self, rows: FloatArray, images: "FloatArray | None") -> FloatArray:
        """Return rows (groups * m, k) of all places from (groups * n, k) of those that are asked.

        ``images`` are those of their images; None where no place lies on the other side, or all rows are even.
        """
        near, far = (
            one.reshape(len(one) // self.points.shape[1], self.points.shape[1], one.shape[1])[:, self.unfold]
            for one in (rows, rows if images is None else images)
        )
        grouped = near if images is None else np.where(self.side[:, None] < 0.0, far, near)
        return np.ascontiguousarray(grouped.reshape(len(grouped) * len(self.unfold), rows.shape[1]))


def is_even(places: FloatArray) -> bool:
    """Return whether every group of places (groups, m, 3) runs from -x to x and is its own image in x = 0."""
    return np.allclose(places[:, ::-1] * ACROSS, places, rtol=0.0, atol=SAME_PLACE)
