"""Closed-form integrals over one charged polygon, and the loops that sum them.

Every polygon is planar with up to four corners (a triangle repeats its last corner). With R the distance
from the observation point to a point of the polygon,

    I(r) = integral dS / R
         = sum_e p_e f_e - |d| sum_e b_e
    f_e  = ln((R2 + l2) / (R1 + l1))
    b_e  = atan(p_e l2 / (R0^2 + |d| R2)) - atan(p_e l1 / (R0^2 + |d| R1))
    grad I = -sum_e m_e f_e - n sign(d) sum_e b_e

where, for edge e, p_e is the signed in-plane distance to the edge (outward normal m_e), l1 and l2 run along
the edge, R0^2 = p_e^2 + d^2, and d is the height over the plane (normal n). Source: D. R. Wilton et al.,
IEEE Trans. Antennas Propag. 32, 276 (1984), uniform source (formulas from memory, checked in the tests against
quadrature and against closed forms of the charged rectangle).

On an edge or a corner p_e f_e tends to zero and is taken as zero; the gradient is infinite there and is
returned without that edge's logarithm. Far from a polygon (more than FAR diameters) its charge is taken at
the centroid, nearer (more than MIDDLE diameters) at four Gauss points.
"""

import math

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.later import njit, prange

# a hair more than round: pairs at exactly so many diameters (regular meshes have them) fall on one side for good
FAR = 7.0 + 1e-6
MIDDLE = 2.0 + 1e-6
NEAR = 1.0 + 1e-6  # diameters within which an interaction is averaged over the target
FOUR_PI = 4.0 * math.pi


@njit(cache=True, fastmath=False)
def _edge(x, y, z, corners, normal, e, d):  # type: ignore[no-untyped-def]
    """Return m_e, p_e, f_e and b_e of one edge; all zero where the edge has no length or the point lies on its line."""
    g = e + 1 if e < 3 else 0
    tx = corners[g, 0] - corners[e, 0]
    ty = corners[g, 1] - corners[e, 1]
    tz = corners[g, 2] - corners[e, 2]
    length = math.sqrt(tx * tx + ty * ty + tz * tz)
    if length < 1e-12:
        return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    tx /= length
    ty /= length
    tz /= length
    mx = ty * normal[2] - tz * normal[1]
    my = tz * normal[0] - tx * normal[2]
    mz = tx * normal[1] - ty * normal[0]
    ax = corners[e, 0] - x
    ay = corners[e, 1] - y
    az = corners[e, 2] - z
    p = ax * mx + ay * my + az * mz
    l1 = ax * tx + ay * ty + az * tz
    l2 = l1 + length
    r02 = p * p + d * d
    if r02 < 1e-24:
        return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    r1 = math.sqrt(r02 + l1 * l1)
    r2 = math.sqrt(r02 + l2 * l2)
    f = math.log((r2 + l2) / (r1 + l1)) if l1 + l2 > 0.0 else math.log((r1 - l1) / (r2 - l2))
    ad = abs(d)
    d1, d2 = r02 + ad * r1, r02 + ad * r2  # both angles lie within a quarter turn: their difference is one arctangent
    b = math.atan2(p * (l2 * d1 - l1 * d2), d1 * d2 + p * p * l1 * l2)
    return mx, my, mz, p, f, b


@njit(cache=True, fastmath=False)
def _height(x, y, z, corners, normal):  # type: ignore[no-untyped-def]
    return (x - corners[0, 0]) * normal[0] + (y - corners[0, 1]) * normal[1] + (z - corners[0, 2]) * normal[2]


