"""Strings at rest that ring along: the bridge under a played string gives, and moves the end of the others.

Mode n of string A pulls the bridge with T_A (n pi/L_A) a_n, which yields with the velocity G times that. A string B
whose end moves by y has b'' + 2 sigma b' + omega^2 b = 2 T_B (m pi/L_B)/(mu_B L_B) y. A line a_n = A exp(s_n t) sets

    b_m = C [exp(s_n t) - exp(s_m t)],
    C = 2 T_B (m pi/L_B)/(mu_B L_B) G T_A (n pi/L_A) A / [s_n (s_n - s_m)(s_n - s_m*)]

off, first order in G: what B gives back to A is left out, as is the motion across the strings. Derived here. G is the
bridge's part of the flat conductance of both ends (`LossModel`): one half, an assumption. Every string that no note
sounds on is free to ring unless the hand is on the strings (a palm-muted note): an assumption, too; many players damp
them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.later import njit
from polepiece.sound.modebank import ModeBank, ModeSum
from polepiece.strings import LossModel, SpeakingString, StringModes, StringSensing

Sound = NDArray[np.float32]
Complexes = NDArray[np.complex128]

BRIDGE = 0.5  # share of the ends' conductance
NEAR_HZ = 6.0  # lines further apart than this give less than a fiftieth of what a hertz gives at once
TOP_HZ = 4e3  # higher ones have died before anything is heard
FAINT = 3e-3  # of the loudest partial played, as velocity: -50 dB; weaker ones are left out
SILENT = 1e-4  # of the loudest of these: lower ones are dropped, 130 dB under the note, so that no end of one is heard
RING_S = 2.0  # s after the note in which they are still followed
FADE_S = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class SympatheticVoice:
    """What one string at rest adds to the linear voltage of a note on another."""

    count: int  # samples, from the note's stroke on
    _during: ModeSum
    _behind: ModeSum
    _stop: int  # sample at which the note is stopped
    _fade: int

    @classmethod
    def of(
        cls, played: tuple[SpeakingString, StringModes, Complexes], free: tuple[SpeakingString, StringModes],
        sensing: StringSensing, *, stop: int, free_until: int, sample_rate: float, loss: LossModel,
        channels: "NDArray[np.int_]",
    ) -> "SympatheticVoice | None":  # fmt: skip
        """Return the voice; None where nothing of it would be heard.

        ``played`` : string, modes, and vertical amplitudes (n,), m. ``free`` : the other string and its modes.
        ``stop``, ``free_until`` : samples after the stroke at which the note ends, and the other is free no more.
        Derived here (module).
        """
        (one, modes, amplitude), (other, rest) = played, free
        low, near = (int(np.searchsorted(each.frequency[0], TOP_HZ)) for each in (modes, rest))
        pull = BRIDGE * loss.ends(modes.frequency[0][:low])[0] * (one.tension * np.pi / one.length)
        end = 2.0 * other.tension * np.pi / (other.unit_mass * other.length**2)
        n, m, size = _pairs(
            modes.frequency[0], modes.decay[0], np.asarray(amplitude, dtype=complex), pull * modes.number[:low],
            rest.frequency[0], rest.decay[0], end * rest.number[: near + 1], stop / sample_rate,
        )  # fmt: skip
        if not n.size:
            return None
        s, z = (
            -each.decay[0][of] + 2j * np.pi * each.frequency[0][of] for each, of in ((modes, n), (rest, m))
        )  # fmt: skip
        towards = sensing.mode_shapes(rest.number[m], other.length)[0]
        taken = np.zeros((1 + int(np.max(channels)), m.size))
        np.add.at(taken, channels, towards)
        lasts = size * (np.exp(s * stop / sample_rate) - np.exp(z * stop / sample_rate))
        both = np.concatenate([s, z])
        during = ModeBank(both, sample_rate=sample_rate, single_precision=True)
        behind = during.part(np.arange(both.size) >= n.size)
        weight = np.concatenate([taken * size * s, -taken * size * z], axis=1)
        return cls(
            min(free_until, stop + round(RING_S * sample_rate)),
            ModeSum.of(during, weight, silent=SILENT),
            ModeSum.of(behind, taken * lasts * z, silent=SILENT),
            stop, max(1, min(round(FADE_S * sample_rate), free_until - stop)),
        )  # fmt: skip

    def segment(self, first: int, count: int) -> Sound:
        """Return the linear voltages (c, count) from sample ``first`` (>= 0) after the stroke on.

        The fade at its end is an assumption.
        """
        middle = min(max(self._stop - first, 0), count)
        parts = [self._during.sums(first, middle)] if middle else []
        if middle < count:
            parts.append(self._behind.sums(first + middle - self._stop, count - middle))
        both: Sound = np.concatenate(parts, axis=1) if len(parts) > 1 else parts[0]
        fading = max(self.count - self._fade - first, 0)
        if fading < count:
            left = (self.count - np.arange(first + fading, first + count)) / self._fade
            both[:, fading:] *= np.clip(left, 0.0, 1.0).astype(np.float32)
        return both


@njit(cache=True)
def _pairs(frequency, decay, amplitude, give, others, damping, take, stop):  # type: ignore[no-untyped-def]
    """Partials n of the played string and m of the free one that are heard together, and C (m) of each: (k,) each.

    ``frequency``, ``decay``, ``amplitude`` (n,) of the played string, ``give`` of its first ones; ``others``,
    ``damping`` (m,), ``take`` of the free one's first ones; ``stop`` s. Derived in the module.
    """
    loudest = 0.0
    for i in range(frequency.size):
        loudest = max(loudest, np.abs(amplitude[i]) * np.hypot(decay[i], 2.0 * np.pi * frequency[i]))
    most, count = give.size * take.size, 0
    n, m, size = np.empty(most, np.int64), np.empty(most, np.int64), np.empty(most, np.complex128)
    first = 0
    for i in range(give.size):
        while first < take.size and others[first] <= frequency[i] - NEAR_HZ:
            first += 1
        s = -decay[i] + 2j * np.pi * frequency[i]
        for j in range(first, take.size):
            if others[j] >= frequency[i] + NEAR_HZ:
                break
            z = -damping[j] + 2j * np.pi * others[j]
            one = take[j] * give[i] * amplitude[i] / (s * (s - z) * (s - z.conjugate()))
            if np.abs(one * s) * min(1.0, np.abs(s - z) * stop) > FAINT * loudest:
                n[count], m[count], size[count] = i, j, one
                count += 1
    return n[:count].copy(), m[:count].copy(), size[:count].copy()
