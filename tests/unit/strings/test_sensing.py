"""A string over a pickup: the limits of its law, its derivatives, and the network that it must equal."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.strings import HeightTable, Rod, Sensed, StringSystem, chebyshev_heights, sense, string_cuts

CUTS = string_cuts(60e-3, (9e-3, -9e-3))
HEIGHTS = chebyshev_heights(1e-3, 9e-3, 9)
TABLE = HeightTable(cuts=CUTS, z=HEIGHTS[None])
TRANSVERSE = 2.0  # M over H across a long round rod: chi / (1 + chi / 2), demagnetising factor 1/2, chi well above 2
POLE, DEPTH = 30.0, 3e-3  # A m of a point pole, below z = 0
PLAIN = Rod(diameter=0.25e-3, initial_permeability=200.0, saturation=1.8)


def point(strength: float, x: float) -> FloatArray:
    """Potential (1, nx, nz) of a point pole under the string, and its image at half the strength far along."""
    dx, dz = TABLE.x[:, None] - x, HEIGHTS[None] + DEPTH
    return (strength / (4.0 * np.pi) / np.sqrt(dx**2 + dz**2))[None]


PICKUP = point(POLE, 9e-3) - 0.8 * point(POLE, -9e-3)
COILS = np.stack([point(4000.0, 9e-3) * 1e-3, -point(4000.0, -9e-3) * 1e-3])


def sensed(rod: Rod, height: float = 3e-3, pickup: FloatArray = PICKUP) -> Sensed:
    return sense(StringSystem.of(CUTS, (rod,)), TABLE, height=np.array([height]), pickup=pickup, coils=COILS)


def test_no_saturation_is_a_linear_law() -> None:
    # Langevin at h a thousandth of its scale: 1 - (3 chi h / Ms)^2 / 15
    endless, high = (sensed(replace(PLAIN, saturation=ms)) for ms in (np.inf, 1e5))
    for name in ("linkage", "sensitivity", "second", "third", "force", "stiffness", "axial_field"):
        np.testing.assert_allclose(getattr(endless, name), getattr(high, name), rtol=1e-5, err_msg=name)


def test_a_linear_law_is_linear() -> None:
    rod = replace(PLAIN, saturation=np.inf)
    one, two = sensed(rod), sensed(rod, pickup=2.0 * PICKUP)
    np.testing.assert_allclose(two.linkage, 2.0 * one.linkage, rtol=1e-6)  # the solver's bound
    np.testing.assert_allclose(two.force, 4.0 * one.force, rtol=1e-6)  # field times what it makes


def test_a_linear_string_is_the_linear_network() -> None:
    """The same rod solved here with plain matrices: potentials of thin charged slices, M = chi H."""
    rod = replace(PLAIN, saturation=np.inf)
    x, d = TABLE.x, np.diff(TABLE.x)
    a = 0.5 * rod.diameter
    # potential of a slice's charge spread on a tube, seen from its axis, in the mean over each slice by quadrature;
    # reference: direct formula, no class of ours
    nodes, shares = np.polynomial.legendre.leggauss(60)
    at = (0.5 * (CUTS[1:] + CUTS[:-1]))[:, None, None] + 0.5 * np.diff(CUTS)[:, None, None] * nodes
    p = np.arcsinh((at - CUTS[:-1, None]) / a) - np.arcsinh((at - CUTS[1:, None]) / a)
    p = (p @ shares) / (8.0 * np.pi * np.diff(CUTS))
    value, first, _ = TABLE.weights(np.array([[3e-3]]))
    phi0 = PICKUP[0] @ value[0, 0]
    chi, area = rod.initial_permeability - 1.0, rod.area
    n = len(x)
    incidence = np.zeros((n, n - 1))  # of charge per M between slices
    incidence[np.arange(n - 1), np.arange(n - 1)] -= area
    incidence[np.arange(1, n), np.arange(n - 1)] += area
    gradient = np.zeros((n - 1, n))
    gradient[np.arange(n - 1), np.arange(n - 1)] = 1.0 / d
    gradient[np.arange(n - 1), np.arange(1, n)] = -1.0 / d
    m = np.linalg.solve(np.eye(n - 1) / chi - gradient @ p @ incidence, gradient @ phi0)
    psi, dpsi, dphi = COILS[:, 0] @ value[0, 0], COILS[:, 0] @ first[0, 0], PICKUP[0] @ first[0, 0]
    across = TRANSVERSE * area * np.diff(CUTS)
    expected = MU_0 * ((across * dphi * dpsi).sum(axis=1) - psi @ incidence @ m)
    np.testing.assert_allclose(sensed(rod).linkage[0], expected, rtol=1e-6)


@pytest.mark.parametrize("rod", [replace(PLAIN, saturation=0.0), replace(PLAIN, initial_permeability=1.0)])
def test_a_string_that_cannot_be_magnetised_gives_nothing(rod: Rod) -> None:
    silent = sensed(rod)
    for name in ("linkage", "sensitivity", "second", "third", "force", "stiffness", "profile"):
        assert np.abs(getattr(silent, name)).max() < 1e-20, name


def test_hard_saturation_is_a_rigid_magnetisation() -> None:
    """A soft law of low saturation is at Ms, along the field, everywhere but where the field turns."""
    rod = Rod(diameter=0.25e-3, initial_permeability=1e6, saturation=0.01)
    value, first, _ = TABLE.weights(np.array([[3e-3]]))
    phi, dphi = PICKUP[0] @ value[0, 0], PICKUP[0] @ first[0, 0]
    h0 = -np.diff(phi) / np.diff(TABLE.x)
    m = 0.01 / MU_0 * np.sign(h0)
    q = np.zeros(len(TABLE.x))
    q[:-1] -= m * rod.area
    q[1:] += m * rod.area
    psi, dpsi = COILS[:, 0] @ value[0, 0], COILS[:, 0] @ first[0, 0]
    across = TRANSVERSE * rod.area * np.diff(CUTS)
    axial = -MU_0 * psi @ q
    found = sensed(rod).linkage[0] - MU_0 * (across * dphi * dpsi).sum(axis=1)
    # a slice or two at each turn of the field are on the way: 0.8 mm of the 20 mm that carry flux
    np.testing.assert_allclose(found, axial, rtol=0.05)
    assert sensed(rod).axial_field[0] == pytest.approx(0.01, rel=0.02)


def test_saturation_only_takes() -> None:
    levels = [np.inf, 2.0, 1.6, 0.8, 0.2]
    linkage = [abs(sensed(replace(PLAIN, saturation=ms), height=1.5e-3).linkage[0, 0]) for ms in levels]
    assert (np.diff(linkage) < 0.0).all()
    assert sensed(replace(PLAIN, saturation=0.8), height=1.5e-3).axial_field[0] < 0.8


def test_derivatives_are_those_of_the_linkage() -> None:
    step = 0.2e-3
    flux = [sensed(PLAIN, height=3e-3 - k * step).linkage[0] for k in (-2, -1, 0, 1, 2)]
    here = sensed(PLAIN)
    # central differences of order four; the displacement counts towards the pole
    first = (flux[0] - 8.0 * flux[1] + 8.0 * flux[3] - flux[4]) / (12.0 * step)
    second = (-flux[0] + 16.0 * flux[1] - 30.0 * flux[2] + 16.0 * flux[3] - flux[4]) / (12.0 * step**2)
    np.testing.assert_allclose(here.sensitivity[0], first, rtol=2e-3)
    np.testing.assert_allclose(here.second[0], second, rtol=1e-2)
    pull = [sensed(PLAIN, height=3e-3 + k * step).force[0] for k in (-1, 1)]
    assert here.stiffness[0] == pytest.approx((pull[1] - pull[0]) / (2.0 * step), rel=1e-2)


def test_motion_across_is_that_of_a_string_beside_the_poles() -> None:
    """Point poles are known anywhere: the string is put u beside them, and the linkage differenced twice."""

    def at(strength: float, x: float, u: float) -> FloatArray:
        dx, dz = TABLE.x[:, None] - x, HEIGHTS[None] + DEPTH
        return (strength / (4.0 * np.pi) / np.sqrt(dx**2 + dz**2 + u**2))[None]

    def beside(u: float, height: float) -> FloatArray:
        pickup = at(POLE, 9e-3, u) - 0.8 * at(POLE, -9e-3, u)
        coils = np.stack([at(4.0, 9e-3, u), -at(4.0, -9e-3, u)])
        system = StringSystem.of(CUTS, (PLAIN,))
        found = sense(system, TABLE, height=np.array([height]), pickup=pickup, coils=coils)
        # M across along u, which a table over the middle cannot hold: 2 H_u h_u, a few per cent
        value = TABLE.weights(np.array([[height]]))[0][0, 0]
        r2 = [((TABLE.x[:, None] - x) ** 2 + (HEIGHTS[None] + DEPTH) ** 2 + u**2)[None] for x in (9e-3, -9e-3)]
        h_u = at(POLE, 9e-3, u) * u / r2[0] - 0.8 * at(POLE, -9e-3, u) * u / r2[1]
        k_u = [at(4.0, 9e-3, u) * u / r2[0], -at(4.0, -9e-3, u) * u / r2[1]]
        across = TRANSVERSE * PLAIN.area * np.diff(CUTS)
        return found.linkage[0] + MU_0 * np.array([(across * (h_u[0] @ value) * (one[0] @ value)).sum() for one in k_u])

    def bent(height: float) -> FloatArray:
        step = 0.2e-3
        low, middle, high = (beside(u, height) for u in (0.0, step, 2.0 * step))  # even in u: fourth order
        return (-2.0 * high + 32.0 * middle - 30.0 * low) / (12.0 * step**2)

    here = sensed(PLAIN)
    # 2 %: second differences along slices of 0.8 mm, 6 mm over the poles
    np.testing.assert_allclose(here.sideways[0], bent(3e-3), rtol=0.02)
    slope = (bent(3e-3 - 0.2e-3) - bent(3e-3 + 0.2e-3)) / 0.4e-3
    # 12 %: a fourth derivative by differences; it is a tenth of the sideways term at a swing of 0.5 mm
    np.testing.assert_allclose(here.sideways_slope[0], slope, rtol=0.12)


def test_the_string_is_drawn_to_the_pole_and_the_more_the_nearer() -> None:
    force = [sensed(PLAIN, height=h).force[0] for h in (2e-3, 3e-3, 5e-3)]
    assert (np.array(force) < 0.0).all()
    assert (np.diff(force) > 0.0).all()


def test_the_force_is_the_slope_of_the_energy_of_a_linear_string() -> None:
    """W = -mu0/2 integral M . H0 dV of a linear body in a fixed field; force = -dW/dz."""
    rod = replace(PLAIN, saturation=np.inf)

    def energy(height: float) -> float:
        value, first, _ = TABLE.weights(np.array([[height]]))
        system = StringSystem.of(CUTS, (rod,))
        phi = (PICKUP[0] @ value[0, 0])[None, None]
        m, _ = system.magnetise(phi, system.at(value))
        q = system.charges(m)[0, 0]
        across = TRANSVERSE * rod.area * np.diff(CUTS)
        dphi = PICKUP[0] @ first[0, 0]
        return float(0.5 * MU_0 * (q @ phi[0, 0] - (across * dphi**2).sum()))

    step = 0.05e-3
    slope = (energy(3e-3 + step) - energy(3e-3 - step)) / (2.0 * step)
    assert sensed(rod).force[0] == pytest.approx(-slope, rel=1e-3)  # (step / height)^2


def test_the_profile_adds_up_to_the_sensitivity() -> None:
    here = sensed(PLAIN)
    np.testing.assert_allclose(
        here.profile.sum(axis=2), here.sensitivity, rtol=2e-3
    )  # five-point fit against chain rule
    by_weights = np.einsum("kxz,ckxz->kc", here.functional, COILS)
    np.testing.assert_allclose(by_weights, here.sensitivity, rtol=2e-3)


def test_a_flipped_magnet_turns_the_signal_and_not_the_force() -> None:
    one, other = sensed(PLAIN), sensed(PLAIN, pickup=-PICKUP)
    np.testing.assert_allclose(other.linkage, -one.linkage, rtol=1e-6)
    np.testing.assert_allclose(other.sensitivity, -one.sensitivity, rtol=1e-6)
    np.testing.assert_allclose(other.force, one.force, rtol=1e-6)


def test_a_wrap_of_air_is_no_wrap_and_one_of_steel_adds() -> None:
    bare = Rod(diameter=0.3e-3, initial_permeability=200.0, saturation=1.8)
    steel = replace(bare, wrap_diameter=0.9e-3, wrap_permeability=10.0)
    assert replace(bare, wrap_diameter=0.9e-3).wrap_share == 0.0
    assert abs(sensed(steel).linkage[0, 0]) > 1.2 * abs(sensed(bare).linkage[0, 0])


def test_finer_slices_change_little() -> None:
    fine_cuts = string_cuts(60e-3, (9e-3, -9e-3), fine=0.4e-3)
    table = HeightTable(cuts=fine_cuts, z=HEIGHTS[None])

    def at(strength: float, x: float) -> FloatArray:
        return (strength / (4.0 * np.pi) / np.hypot(table.x[:, None] - x, HEIGHTS[None] + DEPTH))[None]

    fine = sense(
        StringSystem.of(fine_cuts, (PLAIN,)), table, height=np.array([3e-3]),
        pickup=at(POLE, 9e-3) - 0.8 * at(POLE, -9e-3), coils=np.stack([at(4.0, 9e-3), -at(4.0, -9e-3)]),
    )  # fmt: skip
    np.testing.assert_allclose(fine.sensitivity, sensed(PLAIN).sensitivity, rtol=0.01)  # second order in 0.8 mm / 6 mm


def test_heights_outside_the_table_are_refused() -> None:
    with pytest.raises(InputError, match="string height"):
        sensed(PLAIN, height=12e-3)


@pytest.mark.parametrize("bad", [{"diameter": 0.25}, {"initial_permeability": 0.5}, {"saturation": -1.0}])
def test_strings_that_cannot_be_are_refused(bad: dict[str, float]) -> None:
    with pytest.raises(InputError):
        replace(PLAIN, **bad)
