"""What a cut assembly must keep of the shapes: areas, volumes, closed surfaces, one plane of symmetry."""

import math
from dataclasses import replace

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelRod, cut
from polepiece.geometry.shapes import equal_area_polygon
from polepiece.magnetics import Elements
from tests.reference.small_pickup import COARSE
from verification.cases import humbucker

ROUNDING = 1e-9
BOX = MagnetBox(
    part="magnet", x_min=-5e-3, x_max=7e-3, y_min=-20e-3, y_max=20e-3, z_min=0.0, z_max=3e-3, marks=(-8e-3, 8e-3)
)  # fmt: skip
ROD = MagnetRod(part="magnet", x=1e-3, y=4e-3, radius=2.4e-3, bottom=0.0, top=17e-3)


def volumes(mesh: Mesh, axis: int) -> float:
    """Volume that the edges along one axis stand for."""
    return float((mesh.edge_area * mesh.edge_length)[mesh.edge_axis == axis].sum())


@pytest.mark.parametrize("sectors", [5, 8, 12, 31])
def test_a_polygon_has_the_area_of_its_circle(sectors: int) -> None:
    x, y = equal_area_polygon(2.4e-3, sectors).T
    area = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    assert area == pytest.approx(math.pi * 2.4e-3**2, rel=ROUNDING)


@pytest.mark.parametrize(("radius", "sectors"), [(1e-3, 2), (0.0, 8), (-1e-3, 8)])
def test_a_polygon_needs_sides_and_a_radius(radius: float, sectors: int) -> None:
    with pytest.raises(InputError, match="polygon"):
        equal_area_polygon(radius, sectors)


@pytest.mark.parametrize("bad", [{"sectors": 3}, {"rod_sectors": 2}, {"slice_height": 0.0}, {"keeper_panel": -1.0}])
def test_a_mesh_that_cannot_be_built_is_refused(bad: dict[str, float]) -> None:
    with pytest.raises(InputError, match="cannot be meshed"):
        Resolution(**bad)  # type: ignore[arg-type]


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("easy", [0, 2])
def test_a_bars_cells_and_edges_fill_it(mirror: bool, easy: int) -> None:
    box = replace(BOX, easy=easy)
    mesh = cut(Assembly(magnets=(box,)), COARSE, mirror=mirror)
    half = 0.5 if mirror else 1.0
    volume = half * 12e-3 * 40e-3 * 3e-3
    assert Elements.of(mesh).volume.sum() == pytest.approx(volume, rel=ROUNDING)
    for axis in (0, 2) if mirror else (0, 1, 2):  # the half cell at the mirror plane has no edge along y
        assert volumes(mesh, axis) == pytest.approx(volume, rel=ROUNDING)
    assert set(mesh.edge_axis[mesh.edge_sign != 0.0]) == {easy}
    surface = half * 2.0 * (12 * 40 + 12 * 3 + 40 * 3) * 1e-6  # the mirror plane is no surface
    assert Elements.of(mesh).area.sum() == pytest.approx(surface, rel=ROUNDING)


def test_a_rod_magnets_cells_and_edges_fill_it() -> None:
    mesh = cut(Assembly(magnets=(ROD,)), mirror=False)
    volume = math.pi * ROD.radius**2 * 17e-3
    assert volumes(mesh, 2) == pytest.approx(volume, rel=ROUNDING)
    # the core cell is a square of equal area, so the volume charge fills the rod as well
    assert Elements.of(mesh).volume.sum() == pytest.approx(volume, rel=ROUNDING)


def test_a_steel_rods_surface_is_closed() -> None:
    screw = SteelRod(
        part="screws", x=0.0, y=3e-3,
        sections=(Section(bottom=-6e-3, top=12e-3, radius=1.5e-3), Section(bottom=12e-3, top=14e-3, radius=2.5e-3)),
    )  # fmt: skip
    elements = Elements.of(cut(Assembly(rods=(screw,)), mirror=False))
    # top of the head below, and shoulder plus end of the thread above: twice the head's section in all
    up = abs(elements.normal[:, 2]) > 0.5
    assert elements.area[up].sum() == pytest.approx(2.0 * math.pi * (2.5e-3) ** 2, rel=ROUNDING)
    sides = elements.area[~up].sum()
    n = Resolution().sectors
    perimeter = 2.0 * n * math.sin(math.pi / n) * math.sqrt(2 * math.pi / (n * math.sin(2 * math.pi / n)))
    assert sides == pytest.approx(perimeter * (1.5e-3 * 18e-3 + 2.5e-3 * 2e-3), rel=ROUNDING)


def test_a_keepers_faces_have_the_holes_that_its_screws_fill() -> None:
    assembly = humbucker()
    mesh = cut(assembly, COARSE)
    elements = Elements.of(mesh)
    flat = (abs(elements.normal[:, 2]) > 0.5) & (elements.centroid[:, 0] < -6.4e-3)
    bottom = flat & (abs(elements.centroid[:, 2]) < 1e-9)
    hole = math.pi * (1.5e-3) ** 2
    assert elements.area[bottom].sum() == pytest.approx(5.2e-3 * 31e-3 - 3 * hole, rel=ROUNDING)


def test_symmetry_is_seen_and_only_where_it_is() -> None:
    assert humbucker().is_mirrored()
    assert cut(humbucker(), COARSE).mirrored
    lonely = Assembly(magnets=(ROD,))
    assert not lonely.is_mirrored()
    on_the_plane = MagnetRod(part="magnet", x=0.0, y=0.0, radius=2.4e-3, bottom=0.0, top=17e-3)
    assert not Assembly(magnets=(on_the_plane,)).is_mirrored()
    turned = MagnetRod(part="magnet", x=1e-3, y=-4e-3, radius=2.4e-3, bottom=0.0, top=17e-3, sign=-1.0)
    assert not Assembly(magnets=(ROD, turned)).is_mirrored()  # one pole up, its image down: not the same field


def test_screws_and_keeper_are_one_body_and_slugs_are_their_own() -> None:
    mesh = cut(humbucker(), COARSE)
    assert mesh.bodies == 1 + 3 + 1  # keeper with its screws, three slugs of the half, the bar
