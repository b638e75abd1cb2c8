"""Give a recording the response of another pickup state: a minimum-phase filter with the ratio of the two."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError
from polepiece.later import fft
from polepiece.sound.streams import Convolver
from polepiece.sound.transfer import PickupResponse

Floats = NDArray[np.float64]

DESIGN_SIZE_S = 0.34  # length of the design transform, s: the cepstrum of a passive network dies in a tenth of it
FILTER_S = 0.04  # length of the filter, s: some 50 time constants of a coil (L/R under 1 ms)
LOWEST_RATE, HIGHEST_RATE = 44.1e3, 192e3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RatioFilter:
    """A causal filter that turns the old response into the new one.

    Attributes
    ----------
    taps : shape (n,), minimum phase; ``taps[0]`` is the first sample out, so there is no delay.
    sample_rate : Hz.
    worst_error_db : largest difference in level between filter and wanted (regularised) ratio inside the
        common band of the two responses.
    largest_gain_db : largest gain of the filter at any frequency.
    regularised_db : largest difference between the plain ratio and the regularised one inside that band.
    """

    taps: Floats
    sample_rate: float
    worst_error_db: float
    largest_gain_db: float
    regularised_db: float

    def __post_init__(self) -> None:
        self.taps.flags.writeable = False


def minimum_phase(magnitude: Floats) -> Floats:
    """Impulse response (n,) of the minimum-phase system with this magnitude on the bins of an even rfft.

    Notes
    -----
    Folded real cepstrum: the logarithm's anti-causal half is added to the causal one. A magnitude of one
    gives exactly a unit impulse.
    Textbooks of signal processing (from memory).
    """
    size = 2 * (magnitude.size - 1)
    cepstrum = fft.irfft(np.log(magnitude), size)
    cepstrum[1 : size // 2] *= 2.0
    cepstrum[size // 2 + 1 :] = 0.0
    return np.asarray(fft.irfft(np.exp(fft.rfft(cepstrum)), size))


def ratio_filter(
    old: PickupResponse, new: PickupResponse, *, sample_rate: float, floor_db: float = -60.0
) -> RatioFilter:
    """Design the filter ``new / old``, level included.

    Parameters
    ----------
    old, new : response with which the recording was made, and the one wanted.
    sample_rate : of the recording, 44100 to 192000 Hz.
    floor_db : level, relative to the maximum of ``old``, around which the ratio is let go: a recording holds
        noise there, not strings.

    Returns
    -------
    filter : :class:`RatioFilter`.

    Raises
    ------
    InputError
        For a sample rate outside the range or responses without a common band.

    Notes
    -----
    |R| = (|new||old| + g e^2)/(|old|^2 + e^2), e = floor * max|old|, g = sum|new||old| / sum|old|^2: the
    plain ratio where the old response has energy, the broad level ratio where it has none; exactly 1 for
    equal responses and exactly k for a pure gain k. Outside the common band of the grids the ratio is held.
    Passive networks of this kind are minimum phase, so the phase follows from |R| and nothing rings before
    an attack. A reversed sign (out of phase) is not carried.
    Derived here, as a regularised least-squares ratio; docs/theory/strings-and-sound.md, "Re-voicing a recording".
    """
    if not LOWEST_RATE <= sample_rate <= HIGHEST_RATE:
        raise InputError(
            f"sample rate is {sample_rate:g} Hz; re-voicing works from {LOWEST_RATE:g} to "
            f"{HIGHEST_RATE:g} Hz. Is it in kHz?"
        )
    if not -160.0 <= floor_db <= -20.0:
        raise InputError(f"floor_db is {floor_db:g} dB; allowed are -160 to -20 dB.")
    low = max(old.frequency[0], new.frequency[0])
    high = min(old.frequency[-1], new.frequency[-1], 0.5 * sample_rate)
    if high <= 2.0 * low:
        raise InputError(
            f"old response covers {old.frequency[0]:g}-{old.frequency[-1]:g} Hz, new one "
            f"{new.frequency[0]:g}-{new.frequency[-1]:g} Hz: they share less than an octave."
        )
    size = 1 << int(np.ceil(np.log2(DESIGN_SIZE_S * sample_rate)))
    frequency = fft.rfftfreq(size, 1.0 / sample_rate)
    held = np.clip(frequency, low, high)
    was, wanted = np.abs(old.at(held)), np.abs(new.at(held))
    grid = np.geomspace(low, high, 512)
    grid_was, grid_wanted = np.abs(old.at(grid)), np.abs(new.at(grid))
    broad = float(np.sum(grid_wanted * grid_was) / np.sum(grid_was**2))
    if broad <= 0.0:
        raise InputError("the new response is zero where the old one has energy: nothing would be heard.")
    floor = (10.0 ** (floor_db / 20.0) * np.max(grid_was)) ** 2
    ratio = (wanted * was + broad * floor) / (was**2 + floor)
    response = minimum_phase(np.maximum(ratio, 1e-8 * broad))
    count = round(FILTER_S * sample_rate)
    taps = response[:count].copy()
    fade = count // 4
    taps[-fade:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, fade + 1) / fade)
    found = np.abs(fft.rfft(taps, size))
    inside = (frequency >= low) & (frequency <= high)
    plain = wanted[inside] / np.maximum(was[inside], 1e-300)
    return RatioFilter(
        taps=taps,
        sample_rate=float(sample_rate),
        worst_error_db=float(np.max(np.abs(20.0 * np.log10(found[inside] / ratio[inside])))),
        largest_gain_db=float(20.0 * np.log10(np.max(found))),
        regularised_db=float(np.max(np.abs(20.0 * np.log10(np.maximum(plain, 1e-15) / ratio[inside])))),
    )


def apply_filter(samples: NDArray[Any], taps: Floats) -> NDArray[Any]:
    """Convolve a recording with a causal filter, chunk by chunk, and keep its length.

    Parameters
    ----------
    samples : shape (t,) or (t, c), floating point. float32 stays float32.
    taps : shape (n,).

    Returns
    -------
    filtered : same shape and type; the filter's ringing after the last sample is cut.

    Notes
    -----
    By blocks, see :class:`polepiece.sound.Convolver`; a recording too long for the memory is filtered with that.
    """
    sound = np.asarray(samples)
    if sound.ndim not in (1, 2) or sound.shape[0] == 0:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), not empty.")
    if not np.issubdtype(sound.dtype, np.floating):
        raise InputError(f"samples are {sound.dtype}; give floating point, full scale 1.0.")
    columns = np.ascontiguousarray(sound.reshape(sound.shape[0], -1).T, dtype=float)
    result = Convolver(taps, columns.shape[0]).process(columns)
    return np.ascontiguousarray(result.T).reshape(sound.shape).astype(sound.dtype, copy=False)


def revoice(
    samples: NDArray[Any],
    *,
    sample_rate: float,
    old: PickupResponse,
    new: PickupResponse,
    floor_db: float = -60.0,
) -> NDArray[Any]:
    """Return a recording as the new pickup state would have given it, level included.

    Only the linear response is exchanged: what the string's position over the pole, the comb of two rows or
    the curved flux law did to the recording stays in it. See
    :func:`ratio_filter` for how the ratio is regularised.

    Parameters
    ----------
    samples : shape (t,) or (t, c), floating point.
    sample_rate : Hz, 44100 to 192000.
    old, new : the two responses.
    floor_db : see :func:`ratio_filter`.

    Returns
    -------
    samples : same shape and type. Not limited: check the peak before writing it to a file.
    """
    return apply_filter(samples, ratio_filter(old, new, sample_rate=sample_rate, floor_db=floor_db).taps)
