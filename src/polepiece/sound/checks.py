"""What is asked of a recording before it is taken: its place, its header, its samples; each refusal says why."""

import os
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from polepiece.errors import InputError, MeasurementError

RATES = (44.1e3, 192e3)  # Hz
CHANNELS = 2
LONGEST_MINUTES = 30.0  # of a recording that is held in memory
LOUDEST_PEAK = 1e3  # +60 dBFS: no gain of a recording that is stored as floating point
SILENT_PEAK = 1e-6  # -120 dBFS: below the last bit of 20
FORMATS = {"WAV": "WAV", "WAVEX": "WAV", "RF64": "WAV", "FLAC": "FLAC", "AIFF": "AIFF"}
SUBTYPES = {"PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"}


def check_place(where: Path) -> None:
    """Refuse what is no file that may be read."""
    if not where.exists():
        raise InputError(f"{where}: there is no such file.")
    if where.is_dir():
        raise InputError(f"{where}: this is a directory; give one sound file.")
    if not where.is_file():
        raise InputError(f"{where}: this is not a regular file; save the recording to a file first.")
    if not os.access(where, os.R_OK):
        raise InputError(f"{where}: the file may not be read (permissions).")


def check_header(where: Path, file: soundfile.SoundFile) -> None:
    """Refuse formats, rates and channel counts that are not taken."""
    if file.format not in FORMATS:
        raise MeasurementError(f"{where}: the format is {file.format}; WAV, FLAC and AIFF are read.")
    if file.subtype not in SUBTYPES:
        raise MeasurementError(
            f"{where}: the samples are stored as {file.subtype}; 16, 24 or 32 bit or float are read. "
            "Export the recording uncompressed."
        )
    if not 1 <= file.channels <= CHANNELS:
        raise MeasurementError(
            f"{where}: the file has {file.channels} channels; 1 or 2 are read. Export the guitar's track alone."
        )
    if not RATES[0] <= file.samplerate <= RATES[1]:
        low = "; a file made from a lower rate has lost the pickup's resonance" if file.samplerate < RATES[0] else ""
        raise MeasurementError(
            f"{where}: the sample rate is {file.samplerate} Hz; {RATES[0]:g} to {RATES[1]:g} Hz are read. "
            f"{'Record' if low else 'Export'} at 48000 Hz{low}."
        )
    if file.frames <= 0:
        raise MeasurementError(f"{where}: the file holds a header but no sound (0 samples).")


def check_length(where: Path, frames: int, rate: int) -> None:
    """Refuse what is too long to be held in memory."""
    if frames > LONGEST_MINUTES * 60.0 * rate:
        minutes = frames / rate / 60.0
        raise MeasurementError(
            f"{where}: the recording lasts {minutes:.1f} minutes; the limit is {LONGEST_MINUTES:g} minutes for one "
            "that is held in memory. Cut out the part you want to hear; polepiece hear takes it whole, in blocks."
        )


def check_finite(where: Path, samples: "np.ndarray[Any, Any]", *, first: int, rate: int) -> None:
    """Refuse NaN and infinities; ``first`` is the frame of the recording with which ``samples`` begin."""
    finite = np.isfinite(samples)
    if np.all(finite):
        return
    at = first + int(np.argwhere(~finite)[0][0])
    raise MeasurementError(
        f"{where}: some samples are NaN or infinite, the first {at / rate:.4f} s after the beginning "
        f"(sample {at + 1}); the export went wrong."
    )


def check_sounding(where: Path, low: "np.ndarray[Any, Any]", high: "np.ndarray[Any, Any]") -> None:
    """Refuse silence, and samples of no full scale; ``low`` and ``high`` are the extremes of each channel."""
    peak = max(float(np.max(high)), -float(np.min(low)))
    if peak > LOUDEST_PEAK:
        raise MeasurementError(
            f"{where}: its peak is {peak:.3g} times full scale. Were whole numbers stored as floating point? Export it "
            "again, full scale 1.0."
        )
    if float(np.max(high - low)) < SILENT_PEAK:
        raise MeasurementError(
            f"{where}: the recording is silent (nothing moves by more than -120 dBFS). "
            "Was the cable plugged in, the right input armed?"
        )
