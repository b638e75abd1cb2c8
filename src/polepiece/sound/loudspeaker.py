"""A loudspeaker to listen through: a made-up 12-inch driver in a closed box, or the person's own impulse response.

The made-up one follows general properties of the kind and stands for no product. Its three parts:

- closed box: second-order high-pass (Small 1972, "Closed-Box Loudspeaker Systems", J. Audio Eng. Soc. 20; form,
  memory). A 12-inch guitar driver comes out at a -3 dB point of 110 to 117 Hz whatever the box (design figures for
  1 to 20 cubic feet in a magazine for players, read second-hand); 110 Hz and a total Q of 0.707 are taken.
- the cone no longer moves as one piece above its first modes and radiates a broad hump between 2 and 4 kHz (general
  property, memory; Zollner, "Physics of the Electric Guitar", chapter 11): 6 dB at 2.5 kHz, Q 1 (assumption).
- above some 5 kHz nothing much comes (the usual range is given as 75 Hz to 5 kHz in encyclopaedias, read): a
  fourth-order low-pass at 5 kHz (order: assumption).
"""

from dataclasses import dataclass
from math import gcd

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy import signal

from polepiece.errors import InputError

Floats = NDArray[np.float64]

BOX_FREQUENCY, BOX_Q = 110.0, 2.0**-0.5  # Hz
HUMP_FREQUENCY, HUMP_DB, HUMP_Q = 2500.0, 6.0, 1.0  # Hz
TOP_FREQUENCY, TOP_ORDER = 5000.0, 4  # Hz
LONGEST_RESPONSE = 2.0  # s
SHORTEST_RESPONSE = 1e-3  # s
ROOM = 128  # samples in front and behind while resampling: 1 ms at the highest rate of 192 kHz holds what rings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ImpulseResponse:
    """A loudspeaker as the person measured or chose it.

    Attributes
    ----------
    samples : shape (t,), read-only.
    sample_rate : Hz.
    name : what it is called in messages.

    Raises
    ------
    InputError
        When it is shorter than 1 ms or longer than 2 s, not one channel, not finite, or silent.
    """

    samples: Floats
    sample_rate: int
    name: str

    def __post_init__(self) -> None:
        samples = np.array(self.samples, dtype=float)
        if samples.ndim != 1:
            raise InputError(f"{self.name}: the impulse response has shape {samples.shape}; one channel is needed.")
        if not self.sample_rate > 0.0:
            raise InputError(f"{self.name}: its sample rate is {self.sample_rate:g} Hz; it must be above 0.")
        seconds = samples.size / self.sample_rate
        if not SHORTEST_RESPONSE <= seconds <= LONGEST_RESPONSE:
            raise InputError(
                f"{self.name}: it lasts {seconds:.4g} s; an impulse response of a loudspeaker lasts "
                f"{SHORTEST_RESPONSE * 1e3:g} ms to {LONGEST_RESPONSE:g} s. Is it a recording?"
            )
        if not np.all(np.isfinite(samples)):
            raise InputError(f"{self.name}: the impulse response holds NaN or infinite samples.")
        if not np.any(samples):
            raise InputError(f"{self.name}: the impulse response is silent; nothing would be heard.")
        samples.flags.writeable = False
        object.__setattr__(self, "samples", samples)

    def at_rate(self, sample_rate: int) -> tuple[Floats, int]:
        """Return its taps at another sample rate (Hz), and how many of them lie before its first sample.

        The gain is the same at every frequency that both rates hold. Resampling a sound that begins at once needs
        room in front of it: that room is the second value, a delay to be taken out again.

        Definition: taps scale with the rate where the gain at each frequency is kept.
        """
        old, new = int(self.sample_rate), int(sample_rate)
        if old == new:
            return np.array(self.samples), 0
        common = gcd(old, new)
        times = -(-ROOM * common // min(old, new))
        padded = np.concatenate([np.zeros(times * old // common), self.samples, np.zeros(ROOM)])
        other = np.asarray(soxr.resample(padded, old, new, quality="VHQ"), dtype=float)
        return other * (old / new), times * new // common


def closed_box(sample_rate: float) -> Floats:
    """Second-order sections (n, 6) of the made-up loudspeaker; gain 1 in the middle of its range.

    Notes
    -----
    Bilinear transform of the analogue prototype, each part warped to its own corner: within 0.3 dB of the
    prototype from 20 Hz to 5 kHz at 44.1 kHz and above (checked in tests/unit/sound).
    """
    parts = [_closed(sample_rate), _hump(sample_rate)]
    top = signal.butter(TOP_ORDER, TOP_FREQUENCY, fs=sample_rate, output="sos")
    return np.concatenate([np.array(parts), np.asarray(top)])


def _closed(rate: float) -> Floats:
    k = np.tan(np.pi * BOX_FREQUENCY / rate)
    scale = 1.0 + k / BOX_Q + k * k
    return np.asarray(np.array([1.0, -2.0, 1.0, scale, 2.0 * (k * k - 1.0), 1.0 - k / BOX_Q + k * k]) / scale)


def _hump(rate: float) -> Floats:
    k, gain = np.tan(np.pi * HUMP_FREQUENCY / rate), 10.0 ** (HUMP_DB / 20.0)
    wide, narrow = gain * k / HUMP_Q, k / HUMP_Q
    scale, middle = 1.0 + narrow + k * k, 2.0 * (k * k - 1.0)
    above, below = [1.0 + wide + k * k, middle, 1.0 - wide + k * k], [scale, middle, 1.0 - narrow + k * k]
    return np.asarray(np.array([*above, *below]) / scale)
