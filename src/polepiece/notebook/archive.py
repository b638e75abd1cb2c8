"""A guitar with its whole history as one file, and back; or the whole notebook.

The archive is a zip: ``manifest.json`` (schema, guitars, SHA-256 and size of every member), ``entries.jsonl`` (one
entry of the journal a line, in order, references by uuid), ``states/<uuid>.toml`` (guitar files) and
``sounds/<sha256>.wav|flac``. The same content gives the same bytes.
"""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from polepiece import __version__
from polepiece.errors import GuitarFileError, InputError
from polepiece.notebook.archive_lines import KINDS, UUID, Line, check_moment, line_of, read_line
from polepiece.notebook.archive_zip import ENTRIES, Archive, packing, refused, unpacking
from polepiece.notebook.evidence import sound_fault
from polepiece.notebook.histories import entry_of
from polepiece.notebook.records import SHORT, GuitarEntry, text_fault
from polepiece.notebook.schema import Entry, GuitarRow, RecordingRow, SoundRow, StateRow
from polepiece.notebook.store import Notebook
from polepiece.notebook.transactions import guitar_row

SCHEMA = "polepiece/archive/1"


def export_guitar(notebook: Notebook, guitar_id: int, path: Path | str, *, replace: bool = False) -> Path:
    """Write a guitar with everything that belongs to it (states, jobs, predictions, notes, sounds) to one file.

    Raises
    ------
    NotebookError
        If the file is there already (unless ``replace``) or cannot be written; nothing half written is left.
    """
    return _export(notebook, Path(path), replace=replace, guitar_id=guitar_id)


def export_notebook(notebook: Notebook, path: Path | str, *, replace: bool = False) -> Path:
    """Write the whole notebook, drawer included, to one file."""
    return _export(notebook, Path(path), replace=replace, guitar_id=None)


def import_guitar(notebook: Notebook, path: Path | str) -> GuitarEntry:
    """Take in the archive of one guitar: all of it, or nothing.

    Raises
    ------
    NotebookError
        If the archive is damaged, forged, of an unknown schema, holds a guitar that is here already, or not one guitar.
    """
    found = _import(notebook, Path(path), alone=True)
    return found[0]


def import_archive(notebook: Notebook, path: Path | str) -> list[GuitarEntry]:
    """Take in an archive of any number of guitars and of the drawer: all of it, or nothing."""
    return _import(notebook, Path(path), alone=False)


def _export(notebook: Notebook, path: Path, *, replace: bool, guitar_id: int | None) -> Path:
    query = select(Entry).order_by(Entry.id)
    with notebook._read() as session:
        if guitar_id is None:
            guitars: Sequence[GuitarRow] = session.scalars(select(GuitarRow).order_by(GuitarRow.id)).all()
        else:
            guitars = [guitar_row(session, guitar_id)]
            query = query.where(Entry.guitar_id == guitar_id)
        names = {row.id: row.uuid for row in guitars}
        entries = session.scalars(query).all()
        uuids = {row.id: row.uuid for row in entries}
        with packing(path, replace=replace) as packer:
            lines = [line_of(row, uuids, names) for row in entries]
            packer.add(ENTRIES, "".join(f"{line}\n" for line in lines).encode("utf-8"))
            for row in entries:
                if isinstance(row, StateRow):
                    packer.add(f"states/{row.uuid}.toml", row.text.encode("utf-8"))
            for digest in sorted({row.sha256 for row in entries if isinstance(row, SoundRow)}):
                one = session.get_one(RecordingRow, digest, options=[undefer(RecordingRow.data)])
                packer.add(f"sounds/{digest}.{one.kind}", one.data)
                session.expunge(one)
            known = [{"uuid": row.uuid, "name": row.name, "created": row.created} for row in guitars]
            packer.finish({"schema": SCHEMA, "version": __version__, "guitars": known})
    return path


