"""Loudness (ISO 532-1) and sharpness (DIN 45692) of a sound pressure, by the `mosqito` library where it is there."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.sound.loudness_library import standards

RATE = 48_000  # Hz, that the third-octave filters of ISO 532-1 are given for
REFERENCE_PRESSURE = 20e-6  # Pa, of dB SPL (ISO 1683)
LONGEST_S = 60.0  # of a sound that is described as one
INSTALL = 'uv pip install "polepiece[descriptors]"'


class NotInstalledError(InputError):
    """The library that computes a standard's figures is not there; the message says how to get it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Perceived:
    """Loudness and sharpness of one sound."""

    sone: float
    phon: float
    acum: float


def loudness_and_sharpness(pressure: NDArray[Any], sample_rate: float) -> Perceived:
    """Return loudness (ISO 532-1, stationary method, free field from the front) and sharpness (DIN 45692).

    The stationary method takes the whole as one steady sound with the same power in each third of an octave. Of a
    decaying sound the peaks are louder than that; two states of one performance compare.

    Parameters
    ----------
    pressure : shape (t,), Pa at the ear; 0.1 to 60 s.
    sample_rate : Hz; other than 48 kHz is resampled first.

    Returns
    -------
    perceived : sone, phon and acum; sharpness is NaN for a sound under 0.1 sone.

    Raises
    ------
    NotInstalledError
        When `mosqito` is not there.
    InputError
        For another shape, or a length outside 0.1 to 60 s.
    MeasurementError
        For samples that are not finite.

    Notes
    -----
    Loudness level from loudness: 40 + 10 log2 N phon from 1 sone on, 40 N^0.35 under it, 3 at least (ISO 532-1).
    Sharpness: 0.11 times the integral of N'(z) g(z) z dz over N, with the weight g of DIN 45692.

    References
    ----------
    ISO 532-1:2017; DIN 45692:2009. Values of their test signals are checked in tests/published.
    """
    sound = np.asarray(pressure, dtype=float)
    if sound.ndim != 1 or not 0.1 <= sound.size / sample_rate <= LONGEST_S:
        raise InputError(
            f"pressure has shape {sound.shape} at {sample_rate:g} Hz; needed is one channel of 0.1 to {LONGEST_S:g} s."
        )
    if not np.all(np.isfinite(sound)):
        raise MeasurementError("the pressure holds NaN or infinite samples; its loudness has no number.")
    try:
        loudness_zwst, sharpness_din_from_loudness, sone_to_phon = standards()
    except ImportError as error:
        raise NotInstalledError(f"loudness and sharpness need the library mosqito: {INSTALL}") from error
    if sample_rate != RATE:
        sound = np.asarray(soxr.resample(sound, sample_rate, RATE, quality="VHQ"), dtype=float)
    loudness, specific, _ = loudness_zwst(np.where(sound == 0.0, 1e-12, sound), RATE)
    sone = float(loudness)
    sharpness = float(sharpness_din_from_loudness(sone, np.asarray(specific))) if sone >= 0.1 else np.nan
    return Perceived(sone=sone, phon=float(sone_to_phon(sone)), acum=sharpness)