@njit(cache=True, fastmath=False)
def polygon_potential(x, y, z, corners, normal):  # type: ignore[no-untyped-def]
    """Return the integral of 1/R over one polygon, m.

    The angles b_e add up to the solid angle: one arctangent of the product of their phases. It exceeds pi only where
    the point's foot lies inside the polygon, on the inner side of all edges; elsewhere less than 0 is rounding.

    Wilton et al. 1984, as in the module (from memory).
    """
    d = _height(x, y, z, corners, normal)
    ad = abs(d)
    total = 0.0
    real, imaginary = 1.0, 0.0
    inside = True
    ax, ay, az = corners[0, 0] - x, corners[0, 1] - y, corners[0, 2] - z
    r1 = math.sqrt(ax * ax + ay * ay + az * az)
    for e in range(4):
        g = e + 1 if e < 3 else 0
        tx = corners[g, 0] - corners[e, 0]
        ty = corners[g, 1] - corners[e, 1]
        tz = corners[g, 2] - corners[e, 2]
        bx, by, bz = corners[g, 0] - x, corners[g, 1] - y, corners[g, 2] - z
        r2 = math.sqrt(bx * bx + by * by + bz * bz)
        length = math.sqrt(tx * tx + ty * ty + tz * tz)
        if length >= 1e-12:
            inverse = 1.0 / length
            p = (
                ax * (ty * normal[2] - tz * normal[1])
                + ay * (tz * normal[0] - tx * normal[2])
                + az * (tx * normal[1] - ty * normal[0])
            ) * inverse
            inside = inside and p > 0.0
            r02 = p * p + d * d
            if r02 >= 1e-24:
                l1 = (ax * tx + ay * ty + az * tz) * inverse
                l2 = l1 + length
                if l1 + l2 > 0.0:
                    total += p * math.log((r2 + l2) / (r1 + l1))
                else:
                    total += p * math.log((r1 - l1) / (r2 - l2))
                d1, d2 = r02 + ad * r1, r02 + ad * r2
                c, s = d1 * d2 + p * p * l1 * l2, p * (l2 * d1 - l1 * d2)
                real, imaginary = real * c - imaginary * s, real * s + imaginary * c
        ax, ay, az, r1 = bx, by, bz, r2
    beta = math.atan2(imaginary, real)
    if inside and beta < 0.0:
        beta += 2.0 * math.pi
    return total - ad * beta


@njit(cache=True, fastmath=False)
def polygon_gradient(x, y, z, corners, normal, out):  # type: ignore[no-untyped-def]
    """Write the gradient of the integral of 1/R over one polygon into ``out``, dimensionless.

    Wilton et al. 1984, as in the module (from memory).
    """
    d = _height(x, y, z, corners, normal)
    beta = 0.0
    out[:] = 0.0
    for e in range(4):
        mx, my, mz, _, f, b = _edge(x, y, z, corners, normal, e, d)
        out[0] -= mx * f
        out[1] -= my * f
        out[2] -= mz * f
        beta += b
    side = 1.0 if d > 0.0 else (-1.0 if d < 0.0 else 0.0)
    for k in range(3):
        out[k] -= normal[k] * side * beta


@njit(cache=True, parallel=True, fastmath=False)
def panel_potentials(points, corners, normal, centroid, gauss, weight, area, size, mirror):  # type: ignore[no-untyped-def]
    """Potential at each point of one ampere-metre spread over each panel; with ``mirror`` its image in y = 0 adds.

    Coulomb; the integral near the panel is that of Wilton et al. 1984 (the module).
    Distances and Gauss points are written out here: handing rows of arrays to a function takes longer than they do.
    """
    count = points.shape[0]
    panels = corners.shape[0]
    out = np.empty((count, panels))
    for i in prange(count):
        x, z = points[i, 0], points[i, 2]
        for j in range(panels):
            far, middle = (FAR * size[j]) ** 2, (MIDDLE * size[j]) ** 2
            dx = x - centroid[j, 0]
            dz = z - centroid[j, 2]
            value = 0.0
            for image in range(2):
                if image == 1 and mirror == 0.0:
                    continue
                y = points[i, 1] if image == 0 else -points[i, 1]
                dy = y - centroid[j, 1]
                r2 = dx * dx + dy * dy + dz * dz
                if r2 > far:
                    one = area[j] / math.sqrt(r2)
                elif r2 > middle:
                    one = 0.0
                    for g in range(4):
                        ex = x - gauss[j, g, 0]
                        ey = y - gauss[j, g, 1]
                        ez = z - gauss[j, g, 2]
                        one += weight[j, g] / math.sqrt(ex * ex + ey * ey + ez * ez)
                else:
                    one = polygon_potential(x, y, z, corners[j], normal[j])
                value += one if image == 0 else mirror * one
            out[i, j] = value / (FOUR_PI * area[j])
    return out


