"""Array types and shape checks shared by every rung."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

import polepiece.threads  # noqa: F401  (whoever has arrays has its linear algebra on one thread)
from polepiece.errors import InputError

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.int64]


def points_array(points: "npt.ArrayLike", *, name: str = "points") -> FloatArray:
    """Return ``points`` as float array (n, 3); raise InputError when it is not, or not finite."""
    out = np.atleast_2d(np.asarray(points, dtype=float))
    if out.ndim != 2 or out.shape[1] != 3:
        raise InputError(f"{name} has shape {np.shape(points)}; it must be (n, 3): x, y, z in metres.")
    if not np.all(np.isfinite(out)):
        raise InputError(f"{name} holds a value that is not a finite number.")
    return np.ascontiguousarray(out)


def frozen(array: "npt.ArrayLike | Sequence[float]", dtype: type = float) -> "npt.NDArray[np.float64]":
    """Return a read-only contiguous copy, for arrays inside frozen records."""
    out: FloatArray = np.array(array, dtype=dtype, order="C")
    out.flags.writeable = False
    return out
