"""Rectangular windings and sheets: integrals over filaments, potentials, and a sheet against coaxial rings."""

import numpy as np
import pytest
from scipy import integrate

from polepiece.coil import (
    Racetrack,
    inductance_in_air,
    source_field,
    source_potential,
)
from polepiece.coil.winding import Loops, mutual_matrix
from polepiece.errors import InputError
from tests.reference.small_pickup import linear

COIL = Racetrack(
    inner_half_x=3e-3, inner_half_y=12e-3, outer_half_x=6e-3, outer_half_y=15e-3, bottom=4e-3, top=10e-3, turns=2000
)


def one_loop(half_x: float, half_y: float, z: float = 0.0, x: float = 0.0) -> Loops:
    return Loops(
        x=np.array([x]), y=np.zeros(1), z=np.array([z]), half_x=np.array([half_x]), half_y=np.array([half_y]),
        turns=np.ones(1),
    )  # fmt: skip


def test_two_loops_have_the_mutual_inductance_of_neumanns_integral() -> None:
    first, second = one_loop(3e-3, 10e-3), one_loop(4e-3, 8e-3, z=5e-3, x=1e-3)

    def sides(a: float, b: float, x: float, z: float) -> list[tuple[np.ndarray, np.ndarray]]:
        c = [np.array(p) for p in ((x + a, -b, z), (x + a, b, z), (x - a, b, z), (x - a, -b, z))]
        return [(c[k], c[(k + 1) % 4]) for k in range(4)]

    total = 0.0
    for p, q in sides(3e-3, 10e-3, 0.0, 0.0):
        for r, s in sides(4e-3, 8e-3, 1e-3, 5e-3):
            dot = float((q - p) @ (s - r))
            if dot:
                value, _ = integrate.dblquad(
                    lambda u, v, p=p, q=q, r=r, s=s: 1.0 / float(np.linalg.norm(p + u * (q - p) - r - v * (s - r))),
                    0.0, 1.0, 0.0, 1.0, epsabs=1e-8, epsrel=1e-8,
                )  # fmt: skip
                total += dot * value
    found = mutual_matrix(first, second)[0, 0]
    assert found == pytest.approx(1e-7 * total, rel=1e-6)  # mu0 / 4 pi; the quadrature's own bound


def test_a_windings_potential_falls_by_its_field() -> None:
    points = np.array([[0.0, 0.0, 15e-3], [4e-3, 9e-3, 12e-3], [-12e-3, 3e-3, 6e-3], [1e-3, 2e-3, 7e-3]])
    through = COIL.encloses(points[:, 0], points[:, 1])
    step = 1e-6
    slope = np.column_stack(
        [
            (source_potential(COIL, points + step * e, through) - source_potential(COIL, points - step * e, through))
            for e in np.eye(3)
        ]
    ) / (2.0 * step)  # fmt: skip
    field = source_field(COIL, points)
    # (step / distance)^2, and rounding of a potential of 2000 turns over 1 um
    np.testing.assert_allclose(-slope, field, rtol=1e-5, atol=1e-4 * abs(field).max())


def test_a_pole_through_the_winding_climbs_by_all_its_turns() -> None:
    far = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]])
    above, below = source_potential(COIL, far, np.array([True, True]))
    assert below - above == pytest.approx(2000.0, rel=1e-4)  # one ampere-turn a loop; 1 m away is not infinitely far


def test_sense_and_turns_scale_a_winding() -> None:
    other = Racetrack(
        inner_half_x=3e-3, inner_half_y=12e-3, outer_half_x=6e-3, outer_half_y=15e-3, bottom=4e-3, top=10e-3,
        turns=1000, sense=-1.0,
    )  # fmt: skip
    air = inductance_in_air([COIL]), inductance_in_air([other])
    assert air[0] == pytest.approx(4.0 * air[1])
    points = np.array([[0.0, 20e-3, 3e-3]])
    np.testing.assert_allclose(source_field(other, points), -0.5 * source_field(COIL, points), rtol=1e-12)


def test_coils_far_apart_are_dipoles() -> None:
    # M = mu0 m1 m2 / (2 pi d^3) on the axis, m = turns times mean area; the next term is (size / distance)^2
    far = Racetrack(
        inner_half_x=3e-3,
        inner_half_y=12e-3,
        outer_half_x=6e-3,
        outer_half_y=15e-3,
        bottom=0.504,
        top=0.510,
        turns=2000,
    )
    area = np.mean([4.0 * (3e-3 + 3e-3 * u) * (12e-3 + 3e-3 * u) for u in (np.arange(400) + 0.5) / 400])
    expected = 2e-7 * (2000.0 * area) ** 2 / 0.5**3
    assert inductance_in_air([COIL, far])[0, 1] == pytest.approx(expected, rel=5e-3)


def test_both_ways_round_the_pickups_coils_are_alike() -> None:
    henry = linear(3.7, 800.0).inductance[:, :, 0]
    assert henry[0, 1] == pytest.approx(henry[1, 0], rel=1e-9)
    assert henry[0, 1].real < 0.0  # poles side by side: the flux of one comes back through the other


@pytest.mark.parametrize("bad", [{"inner_half_x": 7e-3}, {"outer_half_y": 5e-3}, {"top": 1e-3}, {"turns": 0.0}])
def test_windings_that_cannot_be_are_refused(bad: dict[str, float]) -> None:
    size = {
        "inner_half_x": 3e-3, "inner_half_y": 12e-3, "outer_half_x": 6e-3, "outer_half_y": 15e-3, "bottom": 4e-3,
        "top": 10e-3, "turns": 2000.0,
    }  # fmt: skip
    with pytest.raises(InputError):
        Racetrack(**{**size, **bad})
