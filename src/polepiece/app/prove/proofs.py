"""What was brought to prove a change: recordings, sweeps, a blind trial, the ledger; each a note, the last one counts.

A proof is of the same change as a work sheet and has its key; meters are read off that sheet.
"""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from polepiece.app.sheet import bench_units as units
from polepiece.app.sheet.log import SheetKey
from polepiece.app.sheet.stops import TEMPERATURE, figure
from polepiece.constants import GAUSS
from polepiece.errors import InputError, PolepieceError
from polepiece.evidence import Evidence, metered_inductance
from polepiece.measure import (
    BlindTrial,
    DirectReading,
    Estimate,
    Ledger,
    MeasuredPickup,
    PluckRecord,
    PoleReading,
    direct_resistance,
)
from polepiece.notebook import Notebook, NoteEntry

ENTRY = "polepiece/proof-entry/1"
Side = Literal["before", "after"]
SIDES: tuple[Side, ...] = ("before", "after")
CALIBRATIONS = ("open", "bridged")  # recordings of the bench without a pickup; both sides have them in common
SWEEP_BENCH = ("resistor", "temperature", "input")  # what stood on the bench, as it was typed
SECTIONS: dict[Side, str] = {"before": "baseline", "after": "after"}  # of the work sheet
STROKE = 1.0  # dB: 90 % limits of a level read off by eye, one stroke against one; common practice, no source
LCR = {"inductance_120hz_h": "120 Hz", "inductance_1khz_h": "1 kHz"}  # entry of the sheet, line of the ledger
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
    calibrations: dict[str, Recording] = field(default_factory=dict)  # of sweeps, by role
    sweep_bench: dict[str, str] = field(default_factory=dict)  # as it was typed
    trial: BlindTrial | None = None  # that is on, or the last that was ended
    phrase: str = ""  # of that trial
    heard_in: str = ""  # position of the switches in that trial; empty: as usual
    ended: list[BlindTrial] = field(default_factory=list)  # all that were gone through, in order
    ended_in: list[str] = field(default_factory=list)  # their positions
    given_up: int = 0

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
        elif kind == "calibration" and side in CALIBRATIONS:
            self.calibrations.pop(side, None)
            if value is not None:
                self.calibrations[side] = Recording(**value)
        elif kind == "sweep-bench" and side in SWEEP_BENCH:
            self.sweep_bench[side] = str(value)
        elif entry == "plucks":
            if value is not None:
                PluckRecord.from_dict(value)
            self.plucks = value
        elif entry == "trial":
            self._put_trial(value)
        else:
            raise InputError(f"a proof has no entry {entry!r}.")

    def _put_trial(self, value: "Mapping[str, Any] | None") -> None:
        if value is None:
            self.given_up += self.trial is not None and not self.trial.over
            self.trial = self.ended[-1] if self.ended else None
            self.heard_in = self.ended_in[-1] if self.ended else ""
            return
        self.trial, self.phrase = BlindTrial.from_dict(value), str(value.get("phrase", ""))
        self.heard_in = str(value.get("position") or "")
        if self.trial.over:
            self.ended.append(self.trial)
            self.ended_in.append(self.heard_in)

    def heard(self, position: str) -> BlindTrial | None:
        """Return the trial that counts where the change is judged in this position: the last that was heard there."""
        there = [one for one, where in zip(self.ended, self.ended_in) if where == position]
        return there[-1] if there else None

    def trial_words(self) -> list[str]:
        """Return what has to be known beside the last trial that was ended: those before it."""
        if len(self.ended) < 2 and not self.given_up:
            return []
        earlier = [one.outcome() for one in self.ended[:-1]]
        told = ", ".join(f"{one.right} of {one.trials} right" for one in earlier)
        told += f"{'; ' if told and self.given_up else ''}{self.given_up} given up" if self.given_up else ""
        return [
            f"There were other blind trials of this change ({told}): one that passes among several says less than the "
            "same one alone."
        ]


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


