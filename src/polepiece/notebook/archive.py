"""A guitar with its whole history as one file, and back; or the whole notebook.

The archive is a zip: ``manifest.json`` (schema, guitars, SHA-256 and size of every member), ``entries.jsonl`` (one
entry of the journal a line, in order, references by uuid), ``states/<uuid>.toml`` (guitar files),
``sounds/<sha256>.wav|flac`` and ``photos/<sha256>.jpg|png|webp``. The same content gives the same bytes. What one
writes the other reads: every line is judged by the reader's own rules before it is written.
"""

from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, undefer

from polepiece import __version__
from polepiece.errors import GuitarFileError, InputError, NotebookError
from polepiece.notebook.archive_check import BRANCHED, LATEST, SCHEMA, SCHEMAS, check_entries, guitars_of
from polepiece.notebook.archive_lines import KINDS, OF_A_SHOP, line_of, read_line
from polepiece.notebook.archive_zip import ENTRIES, Packer, packing, refused, unpacking
from polepiece.notebook.histories import entry_of
from polepiece.notebook.merging import Merging
from polepiece.notebook.photos import photo_bytes, photo_fault, photos, put_photo
from polepiece.notebook.records import GuitarEntry
from polepiece.notebook.schema import BranchChoiceRow, Entry, GuitarRow, RecordingRow, SoundRow, StateRow
from polepiece.notebook.store import Notebook
from polepiece.notebook.transactions import guitar_row


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What became of an archive: its guitars as they are now, entries that were added, entries that were here."""

    guitars: tuple[GuitarEntry, ...]
    added: int
    known: int


def export_guitar(notebook: Notebook, guitar_id: int, path: Path | str, *, replace: bool = False) -> Path:
    """Write a guitar with everything that belongs to it (states, jobs, predictions, notes, sounds) to one file.

    Raises
    ------
    NotebookError
        If the file is there already (unless ``replace``), cannot be written, or would not be taken in again: then it
        says what is too large or wrong. Nothing half written is left.
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
    return _import(notebook, Path(path), alone=True, merge=False).guitars[0]


def import_archive(notebook: Notebook, path: Path | str) -> list[GuitarEntry]:
    """Take in an archive of any number of guitars and of the drawer: all of it, or nothing."""
    return list(_import(notebook, Path(path), alone=False, merge=False).guitars)


def merge_archive(notebook: Notebook, path: Path | str) -> Merged:
    """Take in what an archive has and this notebook has not: all of that, or nothing.

    Entries that are here already stay as they are, and have to say the same. Where a guitar went on in both, the
    archive's continuation becomes a branch; the present state stays the one that this notebook went on with
    (`Notebook.branches`, `Notebook.choose_branch`).

    Raises
    ------
    NotebookError
        If the archive is damaged or forged, or an entry of it is here and says something else.
    """
    return _import(notebook, Path(path), alone=False, merge=True)


def _export(notebook: Notebook, path: Path, *, replace: bool, guitar_id: int | None) -> Path:
    query = select(Entry).where(Entry.kind.in_(KINDS)).order_by(Entry.id)
    states = select(StateRow.uuid, StateRow.text).order_by(StateRow.id)
    with notebook._read() as session:
        if guitar_id is None:
            guitars: Sequence[GuitarRow] = session.scalars(select(GuitarRow).order_by(GuitarRow.id)).all()
        else:
            guitars = [guitar_row(session, guitar_id)]
            query = query.where(Entry.guitar_id == guitar_id)
            states = states.where(StateRow.guitar_id == guitar_id)
        with packing(path, replace=replace) as packer:
            with closing(_lines(session, query, guitars)) as lines:
                packer.add_lines(ENTRIES, lines)
            with closing(session.execute(states.execution_options(yield_per=100))) as rows:
                for uuid, text in rows:
                    packer.add(f"states/{uuid}.toml", _judged_text(text, uuid).encode("utf-8"))
            _add_sounds(session, packer, guitar_id)
            known = [{"uuid": row.uuid, "name": row.name, "created": row.created} for row in guitars]
            of_a_shop = Entry.bench.is_not(None) | Entry.kind.in_(OF_A_SHOP)
            schema = BRANCHED if _branched(session, guitar_id) else SCHEMA
            if session.scalar(query.with_only_columns(Entry.id).where(of_a_shop).limit(1)) is not None:
                schema = LATEST
            schema = LATEST if _add_photos(notebook, packer, guitar_id) else schema
            packer.finish({"schema": schema, "version": __version__, "guitars": known})
    return path


