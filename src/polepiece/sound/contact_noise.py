"""Noise of the plectrum on the string before it lets go: a random force where the plectrum is, taken up by the string.

An impulse J at x sets mode n off with the velocity 2 J sin(n pi x/L) sinc(n w/2L)/(mu L) (derived here: modal mass
mu L/2, contact of width w). The force is that of the pull, T h/(L p (1 - p)), times a share that fluctuates: a click
where the plectrum lands and a slip that grows until it lets go. What the string still holds of it at the release
rings on with the note.

No published spectrum of the force was found. Share, times and the factor of a wound string are assumptions for
listening, the same for every state: friction of some 0.2 to 0.3 of the force whose tenth part fluctuates. That the
plectrum parts the string in two while it touches is left out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound._setting_off import convolved, grown, struck
from polepiece.sound.modebank import BLOCK, ModeBank
from polepiece.strings import Pluck, SpeakingString, StringModes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

SHARE = 0.03  # rms of the fluctuating force over that of the pull, 0 to 24 kHz; spread 0.01 to 0.1
ROUGH = 2.0  # of a wound string against a plain one; spread 1 to 4
LANDING_S, SLIP_S = 1e-3, 2e-3  # of the click, and of the slip; spread by 2


@dataclass(frozen=True, slots=True, eq=False)
class Scrape:
    """The force of one stroke's noise, N, sample by sample up to the release."""

    force: Floats
    sample_rate: float

    @classmethod
    def of(
        cls, pluck: Pluck, string: SpeakingString, *, count: int, sample_rate: float, generator: np.random.Generator
    ) -> "Scrape":
        """Draw the noise of ``pluck`` on ``string`` (at its fret) over the ``count`` samples before the release.

        Its size and course are assumptions (module).
        """
        part = pluck.position / string.length
        pull = string.tension * pluck.displacement / (string.length * part * (1.0 - part))
        before = (np.arange(count) + 0.5 - count) / sample_rate
        envelope = np.exp(-(before - before[:1]) / LANDING_S) + np.exp(before / SLIP_S)
        share = SHARE * (ROUGH if string.wound else 1.0) * np.sqrt(sample_rate / 48e3)
        return cls(share * pull * envelope * generator.standard_normal(count), sample_rate)

    def unit(self, modes: StringModes, pluck: Pluck, string: SpeakingString) -> Complexes:
        """Amplitudes (2 planes, 2 motions, n) in m that an impulse of 1 N s leaves.

        Derived here (module).
        """
        unit = np.empty((2, 2, modes.number.size), dtype=complex)
        gain = 2.0 / (string.unit_mass * string.length) / (2.0 * np.pi)
        place, width = np.pi * pluck.position / string.length, 0.5 * np.pi * pluck.width / string.length
        struck(modes.number, modes.frequency[0], modes.turned, place, width, gain, float(pluck.angle), unit)
        return unit

    def left(self, bank: ModeBank) -> Complexes:
        """Return by what amplitudes of a unit impulse grow up to the release: sum J_k exp(-s t_k) (m,).

        The impulse of sample k falls in its middle, so half a sample is lost at the end. Derived here.
        """
        blocks = -(-self.force.size // BLOCK)
        pieces = np.zeros(blocks * BLOCK, dtype=bank.kind)
        pieces[: self.force.size] = self.force[::-1] / self.sample_rate
        parts = bank.basis @ np.ascontiguousarray(pieces.reshape(blocks, BLOCK).T)
        out = np.empty(bank.exponent.size, dtype=complex)
        grown(parts, bank.step, bank.exponent, self.sample_rate, bank.order, out)
        return out

    def heard(self, ringing: NDArray[np.float32]) -> NDArray[np.float32]:
        """Volts (c, count) before the release of a string that gives ``ringing`` (c, count) after 1 N s.

        Definition of a convolution.
        """
        out = np.empty_like(ringing, order="C")
        convolved(np.ascontiguousarray(ringing), (self.force / self.sample_rate).astype(np.float32), out)
        return out
