"""The compiled loop that magnetises many thin rods: one small Newton iteration each."""

import math

import numpy as np

from polepiece.later import njit, prange

STEPS = 60
HALVINGS = 12
TOLERANCE = 1e-7


@njit(cache=True, fastmath=False)
def rod_law(h, ms, chi, wrap):  # type: ignore[no-untyped-def]
    """M and dM/dH of a Langevin rod (linear where ``ms`` is infinite) with a linear wrap.

    Langevin 1905 (from memory), its shape for string steel is an assumption.
    """
    if math.isinf(ms):
        return chi * h + wrap * h, chi + wrap
    t = 3.0 * chi * h / ms
    if abs(t) < 0.05:
        value = t / 3.0 - t**3 / 45.0
        slope = 1.0 / 3.0 - t * t / 15.0
    else:
        coth = 1.0 / math.tanh(t)
        value = coth - 1.0 / t
        slope = 1.0 - coth * coth + 1.0 / (t * t)
    return ms * value + wrap * h, 3.0 * chi * slope + wrap


ONE = np.uint64(1)  # indices without a sign: with one, each is first looked at for "from the end", twice as slow


@njit(cache=True, fastmath=False)
def solve_in_place(a, b):  # type: ignore[no-untyped-def]
    """Solve a x = b for ``a`` (e, e) and ``b`` (e,), not singular; x is left in ``b``, and ``a`` is used up.

    Elimination after Gauss with the largest pivot of each column (textbook). For some fifty unknowns it takes 11 us,
    the library's 16, and it is compiled in a fifth of a second instead of six.
    """
    e = np.uint64(len(b))
    for k in range(e):
        best = k
        for i in range(k + ONE, e):
            if abs(a[i, k]) > abs(a[best, k]):
                best = i
        if best != k:
            for j in range(k, e):
                a[k, j], a[best, j] = a[best, j], a[k, j]
            b[k], b[best] = b[best], b[k]
        share = 1.0 / a[k, k]
        for i in range(k + ONE, e):
            factor = a[i, k] * share
            for j in range(k + ONE, e):
                a[i, j] -= factor * a[k, j]
            b[i] -= factor * b[k]
    for back in range(e):
        row = e - ONE - back
        total = b[row]
        for j in range(row + ONE, e):
            total -= a[row, j] * b[j]
        b[row] = total / a[row, row]


@njit(cache=True, fastmath=False)
def residual(h, h0, matrix, m, slope, wrong, ms, chi, wrap):  # type: ignore[no-untyped-def]
    """Leave M, dM/dH and H + N M - H0 at ``h`` (e,) in ``m``, ``slope``, ``wrong``; return its square and largest.

    The equations of docs/theory/sensing.md.
    """
    norm = 0.0
    size = 0.0
    for i in range(len(h)):
        m[i], slope[i] = rod_law(h[i], ms, chi, wrap)
    for i in range(len(h)):
        total = h[i] - h0[i]
        for j in range(len(h)):
            total += matrix[i, j] * m[j]
        wrong[i] = total
        norm += total * total
        size = max(size, abs(total))
    return norm, size


@njit(cache=True, parallel=True, fastmath=False)
def magnetise_rods(h0, which, n, ms, chi, wrap):  # type: ignore[no-untyped-def]
    """Solve H + N M(H) = H0 for every row of ``h0`` (s, e); row s uses ``n[which[s]]`` (e, e).

    Returns M (s, e), dM/dH (s, e) and the largest residual over its scale (s,).

    Newton's method on the equations of docs/theory/sensing.md.
    """
    count, e = h0.shape
    m_out = np.empty((count, e))
    slope_out = np.empty((count, e))
    left = np.empty(count)
    for s in prange(count):
        matrix = n[which[s]]
        h = np.empty(e)
        m = np.empty(e)
        slope = np.empty(e)
        wrong = np.empty(e)
        there = np.empty(e)
        scale = 1e-30
        for i in range(e):
            scale = max(scale, abs(h0[s, i]))
            limit = 0.9 * ms[s] if not math.isinf(ms[s]) else 1e300
            guess = h0[s, i] * chi[s] / (1.0 + chi[s] * 2e-3)
            h[i] = min(max(guess, -limit), limit) / chi[s]
        norm, size = residual(h, h0[s], matrix, m, slope, wrong, ms[s], chi[s], wrap[s])
        for _step in range(STEPS):
            if size <= TOLERANCE * scale:
                break
            jacobian = np.empty((e, e))
            for i in range(e):
                for j in range(e):
                    jacobian[i, j] = matrix[i, j] * slope[j]
                jacobian[i, i] += 1.0
            move = -wrong
            solve_in_place(jacobian, move)
            part = 1.0
            for _ in range(HALVINGS):
                for i in range(e):
                    there[i] = h[i] + part * move[i]
                again, size = residual(there, h0[s], matrix, m, slope, wrong, ms[s], chi[s], wrap[s])
                if again <= norm * (1.0 - 1e-4 * part):
                    break
                part *= 0.5
            norm = again
            for i in range(e):
                h[i] = there[i]
        for i in range(e):
            m_out[s, i] = m[i]
            slope_out[s, i] = slope[i]
        left[s] = size / scale
    return m_out, slope_out, left
