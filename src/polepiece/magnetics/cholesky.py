"""Cholesky factors of large matrices, while other threads of Python go on.

`scipy.linalg` keeps the interpreter to itself for as long as its Cholesky routines work, half a second for a pickup's
potential matrix: nothing is computed beside them, and a second process waits for its next piece of work. These are the
same routines of the same library, found where it hands them out to compiled code; ctypes lets go of the interpreter
while they work.
"""

import ctypes
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.later import linalg
from polepiece.threads import side_by_side

LOWER = ctypes.c_char(b"L")
HALVES_FROM = 256  # right sides, from where two threads are worth their start


@lru_cache
def _routine(name: str, arguments: int) -> Any:
    """Return a routine of LAPACK, all of whose arguments are pointers."""
    from numba.extending import get_cython_function_address  # here: it is a sixth of a command's start

    address = get_cython_function_address("scipy.linalg.cython_lapack", name)
    return ctypes.CFUNCTYPE(None, *[ctypes.c_void_p] * arguments)(address)


def _call(name: str, *arguments: "ctypes._SimpleCData[Any] | np.ndarray") -> int:
    """Call a routine; return what it says of its success, 0 for done."""
    info = ctypes.c_int(0)
    pointers = [one.ctypes.data if isinstance(one, np.ndarray) else ctypes.addressof(one) for one in arguments]
    _routine(name, len(pointers) + 1)(*pointers, ctypes.addressof(info))
    return info.value


def lower_factor(matrix: FloatArray) -> FloatArray:
    """Return L of a symmetric positive definite ``matrix`` (n, n) = L L', which is overwritten.

    What stands above the diagonal of the answer is not L's. The routine (dpotrf) works by columns: L lies that way.

    Raises
    ------
    numpy.linalg.LinAlgError
        When the matrix is not positive definite.
    """
    factor = np.asfortranarray(matrix.T if matrix.flags.c_contiguous else matrix)
    n = ctypes.c_int(len(factor))
    info = _call("dpotrf", LOWER, n, factor, n)
    if info:
        raise linalg.LinAlgError(f"the leading minor of order {info} is not positive definite.")
    return factor


def solve_lower(factor: FloatArray, columns: FloatArray) -> FloatArray:
    """Return (L L')^-1 ``columns`` (n, k) with L of `lower_factor`; ``columns``, which lie by columns, are overwritten.

    Many columns are solved in two threads (dpotrs): each is a problem of its own.
    """
    if not (columns.flags.f_contiguous and factor.flags.f_contiguous):
        raise AssertionError("factor and right sides lie by columns")
    n = ctypes.c_int(len(factor))

    def solved(part: slice) -> None:
        mine = columns[:, part]
        _call("dpotrs", LOWER, n, ctypes.c_int(mine.shape[1]), factor, n, mine, n)

    half = columns.shape[1] // 2
    if columns.shape[1] < HALVES_FROM:
        solved(slice(None))
    else:
        side_by_side(solved, [slice(0, half), slice(half, None)])
    return columns
