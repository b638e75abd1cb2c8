"""Cholesky factors and solutions that leave the interpreter to other threads: the same numbers as numpy's own."""

import _ctypes

import numpy as np
import pytest

from polepiece.errors import ConvergenceError
from polepiece.magnetics.cholesky import (
    HALVES_FROM,
    _routine,
    clean_factor,
    inverted,
    lower_factor,
    solve_lower,
    triangular,
)

SIZE = 120


def definite(seed: int = 3) -> np.ndarray:
    half = np.random.default_rng(seed).normal(size=(SIZE, SIZE))
    return half @ half.T + SIZE * np.eye(SIZE)


@pytest.mark.parametrize("order", ["C", "F"])
def test_the_factor_is_that_of_the_matrix(order: str) -> None:
    matrix = definite()
    lower = np.tril(lower_factor(np.array(matrix, order=order)))
    assert lower @ lower.T == pytest.approx(matrix, rel=1e-13, abs=1e-12)  # rounding of 120 products of size 1


@pytest.mark.parametrize("columns", [1, HALVES_FROM - 1, HALVES_FROM + 1])  # in one piece, and in two threads
def test_the_solution_is_that_of_the_system(columns: int) -> None:
    matrix = definite()
    right = np.random.default_rng(columns).normal(size=(SIZE, columns))
    found = solve_lower(lower_factor(matrix.copy()), np.array(right, order="F"))
    assert found == pytest.approx(np.linalg.solve(matrix, right), rel=1e-11, abs=1e-14)  # a condition of a few


def test_a_matrix_that_is_not_positive_definite_is_refused() -> None:
    matrix = definite()
    matrix[5, 5] = -1.0
    with pytest.raises(np.linalg.LinAlgError, match="order 6 is not positive definite"):
        lower_factor(matrix)


def test_columns_that_do_not_lie_together_are_refused() -> None:
    with pytest.raises(AssertionError, match="by columns"):
        solve_lower(lower_factor(definite()), np.ones((SIZE, 3)))


@pytest.mark.parametrize("transposed", [False, True])
@pytest.mark.parametrize("shape", [(SIZE,), (SIZE, 7), (SIZE, 0)])
def test_a_triangle_is_solved_whatever_stands_above_its_diagonal(shape: tuple[int, ...], transposed: bool) -> None:
    lower = clean_factor(definite())
    right = np.random.default_rng(5).normal(size=shape)
    asked = right.copy()
    found = triangular(lower + np.triu(np.ones((SIZE, SIZE)), 1), asked, transposed=transposed)
    assert (lower.T if transposed else lower) @ found == pytest.approx(right, rel=1e-11, abs=1e-12)
    assert np.array_equal(asked, right)


def test_a_singular_triangle_is_refused() -> None:
    with pytest.raises(np.linalg.LinAlgError, match="zero at 2"):
        triangular(np.diag([1.0, 0.0, 1.0]), np.ones(3))


@pytest.mark.parametrize("order", ["C", "F"])
def test_the_inverse_is_that_of_numpy(order: str) -> None:
    matrix = definite()
    assert inverted(np.array(matrix, order=order)) == pytest.approx(np.linalg.inv(matrix), rel=1e-9, abs=1e-15)


def test_a_clean_factor_has_zeros_above_and_leaves_its_matrix() -> None:
    matrix = definite()
    lower = clean_factor(matrix)
    assert np.array_equal(lower, np.tril(lower)) and np.array_equal(matrix, definite())
    assert lower == pytest.approx(np.linalg.cholesky(matrix), rel=1e-12, abs=1e-14)


def test_an_inverse_of_no_potential_matrix_names_the_likely_cause() -> None:
    with pytest.raises(ConvergenceError, match="do two elements coincide"):
        inverted(-definite())


@pytest.mark.parametrize(("name", "arguments"), [("dpotrf", 5), ("dpotrs", 8), ("dtrtrs", 10), ("dpotri", 5)])
def test_the_interpreter_is_let_go(name: str, arguments: int) -> None:
    assert not type(_routine(name, arguments))._flags_ & _ctypes.FUNCFLAG_PYTHONAPI
