"""Closed-form integrals over charged polygons and cells against quadrature and hand-made closed forms."""

import math
from dataclasses import fields

import numpy as np
import pytest
from scipy import integrate

from polepiece.arrays import FloatArray
from polepiece.geometry import Assembly, cut
from polepiece.geometry.shapes import equal_area_polygon
from polepiece.magnetics import Elements, _kernels
from tests.reference.small_pickup import COARSE
from verification.cases import bar, humbucker

# Quadrature is asked for 1e-9 relative; the closed forms lose a few digits to cancellation.
QUADRATURE = 1e-7
RECTANGLE = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [3.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
UP = np.array([0.0, 0.0, 1.0])


def potential(point: "FloatArray | tuple[float, ...]", corners: FloatArray = RECTANGLE) -> float:
    return _kernels.polygon_potential_of(np.asarray(point, dtype=float), corners, UP)


def gradient(point: FloatArray, corners: FloatArray = RECTANGLE) -> FloatArray:
    out = np.zeros(3)
    _kernels.polygon_gradient(point[0], point[1], point[2], corners, UP, out)
    return out


@pytest.mark.parametrize("height", [0.0, 1e-16, 1e-12, 1e-9, 1e-6, 1e-3, -1e-3])
def test_a_point_close_over_a_square_sees_half_of_all_directions(height: float) -> None:
    """I = 8 h asinh 1 - 2 pi |d| over the middle of a square of half side h, to d^2/h; the angles add up to 2 pi."""
    square = np.array([[-1.0, -1.0, 0.0], [1.0, -1.0, 0.0], [1.0, 1.0, 0.0], [-1.0, 1.0, 0.0]])
    expected = 8.0 * math.asinh(1.0) - 2.0 * math.pi * abs(height)
    # the next term is 2 sqrt 2 d^2; rounding of ten terms of order 1 besides
    assert potential((0.0, 0.0, height), square) == pytest.approx(expected, rel=0.0, abs=3.0 * height**2 + 1e-14)
    beside = potential((0.3, 5.0, height), square)  # in its plane but not over it: no angle at all
    assert beside == pytest.approx(potential((0.3, 5.0, 0.0), square), rel=0.0, abs=height**2 + 1e-14)


@pytest.mark.parametrize("point", [(1.2, 0.4, 0.3), (4.0, 2.0, -1.0), (-0.5, 0.5, 0.05), (10.0, -3.0, 7.0)])
def test_a_rectangles_potential_is_its_double_integral(point: tuple[float, float, float]) -> None:
    x, y, z = point
    expected, _ = integrate.dblquad(
        lambda v, u: 1.0 / math.sqrt((x - u) ** 2 + (y - v) ** 2 + z * z),
        0.0,
        3.0,
        0.0,
        1.0,
        epsabs=1e-10,
        epsrel=1e-10,
    )
    assert potential(point) == pytest.approx(expected, rel=QUADRATURE)


def test_the_middle_of_a_square_has_a_value_of_its_own() -> None:
    # in polar coordinates: eight triangles of (a/2) integral of 1/cos = 4 a ln(1 + sqrt 2)
    square = np.array([[-1.0, -1.0, 0.0], [1.0, -1.0, 0.0], [1.0, 1.0, 0.0], [-1.0, 1.0, 0.0]])
    assert potential((0.0, 0.0, 0.0), square) == pytest.approx(8.0 * math.log(1.0 + math.sqrt(2.0)), rel=1e-12)
    # at a corner: the same integral of one quarter of a square twice as wide
    assert potential((1.0, 1.0, 0.0), square) == pytest.approx(4.0 * math.log(1.0 + math.sqrt(2.0)), rel=1e-12)


def test_a_triangle_repeats_its_last_corner() -> None:
    half = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [3.0, 1.0, 0.0], [3.0, 1.0, 0.0]])
    other = np.array([[0.0, 0.0, 0.0], [3.0, 1.0, 0.0], [0.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
    point = (0.7, 0.9, 0.2)
    assert potential(point, half) + potential(point, other) == pytest.approx(potential(point), rel=1e-12)


def test_many_sides_make_a_disc() -> None:
    # on the axis of a charged disc: 2 pi (sqrt(r^2 + z^2) - z); 64 sides of equal area differ in the fourth order
    corners = equal_area_polygon(1.0, 64)
    total = 0.0
    for k in range(64):
        a, b = corners[k], corners[(k + 1) % 64]
        total += potential((0.0, 0.0, 0.5), np.array([[0.0, 0.0, 0.0], [*a, 0.0], [*b, 0.0], [*b, 0.0]]))
    assert total == pytest.approx(2.0 * math.pi * (math.sqrt(1.25) - 0.5), rel=1e-5)


@pytest.mark.parametrize("point", [(1.2, 0.4, 0.3), (4.0, 2.0, -1.0), (-0.5, 0.5, 0.05), (1.5, 0.5, -0.2)])
def test_the_gradient_is_the_slope_of_the_potential(point: tuple[float, float, float]) -> None:
    at, step = np.array(point), 1e-5
    slope = [(potential(at + step * e) - potential(at - step * e)) / (2.0 * step) for e in np.eye(3)]
    # central difference: (step / distance)^2, and 1e-16 / step of rounding
    np.testing.assert_allclose(gradient(at), slope, rtol=1e-6, atol=1e-8)


def test_the_normal_field_jumps_by_the_charge() -> None:
    # Gauss: 4 pi across the sheet for unit charge density with 1/R
    above, below = gradient(np.array([1.0, 0.4, 1e-9])), gradient(np.array([1.0, 0.4, -1e-9]))
    assert below[2] - above[2] == pytest.approx(4.0 * math.pi, rel=1e-6)
    np.testing.assert_allclose(above[:2], below[:2], rtol=1e-6)


def test_short_cuts_far_away_agree_with_the_closed_form() -> None:
    elements = Elements.of(cut(Assembly(magnets=(bar(),)), COARSE))
    directions = np.array([[1.0, 0.3, 0.5], [0.1, 1.0, 2.0], [-0.6, 0.4, 1.0]])
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    worst = 0.0
    for k in range(0, len(elements.area), 7):
        for distance in (1.01 * _kernels.MIDDLE, 0.99 * _kernels.FAR, 1.01 * _kernels.FAR, 30.0):
            points = elements.centroid[k] + directions * distance * elements.size[k]
            points[:, 1] = abs(points[:, 1])
            exact = [_kernels.polygon_potential_of(p, elements.corners[k], elements.normal[k]) for p in points]
            image = points * [1.0, -1.0, 1.0]
            exact += np.array(
                [_kernels.polygon_potential_of(p, elements.corners[k], elements.normal[k]) for p in image]
            )
            found = elements.potentials(points)[:, k] * 4.0 * math.pi * elements.area[k]
            worst = max(worst, float(abs(found / exact - 1.0).max()))
    # quadrupole of a square panel: (size / distance)^2 / 48 beyond 7 diameters
    assert 0.0 < worst < 1e-3


def test_a_cells_potential_is_its_triple_integral() -> None:
    elements = Elements.of(cut(Assembly(magnets=(bar(),)), COARSE, mirror=False))
    k = 3
    low, high = elements.faces[k].min(axis=(0, 1)), elements.faces[k].max(axis=(0, 1))
    nodes, weight = np.polynomial.legendre.leggauss(24)
    axes = [low[a] + (high[a] - low[a]) * 0.5 * (nodes + 1.0) for a in range(3)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    w = (0.125 * weight[:, None, None] * weight[:, None] * weight).reshape(-1)
    for point in (high + 0.4 * (high - low), high + np.array([0.0, 0.0, 2e-3]), low - 3.0 * (high - low)):
        expected = float((w / np.linalg.norm(point - grid, axis=1)).sum()) / (4.0 * math.pi)
        # 24 points a side resolve 1/R beside the cell; beyond three diameters a cell is a point charge, and the
        # quadrupole of a long one is 1/24 of (length / distance)^2
        found = elements.potentials(point[None])[0, len(elements.area) + k]
        assert found == pytest.approx(expected, rel=5e-3)
    inside = elements.potentials(elements.cell_centroid[k][None])[0, len(elements.area) + k]
    around = elements.potentials(elements.faces[k].mean(axis=1))[:, len(elements.area) + k]
    assert inside > around.max()


def test_a_field_is_the_slope_of_the_potentials() -> None:
    elements = Elements.of(cut(humbucker(), COARSE))
    charges = np.random.default_rng(1).normal(size=elements.count)
    points = np.array([[-9.0, 5.0, 17.0], [3.0, 11.0, 9.0], [14.0, -20.0, 6.0]]) * 1e-3
    step = 2e-6
    slope = np.column_stack(
        [(elements.potentials(points + step * e) - elements.potentials(points - step * e)) @ charges for e in np.eye(3)]
    )
    # potentials take the short cut at 7 diameters, fields at 14: the two differ by its error
    np.testing.assert_allclose(
        elements.field(points, charges), -slope / (2.0 * step), rtol=0.0, atol=2e-3 * abs(slope).max() / step
    )


def test_the_interaction_of_charges_is_mutual_and_costs_energy() -> None:
    v = Elements.of(cut(humbucker(), COARSE)).interaction()
    np.testing.assert_array_equal(v, v.T)
    assert np.linalg.eigvalsh(v).min() > 0.0  # any charge stores energy in its field


def test_a_point_just_off_the_plane_takes_no_more_than_its_solid_angle():
    """d/dz of the integral of 1/R is minus the solid angle: at most pi beside a convex polygon, 2 pi over it.

    A hair above the plane the sum of the edges' angles is rounding beside the polygon and 2 pi over it: one taken for
    the other is off by 2 pi of the height.
    """
    corners = np.array([[0.1e-3, 0.3e-3, 0.0], [2e-3, 0.0, 0.0], [1.7e-3, 1.1e-3, 0.0], [0.2e-3, 0.9e-3, 0.0]])
    generator = np.random.default_rng(5)
    edges = np.roll(corners, -1, axis=0) - corners
    for _ in range(2000):
        x, y = generator.uniform(-3e-3, 5e-3, 2)
        if generator.integers(2):  # on the line of an edge, beyond its ends: there the angles cancel one another
            k = generator.integers(4)
            x, y, _ = corners[k] + edges[k] * generator.uniform(1.001, 6.0)
        height = 10.0 ** generator.uniform(-10.0, -5.0)
        inside = np.all(edges[:, 0] * (y - corners[:, 1]) - edges[:, 1] * (x - corners[:, 0]) > 0.0)
        here, there = (potential((x, y, z), corners) for z in (0.0, height))
        least, most = (1.0, 2.0) if inside else (0.0, 1.0)  # no foot of these lies nearer to an edge than its height
        assert least * np.pi * height - 1e-15 < here - there < most * np.pi * height + 1e-15


@pytest.mark.parametrize("mirror", [True, False])
def test_every_mesh_gives_the_kernels_arrays_of_one_kind(mirror: bool) -> None:
    """An array that may not be written, as a mesh's own are, is another type: each kernel would be compiled twice."""
    elements = Elements.of(cut(humbucker(), COARSE, mirror=mirror))
    arrays = {one.name: getattr(elements, one.name) for one in fields(elements) if one.name not in ("mirror", "fold")}
    assert len(arrays) == 13
    assert [name for name, one in arrays.items() if not (one.flags.c_contiguous and one.flags.writeable)] == []
