"""Compiled loops of a note that is set off: its modes as they are let go, and what is taken up of them."""

import numpy as np

from polepiece.later import njit


@njit(cache=True)
def released(rest, share, towards, across, amplitude, drawn, upright):  # type: ignore[no-untyped-def]
    """Write the complex amplitudes of a string let go from ``rest`` (2 planes released, n), m.

    ``share`` (2, 2 planes, 2 motions, n) as of `polepiece.sound.voice.Motion`; ``amplitude`` (2, 2, n); linkage of each
    channel then ``drawn`` (c,), V s, for ``towards`` and ``across`` (c, n); ``upright`` (n,), m, towards the pole.

    The motions of `mode_motion`, derived in docs/theory/strings-and-sound.md.
    """
    drawn[:] = 0.0
    for n in range(rest.shape[1]):
        for plane in range(2):
            for motion in range(2):
                amplitude[plane, motion, n] = (
                    rest[0, n] * share[0, plane, motion, n] + rest[1, n] * share[1, plane, motion, n]
                )
        up, side = amplitude[0, 0, n] + amplitude[0, 1, n], amplitude[1, 0, n] + amplitude[1, 1, n]
        upright[n] = up
        for c in range(drawn.size):
            drawn[c] += towards[c, n] * up.real + across[c, n] * side.real


@njit(cache=True)
def taken_up(amplitude, unit, left, towards, across, exponent, order, weight):  # type: ignore[no-untyped-def]
    """Add unit (2, 2, n) left (2, n) to the amplitudes, where there is any, and write the voltages to ``weight``.

    ``weight`` (c, 2 n), V, in the ``order`` of a bank of the exponents (2, n), 1/s.

    Linkage times exponent, derived in docs/theory/strings-and-sound.md.
    """
    count = amplitude.shape[2]
    if left.size:
        for plane in range(2):
            for motion in range(2):
                for n in range(count):
                    amplitude[plane, motion, n] += unit[plane, motion, n] * left[motion, n]
    for place in range(order.size):
        motion, n = order[place] // count, order[place] % count
        up, side = amplitude[0, motion, n] * exponent[motion, n], amplitude[1, motion, n] * exponent[motion, n]
        for c in range(weight.shape[0]):
            weight[c, place] = towards[c, n] * up + across[c, n] * side


@njit(cache=True)
def seen_by_rows(amplitude, shapes, order, weight):  # type: ignore[no-untyped-def]
    """Write what rows of a curved flux see of the modes to ``weight`` (planes r, 2 n), mm, in the ``order`` of a bank.

    ``shapes`` (r, n) of as many modes as the law is fed with.

    Definition of a product of shape and amplitude.
    """
    rows, count = shapes.shape
    for place in range(order.size):
        motion, n = order[place] // count, order[place] % count
        for k in range(weight.shape[0]):
            weight[k, place] = 1e3 * shapes[k % rows, n] * amplitude[k // rows, motion, n]


@njit(cache=True)
def struck(number, frequency, turned, place, width, gain, angle, unit):  # type: ignore[no-untyped-def]
    """Write the amplitudes ``unit`` (2, 2, n), m, that an impulse of 1 N s leaves: `polepiece.sound.contact_noise`.

    ``place`` and ``width`` are phases of the first mode, rad; ``gain`` in m/s a N s.

    Derived in that module.
    """
    cosine, sine = np.cos(angle), np.sin(angle)
    for n in range(frequency.size):
        half = number[n] * width
        size = -gain * np.sin(number[n] * place) * (np.sin(half) / half if half != 0.0 else 1.0) / frequency[n]
        up, side = cosine * size, sine * size
        c, s = np.cos(turned[n]), np.sin(turned[n])
        first, second = c * up + s * side, c * side - s * up
        unit[0, 0, n], unit[0, 1, n] = 1j * c * first, -1j * s * second
        unit[1, 0, n], unit[1, 1, n] = 1j * s * first, 1j * c * second


@njit(cache=True)
def grown(parts, step, exponent, rate, order, out):  # type: ignore[no-untyped-def]
    """Write to ``out`` (m,) what impulses leave, block by block: ``parts`` (2 m, b), real, imaginary in turn.

    Derived in `polepiece.sound.contact_noise`.
    """
    for m in range(order.size):
        total, turned = 0.0 + 0.0j, 1.0 + 0.0j
        for b in range(parts.shape[1]):
            total += turned * complex(parts[2 * m, b], -parts[2 * m + 1, b])
            turned *= step[m]
        out[order[m]] = total * np.exp(0.5 * exponent[m] / rate)


@njit(cache=True, fastmath=True)
def convolved(ringing, force, out):  # type: ignore[no-untyped-def]
    """Write the convolution of ``ringing`` (c, t) and ``force`` (t,) to ``out`` (c, t).

    Definition of a convolution.
    """
    out[:] = 0.0
    count = force.size
    for c in range(ringing.shape[0]):
        for k in range(count):
            share, rest, sums = force[k], ringing[c], out[c, k:]
            for t in range(count - k):
                sums[t] += share * rest[t]
