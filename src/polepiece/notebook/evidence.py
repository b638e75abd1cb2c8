"""What was computed, heard and measured: predictions, sounds under their own hash, notes."""

import hashlib
from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.records import (
    LONG,
    NOTE_SORTS,
    SHORT,
    NoteEntry,
    NoteSort,
    PredictionEntry,
    SoundEntry,
    SoundKind,
    checked,
    moment,
)
from polepiece.notebook.schema import NoteRow, PredictionRow, RecordingRow, SoundRow
from polepiece.notebook.transactions import Transactions, guitar_row, json_body, provenance, state_row

LEDGER = "polepiece/ledger/1"  # schema of the record that `polepiece.measure.Ledger` writes
LARGEST_SOUND = 64 * 1024 * 1024  # bytes


class Evidence(Transactions):
    """Predictions, sounds and notes of a notebook."""

    def keep_prediction(
        self, state_id: int, change: str, result: Mapping[str, object], *, seed: int | None = None
    ) -> int:
        """Keep what was computed for a change to a state; return its number.

        Version and hash of the constants are taken from ``result`` where it carries them (as every ``--json`` object
        does), or else from the running program; the seed likewise.
        """
        text, body = checked(change, "change", LONG), json_body(result, "result")
        made = provenance()
        made |= {key: body[key] for key in ("version", "constants") if isinstance(body.get(key), str)}
        made["seed"] = seed if seed is not None else body.get("seed")
        with self._write() as session:
            state = state_row(session, state_id)
            row = PredictionRow(
                **self._head(state.guitar_id), state_id=state_id, change=text, result=body, provenance=made
            )
            session.add(row)
            session.flush()
            return row.id

    def predictions(self, guitar_id: int) -> list[PredictionEntry]:
        """Return the predictions kept for a guitar, oldest first."""
        query = select(PredictionRow).where(PredictionRow.guitar_id == guitar_id).order_by(PredictionRow.id)
        with self._read() as session:
            guitar_row(session, guitar_id)
            return [_prediction(row) for row in session.scalars(query.options(undefer(PredictionRow.result)))]

    def write_note(
        self,
        guitar_id: int | None,
        text: str,
        *,
        state_id: int | None = None,
        sort: NoteSort = "note",
        body: Mapping[str, object] | None = None,
    ) -> NoteEntry:
        """Write a line, of a guitar or of the shop (None); figures of a measurement or trial go into ``body``."""
        words = checked(text, "text", LONG)
        if sort not in NOTE_SORTS:
            raise InputError(f"sort is {sort!r}; allowed are {', '.join(NOTE_SORTS)}.")
        figures = None if body is None else json_body(body, "body")
        with self._write() as session:
            _of_guitar(session, guitar_id, state_id)
            row = NoteRow(**self._head(guitar_id), state_id=state_id, sort=sort, text=words, body=figures)
            session.add(row)
            session.flush()
            return _note(row)

    def keep_ledger(self, guitar_id: int, ledger: Mapping[str, object], *, state_id: int | None = None) -> NoteEntry:
        """Keep the ledger of a change (`polepiece.measure.Ledger.to_dict`), version and constants with it.

        Raises
        ------
        InputError
            When it is no such record.
        """
        if ledger.get("schema") != LEDGER:
            raise InputError(f"the record is a {ledger.get('schema')!r}; {LEDGER!r} is kept as a ledger.")
        change, entries = ledger.get("change"), ledger.get("entries")
        if not isinstance(change, list) or not isinstance(entries, list):
            raise InputError("a ledger needs change and entries, both lists.")
        judged = [one.get("judged") for one in entries if isinstance(one, dict)]
        words = [one.get("word") for one in judged if isinstance(one, dict)]
        counts = ", ".join(f"{word}: {words.count(word)}" for word in ("agrees", "disagrees") if word in words)
        counts = counts or "nothing measured"
        text = f"proof of {', '.join(map(str, change))} on {ledger.get('pickup')}; {counts}"
        return self.write_note(guitar_id, text, state_id=state_id, sort="swap", body=ledger)

    def ledgers(self, guitar_id: int | None = None, *, last: bool = False) -> list[NoteEntry]:
        """Return the ledgers kept for a guitar, or all, oldest first; ``body`` is the record.

        ``last``: of several of one change to one state only the last, so that nothing is counted twice.
        """
        swaps = self.notes(guitar_id, sort="swap")
        found = [one for one in swaps if one.body is not None and one.body.get("schema") == LEDGER]
        if not last:
            return found
        return list({(one.guitar_id, one.state_id, str((one.body or {}).get("pickup")),
                      str((one.body or {}).get("change"))): one for one in found}.values())  # fmt: skip

    def notes(self, guitar_id: int | None = None, *, sort: NoteSort | None = None) -> list[NoteEntry]:
        """Return the notes of a guitar, or of all, oldest first."""
        query = select(NoteRow).order_by(NoteRow.id).options(undefer(NoteRow.body))
        if guitar_id is not None:
            query = query.where(NoteRow.guitar_id == guitar_id)
        if sort is not None:
            query = query.where(NoteRow.sort == sort)
        with self._read() as session:
            return [_note(row) for row in session.scalars(query)]

    def keep_sound(
        self,
        data: bytes,
        *,
        label: str,
        kind: SoundKind,
        guitar_id: int | None = None,
        state_id: int | None = None,
    ) -> str:
        """Keep a sound under its own hash; return the SHA-256. The same bytes are kept once, whatever their labels.

        Parameters
        ----------
        data : bytes
            A whole WAV or FLAC file of at most 64 MiB.
        label : str
            What a person calls it.
        kind : "wav" or "flac"
        guitar_id, state_id : int or None
            What it belongs to. A state names its guitar.
        """
        name = checked(label, "label", SHORT)
        if fault := sound_fault(data, kind):
            raise InputError(f"sound {name!r} {fault}.")
        digest = hashlib.sha256(data).hexdigest()
        with self._write() as session:
            guitar = _of_guitar(session, guitar_id, state_id)
            if session.get(RecordingRow, digest) is None:
                session.add(RecordingRow(sha256=digest, kind=kind, size=len(data), data=bytes(data)))
                session.flush()
            session.add(SoundRow(**self._head(guitar), sha256=digest, state_id=state_id, label=name))
        return digest

    def sound(self, sha256: str) -> bytes:
        """Return the bytes of a sound, checked against their hash."""
        with self._read() as session:
            data = session.scalar(select(RecordingRow.data).where(RecordingRow.sha256 == sha256))
        if data is None:
            raise NotebookError(f"there is no sound {sha256} in this notebook.")
        if hashlib.sha256(data).hexdigest() != sha256:
            raise NotebookError(f"{self.path}: sound {sha256} is damaged: its bytes do not have this hash.")
        return data

    def sounds(self, guitar_id: int | None = None) -> list[SoundEntry]:
        """Return the sounds of a guitar, or all, oldest first; the same bytes may stand under several labels."""
        query = select(SoundRow, RecordingRow.kind, RecordingRow.size).join(
            RecordingRow, RecordingRow.sha256 == SoundRow.sha256
        )
        if guitar_id is not None:
            query = query.where(SoundRow.guitar_id == guitar_id)
        with self._read() as session:
            return [_sound(row, kind, size) for row, kind, size in session.execute(query.order_by(SoundRow.id))]