def _import(notebook: Notebook, path: Path, *, alone: bool) -> list[GuitarEntry]:
    with unpacking(path, SCHEMA) as archive:
        try:
            guitars = _guitars(archive)
            if alone and len(guitars) != 1:
                raise InputError(f"holds {len(guitars)} guitars, not one")
            lines = _lines(archive)
            texts = _check(archive, guitars, lines)
        except (InputError, UnicodeDecodeError) as error:
            raise refused(path, str(error).rstrip(".")) from None
        with notebook._write() as session:
            _not_here_yet(session, path, guitars, lines)
            ids = {}
            for one in guitars:
                row = GuitarRow(uuid=one["uuid"], name=one["name"], created=one["created"])
                session.add(row)
                session.flush()
                ids[row.uuid] = row.id
            _add_recordings(session, archive)
            _add_entries(session, lines, ids, texts)
            return [entry_of(session, number) for number in ids.values()]


# ---------------------------------------------------------------- checks, before anything is written


def _guitars(archive: Archive) -> list[dict[str, str]]:
    found = archive.head.get("guitars")
    if not isinstance(found, list) or set(archive.head) != {"schema", "version", "guitars", "members"}:
        raise InputError("manifest.json needs schema, version, guitars, members and nothing else")
    for one in found:
        if not isinstance(one, dict) or set(one) != {"uuid", "name", "created"}:
            raise InputError("manifest.json: a guitar has uuid, name, created and nothing else")
        if not isinstance(one["uuid"], str) or not UUID.fullmatch(one["uuid"]):
            raise InputError(f"manifest.json: {one['uuid']!r:.60} is not a uuid")
        if fault := text_fault(one["name"], SHORT):
            raise InputError(f"manifest.json: the name of a guitar {fault}")
        check_moment(one["created"], "manifest.json: created")
    if len({one["uuid"] for one in found}) != len(found):
        raise InputError("manifest.json: a guitar stands twice")
    return found


def _lines(archive: Archive) -> list[Line]:
    text = archive.read(ENTRIES).decode("utf-8")
    if text and not text.endswith("\n"):
        raise InputError("entries.jsonl does not end with a line end; it was cut")
    lines = [read_line(line, number) for number, line in enumerate(text.split("\n")[:-1], start=1)]
    if len({one.uuid for one in lines}) != len(lines):
        raise InputError("entries.jsonl holds an entry twice")
    return lines


def _check(archive: Archive, guitars: Iterable[dict[str, str]], lines: Sequence[Line]) -> dict[str, str]:
    """Hold entries against each other, and read every guitar; return the texts of the states."""
    known = {one["uuid"] for one in guitars}
    seen: dict[str, Line] = {}
    for line in lines:
        where = f"entries.jsonl line {line.number}"
        if line.guitar is not None and line.guitar not in known:
            raise InputError(f"{where}: its guitar is not in the manifest")
        for one in KINDS[line.kind][1].values():
            there = line.values[one.column]
            if one.to is None or there is None:
                continue
            if there not in seen or seen[there].kind != one.to or seen[there].guitar != line.guitar:
                raise InputError(f"{where}: refers to a {one.to} that does not stand before it for the same guitar")
        seen[line.uuid] = line
    texts = _texts(archive, [one for one in lines if one.kind == "state"])
    for uuid in known:
        _check_chain([one for one in lines if one.kind == "state" and one.guitar == uuid], texts)
    if any(one.kind == "state" and one.guitar is None for one in lines):
        raise InputError("entries.jsonl: a state without a guitar")
    _check_sounds(archive, lines)
    return texts


def _texts(archive: Archive, states: Sequence[Line]) -> dict[str, str]:
    from polepiece.guitar import parse_guitar  # a second of numerical libraries

    if {f"states/{one.uuid}.toml" for one in states} != set(archive.names("states")):
        raise InputError("its states/ do not belong to the states in entries.jsonl one to one")
    texts, good = {}, set()
    for one in states:
        name = f"states/{one.uuid}.toml"
        text = archive.read(name).decode("utf-8")
        if text not in good:
            try:
                parse_guitar(text, name)
            except GuitarFileError as error:
                raise InputError(str(error).replace("\n", "; ")) from None
        good.add(text)
        texts[one.uuid] = text
    return texts


