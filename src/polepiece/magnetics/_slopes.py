"""Compiled integrals: the slope across the strings of the potential of every element.

The derivatives along y of what `_kernels.panel_potentials` and `cell_potentials` give, rule by rule: closed form near
an element, Gauss points and a point charge farther away.
"""

import math

import numpy as np
from numba import njit, prange

from polepiece.magnetics._kernels import FAR, FOUR_PI, MIDDLE, _edge, _height, polygon_potential


@njit(cache=True, fastmath=False)
def _panel(x, y, z, corners, normal, centroid, gauss, weight, area, size):  # type: ignore[no-untyped-def]
    dx = x - centroid[0]
    dy = y - centroid[1]
    dz = z - centroid[2]
    r2 = dx * dx + dy * dy + dz * dz
    if r2 > (FAR * size) ** 2:
        return -area * dy / (r2 * math.sqrt(r2))
    total = 0.0
    if r2 > (MIDDLE * size) ** 2:
        for g in range(4):
            ex = x - gauss[g, 0]
            ey = y - gauss[g, 1]
            ez = z - gauss[g, 2]
            e2 = ex * ex + ey * ey + ez * ez
            total -= weight[g] * ey / (e2 * math.sqrt(e2))
        return total
    d = _height(x, y, z, corners, normal)
    beta = 0.0
    for e in range(4):
        _, my, _, _, f, b = _edge(x, y, z, corners, normal, e, d)
        total -= my * f
        beta += b
    side = 1.0 if d > 0.0 else (-1.0 if d < 0.0 else 0.0)
    return total - normal[1] * side * beta


@njit(cache=True, parallel=True, fastmath=False)
def panel_slopes(points, corners, normal, centroid, gauss, weight, area, size, mirror):  # type: ignore[no-untyped-def]
    """Slope along y at each point of one ampere-metre spread over each panel; with ``mirror`` its image adds.

    Derivative of `_kernels.panel_potentials` (Wilton et al. 1984, from memory).
    """
    count = points.shape[0]
    panels = corners.shape[0]
    out = np.empty((count, panels))
    for i in prange(count):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for j in range(panels):
            value = _panel(x, y, z, corners[j], normal[j], centroid[j], gauss[j], weight[j], area[j], size[j])
            if mirror != 0.0:
                value -= mirror * _panel(
                    x, -y, z, corners[j], normal[j], centroid[j], gauss[j], weight[j], area[j], size[j]
                )
            out[i, j] = value / (FOUR_PI * area[j])
    return out


@njit(cache=True, fastmath=False)
def _cell(x, y, z, faces, normals, centroid, volume, size):  # type: ignore[no-untyped-def]
    dx = x - centroid[0]
    dy = y - centroid[1]
    dz = z - centroid[2]
    r2 = dx * dx + dy * dy + dz * dz
    if r2 > (3.0 * size) ** 2:
        return -volume * dy / (r2 * math.sqrt(r2))
    total = 0.0
    for f in range(6):
        if normals[f, 1] != 0.0:
            total -= normals[f, 1] * polygon_potential(x, y, z, faces[f], normals[f])
    return total


@njit(cache=True, parallel=True, fastmath=False)
def cell_slopes(points, faces, normals, centroid, volume, size, mirror):  # type: ignore[no-untyped-def]
    """Slope along y at each point of one ampere-metre spread over each hexahedral cell.

    Derived here: by the divergence theorem the slope of a volume is the sum of n_y times its faces' potentials.
    """
    count = points.shape[0]
    cells = faces.shape[0]
    out = np.empty((count, cells))
    for i in prange(count):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for j in range(cells):
            value = _cell(x, y, z, faces[j], normals[j], centroid[j], volume[j], size[j])
            if mirror != 0.0:
                value -= mirror * _cell(x, -y, z, faces[j], normals[j], centroid[j], volume[j], size[j])
            out[i, j] = value / (FOUR_PI * volume[j])
    return out