def sound_fault(data: bytes, kind: str) -> str | None:
    """Return why these bytes are not kept as a sound of this kind, or None."""
    if len(data) > LARGEST_SOUND:
        return f"has {len(data)} bytes; at most {LARGEST_SOUND} are kept. A phrase of a few seconds is enough"
    whole = {"wav": data[:4] == b"RIFF" and data[8:12] == b"WAVE", "flac": data[:4] == b"fLaC"}
    if kind not in whole:
        return f"is called {kind!r}; kept are wav and flac"
    return None if whole[kind] else f"is not a {kind.upper()} file by its first bytes"


def _of_guitar(session: Session, guitar_id: int | None, state_id: int | None) -> int | None:
    """Check what an entry belongs to; a state names its guitar."""
    if state_id is not None:
        return state_row(session, state_id, guitar_id).guitar_id
    return None if guitar_id is None else guitar_row(session, guitar_id).id


def _prediction(row: PredictionRow) -> PredictionEntry:
    return PredictionEntry(
        id=row.id, uuid=row.uuid, guitar_id=row.guitar_id or 0, state_id=row.state_id, at=moment(row.at),
        change=row.change, result=row.result, provenance=row.provenance,
    )  # fmt: skip


def _note(row: NoteRow) -> NoteEntry:
    return NoteEntry(
        id=row.id, uuid=row.uuid, guitar_id=row.guitar_id, state_id=row.state_id, at=moment(row.at),
        sort=row.sort, text=row.text, body=row.body,
    )  # fmt: skip


def _sound(row: SoundRow, kind: SoundKind, size: int) -> SoundEntry:
    return SoundEntry(
        id=row.id, uuid=row.uuid, guitar_id=row.guitar_id, state_id=row.state_id, at=moment(row.at),
        label=row.label, sha256=row.sha256, kind=kind, size=size,
    )  # fmt: skip
