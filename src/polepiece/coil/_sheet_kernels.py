"""Potential and vector potential of stream functions that are bilinear on the cells of a plane grid.

Let r = sqrt(u^2 + v^2 + h^2), (u, v) from the point to a crossing of grid lines and h the point's height over the
plane. By parts, the integral of a piecewise linear f against C'' is a sum of slopes of C: with s_i the slope of C
on the cell after line i, the hat of line i gives s_i - s_(i-1), and at the ends of the grid, where the hat ends with
a step, C' there as well; the hat's own slope gives the same with the other sign and without C'. The corner
functions, repeated integrals of the solid angle's kernel h / r^3 (G) and of 1 / r for a current along u (N), are,
but for terms that cancel in every such sum,

    G    = u v a + h (u ln(u + r) + v ln(v + r) - r),      a = atan(u v / (h r))
    G_u  = v a + h ln(u + r),    G_v = u a + h ln(v + r),    G_uv = a
    N    = (u^2 - h^2)/2 ln(v + r) + u v ln(u + r) - u h a - v r / 2
    N_u  = u ln(v + r) + v ln(u + r) - h a

(derived here; checked in the tests against quadrature).
"""

import math

import numpy as np

from polepiece.later import njit, prange

FOUR_PI = 4.0 * math.pi


@njit(cache=True, fastmath=False)
def _ln(u, other, r):  # type: ignore[no-untyped-def]
    """ln(u + r) where r^2 = u^2 + other, without loss for negative u."""
    value = u + r if u >= 0.0 else other / (r - u)
    return math.log(max(value, 1e-300))


@njit(cache=True, fastmath=False)
def _along_first(c, x, step_low, step_high, sign):  # type: ignore[no-untyped-def]
    """Turn corners ``c`` (nx, ny) into sums of slopes over x, in place."""
    nx, ny = c.shape
    for j in range(ny):
        before = sign * step_low[j]
        for i in range(nx - 1):
            slope = (c[i + 1, j] - c[i, j]) / (x[i + 1] - x[i])
            c[i, j] = sign * slope - before
            before = sign * slope
        c[nx - 1, j] = sign * step_high[j] - before


@njit(cache=True, fastmath=False)
def _along_second(c, y, step_low, step_high, sign):  # type: ignore[no-untyped-def]
    """Turn corners ``c`` (nx, ny) into sums of slopes over y, in place."""
    nx, ny = c.shape
    for i in range(nx):
        before = sign * step_low[i]
        for j in range(ny - 1):
            slope = (c[i, j + 1] - c[i, j]) / (y[j + 1] - y[j])
            c[i, j] = sign * slope - before
            before = sign * slope
        c[i, ny - 1] = sign * step_high[i] - before


@njit(cache=True, fastmath=False)
def _potentials_at(px, py, h, x, y, g):  # type: ignore[no-untyped-def]
    """Write the potential of every node at one point into ``g`` (nx, ny)."""
    nx, ny = len(x), len(y)
    gu, gv, guv = np.empty((2, ny)), np.empty((2, nx)), np.empty((2, 2))
    for i in range(nx):
        u = x[i] - px
        for j in range(ny):
            v = y[j] - py
            r = math.sqrt(u * u + v * v + h * h)
            a = math.atan(u * v / (h * r)) if abs(h) > 1e-12 else 0.0
            lu, lv = _ln(u, v * v + h * h, r), _ln(v, u * u + h * h, r)
            g[i, j] = u * v * a + h * (u * lu + v * lv - r)
            if i == 0 or i == nx - 1:
                gu[0 if i == 0 else 1, j] = v * a + h * lu
            if j == 0 or j == ny - 1:
                gv[0 if j == 0 else 1, i] = u * a + h * lv
                if i == 0 or i == nx - 1:
                    guv[0 if i == 0 else 1, 0 if j == 0 else 1] = a
    _along_second(gu, y, guv[:, 0], guv[:, 1], 1.0)
    _along_second(g, y, gv[0], gv[1], 1.0)
    _along_first(g, x, gu[0], gu[1], 1.0)
    for i in range(nx):
        for j in range(ny):
            g[i, j] /= FOUR_PI


@njit(cache=True, parallel=True, fastmath=False)
def potentials(points, x, y):  # type: ignore[no-untyped-def]
    """Potential (n, nx, ny), A per A, of every node at ``points`` (n, 3) in the grid's own frame.

    Derived in the module's docstring.
    """
    count = len(points)
    out = np.empty((count, len(x), len(y)))
    for k in prange(count):
        _potentials_at(points[k, 0], points[k, 1], points[k, 2], x, y, out[k])
    return out


@njit(cache=True, fastmath=False)
def _vectors_at(px, py, h, x, y, first, second):  # type: ignore[no-untyped-def]
    """Write the two vector potentials of every node at one point into ``first`` and ``second`` (nx, ny)."""
    nx, ny = len(x), len(y)
    pu, pv = np.empty((2, ny)), np.empty((2, nx))
    none_x, none_y, none_2 = np.zeros(nx), np.zeros(ny), np.zeros(2)
    for i in range(nx):
        u = x[i] - px
        for j in range(ny):
            v = y[j] - py
            r = math.sqrt(u * u + v * v + h * h)
            a = math.atan(u * v / (h * r)) if abs(h) > 1e-12 else 0.0
            lu, lv = _ln(u, v * v + h * h, r), _ln(v, u * u + h * h, r)
            first[i, j] = 0.5 * (u * u - h * h) * lv + u * v * lu - u * h * a - 0.5 * v * r
            second[i, j] = 0.5 * (v * v - h * h) * lu + u * v * lv - v * h * a - 0.5 * u * r
            once = u * lv + v * lu - h * a
            if i == 0 or i == nx - 1:
                pu[0 if i == 0 else 1, j] = once
            if j == 0 or j == ny - 1:
                pv[0 if j == 0 else 1, i] = once
    _along_second(pu, y, none_2, none_2, -1.0)  # K along x is the slope along y
    _along_second(first, y, none_x, none_x, -1.0)
    _along_first(first, x, pu[0], pu[1], 1.0)
    _along_second(pv, x, none_2, none_2, 1.0)  # K along y is minus the slope along x
    _along_first(second, x, none_y, none_y, 1.0)
    _along_second(second, y, pv[0], pv[1], 1.0)
    for i in range(nx):
        for j in range(ny):
            first[i, j] /= FOUR_PI
            second[i, j] /= FOUR_PI


@njit(cache=True, parallel=True, fastmath=False)
def vectors(points, x, y):  # type: ignore[no-untyped-def]
    """Integral of K / (4 pi r) along the two axes (n, 2, nx, ny), of every node at ``points`` (n, 3).

    Derived in the module's docstring.
    """
    count = len(points)
    out = np.empty((count, 2, len(x), len(y)))
    for k in prange(count):
        _vectors_at(points[k, 0], points[k, 1], points[k, 2], x, y, out[k, 0], out[k, 1])
    return out
