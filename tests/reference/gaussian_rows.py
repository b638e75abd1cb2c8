"""Sensing records of pole rows whose profiles along the string are Gaussian: cases with a known answer."""

import numpy as np
from numpy.typing import ArrayLike

from polepiece.strings import FluxRows, StringSensing

NODES = 24  # of the Gauss-Hermite sum of a row with a Gaussian profile: exact to 1e-9 for wavenumber * width up to 4


def gaussian_rows(
    *,
    positions: ArrayLike,
    slope: ArrayLike,
    across: ArrayLike = 0.0,
    aperture: ArrayLike = 5e-3,
    flux: FluxRows | None = None,
) -> StringSensing:
    """Return one channel whose pole rows (r,) have Gaussian profiles of the standard deviation ``aperture``, m."""
    place = np.asarray(positions, dtype=float)
    node, weight = np.polynomial.hermite.hermgauss(NODES)
    width = np.broadcast_to(np.asarray(aperture, dtype=float), place.shape)
    share = weight / np.sqrt(np.pi)
    return StringSensing(
        distance=(place[:, None] + np.sqrt(2.0) * width[:, None] * node).reshape(1, -1),
        towards=(np.broadcast_to(slope, place.shape)[:, None] * share).reshape(1, -1),
        across=(np.broadcast_to(across, place.shape)[:, None] * share).reshape(1, -1),
        flux=flux,
    )
