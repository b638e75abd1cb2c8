"""The compiled loop under the strings: its small solver against the library's, and that it is compiled once."""

import numpy as np
import pytest

from polepiece.strings import Rod, _rods
from polepiece.strings.string_system import RodLaws, solve_rods


@pytest.mark.parametrize("size", [1, 2, 7, 49])
def test_small_systems_are_solved_as_the_library_solves_them(size: int) -> None:
    """Drawn matrices, one in two with a nought on its diagonal, which only another pivot gets over.

    Tolerance: rounding (2e-16) times the condition, some 1e4 at worst of these, with room for a hundred.
    """
    random = np.random.default_rng(size)
    for k in range(20):
        a, b = random.standard_normal((size, size)), random.standard_normal(size)
        if k % 2 and size > 1:
            a[0, 0] = 0.0
        known, found, kept = np.linalg.solve(a, b), b.copy(), a.copy()
        _rods.solve_in_place(kept, found)
        assert np.abs(found - known).max() < 1e-10 * np.abs(known).max()


@pytest.mark.parametrize("heights", [1, 3])
def test_whatever_the_strings_ask_for_is_compiled_once(heights: int) -> None:
    """A second set of types, such as an array that may not be written, takes each new machine 3 s more."""
    random = np.random.default_rng(1)
    laws = RodLaws.of([(Rod(diameter=0.25e-3, initial_permeability=200.0, saturation=1.8),) * 2])
    phi = 1e-3 * random.standard_normal((2, heights, 6))
    before = set(_rods.magnetise_rods.signatures)  # what other tests of this process asked for
    for shared in (1, heights):
        n = np.broadcast_to(0.01 * np.eye(5), (2, shared, 5, 5))
        m, slope = solve_rods(phi, n, np.full(5, 1e-3), laws)
        assert m.shape == slope.shape == (2, heights, 5)
    assert len(set(_rods.magnetise_rods.signatures) - before) <= 1