def evidence_of(proof: Proof, entries: Mapping[str, str], position: str = "") -> Evidence:
    """Return what was measured and heard; ``entries`` are those of the work sheet.

    A trial counts when it is over and was heard in the position in which the change is judged.
    """
    records = {side: MeasuredPickup.from_dict(record) for side, record in proof.impedance.items()}
    plucks = None if proof.plucks is None else PluckRecord.from_dict(proof.plucks)
    taken_as = [f"Taken as: {words}." for words in (readings_taken(entries),) if words]
    if typed := levels_in(entries):
        taken_as.append(f"Levels typed on the work sheet count with 90 % limits of {STROKE:g} dB: one pick stroke.")
    return Evidence(
        impedance_before=records.get("before"), impedance_after=records.get("after"),
        plucks=() if plucks is None else plucks.estimates, typed=typed,
        metered_before=inductances_in(entries, "before"), metered_after=inductances_in(entries, "after"),
        dcr_before=direct_in(entries, "before"), dcr_after=direct_in(entries, "after"),
        gauss_before=poles_in(entries, "before"), gauss_after=poles_in(entries, "after"),
        trial=proof.heard(position),
        notes=(*(() if plucks is None else plucks.notes), *taken_as, *proof.trial_words()),
        files={} if plucks is None else plucks.files,
    )  # fmt: skip


def direct_in(entries: Mapping[str, str], side: Side) -> DirectReading | None:
    """Return the DC resistance that was read on the sheet, or None.

    A temperature that was noted on one side only is taken for both; without any it is 20 degC.
    """
    read = figure(entries, f"{SECTIONS[side]}.dc_resistance", units.COIL)
    degrees = _degrees(entries)
    here = degrees.get(side, next(iter(degrees.values()), 20.0))
    return None if read is None else direct_resistance(1e3 * read, temperature=here)


def _degrees(entries: Mapping[str, str]) -> dict[str, float]:
    """Return the temperatures that were noted, by side."""
    found = {side: figure(entries, f"{SECTIONS[side]}.{TEMPERATURE}", units.CELSIUS) for side in SIDES}
    return {side: value for side, value in found.items() if value is not None}


def readings_taken(entries: Mapping[str, str]) -> str:
    """Return what the readings of the sheet were taken as, side and temperature with them; the same everywhere."""
    out = []
    for side in SIDES:
        read, degrees = direct_in(entries, side), _degrees(entries)
        if read is not None:
            said = float(figure(entries, f"{SECTIONS[side]}.dc_resistance", units.COIL) or 0.0)
            if not degrees:
                at = "no temperature noted, so at 20 °C"
            elif side in degrees:
                at = f"at {degrees[side]:g} °C"
            else:
                at = f"at {next(iter(degrees.values())):g} °C, as noted for the other"
            out.append(f"{side}, {said:.2f} kΩ {at}: {read.at_20.value / 1e3:.2f} kΩ at 20 °C")
        out += [f"{side}, {one.value:.2f} H at {LCR[one.name]}" for one in inductances_in(entries, side)]
        count = len(poles_in(entries, side))
        out += [f"{side}, {count} pole{'s' if count > 1 else ''} in gauss"] if count else []
    return "; ".join(out)


def inductances_in(entries: Mapping[str, str], side: Side) -> tuple[Estimate, ...]:
    """Return the inductances that were read on the sheet, with the limits of a usual LCR meter."""
    out = []
    for key in LCR:
        read = figure(entries, f"{SECTIONS[side]}.{key}", units.INDUCTANCE)
        if read is not None:
            out.append(metered_inductance(key, read))
    return tuple(out)


def levels_in(entries: Mapping[str, str]) -> tuple[Estimate, ...]:
    """Return the differences of levels, after less before, that were typed beside what was predicted on the sheet."""
    out = []
    for entry in entries:
        kind, _, key = entry.partition(".")
        read = figure(entries, entry, units.DECIBEL) if kind == "effects" and "_db" in key else None
        if read is not None:
            out.append(Estimate(name=key, value=read, low=read - STROKE, high=read + STROKE, unit="dB"))
    return tuple(out)


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
