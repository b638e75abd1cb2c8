"""Motion across the strings: its symmetry, its derivatives, its profile, and an integral that knows no slices."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.strings import (
    Beside,
    HeightTable,
    Rod,
    Sensed,
    StringSystem,
    chebyshev_heights,
    moved_across,
    sense,
    string_cuts,
)

CUTS = string_cuts(60e-3, (9e-3, -9e-3))
HEIGHTS = chebyshev_heights(1e-3, 9e-3, 9)
TABLE = HeightTable(cuts=CUTS, z=HEIGHTS[None])
DEPTH = 3e-3  # of the point poles, m
PLAIN = Rod(diameter=0.25e-3, initial_permeability=200.0, saturation=1.8)
MAGNETS = ((30.0, 9e-3), (-24.0, -9e-3))  # A m, x
WINDINGS = (((4.0, 9e-3),), ((-4.0, -9e-3),))
SYSTEM = StringSystem.of(CUTS, (PLAIN,))


def potential(poles: tuple[tuple[float, float], ...], u: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Potential (1, nx, nz) of point poles at x, y = 0, ``u`` (nx,) beside them, and its slope along u."""
    value, slope = np.zeros((1, len(TABLE.x), len(HEIGHTS))), np.zeros((1, len(TABLE.x), len(HEIGHTS)))
    for strength, x in poles:
        r = np.sqrt((TABLE.x[:, None] - x) ** 2 + (HEIGHTS[None] + DEPTH) ** 2 + u[:, None] ** 2)
        value += strength / (4.0 * np.pi * r)
        slope -= strength * u[:, None] / (4.0 * np.pi * r**3)
    return value, slope


def beside(u: "float | FloatArray", height: float = 3e-3, rod: Rod = PLAIN) -> Sensed:
    """Sense a string ``u`` beside the poles, m: one number, or one a slice."""
    place = np.broadcast_to(np.asarray(u, dtype=float), TABLE.x.shape)
    pickup, slope = potential(MAGNETS, place)
    pairs = [potential(one, place) for one in WINDINGS]
    return sense(
        SYSTEM if rod is PLAIN else StringSystem.of(CUTS, (rod,)), TABLE, height=np.array([height]), pickup=pickup,
        coils=np.stack([value for value, _ in pairs]),
        beside=Beside(pickup=slope, coils=np.stack([one for _, one in pairs])),
    )  # fmt: skip


def four_points(at: "list[FloatArray]", step: float) -> FloatArray:
    """First derivative from values at -2, -1, 1 and 2 steps, of order four."""
    return np.asarray((at[0] - 8.0 * at[1] + 8.0 * at[2] - at[3]) / (12.0 * step))


@pytest.mark.parametrize("offset", [0.0, 0.4e-3, -1.5e-3])
@pytest.mark.parametrize("height", [1.8e-3, 4e-3])  # saturated, and not
def test_derivatives_are_those_of_a_string_put_there(offset: float, height: float) -> None:
    step = 0.1e-3
    places = [beside(offset + k * step, height) for k in (-2, -1, 1, 2)]
    here = beside(offset, height)
    scale = float(np.abs(here.sensitivity).max())

    def moved(name: str) -> FloatArray:
        return four_points([getattr(one, name) for one in places], step)

    # 0.5 %: the adjoint on unequal slices, as for motion towards the pole
    np.testing.assert_allclose(here.across, moved("linkage"), rtol=5e-3, atol=1e-6 * scale)
    # 3 %: second differences along slices of 0.8 mm, 5 mm over the poles; the rest for where a term crosses zero
    np.testing.assert_allclose(here.sideways, moved("across"), rtol=0.03, atol=0.3 * scale)
    # 3 %: differences over heights of 0.15 mm on both sides
    np.testing.assert_allclose(here.across_slope, moved("sensitivity"), rtol=0.03, atol=0.3 * scale)


@settings(max_examples=25, deadline=None)
@given(u=st.floats(0.0, 3e-3), height=st.floats(1.5e-3, 8e-3), diameter=st.floats(0.2e-3, 0.6e-3))
def test_motion_across_is_odd_and_all_else_even(u: float, height: float, diameter: float) -> None:
    rod = replace(PLAIN, diameter=diameter)
    one, other = beside(u, height, rod), beside(-u, height, rod)
    scale = float(np.abs(one.profile).max())
    for name in ("across", "across_slope", "profile_across"):
        np.testing.assert_allclose(getattr(other, name), -getattr(one, name), rtol=1e-6, atol=1e-6 * scale)
    for name in ("linkage", "sensitivity", "sideways", "sideways_slope", "profile", "force"):
        np.testing.assert_allclose(getattr(other, name), getattr(one, name), rtol=1e-6, err_msg=name)


