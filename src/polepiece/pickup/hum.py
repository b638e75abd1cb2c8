"""Hum of coils in an even field: what cancels of it where coils or pickups are joined."""

from collections.abc import Sequence

import numpy as np

from polepiece.arrays import ComplexArray
from polepiece.guitar import Coil, Pickup
from polepiece.pickup.electrics import turns
from polepiece.pickup.grid import GRID

MAINS = 100.0  # Hz; between the mains and its second harmonic the transfers hardly move
LEAST = -80.0  # dB: what an exactly equal pair is said to leave


def hum_left_db(pickups: Sequence[Pickup], transfers: Sequence[ComplexArray]) -> float:
    """Return what is left of the hum against all coils adding up, dB.

    Parameters
    ----------
    units : sequence of Pickup
        All that are on.
    transfers : sequence of ndarray, shape (coils, f)
        From each coil to the amplifier on GRID, in the sense in which it is joined.

    Notes
    -----
    In a field that is the same everywhere a coil has the EMF w B times turns times its mean area; steel draws a like
    share of it into each coil and is left out, and so is what the wiring of the guitar picks up.
    Faraday's law in an even field: derived here.
    """
    at = int(np.argmin(np.abs(GRID - MAINS)))
    each = np.concatenate([
        np.array([n * _area(one) for n, one in zip(turns(pickup), pickup.coils)]) * transfer[:, at]
        for pickup, transfer in zip(pickups, transfers)
    ])  # fmt: skip
    share = abs(each.sum()) / max(float(np.abs(each).sum()), 1e-300)
    return float(max(20.0 * np.log10(max(share, 1e-30)), LEAST))


def _area(coil: Coil) -> float:
    """Return the area of a mean turn, m2."""
    return (coil.inner_half_x + coil.outer_half_x) * (coil.inner_half_y + coil.outer_half_y)