def _lines(session: Session, query: Select[Entry], guitars: Sequence[GuitarRow]) -> Generator[str]:
    """Yield every entry as its line, judged as a reader judges it."""
    names = {row.id: row.uuid for row in guitars}
    numbers = query.with_only_columns(Entry.id, Entry.uuid)
    uuids = {number: uuid for number, uuid in session.execute(numbers)}
    with closing(session.scalars(query.execution_options(yield_per=100))) as rows:
        for place, row in enumerate(rows, start=1):
            try:
                line = line_of(row, uuids, names)
                read_line(line, place)
            except (InputError, KeyError, ValueError) as error:
                raise NotebookError(
                    f"entry {row.id} cannot be exported, as no import would take it in: {error}"
                ) from None
            yield line


_READS: set[str] = set()  # guitar files that have been read before


def _judged_text(text: str, uuid: str) -> str:
    """Return the guitar file of a state, if a reader takes it."""
    from polepiece.guitar import parse_guitar  # a second of numerical libraries

    if text not in _READS:
        try:
            parse_guitar(text, f"state {uuid}")
        except GuitarFileError as error:
            said = str(error).replace("\n", "; ")
            raise NotebookError(f"{said} No import would take it in; polepiece notebook backup copies all.") from None
        if len(_READS) > 1000:
            _READS.clear()
        _READS.add(text)
    return text


def _add_sounds(session: Session, packer: Packer, guitar_id: int | None) -> None:
    query = select(SoundRow.sha256).distinct().order_by(SoundRow.sha256)
    for digest in session.scalars(query if guitar_id is None else query.where(SoundRow.guitar_id == guitar_id)).all():
        one = session.get_one(RecordingRow, digest, options=[undefer(RecordingRow.data)])
        packer.add(f"sounds/{digest}.{one.kind}", one.data)
        if packer.digest(f"sounds/{digest}.{one.kind}") != digest:
            raise NotebookError(f"sound {digest} is damaged: its bytes do not have this hash. Nothing was exported.")
        session.expunge(one)


def _add_photos(notebook: Notebook, packer: Packer, guitar_id: int | None) -> int:
    """Add the photos whose files are whole; return how many. One that is gone has its line alone."""
    whole = {
        one.file.name: one
        for one in photos(notebook, guitar_id, put_away=True)
        if not photo_fault(one.file, one.sha256)
    }
    for name, one in sorted(whole.items()):
        packer.add(f"photos/{name}", photo_bytes(one))
    return len(whole)


def _branched(session: Session, guitar_id: int | None) -> bool:
    states, choices = (
        select(func.count(StateRow.id)).where(StateRow.branch == 1),
        select(func.count(BranchChoiceRow.id)),
    )
    if guitar_id is not None:
        states = states.where(StateRow.guitar_id == guitar_id)
        choices = choices.where(BranchChoiceRow.guitar_id == guitar_id)
    return bool(session.scalar(states)) or bool(session.scalar(choices))


def _import(notebook: Notebook, path: Path, *, alone: bool, merge: bool) -> Merged:
    with unpacking(path, SCHEMAS) as archive:
        try:
            guitars = guitars_of(archive)
            if alone and len(guitars) != 1:
                raise InputError(f"holds {len(guitars)} guitars, not one")
            check_entries(archive, guitars)
        except (InputError, UnicodeDecodeError) as error:
            raise refused(path, str(error).rstrip(".")) from None
        for name in archive.names("photos"):  # on the disk before their lines; of a refused archive they do no harm
            put_photo(notebook, name.removeprefix("photos/"), archive.read(name))
        with notebook._write() as session:
            merging = Merging(session, archive, merge=merge)
            numbers = merging.guitars(guitars)
            merging.recordings()
            merging.entries()
            found = tuple(entry_of(session, one) for one in numbers)
    return Merged(guitars=found, added=merging.added, known=merging.known)
