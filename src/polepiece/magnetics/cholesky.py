"""Cholesky factors of large matrices and what is solved with them, while other threads of Python go on.

`scipy.linalg` keeps the interpreter to itself for as long as its routines for positive definite and triangular
matrices work, half a second for a pickup's potential matrix: nothing is computed beside them, and a second process
waits for its next piece of work. These are the same routines of the same library, found where it hands them out to
compiled code; ctypes lets go of the interpreter while they work. (`numpy.linalg.eigh` lets go of it, too;
`scipy.linalg.eigh` does not.)
"""

import ctypes
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import ConvergenceError
from polepiece.later import routine_of
from polepiece.threads import side_by_side

LOWER, PLAIN = ctypes.c_char(b"L"), ctypes.c_char(b"N")
HALVES_FROM = 256  # right sides, from where two threads are worth their start


@lru_cache
def _routine(name: str, arguments: int) -> Any:
    """Return a routine of LAPACK, all of whose arguments are pointers; the first loads the compiler."""
    address = routine_of("scipy.linalg.cython_lapack", name)
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
    info = _call("dpotrf", LOWER, n, factor, n) if factor.size else 0
    if info:
        raise np.linalg.LinAlgError(f"the leading minor of order {info} is not positive definite.")
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


def clean_factor(matrix: FloatArray) -> FloatArray:
    """Return `lower_factor` of ``matrix``, which is left as it is, with zeros above the diagonal."""
    return np.tril(lower_factor(np.array(matrix, order="F")))


def triangular(
    factor: FloatArray, right: FloatArray, *, transposed: bool = False, overwrite: bool = False
) -> FloatArray:
    """Return L^-1 ``right`` (n,) or (n, k), or L'^-1 ``right``; what stands above L's diagonal is not read (dtrtrs).

    ``overwrite``: ``right`` is used up where it lies by columns, which spares a copy.

    Raises
    ------
    numpy.linalg.LinAlgError
        When L is singular.
    """
    found = np.asfortranarray(right, dtype=float) if overwrite else np.array(right, dtype=float, order="F")
    factor, n = np.asfortranarray(factor), ctypes.c_int(len(factor))
    way = ctypes.c_char(b"T") if transposed else PLAIN
    columns = ctypes.c_int(1 if found.ndim == 1 else found.shape[1])
    info = _call("dtrtrs", LOWER, way, PLAIN, n, columns, factor, n, found, n) if found.size else 0
    if info:
        raise np.linalg.LinAlgError(f"the factor is singular: its diagonal is zero at {info}.")
    return found


def inverted(matrix: FloatArray) -> FloatArray:
    """Return the inverse of a symmetric positive definite potential matrix (n, n), which is overwritten (dpotri).

    Raises
    ------
    ConvergenceError
        When the matrix is not positive definite.
    """
    try:
        factor = lower_factor(matrix)
    except np.linalg.LinAlgError as error:
        raise ConvergenceError(
            "the potential matrix of the mesh is not positive definite: do two elements coincide?"
        ) from error
    n = ctypes.c_int(len(factor))
    if factor.size:
        _call("dpotri", LOWER, n, factor, n)
    return np.ascontiguousarray(np.tril(factor) + np.tril(factor, -1).T)