def test_a_centred_string_senses_nothing_of_motion_across_and_is_as_without_slopes() -> None:
    here = beside(0.0)
    assert np.abs(here.across).max() == 0.0
    assert np.abs(here.profile_across).max() == 0.0
    bare = sense(
        SYSTEM, TABLE, height=np.array([3e-3]), pickup=potential(MAGNETS, np.zeros(len(TABLE.x)))[0],
        coils=np.stack([potential(one, np.zeros(len(TABLE.x)))[0] for one in WINDINGS]),
    )  # fmt: skip
    np.testing.assert_array_equal(bare.sideways, here.sideways)


def test_the_profile_across_is_what_a_bend_of_the_string_does() -> None:
    """Only the slices over one pole are put aside: the linkage changes by their part of the profile."""
    offset, step = 0.8e-3, 0.02e-3
    for mine in (TABLE.x > 0.0, (TABLE.x > -12e-3) & (TABLE.x < -5e-3)):
        found = beside(offset).profile_across[0][:, mine].sum(axis=1)
        at = [beside(offset + k * step * mine).linkage[0] for k in (-2, -1, 1, 2)]
        # 2 % of the whole: the adjoint on unequal slices, cut through where charges sit
        limit = 0.02 * np.abs(beside(offset).profile_across).sum(axis=2).max()
        np.testing.assert_allclose(found, four_points(at, step), atol=limit)


def test_the_profile_across_adds_up() -> None:
    here = beside(0.7e-3)
    np.testing.assert_allclose(here.profile_across.sum(axis=2), here.across, rtol=1e-12)  # by definition


def test_a_rod_that_is_hardly_magnetic_is_an_integral_of_both_fields() -> None:
    """Small spheres strung along x, each magnetised by the pickup's field where it is, linked by reciprocity.

    mu0 chi A integral of H_x h_x dx, and 2 H . h across; the fields of point poles are written down, the derivative
    in u is taken by differences. No slice, no potential table and no law of ours.
    """
    chi, height, offset, step = 0.5, 3e-3, 0.9e-3, 1e-5
    rod = Rod(diameter=0.25e-3, initial_permeability=1.0 + chi)
    x = np.linspace(-30e-3, 30e-3, 20001)

    def field(poles: tuple[tuple[float, float], ...], u: float) -> FloatArray:
        out = np.zeros((3, len(x)))
        for strength, at in poles:
            r = np.stack([x - at, np.full_like(x, u), np.full_like(x, height + DEPTH)])
            out += strength * r / (4.0 * np.pi * (r**2).sum(axis=0) ** 1.5)
        return out

    def linkage(u: float, coil: int) -> float:
        h, k = field(MAGNETS, u), field(WINDINGS[coil], u)
        return float(MU_0 * rod.area * np.trapezoid(chi * h[0] * k[0] + 2.0 * (h[1] * k[1] + h[2] * k[2]), x))

    expected = [(linkage(offset + step, c) - linkage(offset - step, c)) / (2.0 * step) for c in (0, 1)]
    # 2 %: slices of 0.8 mm under fields 6 mm wide, and the rod's own field (chi times 0.005)
    np.testing.assert_allclose(beside(offset, height, rod).across[0], expected, rtol=0.02)


@pytest.mark.parametrize("offset", [0.3e-3, -1e-3])
def test_a_draw_moves_a_string_as_putting_it_there_does(offset: float) -> None:
    towards, across = moved_across(beside(0.2e-3), np.array([offset]))
    there = beside(0.2e-3 + offset)
    # 1 mm against poles 6 mm away: the next order of either series is (1/6)^2 of the change
    np.testing.assert_allclose(towards, there.sensitivity, rtol=5e-3)
    np.testing.assert_allclose(across, there.across, rtol=0.05)
    many = moved_across(beside(0.2e-3), np.array([[0.0, offset]]))
    np.testing.assert_array_equal(many[1][:, :, 1], across)
    np.testing.assert_array_equal(many[0][:, :, 0], beside(0.2e-3).sensitivity)
