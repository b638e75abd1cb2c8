"""Sound files: the only place that reads or writes them. WAV, FLAC and AIFF, whole or not at all.

The decoding library reads what is there of a truncated file and does not complain of NaN, of a header
without sound or of an absurd format field; each of these is checked here
(:mod:`polepiece.sound.container` reads the sizes).
"""

import io
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.sound.checks import (
    CHANNELS,
    check_finite,
    check_header,
    check_length,
    check_place,
    check_sounding,
)
from polepiece.sound.container import size_fault
from polepiece.sound.loudspeaker import ImpulseResponse

Subtype = Literal["PCM_16", "PCM_24", "FLOAT"]
Container = Literal["WAV", "FLAC"]

BLOCK = 1 << 17  # frames read at a time
LARGEST_WAV = 4_000_000_000  # bytes; a longer one is written as RF64, the same with wide sizes
MADE_BY = "made by polepiece"  # comment in every file that is written
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
    found = header(path)
    check_length(found.path, found.frames, found.sample_rate)
    samples = np.concatenate(list(blocks(found, frames=found.frames)))
    sound = samples[:, 0].copy() if samples.shape[1] == 1 else samples
    sound.flags.writeable = False
    return Recording(
        samples=sound, sample_rate=found.sample_rate, path=found.path, subtype=found.subtype,
        peak=float(np.max(np.abs(sound))),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a sound file says of itself, checked against its size."""

    path: Path
    sample_rate: int  # Hz
    channels: int  # 1 or 2
    frames: int
    subtype: str

    @property
    def duration(self) -> float:
        """Length in s."""
        return self.frames / self.sample_rate


def header(path: str | Path) -> Header:
    """Read what a recording says of itself; the same refusals as `read`, but for its length and its samples."""
    where = Path(path)
    check_place(where)
    with where.open("rb") as raw:
        fault = size_fault(raw, where.stat().st_size)
    if fault:
        raise MeasurementError(f"{where}: {fault}")
    with _opened(where) as file:
        check_header(where, file)
        return Header(
            path=where, sample_rate=int(file.samplerate), channels=int(file.channels), frames=int(file.frames),
            subtype=str(file.subtype),
        )  # fmt: skip


def blocks(
    recording: Header, *, first: int = 0, last: int | None = None, frames: int = BLOCK
) -> Iterator[NDArray[np.float64]]:
    """Read a recording of any length block by block, or the part from frame ``first`` up to ``last``.

    Yields
    ------
    block : shape (t, c), float64, full scale 1.0; t at most ``frames``.

    Raises
    ------
    MeasurementError
        When the file is cut short or holds NaN, and at its end when all of it was silent.
    """
    where, end = recording.path, recording.frames if last is None else min(last, recording.frames)
    low, high = np.full(recording.channels, np.inf), np.full(recording.channels, -np.inf)
    with _opened(where) as file:
        file.seek(first)
        done = first
        while done < end:
            samples = file.read(min(frames, end - done), dtype="float64", always_2d=True)
            if not samples.shape[0]:
                raise MeasurementError(
                    f"{where}: the header promises {recording.frames} samples, the file holds {done}: it is "
                    "cut short. Copy or export it again."
                )
            check_finite(where, samples, first=done, rate=recording.sample_rate)
            for channel, one in enumerate(samples.T):  # ten times as fast as along an axis of two
                low[channel], high[channel] = min(low[channel], one.min()), max(high[channel], one.max())
            done += samples.shape[0]
            yield samples
    if first == 0 and end == recording.frames:
        check_sounding(where, low, high)


@contextmanager
def _opened(where: Path) -> Iterator[soundfile.SoundFile]:
    try:
        with soundfile.SoundFile(str(where)) as file:
            yield file
    except soundfile.LibsndfileError as error:
        raise MeasurementError(
            f"{where}: this is not sound that can be read; WAV, FLAC and AIFF are. "
            "Was it renamed, or is the copy damaged?"
        ) from error


def bears_our_name(path: str | Path) -> bool:
    """Tell whether a sound file says that it was written here; False for what is no sound that can be read."""
    try:
        with soundfile.SoundFile(str(path)) as file:
            return str(file.comment) == MADE_BY
    except (soundfile.LibsndfileError, OSError):
        return False


def read_impulse_response(path: str | Path) -> ImpulseResponse:
    """Read an impulse response of a loudspeaker: one channel, or two that are alike; 1 ms to 2 s.

    Raises
    ------
    InputError
        When there is no such file, or it is no impulse response (length, unlike channels).
    MeasurementError
        As `read`: damaged, silent, NaN, a sample rate outside 44.1 to 192 kHz.
    """
    try:
        found = read(path)
    except MeasurementError as error:
        raise MeasurementError(
            f"this cannot be a loudspeaker's impulse response: {error} One is needed of a single channel (or two that "
            "are alike), 1 ms to 2 s, at 44100 to 192000 Hz, as its maker or a measurement gives it."
        ) from None
    return impulse_response_of(found)


def impulse_response_of(found: Recording) -> ImpulseResponse:
    """Take what was read or decoded for an impulse response; the same refusals as `read_impulse_response`."""
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
    container = _container(where, inputs)
    data = to_bytes(samples, sample_rate, container=container, subtype=subtype)
    with _in_place(where) as temporary, temporary.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    return where


@contextmanager
def writing(
    path: str | Path,
    sample_rate: int,
    *,
    channels: int,
    frames: int,
    inputs: Iterable[str | Path] = (),
) -> Iterator[Callable[[NDArray[Any]], None]]:
    """Write a 24-bit WAV or FLAC file block by block, whole or not at all: what stops early leaves nothing.

    Parameters
    ----------
    path, sample_rate, inputs : see `write`.
    channels : 1 or 2.
    frames : how many will come; a WAV of more than 4 GB becomes RF64.

    Yields
    ------
    put : takes one block, shape (t,) or (t, c).

    Raises
    ------
    InputError
        As `write`, or when other than ``frames`` frames came.
    """
    where = Path(path)
    container = _container(where, inputs)
    kind = "RF64" if container == "WAV" and 3 * channels * frames > LARGEST_WAV else container
    written = 0
    with _in_place(where) as temporary:
        try:
            with soundfile.SoundFile(
                str(temporary), "w", samplerate=int(sample_rate), channels=channels, format=kind, subtype="PCM_24"
            ) as file:
                file.comment = MADE_BY

                def put(block: NDArray[Any]) -> None:
                    nonlocal written
                    sound = np.asarray(block, dtype=float)
                    _check_written(sound, "PCM_24")
                    file.write(_rounded(sound, bits=24))
                    written += sound.shape[0]

                yield put
        except soundfile.LibsndfileError as error:
            raise InputError(f"{where}: the file could not be written ({error}). Is the disk full?") from error
        if written != frames:
            raise InputError(f"{where}: {frames} samples were promised, {written} came.")
        with temporary.open("rb+") as whole:
            os.fsync(whole.fileno())


def _container(where: Path, inputs: Iterable[str | Path]) -> Container:
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
    return container


@contextmanager
def _in_place(where: Path) -> Iterator[Path]:
    """Give a name beside ``where`` to write to; it is moved there when all went well, and removed otherwise."""
    handle, name = tempfile.mkstemp(prefix=f".{where.name}.", suffix=".part", dir=where.parent)
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, where)
    except OSError as error:
        raise InputError(f"{where}: the file could not be written ({error.strerror}).") from error
    finally:
        temporary.unlink(missing_ok=True)


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
    if not (float(sample_rate).is_integer() and 8000 <= sample_rate <= 192000):
        raise InputError(f"sample rate is {sample_rate} Hz; a whole number from 8000 to 192000 is needed.")
    if container == "FLAC" and subtype == "FLOAT":
        raise InputError("FLAC stores whole numbers only; choose PCM_24, or WAV for floating point.")
    _check_written(sound, subtype)
    buffer = io.BytesIO()
    stored = sound if subtype == "FLOAT" else _rounded(sound, bits=16 if subtype == "PCM_16" else 24)
    channels = 1 if sound.ndim == 1 else sound.shape[1]
    with soundfile.SoundFile(buffer, "w", int(sample_rate), channels, format=container, subtype=subtype) as file:
        file.comment = MADE_BY
        file.write(stored)
    return buffer.getvalue()


def _check_written(sound: NDArray[np.float64], subtype: Subtype) -> None:
    if not np.all(np.isfinite(sound)):
        raise InputError("the samples hold NaN or infinite values; no file is written.")
    peak = float(np.max(np.abs(sound), initial=0.0))
    if subtype != "FLOAT" and peak > 1.0:
        raise InputError(
            f"the peak is {peak:.3f}, above full scale 1.0, and would be clipped; lower both sides of the "
            "comparison by the same gain (loudness.align does), or write FLOAT."
        )


def _rounded(sound: NDArray[np.float64], *, bits: int) -> NDArray[np.int32]:
    """Round to the nearest step; the encoder itself cuts the fraction off, half a step of bias."""
    top = 2 ** (bits - 1)
    whole = np.clip(np.rint(sound * top), -top, top - 1).astype(np.int32)
    return np.asarray(whole << (32 - bits), dtype=np.int32)
