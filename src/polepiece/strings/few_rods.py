"""Rods magnetised without a compiler: the loop of `_rods` in whole arrays, for the few that a first answer asks for.

To load the compiler and what it compiled takes 0.4 s of processor; a rod takes 0.2 ms more without it. So the first
rods of a process are done here where somebody waits for the first words (`spare_the_compiler`), and when they have cost
as much, or many come at once, it is loaded. Step by step both do the same: they agree to rounding. Who does not wait
has the compiled loop alone, and the same digits whatever was asked before.
"""

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.strings._rods import HALVINGS, STEPS, TOLERANCE

AT_ONCE = 64  # rods; of one state there are 30, of its interval 400
IN_ALL = 1800  # rods, which take as long as loading the compiler


class FirstRods:
    """Counts the rods that a process has done without the compiler; it does none where nobody wants it."""

    def __init__(self, *, wanted: bool = False) -> None:
        self.done, self.wanted = 0, wanted

    def takes(self, rods: int) -> bool:
        """Tell whether ``rods`` more are done without it, and count them."""
        if not self.wanted or rods > AT_ONCE or self.done + rods > IN_ALL:
            return False
        self.done += rods
        return True


FIRST = FirstRods()


def spare_the_compiler() -> None:
    """Have the first rods of this process done without the compiler: somebody waits for the first words."""
    FIRST.wanted = True


def magnetise_few(
    h0: FloatArray, which: IntArray, n: FloatArray, ms: FloatArray, chi: FloatArray, wrap: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Solve H + N M(H) = H0 for every row of ``h0`` (s, e); row s uses ``n[which[s]]`` (e, e).

    Returns M (s, e), dM/dH (s, e) and the largest residual over its scale (s,).

    Newton's method on the equations of docs/theory/sensing.md.
    """
    matrix = n[which]
    limit = np.where(np.isinf(ms), 1e300, 0.9 * ms)
    guess = h0 * (chi / (1.0 + chi * 2e-3))[:, None]
    h = np.clip(guess, -limit[:, None], limit[:, None]) / chi[:, None]
    scale = np.maximum(np.abs(h0).max(axis=1), 1e-30)
    m, slope = _law(h, ms, chi, wrap)
    wrong = _residual(h, m, h0, matrix)
    for _ in range(STEPS):
        open_ = np.flatnonzero(np.abs(wrong).max(axis=1) > TOLERANCE * scale)
        if not len(open_):
            break
        own = matrix[open_], ms[open_], chi[open_], wrap[open_]
        jacobian = own[0] * slope[open_][:, None, :]
        jacobian[:, np.arange(h.shape[1]), np.arange(h.shape[1])] += 1.0
        move = np.asarray(np.linalg.solve(jacobian, -wrong[open_][..., None])[..., 0], dtype=np.float64)
        part = _part(h[open_], move, h0[open_], own, (wrong[open_] ** 2).sum(axis=1))
        h[open_] += part[:, None] * move
        m[open_], slope[open_] = _law(h[open_], *own[1:])
        wrong[open_] = _residual(h[open_], m[open_], h0[open_], own[0])
    return m, slope, np.abs(wrong).max(axis=1) / scale


def _part(
    h: FloatArray, move: FloatArray, h0: FloatArray, own: tuple[FloatArray, ...], before: FloatArray
) -> FloatArray:
    """Return which part of a move lessens the residual of each row, (s,)."""
    matrix, ms, chi, wrap = own
    part = np.ones(len(h))
    left = np.arange(len(h))
    for _ in range(HALVINGS):
        there = h[left] + part[left][:, None] * move[left]
        m, _ = _law(there, ms[left], chi[left], wrap[left])
        again = (_residual(there, m, h0[left], matrix[left]) ** 2).sum(axis=1)
        left = left[again > before[left] * (1.0 - 1e-4 * part[left])]
        if not len(left):
            break
        part[left] *= 0.5
    return part


def _residual(h: FloatArray, m: FloatArray, h0: FloatArray, matrix: FloatArray) -> FloatArray:
    return np.asarray(h - h0 + (matrix @ m[..., None])[..., 0])


def _law(h: FloatArray, ms: FloatArray, chi: FloatArray, wrap: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return M and dM/dH (s, e) as `_rods.rod_law`."""
    linear = np.isinf(ms)[:, None]
    top = np.where(linear, 1.0, ms[:, None])
    t = np.where(linear, 0.0, 3.0 * chi[:, None] * h / top)
    near = np.abs(t) < 0.05
    far = np.where(near, 1.0, t)
    coth = 1.0 / np.tanh(far)
    value = np.where(near, t / 3.0 - t**3 / 45.0, coth - 1.0 / far)
    steep = np.where(near, 1.0 / 3.0 - t * t / 15.0, 1.0 - coth * coth + 1.0 / (far * far))
    m = np.where(linear, chi[:, None] * h, top * value) + wrap[:, None] * h
    slope = np.where(linear, chi[:, None], 3.0 * chi[:, None] * steep) + wrap[:, None]
    return m, slope