@njit(cache=True, fastmath=False)
def _near_cell(x, y, z, faces, normals):  # type: ignore[no-untyped-def]
    total = 0.0
    for f in range(6):
        h = (
            (faces[f, 0, 0] - x) * normals[f, 0]
            + (faces[f, 0, 1] - y) * normals[f, 1]
            + (faces[f, 0, 2] - z) * normals[f, 2]
        )
        if abs(h) > 1e-15:
            total += h * polygon_potential(x, y, z, faces[f], normals[f])
    return 0.5 * total


@njit(cache=True, fastmath=False)
def _cell(x, y, z, faces, normals, centroid, volume, size):  # type: ignore[no-untyped-def]
    dx = x - centroid[0]
    dy = y - centroid[1]
    dz = z - centroid[2]
    r2 = dx * dx + dy * dy + dz * dz
    if r2 > (3.0 * size) ** 2:
        return volume / math.sqrt(r2)
    return _near_cell(x, y, z, faces, normals)


@njit(cache=True, parallel=True, fastmath=False)
def cell_potentials(points, faces, normals, centroid, volume, size, mirror):  # type: ignore[no-untyped-def]
    """Potential at each point of one ampere-metre spread over each hexahedral cell.

    Coulomb; the sum over faces is derived in docs/theory/magnetics.md, "The unknowns".
    """
    count = points.shape[0]
    cells = faces.shape[0]
    out = np.empty((count, cells))
    for i in prange(count):
        x, z = points[i, 0], points[i, 2]
        for j in range(cells):
            far = (3.0 * size[j]) ** 2
            dx = x - centroid[j, 0]
            dz = z - centroid[j, 2]
            value = 0.0
            for image in range(2):
                if image == 1 and mirror == 0.0:
                    continue
                y = points[i, 1] if image == 0 else -points[i, 1]
                dy = y - centroid[j, 1]
                r2 = dx * dx + dy * dy + dz * dz
                one = volume[j] / math.sqrt(r2) if r2 > far else _near_cell(x, y, z, faces[j], normals[j])
                value += one if image == 0 else mirror * one
            out[i, j] = value / (FOUR_PI * volume[j])
    return out


@njit(cache=True, parallel=True, fastmath=False)
def average_near_panels(out, rows, tgauss, tweight, corners, normal, centroid, area, size, mirror):  # type: ignore[no-untyped-def]
    """Replace potentials of near panels by their average over the target's Gauss points.

    ``out`` (targets, panels); target i has points ``tgauss[i]`` (g, 3) with weights ``tweight[i]`` that add to 1,
    and its collocation point ``rows[i]``.
    """
    for i in prange(rows.shape[0]):
        for j in range(corners.shape[0]):
            for image in range(2):
                if image == 1 and mirror == 0.0:
                    continue
                flip = 1.0 if image == 0 else -1.0
                dx = rows[i, 0] - centroid[j, 0]
                dy = flip * rows[i, 1] - centroid[j, 1]
                dz = rows[i, 2] - centroid[j, 2]
                if dx * dx + dy * dy + dz * dz > (NEAR * size[j]) ** 2:
                    continue
                total = -polygon_potential(rows[i, 0], flip * rows[i, 1], rows[i, 2], corners[j], normal[j])
                for g in range(tgauss.shape[1]):
                    total += tweight[i, g] * polygon_potential(
                        tgauss[i, g, 0], flip * tgauss[i, g, 1], tgauss[i, g, 2], corners[j], normal[j]
                    )
                out[i, j] += (1.0 if image == 0 else mirror) * total / (FOUR_PI * area[j])


@njit(cache=True, parallel=True, fastmath=False)
def average_near_cells(out, rows, tgauss, tweight, faces, normals, centroid, volume, size, mirror):  # type: ignore[no-untyped-def]
    """The same for cells as sources."""
    for i in prange(rows.shape[0]):
        for j in range(faces.shape[0]):
            for image in range(2):
                if image == 1 and mirror == 0.0:
                    continue
                flip = 1.0 if image == 0 else -1.0
                dx = rows[i, 0] - centroid[j, 0]
                dy = flip * rows[i, 1] - centroid[j, 1]
                dz = rows[i, 2] - centroid[j, 2]
                if dx * dx + dy * dy + dz * dz > (NEAR * size[j]) ** 2:
                    continue
                total = -_cell(
                    rows[i, 0],
                    flip * rows[i, 1],
                    rows[i, 2],
                    faces[j],
                    normals[j],
                    centroid[j],
                    volume[j],
                    size[j],
                )
                for g in range(tgauss.shape[1]):
                    total += tweight[i, g] * _cell(
                        tgauss[i, g, 0],
                        flip * tgauss[i, g, 1],
                        tgauss[i, g, 2],
                        faces[j],
                        normals[j],
                        centroid[j],
                        volume[j],
                        size[j],
                    )
                out[i, j] += (1.0 if image == 0 else mirror) * total / (FOUR_PI * volume[j])


