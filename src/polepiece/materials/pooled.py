"""Constants as measurements on many benches have them, beside the published ones; which of the two is in use.

The published constants are used unless the environment variable POLEPIECE_CONSTANTS names a record of pooled ones;
child processes take over what the first one uses.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from polepiece.errors import InputError
from polepiece.which_constants import VARIABLE

SCHEMA = "polepiece/pooled-constants/1"
PUBLISHED = "published"
QUANTITIES = ("remanence", "coercivity", "energy_product", "recoil_permeability")
LARGEST = 1024 * 1024  # bytes of a record

Span = tuple[float, float, float]  # value, low, high of 90 %


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledGrade:
    """The next bar of a grade: its constants (T, A/m, J/m3, relative), and how their deviates go together."""

    constants: Mapping[str, Span] = field(hash=False)  # by `QUANTITIES`
    together: tuple[tuple[float, ...], ...]  # correlations, in the order of `QUANTITIES`
    bars: int  # that were measured


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledConstants:
    """What many benches say: of grades, of the reversible permeability of pickup steel, of bars charged outside.

    ``steel`` is relative; ``charge`` is a factor on the field of a bar that is said to be charged outside. None: not
    told by these benches, the published value stands.
    """

    date: str
    benches: int
    readings: int
    published: str  # hash of the published constants they were told against
    grades: Mapping[str, PooledGrade] = field(default_factory=dict, hash=False)
    steel: Span | None = None
    charge: Span | None = None

    @property
    def digest(self) -> str:
        """Fingerprint of the record."""
        return hashlib.sha256(json.dumps(self.to_dict(), sort_keys=True).encode()).hexdigest()

    @property
    def words(self) -> str:
        """Whose they are, in a few words."""
        many = "benches" if self.benches != 1 else "bench"
        return f"pooled, {self.date}: {self.readings} readings of {self.benches} {many}"

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return {
            "schema": SCHEMA, "date": self.date, "benches": self.benches, "readings": self.readings,
            "published": self.published,
            "grades": {slug: {"constants": {key: list(one) for key, one in grade.constants.items()},
                              "together": [list(row) for row in grade.together], "bars": grade.bars}
                       for slug, grade in self.grades.items()},
            "steel": None if self.steel is None else list(self.steel),
            "charge": None if self.charge is None else list(self.charge),
        }  # fmt: skip

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "PooledConstants":
        """Return the record that ``to_dict`` gave.

        Raises
        ------
        InputError
            When it is something else, or a number in it cannot be one.
        """
        try:
            if data["schema"] != SCHEMA:
                raise InputError(f"the record is a {data['schema']!r}; {SCHEMA!r} is read.")
            grades = {}
            for slug, one in data["grades"].items():
                together = tuple(tuple(float(cell) for cell in row) for row in one["together"])
                if len(together) != len(QUANTITIES) or any(len(row) != len(QUANTITIES) for row in together):
                    raise ValueError("correlations are four by four")
                grades[str(slug)] = PooledGrade(
                    constants={key: _span(one["constants"][key]) for key in QUANTITIES}, together=together,
                    bars=int(one["bars"]),
                )  # fmt: skip
            return cls(
                date=str(data["date"]), benches=int(data["benches"]), readings=int(data["readings"]),
                published=str(data["published"]), grades=grades,
                steel=None if data["steel"] is None else _span(data["steel"]),
                charge=None if data["charge"] is None else _span(data["charge"]),
            )  # fmt: skip
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            if isinstance(error, InputError):
                raise
            raise InputError(f"the record of pooled constants is damaged ({error}).") from None


def _span(given: Any) -> Span:
    value, low, high = (float(one) for one in given)
    if not 0.0 < low <= value <= high < float("inf"):
        raise ValueError(f"{low:g} to {high:g} is no range round {value:g}")
    return value, low, high


def in_use() -> PooledConstants | None:
    """Return the pooled constants that are in use; None: the published ones are.

    Raises
    ------
    InputError
        When the file that the environment names is not there or is no such record.
    """
    named = os.environ.get(VARIABLE, "")
    if named in ("", PUBLISHED):
        return None
    try:
        stat = os.stat(named)
    except OSError:
        raise InputError(
            f"{named}: there is no such file; pooled constants are made by `polepiece pool`. --constants published, or "
            f"no {VARIABLE}, takes the published ones."
        ) from None
    return _read(named, stat.st_mtime_ns)


@lru_cache(maxsize=8)
def _read(named: str, _: int) -> PooledConstants:
    with Path(named).open("rb") as file:
        raw = file.read(LARGEST + 1)
    try:
        if len(raw) > LARGEST:
            raise ValueError("it is larger than 1 MiB")
        data = json.loads(raw)
        if not isinstance(data, dict):
            raise ValueError("it is no object")
    except (ValueError, RecursionError) as error:
        raise InputError(f"{named}: this is no record of pooled constants ({error}).") from None
    return PooledConstants.from_dict(data)


def constants_words() -> str:
    """Return which constants are in use, in words."""
    found = in_use()
    return PUBLISHED if found is None else found.words
