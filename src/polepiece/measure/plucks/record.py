"""Plucks before and after as a frozen record that can be kept as JSON."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from polepiece.errors import MeasurementError
from polepiece.measure.estimate import Estimate, named
from polepiece.measure.files import FileFact, estimates_of
from polepiece.measure.plucks.pitch import Partial
from polepiece.sound import RESPONSE_BANDS

SCHEMA = "polepiece/pluck-comparison/1"
WORDS: dict[str, str] = {  # of the estimates of a comparison, by name
    "level_db": "level",
    "sensitivity_1khz_db": "sensitivity, about 1 kHz",
    "whole_level_db": "whole sound, not weighted",
    **{f"bands_db.{band}": f"{band} against the level" for band in RESPONSE_BANDS},
    **{f"attack_minus_sustain_db.{band}": f"attack against sustain, {band}" for band in RESPONSE_BANDS},
    "wound_minus_plain_db": "wound against plain strings",
    "decay_time_percent": "decay time, first six partials, %",
}
PRINTED = "polepiece/measure-plucks/1"  # the same record as `polepiece measure plucks --json` prints it


@dataclass(frozen=True, slots=True, kw_only=True)
class PluckFact:
    """One pluck as heard: which side and file, s, Hz, dB re full scale squared over its first 0.4 s."""

    side: str
    file: str
    note: str
    onset: float
    duration: float
    pitch: float
    level_db: float
    partials: tuple[Partial, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StringChange:
    """One string or note on both sides: plucks used, Hz, change of its level (dB) with its 90 % interval."""

    note: str
    string: int | None
    plucks_before: int
    plucks_after: int
    pitch_before: float
    pitch_after: float
    level: Estimate | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """Third octaves, mean over the strings that have each: nominal Hz, dB re full scale squared; None: not told."""

    frequency: tuple[float, ...]
    before: tuple[float | None, ...]
    after: tuple[float | None, ...]
    attack_before: tuple[float | None, ...]
    attack_after: tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PluckComparison:
    """What plucks before and after a change to a pickup say of it.

    Attributes
    ----------
    files : recordings with their hashes; roles "before" and "after".
    estimates : after less before with 90 % intervals. Names that a prediction has mean the same there.
    least : by name, half the 90 % interval that there would be had nothing changed: a smaller change could not
        have been shown by these plucks. A difference whose interval holds 0 was not shown.
    strings, plucks, spectrum : what they were made from.
    notes : sentences worth reading.
    """

    files: tuple[FileFact, ...]
    estimates: tuple[Estimate, ...]
    least: Mapping[str, float]
    strings: tuple[StringChange, ...]
    plucks: tuple[PluckFact, ...]
    spectrum: Spectrum
    notes: tuple[str, ...]

    def __getitem__(self, name: str) -> Estimate:
        return named(self.estimates, name)

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        return {
            "schema": SCHEMA,
            "files": [asdict(one) for one in self.files],
            "estimates": [{**asdict(one), "least": self.least[one.name]} for one in self.estimates],
            "strings": [asdict(one) for one in self.strings],
            "plucks": [asdict(one) for one in self.plucks],
            "spectrum": {key: list(value) for key, value in asdict(self.spectrum).items()},
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class PluckRecord:
    """What is read back of a comparison: its differences, what it warned of, and its recordings."""

    estimates: tuple[Estimate, ...]
    notes: tuple[str, ...]
    files: Mapping[str, str]  # name, with its role before it, and SHA-256

    @classmethod
    def from_dict(cls, record: Mapping[str, Any]) -> "PluckRecord":
        """Return what ``PluckComparison.to_dict`` gave, or the command printed.

        Raises
        ------
        MeasurementError
            When it is the record of something else, or damaged.
        """
        if record.get("schema") not in (SCHEMA, PRINTED):
            raise MeasurementError(
                f"the record is a {record.get('schema')!r:.60}; plucks before and after are {SCHEMA!r}."
            )
        try:
            files = {f"{one['role']}: {one['name']}": str(one["sha256"]) for one in record.get("files", ())}
        except (KeyError, TypeError) as error:
            raise MeasurementError(f"the record's files are damaged: {error}") from None
        estimates = estimates_of(record)
        names = {one.name for one in estimates}
        if any(one.startswith("bands_db.") and one.replace("_db", "_own_db", 1) not in names for one in names):
            raise MeasurementError(
                "the record was made by an earlier version, whose level was the octave about 1 kHz and whose bands "
                "were means of third octaves; predictions state energies of the first second. Compare the recordings "
                "again."
            )
        return cls(estimates=estimates, notes=tuple(map(str, record.get("notes", ()))), files=files)
