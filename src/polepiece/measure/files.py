"""Files of a measurement: recordings with their hashes, and the description beside an excitation."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from polepiece.arrays import FloatArray
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate
from polepiece.measure.sweep.excitation import SweepSignal
from polepiece.measure.tables.grid import LARGEST_TABLE
from polepiece.sound import Recording, decode
from polepiece.sound import read as read_sound

SCHEMA = "polepiece/sweep-signal/1"
BESIDE = ".json"
LARGEST = 65536  # bytes of a description
LARGEST_RECORD = 16 * 1024 * 1024  # bytes of a record of a measurement
MOST_DIGITS = 40  # of a whole number in a record: seeds have fifteen, and what has three hundred is no float any more


@dataclass(frozen=True, slots=True, kw_only=True)
class FileFact:
    """Which file it was: name without folder, and the SHA-256 of its bytes."""

    role: str
    name: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taken:
    """A recording as taken."""

    samples: FloatArray  # (t, c)
    sample_rate: int
    fact: FileFact


def read_taken(path: str | Path, role: str) -> Taken:
    """Read a recording and its hash; `polepiece.sound.read` says why a file cannot be used."""
    sound = read_sound(path)
    return _taken(sound, Path(path).read_bytes(), Path(path).name, role)


def taken_from(data: bytes, name: str, role: str) -> Taken:
    """Return a recording and its hash from the bytes of its file; `polepiece.sound.decode` says why it cannot be."""
    return _taken(decode(data, name), data, name, role)


def _taken(sound: Recording, data: bytes, name: str, role: str) -> Taken:
    samples = sound.samples if sound.samples.ndim == 2 else sound.samples[:, None]
    fact = FileFact(role=role, name=name, sha256=hashlib.sha256(data).hexdigest())
    return Taken(samples=samples, sample_rate=sound.sample_rate, fact=fact)


def description_of(signal: SweepSignal) -> str:
    """Return the text that is written beside an excitation."""
    return json.dumps({"schema": SCHEMA, **signal.to_dict()}, indent=1) + "\n"


def beside(path: str | Path) -> Path:
    """Return where the description of an excitation lies."""
    where = Path(path)
    return where if where.suffix == BESIDE else where.with_name(where.name + BESIDE)


def _plain(raw: bytes) -> Any:
    """Return what JSON says that has finite numbers and whole characters only; ValueError or RecursionError else."""

    def whole(digits: str) -> int:
        if len(digits) > MOST_DIGITS:
            raise ValueError(f"a number of {len(digits)} digits")
        return int(digits)

    found = json.loads(raw, parse_int=whole)
    json.dumps(found, allow_nan=False, ensure_ascii=False).encode("utf-8")  # no NaN, nothing infinite, no half letters
    return found


def read_record(path: str | Path, what: str) -> tuple[dict[str, Any], str]:
    """Read a record that was kept as JSON; return it with the SHA-256 of its bytes.

    Parameters
    ----------
    path : str or Path
    what : str
        What it should be, for the message: "a measured pickup".

    Raises
    ------
    InputError
        When it is not there, too large, or no JSON object.
    """
    where = Path(path)
    if not where.is_file():
        raise InputError(f"{where}: there is no such file; {what} is needed, as a JSON record.")
    with where.open("rb") as file:
        raw = file.read(LARGEST_RECORD + 1)
    try:
        if len(raw) > LARGEST_RECORD:
            raise ValueError("it is larger than 16 MiB")
        found = _plain(raw)
        if not isinstance(found, dict):
            raise ValueError("it is no object")
    except (ValueError, RecursionError) as error:
        raise InputError(f"{where}: this is no JSON record of {what} ({error!s:.200}). Is it the recording?") from None
    return found, hashlib.sha256(raw).hexdigest()


def table_bytes(path: str | Path) -> bytes:
    """Return the bytes of a table of readings, at most one more than is read of one.

    Raises
    ------
    InputError
        When it is not there.
    """
    where = Path(path)
    if not where.is_file():
        raise InputError(f"{where}: there is no such file; a table of readings is needed, *.csv or *.xlsx.")
    with where.open("rb") as file:
        return file.read(LARGEST_TABLE + 1)


def estimates_of(record: Mapping[str, Any]) -> tuple[Estimate, ...]:
    """Return the estimates of a record that keeps them under ``estimates``; what else stands there is left.

    Raises
    ------
    MeasurementError
        When there are none, or one is damaged.
    """
    names = {one.name for one in fields(Estimate)}
    try:
        for one in record["estimates"]:
            if not isinstance(one["name"], str) or not isinstance(one.get("unit", ""), str):
                raise TypeError(f"a name or unit is no text: {one['name']!r:.60}")
        return tuple(
            Estimate(**{key: value for key, value in one.items() if key in names}) for one in record["estimates"]
        )
    except KeyError as error:
        raise MeasurementError(f"the record lacks {error.args[0]!r}: it holds no measured differences.") from None
    except (TypeError, ValueError, AttributeError) as error:
        raise MeasurementError(f"the record's estimates are damaged: {error}") from None


def read_signal(path: str | Path) -> SweepSignal:
    """Read the description beside an excitation.

    Raises
    ------
    InputError
        When it is not there or not such a description.
    """
    where = beside(path)
    if not where.is_file():
        raise InputError(
            f"{where}: there is no such file. It is written beside the signal by `polepiece measure sweep-signal`; "
            "give the signal that was played with --signal."
        )
    with where.open("rb") as file:
        raw = file.read(LARGEST + 1)
    try:
        found = _plain(raw)
        if found["schema"] != SCHEMA or set(found) != {"schema", *(one.name for one in fields(SweepSignal))}:
            raise KeyError("schema")
        return SweepSignal(**{name: value for name, value in found.items() if name != "schema"})
    except InputError as error:
        raise InputError(f"{where}: {error}") from error
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise InputError(f"{where}: this does not describe a sweep; write the signal again.") from error
