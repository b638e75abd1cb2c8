"""Steel that faces a bar across a narrow gap is cut where the bar is."""

import numpy as np

from polepiece.geometry import Assembly, MagnetBox, Resolution, SteelBar, cut
from polepiece.geometry.cutting_magnets import box_cuts

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
