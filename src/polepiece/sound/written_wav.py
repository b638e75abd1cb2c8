"""Sound files as they are written: WAV and FLAC, whole or not at all; they are read in `wav`."""

import io
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from polepiece.errors import InputError
from polepiece.sound.checks import CHANNELS
from polepiece.sound.wav import MADE_BY

Subtype = Literal["PCM_16", "PCM_24", "FLOAT"]
Container = Literal["WAV", "FLAC"]

LARGEST_WAV = 4_000_000_000  # bytes; a longer one is written as RF64, the same with wide sizes
_SUFFIX: dict[str, Container] = {".wav": "WAV", ".flac": "FLAC"}


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
