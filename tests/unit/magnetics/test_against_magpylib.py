"""Single magnets of uniform magnetisation and circular currents against magpylib, an independent library."""

import magpylib as magpy
import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.coil import Racetrack, source_field
from polepiece.coil.winding import Loops, loop_field
from polepiece.constants import MU_0
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Resolution, cut
from polepiece.magnetics import Elements
from tests.reference.circles import circle_potential

POINTS = np.array(
    [[-9.0, 5.0, 17.0], [8.0, 0.0, 1.5], [0.0, 0.0, 4.0], [25.0, 40.0, -10.0], [-7.0, 33.0, 3.0], [3.0, -36.0, 8.0]]
) * 1e-3  # fmt: skip


def surface_field(assembly: Assembly, magnetization: FloatArray, resolution: Resolution) -> FloatArray:
    """H of charges sigma = M . n on the panels."""
    elements = Elements.of(cut(assembly, resolution, mirror=False))
    inside = np.concatenate([elements.cell_centroid]).mean(axis=0)
    outward = np.sign(((elements.centroid - inside) * elements.normal).sum(axis=1))
    charge = np.zeros(elements.count)
    charge[: len(elements.area)] = elements.area * (elements.normal @ magnetization) * outward
    return elements.field(POINTS, charge)


def apart(found: FloatArray, expected: FloatArray) -> float:
    """Largest distance of two fields over the size of the second."""
    return float((np.linalg.norm(found - expected, axis=1) / np.linalg.norm(expected, axis=1)).max())


@pytest.mark.parametrize("magnetization", [(8e5, 0.0, 0.0), (0.0, 0.0, -3e5), (1e5, -2e5, 4e5)])
def test_a_bar(magnetization: tuple[float, float, float]) -> None:
    box = MagnetBox(part="magnet", x_min=-6e-3, x_max=6e-3, y_min=-30e-3, y_max=30e-3, z_min=0.0, z_max=3e-3)
    m = np.array(magnetization)
    twin = magpy.magnet.Cuboid(dimension=(12e-3, 60e-3, 3e-3), position=(0, 0, 1.5e-3), magnetization=m)
    expected = twin.getH(POINTS)
    found = surface_field(Assembly(magnets=(box,)), m, Resolution())
    # closed forms on both sides; beyond 14 diameters a panel is a point: (1/14)^2 / 40 of its share
    assert apart(found, expected) < 3e-4


def test_a_rod() -> None:
    rod = MagnetRod(part="magnet", x=0.0, y=0.0, radius=2.4e-3, bottom=0.0, top=17e-3)
    m = np.array([0.0, 0.0, 9e5])
    twin = magpy.magnet.Cylinder(dimension=(4.8e-3, 17e-3), position=(0, 0, 8.5e-3), magnetization=m)
    expected = twin.getH(POINTS)
    found = surface_field(Assembly(magnets=(rod,)), m, Resolution(rod_sectors=48, rod_layers=4, rod_rings=6))
    # a polygon of the circle's area, its core a square: their fields differ with the third and higher moments only
    assert apart(found, expected) < 3e-4


def test_a_rectangular_loop() -> None:
    a, b = 5e-3, 30e-3
    loop = Loops(
        x=np.array([1e-3]), y=np.array([0.0]), z=np.array([2e-3]), half_x=np.array([a]), half_y=np.array([b]),
        turns=np.ones(1),
    )  # fmt: skip
    corners = np.array([[a, -b, 0], [a, b, 0], [-a, b, 0], [-a, -b, 0], [a, -b, 0]]) + np.array([1e-3, 0, 2e-3])
    twin = magpy.current.Polyline(current=1.0, vertices=corners)
    np.testing.assert_allclose(loop_field(POINTS, loop), twin.getH(POINTS), rtol=1e-9, atol=1e-12)  # both exact


def test_a_winding_is_many_loops() -> None:
    coil = Racetrack(
        inner_half_x=3e-3, inner_half_y=28e-3, outer_half_x=6e-3, outer_half_y=31e-3, bottom=4e-3, top=11e-3, turns=5000
    )
    u, v = (np.arange(24) + 0.5) / 24, (np.arange(40) + 0.5) / 40
    vertices = []
    for s in u:
        a, b = 3e-3 + 3e-3 * s, 28e-3 + 3e-3 * s
        for t in v:
            z = 4e-3 + 7e-3 * t
            vertices.append([[a, -b, z], [a, b, z], [-a, b, z], [-a, -b, z], [a, -b, z]])
    points = POINTS[[0, 2, 3, 5]] + np.array([0.0, 0.0, 10e-3])  # outside the winding
    expected = sum(magpy.current.Polyline(current=1.0, vertices=w).getH(points) for w in vertices) * 5000 / 960
    # the twin's even filaments err by about (cell / distance)^2 / 24, at 3 mm: 2e-4
    np.testing.assert_allclose(source_field(coil, points), expected, rtol=1e-3)


@pytest.mark.parametrize(("rho", "z"), [(0.0, 3e-3), (2e-3, 1e-3), (7e-3, -2e-3), (12e-3, 4e-3), (5.001e-3, 2e-3)])
def test_a_circles_potential_falls_by_its_field(rho: float, z: float) -> None:
    radius, step = 5e-3, 1e-7
    field = magpy.current.Circle(current=1.0, diameter=2.0 * radius).getH((rho, 0.0, z))
    down = -(circle_potential(radius, rho, z + step) - circle_potential(radius, rho, z - step)) / (2.0 * step)
    assert down == pytest.approx(field[2], rel=1e-6)  # central difference: (step / distance)^2
    if rho > 0.0:
        out = -(circle_potential(radius, rho + step, z) - circle_potential(radius, rho - step, z)) / (2.0 * step)
        assert out == pytest.approx(field[0], rel=1e-6)


def test_flux_density_has_the_unit_that_its_name_says() -> None:
    twin = magpy.magnet.Cuboid(dimension=(1e-2,) * 3, polarization=(0, 0, 1.0))
    at = (0.0, 0.0, 7e-3)
    np.testing.assert_allclose(MU_0 * twin.getH(at), twin.getB(at), rtol=1e-6)  # outside a magnet B = mu0 H
