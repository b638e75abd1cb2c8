"""Steel that faces a bar across a narrow gap is cut where the bar is."""

import math

import numpy as np
import pytest

from polepiece.geometry import Assembly, MagnetBox, Resolution, Section, SteelBar, SteelRod, cut
from polepiece.geometry.cutting_magnets import box_cuts
from polepiece.geometry.cutting_steel import FINER
from polepiece.magnetics import Elements
from verification.sizes import humbucker

BAR = MagnetBox(
    part="magnet", x_min=-5e-3, x_max=5e-3, y_min=-20e-3, y_max=20e-3, z_min=0.0, z_max=2.5e-3, marks=(-10e-3, 10e-3)
)


def levels(gap: float) -> "np.ndarray":
    """Heights (n,) at which the panels of the keeper's side towards the bar begin or end."""
    right = BAR.x_min - gap
    keeper = SteelBar(
        part="keeper", x_min=right - 5e-3, x_max=right, y_min=-19e-3, y_max=19e-3, z_min=0.0, z_max=2.5e-3
    )
    mesh = cut(Assembly(bars=(keeper,), magnets=(BAR,)))
    side = mesh.panel_corners[np.ptp(mesh.panel_corners[:, :, 0], axis=1) < 1e-9]
    return np.unique(side[abs(side[:, 0, 0] - right) < 1e-9][:, :, 2].round(9))


def test_steel_near_a_bar_is_cut_where_the_bar_is() -> None:
    cuts = box_cuts(BAR, Resolution(), True)[2]
    np.testing.assert_allclose(levels(0.1e-3), cuts, atol=1e-8)


def test_steel_far_from_a_bar_is_not() -> None:
    cuts = box_cuts(BAR, Resolution(), True)[2]
    assert not set(cuts[1:-1].round(9)) <= set(levels(5e-3))


def sides_of_a_pole(x: float) -> "tuple[np.ndarray, np.ndarray]":
    """Middles (n, 3) and areas (n,) of the upright panels of a pole of radius 2.4 mm at ``x``, as high as the bar."""
    pole = SteelRod(part="slugs", x=x, y=10e-3, sections=(Section(bottom=0.0, top=11e-3, radius=2.4e-3),))
    mesh = cut(Assembly(rods=(pole,), magnets=(BAR,)), mirror=True)
    corners = mesh.panel_corners[: mesh.panels]
    beside = (np.hypot(corners[..., 0] - x, corners[..., 1] - 10e-3) < 2.6e-3).all(axis=1)
    beside &= abs(abs(corners[..., 0]).max(axis=1) - 5e-3) > 1e-9  # not the bar's own side
    upright = beside & (np.ptp(corners[..., 2], axis=1) > 1e-6) & (corners[..., 2].max(axis=1) < 2.6e-3)
    quads = corners[upright]
    area = np.linalg.norm(np.cross(quads[:, 1] - quads[:, 0], quads[:, 3] - quads[:, 0]), axis=1)
    return quads.mean(axis=1), area


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_pole_beside_a_bar_is_finer_on_that_side_alone(side: float) -> None:
    x = side * 7.5e-3
    middle, area = sides_of_a_pole(x)
    fine = area < 0.5 * area.max()
    layers = len(box_cuts(BAR, Resolution(), True)[2]) - 1
    assert fine.sum() == 3 * FINER * layers  # three sectors of ten lie within 45 degrees of the bar's direction
    assert (side * (x - middle[fine, 0]) > math.cos(math.pi / 3.0) * 2.4e-3).all()
    # a polygon of equal area has more girth than its circle: pi^2 / (6 n^2) with n = 10 sides, 1.6 %
    assert area.sum() == pytest.approx(2.0 * np.pi * 2.4e-3 * 2.5e-3, rel=0.02)


def test_a_pole_far_from_a_bar_is_alike_all_round() -> None:
    middle, area = sides_of_a_pole(12e-3)
    assert len(area) > 0
    for height in np.unique(middle[:, 2].round(9)):
        row = area[abs(middle[:, 2] - height) < 1e-8]
        assert len(row) == Resolution().sectors
        assert np.ptp(row) < 1e-9 * row.max()  # rounding


def test_charges_on_both_sides_of_a_gap_of_two_hundredths_cost_energy() -> None:
    """The least gap that intervals take; panels that do not match leave a potential matrix that is not positive."""
    whole = humbucker(
        bar=(63.5, 12.7, 3.175), row=9.0, pitch=10.0, slug=(4.8, 12.5), screw=(3.0, -6.0, 12.5, 5.0, 1.5),
        keeper=(-11.6, -6.4, 62.0), coil=(3.2, 29.0, 3.2, 4.5, 11.0), gap=-0.03,
    )  # fmt: skip
    np.linalg.cholesky(Elements.of(cut(whole.assembly)).interaction())  # raises LinAlgError where it is not
