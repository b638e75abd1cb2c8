"""Compiled integrals: the slope across the strings of the potential of every element.

The derivatives along y of what `_kernels.panel_potentials` and `cell_potentials` give, rule by rule: closed form near
an element, Gauss points and a point charge farther away.
"""

import math

import numpy as np

from polepiece.later import njit, prange
from polepiece.magnetics._kernels import FAR, FOUR_PI, MIDDLE, _edge, _height, polygon_potential


@njit(cache=True, fastmath=False)
def _near_panel(x, y, z, corners, normal):  # type: ignore[no-untyped-def]
    d = _height(x, y, z, corners, normal)
    total, beta = 0.0, 0.0
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
                    one = -area[j] * dy / (r2 * math.sqrt(r2))
                elif r2 > middle:
                    one = 0.0
                    for g in range(4):
                        ex = x - gauss[j, g, 0]
                        ey = y - gauss[j, g, 1]
                        ez = z - gauss[j, g, 2]
                        e2 = ex * ex + ey * ey + ez * ez
                        one -= weight[j, g] * ey / (e2 * math.sqrt(e2))
                else:
                    one = _near_panel(x, y, z, corners[j], normal[j])
                value += one if image == 0 else -mirror * one
            out[i, j] = value / (FOUR_PI * area[j])
    return out


@njit(cache=True, fastmath=False)
def _near_cell(x, y, z, faces, normals):  # type: ignore[no-untyped-def]
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
                away = r2 > far
                one = -volume[j] * dy / (r2 * math.sqrt(r2)) if away else _near_cell(x, y, z, faces[j], normals[j])
                value += one if image == 0 else -mirror * one
            out[i, j] = value / (FOUR_PI * volume[j])
    return out
