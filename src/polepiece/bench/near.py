"""A screw that is turned, answered at once: its string taken between two pickups whose screws all stand alike.

Both were solved beforehand: as most screws stand, and `STEP` turns above. What is left out: that the neighbours of the
screw stay where they are, and that the way from one height to the next is not straight. `Bench` has the exact state
in half a second to three.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import fields, replace

import numpy as np

from polepiece.bench.bench import Bench
from polepiece.guitar import Guitar, Pickup
from polepiece.pickup import Magnetised, own_poles
from polepiece.strings import Sensed

STEP = 0.5  # turns between the two


def most_common(heights: Iterable[float]) -> float:
    """Return the height that most screws have, the first of several."""
    return Counter(heights).most_common(1)[0][0]


def half_a_turn_up(guitar: Guitar, pickup: str) -> Guitar:
    """Return the guitar with all screws of a pickup alike, `STEP` turns above most of them."""
    here = guitar.pickup(pickup)
    up = most_common(here.poles.screw_raise) + STEP * here.poles.screw_pitch
    alike = replace(here, poles=replace(here.poles, screw_raise=(up,) * len(here.poles.screw_raise)))
    return replace(guitar, pickups=tuple(alike if one.name == here.name else one for one in guitar.pickups))


class NearBench(Bench):
    """A bench for which a turned screw takes no new geometry: near the exact state, and to be shown as that."""

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed, exact_screws=False)

    def _sense(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised) -> Sensed:
        if not self._screens(pickup):
            return super()._sense(guitar, pickup, magnetised)
        here = most_common(pickup.poles.screw_raise)
        apart = STEP * pickup.poles.screw_pitch
        low, high = self._uniform(guitar, pickup, here), self._uniform(guitar, pickup, here + apart)
        share = np.array([(pickup.poles.screw_raise[k] - here) / apart for k in own_poles(guitar, pickup)])
        return Sensed(
            **{one.name: _between(getattr(low, one.name), getattr(high, one.name), share) for one in fields(Sensed)}
        )


def _between(low: np.ndarray, high: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Go so far from one to the other, string by string (axis 0); further than ``high`` where the share is above 1."""
    return np.asarray(low + share.reshape(-1, *(1,) * (np.ndim(low) - 1)) * (high - low))
