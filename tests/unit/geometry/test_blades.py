"""Blades: their surface is whole, their columns conduct as the steel does, and both mirrored paths cut alike."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from polepiece.geometry import Assembly, MagnetBox, Mesh, Resolution, SteelBar, cut

T, L, H = 3e-3, 57e-3, 12.5e-3
BLADE = SteelBar(
    part="blades", x_min=-T / 2, x_max=T / 2, y_min=-L / 2, y_max=L / 2, z_min=0.0, z_max=H, role="blade",
)  # fmt: skip
BAR = MagnetBox(
    part="magnet", x_min=T / 2 + 1e-4, x_max=T / 2 + 10e-3, y_min=-29e-3, y_max=29e-3, z_min=0.0, z_max=3.2e-3,
)  # fmt: skip


def area(mesh: Mesh) -> float:
    a, b, c, d = (mesh.panel_corners[:, k] for k in range(4))
    return float(np.linalg.norm(0.5 * np.cross(c - a, d - b), axis=1).sum())


@pytest.mark.parametrize("mirror", [True, False])
def test_its_panels_are_its_surface(mirror: bool) -> None:
    mesh = cut(Assembly(bars=(BLADE,)), mirror=mirror)
    whole = 2 * (T * L + T * H + L * H)
    inner = T * H if mirror else 0.0  # the plane y = 0 has no panels; half of the rest has
    assert area(mesh) == pytest.approx((0.5 * (whole - 2 * inner) + inner) if mirror else whole, rel=1e-12)


def test_between_its_ends_it_conducts_as_a_prism() -> None:
    """From the lower to the upper face: sum over columns of 1 / sum of length/area = T L / H of the same steel."""
    mesh = cut(Assembly(bars=(BLADE,)), mirror=False)
    n = mesh.nodes
    laplace = np.zeros((n, n))
    for a, b, w in zip(mesh.edge_a, mesh.edge_b, mesh.edge_area / mesh.edge_length):
        laplace[[a, b], [a, b]] += w
        laplace[[a, b], [b, a]] -= w
    z = mesh.node_position[:, 2]
    low, high = np.flatnonzero(z == 0.0), np.flatnonzero(z == H)
    fixed = np.concatenate([low, high])
    free = np.setdiff1d(np.arange(n), fixed)
    u = np.zeros(n)
    u[high] = 1.0
    u[free] = np.linalg.solve(laplace[np.ix_(free, free)], -laplace[np.ix_(free, high)].sum(axis=1))
    assert (laplace @ u)[high].sum() == pytest.approx(T * L / H, rel=1e-9)


def test_beside_a_bar_it_is_cut_as_the_bar_is() -> None:
    mesh = cut(Assembly(bars=(BLADE,), magnets=(BAR,)))
    facing = np.all(np.isclose(mesh.panel_corners[..., 0], T / 2, atol=1e-9), axis=1)
    of_bar = np.all(np.isclose(mesh.panel_corners[..., 0], T / 2 + 1e-4, atol=1e-9), axis=1)
    heights = {round(float(z), 9) for z in mesh.panel_corners[facing][..., 2].ravel()}
    assert {round(float(z), 9) for z in mesh.panel_corners[of_bar][..., 2].ravel()} <= heights


@pytest.mark.parametrize("resolution", [None, Resolution(slice_height=2.6e-3, keeper_panel=5e-3)])
def test_the_mirrored_half_is_half_of_the_whole(resolution: Resolution | None) -> None:
    half, whole = (cut(Assembly(bars=(BLADE,)), resolution, mirror=one) for one in (True, False))
    kept = (whole.node_position[:, 1] > 0.0).nonzero()[0]
    assert half.nodes == len(kept) == whole.nodes // 2
    assert np.allclose(np.sort(half.node_position, axis=0), np.sort(whole.node_position[kept], axis=0), atol=1e-12)


PLATE = SteelBar(
    part="plate", x_min=-11e-3, x_max=11e-3, y_min=-36e-3, y_max=36e-3, z_min=-1.3e-3, z_max=-0.1e-3, role="plate",
    holes=tuple((0.0, y, 2.4e-3) for y in (-25e-3, -15e-3, -5e-3, 5e-3, 15e-3, 25e-3)),
)  # fmt: skip


@pytest.mark.parametrize("mirror", [True, False])
def test_a_plates_panels_are_its_surface(mirror: bool) -> None:
    """The places of the magnets are panelled with the magnets' own ends: nothing is left out, nothing twice."""
    a, b, t = 22e-3, 72e-3, 1.2e-3
    whole, inner = 2 * (a * b + a * t + b * t), a * t
    found = area(cut(Assembly(bars=(PLATE,)), mirror=mirror))
    assert found == pytest.approx(0.5 * (whole - 2 * inner) + inner if mirror else whole, rel=1e-9)


def test_a_plate_conducts_along_the_row_as_a_sheet() -> None:
    """Between its ends, from the middles of the outer columns: thickness x width / length."""
    mesh = cut(Assembly(bars=(PLATE,)), mirror=False)
    along = mesh.edge_axis == 1
    y = mesh.node_position[:, 1]
    places = np.unique(np.round(y, 9))
    resistance = 0.0
    for low, high in itertools.pairwise(places):
        here = along & np.isclose(np.minimum(y[mesh.edge_a], y[mesh.edge_b]), low, atol=1e-8)
        resistance += 1.0 / (mesh.edge_area / mesh.edge_length)[here].sum()
        assert np.isclose(np.maximum(y[mesh.edge_a], y[mesh.edge_b])[here], high, atol=1e-8).all()
    assert resistance == pytest.approx((places[-1] - places[0]) / (22e-3 * 1.2e-3), rel=1e-9)


def test_a_bar_under_a_blade_is_cut_where_the_blades_edge_is() -> None:
    """Cells under the edge have its panels' widths: what lies across a gap of 0.1 mm is mirrored, not averaged."""
    bar = MagnetBox(
        part="magnet", x_min=-5e-3, x_max=5e-3, y_min=-31e-3, y_max=31e-3, z_min=-5.1e-3, z_max=-1e-4, easy=2,
        blade=(-T / 2, T / 2),
    )  # fmt: skip
    mesh = cut(Assembly(bars=(BLADE,), magnets=(bar,)))
    at = {z: np.isclose(mesh.panel_corners[..., 2], z, atol=1e-9).all(axis=1) for z in (0.0, -1e-4)}
    edge, face = ({round(float(x), 9) for x in mesh.panel_corners[at[z]][..., 0].ravel()} for z in (0.0, -1e-4))
    assert len(edge) == 5 and edge <= face and {-5e-3, 5e-3} <= face
    plain = cut(Assembly(bars=(BLADE,), magnets=(replace(bar, blade=None),)))
    above = np.isclose(plain.panel_corners[..., 2], -1e-4, atol=1e-9).all(axis=1)
    assert not edge <= {round(float(x), 9) for x in plain.panel_corners[above][..., 0].ravel()}