def _check_chain(states: Sequence[Line], texts: dict[str, str]) -> None:
    """The states of one guitar follow one another; an undo or redo is what the steps before it make it."""
    if not states:
        raise InputError("a guitar has no state")
    past: list[str] = []
    future: list[str] = []
    last = None
    for one in states:
        act, where = one.values["act"], f"entries.jsonl line {one.number}"
        if one.values["parent_id"] != last or (act == "entry") != (last is None):
            raise InputError(f"{where}: this state does not follow the one before it")
        last = one.uuid
        restored: str | None = None
        if act == "undo" and len(past) > 1:
            future.append(past.pop())
            restored = past[-1]
        elif act == "redo" and future:
            past.append(future.pop())
            restored = past[-1]
        elif act in ("entry", "record"):
            past.append(one.uuid)
            future.clear()
        if one.values["restores_id"] != restored or (act in ("undo", "redo")) != (restored is not None):
            raise InputError(f"{where}: this {act} does not restore the state it should")
        if restored is not None and texts[one.uuid] != texts[restored]:
            raise InputError(f"{where}: this {act} is not equal to the state it restores")


def _check_sounds(archive: Archive, lines: Sequence[Line]) -> None:
    names = {name.removeprefix("sounds/").partition(".")[0]: name for name in archive.names("sounds")}
    if len(names) != len(archive.names("sounds")) or set(names) != {
        one.values["sha256"] for one in lines if one.kind == "sound"
    }:
        raise InputError("its sounds/ do not belong to the sounds in entries.jsonl one to one")
    for digest, name in names.items():
        if archive.head["members"][name]["sha256"] != digest:  # type: ignore[index]
            raise InputError(f"{name} does not have the hash it is named by")
        if fault := sound_fault(archive.read(name), name.rpartition(".")[2]):
            raise InputError(f"{name} {fault}")


# ---------------------------------------------------------------- writing, in one transaction


def _not_here_yet(session: Session, path: Path, guitars: Iterable[dict[str, str]], lines: Iterable[Line]) -> None:
    for one in guitars:
        row = session.scalars(select(GuitarRow).where(GuitarRow.uuid == one["uuid"])).one_or_none()
        if row is not None:
            count = entry_of(session, row.id).states
            raise refused(path, f"{one['name']} is here already, as guitar {row.id} with {count} states")
    for line in lines:
        if session.scalar(select(Entry.id).where(Entry.uuid == line.uuid)) is not None:
            raise refused(path, f"line {line.number} ({line.kind}) is here already")


def _add_recordings(session: Session, archive: Archive) -> None:
    for name in archive.names("sounds"):
        digest, _, kind = name.removeprefix("sounds/").partition(".")
        if session.get(RecordingRow, digest) is not None:
            continue
        data = archive.read(name)
        row = RecordingRow(sha256=digest, kind=kind, size=len(data), data=data)
        session.add(row)
        session.flush()
        session.expunge(row)


def _add_entries(session: Session, lines: Iterable[Line], guitars: dict[str, int], texts: dict[str, str]) -> None:
    ids: dict[str, int] = {}
    for line in lines:
        kind, fields = KINDS[line.kind]
        values: dict[str, Any] = dict(line.values)
        for one in fields.values():
            if one.to is not None and values[one.column] is not None:
                values[one.column] = ids[values[one.column]]
        if line.kind == "state":
            values["text"] = texts[line.uuid]
        row = kind(
            uuid=line.uuid, at=line.at, guitar_id=None if line.guitar is None else guitars[line.guitar], **values
        )
        session.add(row)
        session.flush()
        ids[line.uuid] = row.id