@njit(cache=True, fastmath=False)
def _add_panel_field(x, y, z, charge, corners, normal, centroid, area, size, grad, out, flip):  # type: ignore[no-untyped-def]
    dx = x - centroid[0]
    dy = y - centroid[1]
    dz = z - centroid[2]
    r2 = dx * dx + dy * dy + dz * dz
    if r2 > (2.0 * FAR * size) ** 2:
        scale = charge / (FOUR_PI * r2 * math.sqrt(r2))
        out[0] += dx * scale
        out[1] += flip * dy * scale
        out[2] += dz * scale
        return
    polygon_gradient(x, y, z, corners, normal, grad)
    scale = -charge / (FOUR_PI * area)
    out[0] += grad[0] * scale
    out[1] += flip * grad[1] * scale
    out[2] += grad[2] * scale


@njit(cache=True, parallel=True, fastmath=False)
def panel_fields(points, charges, corners, normal, centroid, area, size, mirror):  # type: ignore[no-untyped-def]
    """H at each point of panels that carry ``charges`` (A m), A/m."""
    count = points.shape[0]
    out = np.zeros((count, 3))
    for i in prange(count):
        grad = np.empty(3)
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for j in range(corners.shape[0]):
            _add_panel_field(
                x, y, z, charges[j], corners[j], normal[j], centroid[j], area[j], size[j], grad, out[i], 1.0
            )
            if mirror != 0.0:
                _add_panel_field(
                    x,
                    -y,
                    z,
                    mirror * charges[j],
                    corners[j],
                    normal[j],
                    centroid[j],
                    area[j],
                    size[j],
                    grad,
                    out[i],
                    -1.0,
                )
    return out


@njit(cache=True, fastmath=False)
def _add_cell_field(x, y, z, charge, faces, normals, centroid, volume, size, out, flip):  # type: ignore[no-untyped-def]
    dx = x - centroid[0]
    dy = y - centroid[1]
    dz = z - centroid[2]
    r2 = dx * dx + dy * dy + dz * dz
    if r2 > (6.0 * size) ** 2:
        scale = charge / (FOUR_PI * r2 * math.sqrt(r2))
        out[0] += dx * scale
        out[1] += flip * dy * scale
        out[2] += dz * scale
        return
    scale = charge / (FOUR_PI * volume)
    for f in range(6):
        value = scale * polygon_potential(x, y, z, faces[f], normals[f])
        out[0] += normals[f, 0] * value
        out[1] += flip * normals[f, 1] * value
        out[2] += normals[f, 2] * value


@njit(cache=True, parallel=True, fastmath=False)
def cell_fields(points, charges, faces, normals, centroid, volume, size, mirror):  # type: ignore[no-untyped-def]
    """H at each point of hexahedral cells that carry ``charges`` (A m), A/m."""
    count = points.shape[0]
    out = np.zeros((count, 3))
    for i in prange(count):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for j in range(faces.shape[0]):
            _add_cell_field(x, y, z, charges[j], faces[j], normals[j], centroid[j], volume[j], size[j], out[i], 1.0)
            if mirror != 0.0:
                _add_cell_field(
                    x,
                    -y,
                    z,
                    mirror * charges[j],
                    faces[j],
                    normals[j],
                    centroid[j],
                    volume[j],
                    size[j],
                    out[i],
                    -1.0,
                )
    return out


def polygon_potential_of(point: FloatArray, corners: FloatArray, normal: FloatArray) -> float:
    """Return the integral of 1/R over one polygon seen from ``point`` (3,), m; for tests."""
    return float(polygon_potential(point[0], point[1], point[2], corners, normal))
