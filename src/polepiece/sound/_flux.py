"""The compiled loop of the curved flux law: one pass over the samples of each pole row."""

import numpy as np

from polepiece.later import njit


@njit(cache=True, fastmath=True)
def add_curved(motion, towards, across, reach, ends, output, total):  # type: ignore[no-untyped-def]
    """Add to ``total`` (o, t) what rows link beyond the straight part; Horner's scheme, all in 32 bits.

    ``motion`` (planes r, t): w of every row, then u of every row where there are two planes, mm. ``towards`` (r, 8) of
    w^2 to w^9, ``across`` (r, 5) of u^2 w^0 to u^2 w^4, both per mm; ``reach`` (r, 2) mm; ``ends`` (r, 2, 3) of the law
    at both: slope and half the curvature of the first series, slope of the second, along which it goes on beyond them;
    ``output`` (r,).

    The law of `polepiece.strings.FluxRows`, derived in `polepiece.strings.swing`.
    """
    rows, count = towards.shape[0], motion.shape[1]
    for r in range(rows):
        a0, a1, a2, a3 = towards[r, 0], towards[r, 1], towards[r, 2], towards[r, 3]
        a4, a5, a6, a7 = towards[r, 4], towards[r, 5], towards[r, 6], towards[r, 7]
        b0, b1, b2, b3, b4 = across[r, 0], across[r, 1], across[r, 2], across[r, 3], across[r, 4]
        low, high = reach[r, 0], reach[r, 1]
        l1, l2, l3 = ends[r, 0, 0], ends[r, 0, 1], ends[r, 0, 2]
        h1, h2, h3 = ends[r, 1, 0], ends[r, 1, 1], ends[r, 1, 2]
        none = np.float32(0.0)
        put, one = total[output[r]], motion[r]
        if motion.shape[0] > rows:
            side = motion[rows + r]
            for i in range(count):
                w, u = min(max(one[i], low), high), side[i]
                t = ((((((a7 * w + a6) * w + a5) * w + a4) * w + a3) * w + a2) * w + a1) * w + a0
                s = (((b4 * w + b3) * w + b2) * w + b1) * w + b0
                over, under = max(one[i] - high, none), min(one[i] - low, none)
                s += h3 * over + l3 * under
                put[i] += t * w * w + s * u * u + (h2 * over + h1) * over + (l2 * under + l1) * under
        else:
            for i in range(count):
                w = min(max(one[i], low), high)
                t = ((((((a7 * w + a6) * w + a5) * w + a4) * w + a3) * w + a2) * w + a1) * w + a0
                over, under = max(one[i] - high, none), min(one[i] - low, none)
                put[i] += t * w * w + (h2 * over + h1) * over + (l2 * under + l1) * under


def in_millimetres(towards, across, reach):  # type: ignore[no-untyped-def]
    """Return the law of `add_curved` for motion in mm, in 32 bits, from one in metres: towards, across, reach, ends.

    Definition of a unit, and of a derivative.
    """
    p, q = np.arange(2, 2 + towards.shape[1]), np.arange(across.shape[1])
    towards, across, reach = towards * 1e-3**p, across * 1e-3 ** (2 + q), 1e3 * reach
    w = reach[:, :, None]
    slope = (towards[:, None] * p * w ** (p - 1)).sum(axis=-1)
    bend = 0.5 * (towards[:, None] * p * (p - 1) * w ** (p - 2)).sum(axis=-1)
    side = (across[:, None, 1:] * q[1:] * w ** (q[1:] - 1)).sum(axis=-1)
    law = (towards, across, reach, np.stack([slope, bend, side], axis=-1))
    return tuple(one.astype(np.float32, order="C") for one in law)  # one layout: compiled once
