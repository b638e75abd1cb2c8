"""What was brought to prove a change: recordings, sweeps, a blind trial, the ledger; each a note, the last one counts.

A proof is of the same change as a work sheet and has its key; meters are read off that sheet.
"""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from polepiece.app import bench_units as units
from polepiece.app.sheet_log import SheetKey
from polepiece.app.stops import TEMPERATURE, figure
from polepiece.errors import InputError, PolepieceError
from polepiece.measure import (
    BlindTrial,
    DirectReading,
    Ledger,
    MeasuredPickup,
    PoleReading,
    direct_resistance,
    estimates_of,
)
from polepiece.notebook import Notebook, NoteEntry
from polepiece.voicing import Evidence

ENTRY = "polepiece/proof-entry/1"
Side = Literal["before", "after"]
SIDES: tuple[Side, ...] = ("before", "after")
SECTIONS: dict[Side, str] = {"before": "baseline", "after": "after"}  # of the work sheet
GAUSS = 1e-4  # T
Keep = Callable[[str, Any, str], Awaitable[None]]  # entry, its value, words for the history


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One recording of plucks: where it lies in the notebook, and what it was called."""

    sha256: str
    name: str


@dataclass(slots=True)
class Proof:
    """Everything that was brought for one change."""

    key: SheetKey
    recordings: dict[str, tuple[Recording, ...]] = field(default_factory=dict)  # by side
    plucks: Mapping[str, Any] | None = None  # record of the comparison
    impedance: dict[str, Mapping[str, Any]] = field(default_factory=dict)  # by side
    trial: BlindTrial | None = None

    def put(self, entry: str, value: Any) -> None:
        """Take over an entry; None takes it back.

        Raises
        ------
        PolepieceError
            When the value is no such record.
        """
        kind, _, side = entry.partition(".")
        if kind == "recordings" and side in SIDES:
            self.recordings[side] = tuple(Recording(**one) for one in value or ())
        elif kind == "impedance" and side in SIDES:
            self.impedance.pop(side, None)
            if value is not None:
                MeasuredPickup.from_dict(value)
                self.impedance[side] = value
        elif entry == "plucks":
            self.plucks = value
        elif entry == "trial":
            self.trial = None if value is None else BlindTrial.from_dict(value)
        else:
            raise InputError(f"a proof has no entry {entry!r}.")


def proof_of(book: Notebook, key: SheetKey) -> Proof:
    """Return what was brought for a change; an entry of a later version, or a damaged one, is passed over."""
    found = Proof(key)
    for note in book.notes(key.guitar_id):
        if note.body is not None and note.body.get("schema") == ENTRY and _is_of(note.body, key):
            try:
                found.put(str(note.body.get("entry")), note.body.get("value"))
            except (PolepieceError, TypeError):
                continue
    return found


def keep(book: Notebook, key: SheetKey, state_id: int, entry: str, value: Any, words: str) -> NoteEntry:
    """Keep one entry of a proof; what was there before stays in the history."""
    body = {"schema": ENTRY, **key.body(), "entry": entry, "value": value}
    return book.write_note(
        key.guitar_id, f"{key.words}: {words}"[:500], state_id=state_id, sort="measurement", body=body
    )


def last_ledger(book: Notebook, key: SheetKey) -> Ledger | None:
    """Return the ledger of this change that was kept last."""
    state_ids = {one.uuid: one.id for one in book.states(key.guitar_id)}
    for note in reversed(book.ledgers(key.guitar_id)):
        body = note.body
        if body is None or note.state_id != state_ids.get(key.state):
            continue
        try:
            found = Ledger.from_dict(body)
        except PolepieceError:
            continue
        if (found.pickup, found.change) == (key.pickup, key.changes):
            return found
    return None


def evidence_of(proof: Proof, entries: Mapping[str, str]) -> Evidence:
    """Return what was measured and heard; ``entries`` are those of the work sheet. A trial counts when it is over."""
    trial = proof.trial
    records = {side: MeasuredPickup.from_dict(record) for side, record in proof.impedance.items()}
    return Evidence(
        impedance_before=records.get("before"), impedance_after=records.get("after"),
        plucks=() if proof.plucks is None else estimates_of(proof.plucks),
        dcr_before=direct_in(entries, "before"), dcr_after=direct_in(entries, "after"),
        gauss_before=poles_in(entries, "before"), gauss_after=poles_in(entries, "after"),
        trial=trial if trial is not None and trial.over else None,
    )  # fmt: skip


def direct_in(entries: Mapping[str, str], side: Side) -> DirectReading | None:
    """Return the DC resistance that was read on the sheet, or None; 20 degC where no temperature was noted."""
    section = SECTIONS[side]
    read = figure(entries, f"{section}.dc_resistance", units.COIL)
    degrees = figure(entries, f"{section}.{TEMPERATURE}", units.CELSIUS)
    return None if read is None else direct_resistance(1e3 * read, temperature=20.0 if degrees is None else degrees)


def poles_in(entries: Mapping[str, str], side: Side) -> tuple[PoleReading, ...]:
    """Return the gauss that was read at pole tops on the sheet; what is out of any range is left out."""
    head = f"{SECTIONS[side]}_strings.pole_gauss."
    out = []
    for entry, said in entries.items():
        row, _, string = entry.removeprefix(head).partition(".")
        read = figure(entries, entry, units.FLUX) if entry.startswith(head) and string.isdigit() else None
        if read is not None:
            try:
                out.append(
                    PoleReading(
                        pole=int(string), flux_density=read * GAUSS, row=row, signed=said.strip()[:1] in ("+", "-", "−")
                    )
                )
            except InputError:
                continue
    return tuple(out)


def _is_of(body: Mapping[str, Any], key: SheetKey) -> bool:
    return all(body.get(name) == value for name, value in key.body().items())
