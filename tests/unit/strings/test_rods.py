"""The compiled loop under the strings: its small solver against the library's, and that it is compiled once."""

import numpy as np
import pytest

from polepiece.strings import Rod, _rods
from polepiece.strings.few_rods import AT_ONCE, IN_ALL, FirstRods, magnetise_few
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


@pytest.mark.parametrize("seed", range(6))
def test_a_few_rods_without_the_compiler_are_those_of_its_loop(seed: int) -> None:
    """Drawn strings, linear ones, wound ones and ones that are no magnet among them, from weak fields to saturation.

    Both end at the same step of the same iteration, some 1e-7 of the field away from its end, so they agree to
    rounding (2e-16) times the condition of these systems, below 1e3, with room for a thousand.
    """
    random = np.random.default_rng(seed)
    rows, size = 12, 9
    laws = RodLaws.of([tuple(
        Rod(
            diameter=0.3e-3, initial_permeability=float(random.choice([1.0, 30.0, 200.0])),
            saturation=float(random.choice([0.0, 1.6, np.inf])), wrap_diameter=0.5e-3,
            wrap_permeability=float(random.choice([1.0, 20.0])),
        )
        for _ in range(rows)
    )])  # fmt: skip
    h0 = 10.0 ** random.uniform(1.0, 5.5, (rows, 1)) * random.standard_normal((rows, size))
    half = random.standard_normal((3, size, size))
    n = 0.003 * (half @ half.swapaxes(1, 2) / size + np.eye(size))  # as of thin rods: small and positive
    which = random.integers(0, 3, rows)
    given = (h0, which, n, laws.ms[:, 0], laws.chi[:, 0], laws.wrap[:, 0])
    *found, left = magnetise_few(*given)
    *known, _ = _rods.magnetise_rods(*given)
    for one, other in zip(found, known):
        assert np.abs(one - other).max() <= 1e-10 * np.abs(other).max()
    assert left.max() <= _rods.TOLERANCE


def test_no_compiler_is_loaded_for_a_few_and_it_is_used_once_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    used: list[str] = []

    def loop(*given: np.ndarray) -> "tuple[np.ndarray, ...]":
        used.append("compiled")
        return magnetise_few(*given)

    monkeypatch.setattr("polepiece.strings.string_system.magnetise_rods", loop)
    monkeypatch.setattr("polepiece.strings.string_system.FIRST", FirstRods(wanted=True))
    laws = RodLaws.of([(Rod(diameter=0.25e-3, initial_permeability=200.0, saturation=1.8),) * 2])
    for heights, made, expected in ((5, False, 0), (5, True, 1), (33, False, 2)):
        monkeypatch.setattr("polepiece.strings.string_system.is_compiled", {loop: made}.get)
        solve_rods(np.ones((2, heights, 6)), np.zeros((2, 1, 5, 5)), np.full(5, 1e-3), laws)
        assert len(used) == expected


def test_so_many_in_all_and_the_compiler_is_worth_its_loading() -> None:
    first = FirstRods(wanted=True)
    assert not first.takes(AT_ONCE + 1)
    taken = sum(first.takes(30) for _ in range(1000))
    assert taken == IN_ALL // 30
    assert not first.takes(30)
