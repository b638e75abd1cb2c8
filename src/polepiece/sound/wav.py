"""Sound files as they are read: WAV, FLAC and AIFF; they are written in `written_wav`.

The decoding library reads what is there of a truncated file and does not complain of NaN, of a header
without sound or of an absurd format field; each of these is checked here
(:mod:`polepiece.sound.container` reads the sizes).
"""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.sound.checks import (
    check_finite,
    check_header,
    check_length,
    check_place,
    check_sounding,
)
from polepiece.sound.container import size_fault
from polepiece.sound.loudspeaker import ImpulseResponse

BLOCK = 1 << 17  # frames read at a time
MADE_BY = "made by polepiece"  # comment in every file that is written


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
