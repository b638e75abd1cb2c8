"""Sound files: the only place that reads or writes them. WAV, FLAC and AIFF, whole or not at all.

The decoding library reads what is there of a truncated file and does not complain of NaN, of a header
without sound or of an absurd format field; each of these is checked here
(:mod:`polepiece.sound.container` reads the sizes).
"""

import base64
import io
import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.sound.container import size_fault
from polepiece.sound.loudspeaker import ImpulseResponse

Subtype = Literal["PCM_16", "PCM_24", "FLOAT"]
Container = Literal["WAV", "FLAC"]

RATES = (44.1e3, 192e3)  # Hz
CHANNELS = 2
LONGEST_MINUTES = 30.0
SILENT_PEAK = 1e-6  # -120 dBFS: below the last bit of 20
FORMATS = {"WAV": "WAV", "WAVEX": "WAV", "RF64": "WAV", "FLAC": "FLAC", "AIFF": "AIFF"}
SUBTYPES = {"PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"}
_SUFFIX: dict[str, Container] = {".wav": "WAV", ".flac": "FLAC"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """Sound of a file.

    Attributes
    ----------
    samples : shape (t,) for one channel, (t, 2) for two; float64, full scale 1.0, read-only.
    sample_rate : Hz.
    path : where it came from.
    subtype : sample format as stored, e.g. ``PCM_24``.
    peak : largest absolute sample.
    """

    samples: NDArray[np.float64]
    sample_rate: int
    path: Path
    subtype: str
    peak: float

    @property
    def channels(self) -> int:
        """1 or 2."""
        return 1 if self.samples.ndim == 1 else int(self.samples.shape[1])

    @property
    def duration(self) -> float:
        """Length in s."""
        return float(self.samples.shape[0] / self.sample_rate)


def read(path: str | Path) -> Recording:
    """Read a recording, or say plainly why it cannot be used.

    Parameters
    ----------
    path : a WAV, FLAC or AIFF file; 16, 24 or 32 bit or floating point; mono or stereo; 44.1 to 192 kHz.

    Raises
    ------
    InputError
        When there is no such file, or it is a directory or not readable.
    MeasurementError
        When the file is empty, truncated, not sound, in a format, rate, length or channel count that is not
        taken, silent, or holds NaN or infinite samples.
    """
    where = Path(path)
    _check_place(where)
    with where.open("rb") as raw:
        fault = size_fault(raw, where.stat().st_size)
    if fault:
        raise MeasurementError(f"{where}: {fault}")
    try:
        with soundfile.SoundFile(str(where)) as file:
            _check_header(where, file)
            announced = int(file.frames)
            samples = file.read(dtype="float64", always_2d=True)
            rate, subtype = int(file.samplerate), str(file.subtype)
    except soundfile.LibsndfileError as error:
        raise MeasurementError(
            f"{where}: this is not sound that can be read; WAV, FLAC and AIFF are. "
            "Was it renamed, or is the copy damaged?"
        ) from error
    if samples.shape[0] < announced:
        raise MeasurementError(
            f"{where}: the header promises {announced} samples, the file holds {samples.shape[0]}: it is "
            "cut short. Copy or export it again."
        )
    peak = _check_samples(where, samples)
    sound = samples[:, 0].copy() if samples.shape[1] == 1 else samples
    sound.flags.writeable = False
    return Recording(samples=sound, sample_rate=rate, path=where, subtype=subtype, peak=peak)


def read_impulse_response(path: str | Path) -> ImpulseResponse:
    """Read an impulse response of a loudspeaker: one channel, or two that are alike; 1 ms to 2 s.

    Raises
    ------
    InputError
        When there is no such file, or it is no impulse response (length, unlike channels).
    MeasurementError
        As `read`: damaged, silent, NaN, a sample rate outside 44.1 to 192 kHz.
    """
    found = read(path)
    samples = found.samples
    if samples.ndim == 2:
        if not np.array_equal(samples[:, 0], samples[:, 1]):
            raise InputError(
                f"{found.path}: the impulse response has 2 unlike channels; one is needed. Export one of them alone."
            )
        samples = samples[:, 0]
    return ImpulseResponse(samples=samples, sample_rate=found.sample_rate, name=str(found.path))


def decode(data: bytes, name: str) -> Recording:
    """Read a recording from the bytes of its file, by the rules of `read`.

    Parameters
    ----------
    data : a whole WAV, FLAC or AIFF file.
    name : of the file; messages and the result carry its last part.

    Raises
    ------
    MeasurementError
        As `read`.
    """
    called = Path(name.replace("\\", "/")).name or "recording"
    kinds = {b"fLaC": ".flac", b"FORM": ".aiff"}
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / f"sound{kinds.get(data[:4], '.wav')}"
        place.write_bytes(data)
        try:
            found = read(place)
        except MeasurementError as error:
            raise MeasurementError(str(error).replace(str(place), called)) from error
    return replace(found, path=Path(called))


def _check_place(where: Path) -> None:
    if not where.exists():
        raise InputError(f"{where}: there is no such file.")
    if where.is_dir():
        raise InputError(f"{where}: this is a directory; give one sound file.")
    if not where.is_file():
        raise InputError(f"{where}: this is not a regular file; save the recording to a file first.")
    if not os.access(where, os.R_OK):
        raise InputError(f"{where}: the file may not be read (permissions).")


def _check_header(where: Path, file: soundfile.SoundFile) -> None:
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
        raise MeasurementError(
            f"{where}: the sample rate is {file.samplerate} Hz; {RATES[0]:g} to {RATES[1]:g} Hz are read. "
            "Record at 48000 Hz; a file made from a lower rate has lost the pickup's resonance."
        )
    if file.frames <= 0:
        raise MeasurementError(f"{where}: the file holds a header but no sound (0 samples).")
    if file.frames > LONGEST_MINUTES * 60.0 * file.samplerate:
        minutes = file.frames / file.samplerate / 60.0
        raise MeasurementError(
            f"{where}: the recording lasts {minutes:.1f} minutes; the limit is {LONGEST_MINUTES:g} minutes. "
            "Cut out the part you want to hear."
        )


def _check_samples(where: Path, samples: NDArray[np.float64]) -> float:
    low, high = float(np.min(samples)), float(np.max(samples))
    if not (np.isfinite(low) and np.isfinite(high)):
        bad = int(np.sum(~np.isfinite(samples)))
        raise MeasurementError(f"{where}: {bad} samples are NaN or infinite; the export went wrong.")
    if float(np.max(np.ptp(samples, axis=0))) < SILENT_PEAK:
        raise MeasurementError(
            f"{where}: the recording is silent (nothing moves by more than -120 dBFS). "
            "Was the cable plugged in, the right input armed?"
        )
    return max(abs(low), abs(high))


def write(
    path: str | Path,
    samples: NDArray[Any],
    sample_rate: int,
    *,
    subtype: Subtype = "PCM_24",
    inputs: Iterable[str | Path] = (),
) -> Path:
    """Write a WAV or FLAC file (by its ending), whole or not at all.

    The file is written beside its place under another name and moved there when complete: a crash or a full
    disk leaves the old file, or none, never half of one.

    Parameters
    ----------
    path : ``*.wav`` or ``*.flac``.
    samples : shape (t,) or (t, 2), full scale 1.0.
    sample_rate : Hz.
    subtype : ``PCM_16``, ``PCM_24`` or ``FLOAT`` (WAV only).
    inputs : files the sound was made from: none of them is ever overwritten.

    Raises
    ------
    InputError
        For a peak above full scale in PCM (it would be clipped), samples that are not finite, an unknown
        ending, a missing directory, or a path that is one of the inputs.
    """
    where = Path(path)
    container = _SUFFIX.get(where.suffix.lower())
    if container is None:
        raise InputError(f"{where}: the name must end in .wav or .flac.")
    if where.is_dir():
        raise InputError(f"{where}: this is a directory; give a file name.")
    if not where.parent.is_dir():
        raise InputError(f"{where}: the directory {where.parent} does not exist.")
    for source in inputs:
        if _same_file(where, Path(source)):
            raise InputError(f"{where}: this is the recording the sound was made from; choose another name.")
    data = to_bytes(samples, sample_rate, container=container, subtype=subtype)
    handle, temporary = tempfile.mkstemp(prefix=f".{where.name}.", suffix=".part", dir=where.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, where)
    except OSError as error:
        Path(temporary).unlink(missing_ok=True)
        raise InputError(f"{where}: the file could not be written ({error.strerror}).") from error
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return where


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _same_file(one: Path, other: Path) -> bool:
    if one.exists() and other.exists():
        return os.path.samefile(one, other)
    return one.resolve() == other.resolve()


def to_bytes(
    samples: NDArray[Any], sample_rate: int, *, container: Container = "FLAC", subtype: Subtype = "PCM_24"
) -> bytes:
    """Return a complete WAV or FLAC file as bytes; same rules as :func:`write`."""
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.size == 0 or (sound.ndim == 2 and sound.shape[1] > CHANNELS):
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, 2), not empty.")
    if not np.all(np.isfinite(sound)):
        raise InputError("the samples hold NaN or infinite values; no file is written.")
    if not (float(sample_rate).is_integer() and 8000 <= sample_rate <= 192000):
        raise InputError(f"sample rate is {sample_rate} Hz; a whole number from 8000 to 192000 is needed.")
    if container == "FLAC" and subtype == "FLOAT":
        raise InputError("FLAC stores whole numbers only; choose PCM_24, or WAV for floating point.")
    peak = float(np.max(np.abs(sound)))
    if subtype != "FLOAT" and peak > 1.0:
        raise InputError(
            f"the peak is {peak:.3f}, above full scale 1.0, and would be clipped; lower both sides of the "
            "comparison by the same gain (loudness.align does), or write FLOAT."
        )
    buffer = io.BytesIO()
    stored = sound if subtype == "FLOAT" else _rounded(sound, bits=16 if subtype == "PCM_16" else 24)
    soundfile.write(buffer, stored, int(sample_rate), format=container, subtype=subtype)
    return buffer.getvalue()


def _rounded(sound: NDArray[np.float64], *, bits: int) -> NDArray[np.int32]:
    """Round to the nearest step; the encoder itself cuts the fraction off, half a step of bias."""
    top = 2 ** (bits - 1)
    whole = np.clip(np.rint(sound * top), -top, top - 1).astype(np.int32)
    return np.asarray(whole << (32 - bits), dtype=np.int32)


def to_data_uri(samples: NDArray[Any], sample_rate: int, *, container: Container = "FLAC") -> str:
    """Return sound as a ``data:`` address to embed in a page (24 bit)."""
    kind = "audio/flac" if container == "FLAC" else "audio/wav"
    data = to_bytes(samples, sample_rate, container=container)
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"
