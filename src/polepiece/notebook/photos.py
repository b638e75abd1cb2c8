"""Photos of a guitar or a job: files beside the notebook under their SHA-256, and a sealed line of the journal each.

The notebook itself stays small; `check` holds every file against its hash. Archives carry them; backups of the notebook
do not: they lie in the folder that `photos_folder` names. A photo that is put away is seen no more and stays kept: its
line is sealed, and what took it out of sight is one more line.
"""

import hashlib
import os
import re
import stat
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import undefer

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.places import Place, beside
from polepiece.notebook.records import SHORT, checked, moment
from polepiece.notebook.schema import NoteRow
from polepiece.notebook.schema_base import Json
from polepiece.notebook.store import Notebook

PHOTO = "polepiece/photo/1"
SEEN = "polepiece/photo-seen/1"
LARGEST_PHOTO = 32 * 1024 * 1024  # bytes
HEADS = {"jpg": b"\xff\xd8\xff", "png": b"\x89PNG\r\n\x1a\n", "webp": b"RIFF"}
_LINE = "photo: "
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoEntry:
    """A photo on record: what a person calls it, of which guitar and job, and the file it lies in."""

    id: int
    uuid: str  # of its line
    at: datetime
    guitar_id: int | None
    job: str | None  # uuid
    label: str
    sha256: str
    size: int
    file: Path


def photos_folder(place: Place) -> Path:
    """Return where the photos of a notebook lie; of one on a server at this bench."""
    path = beside(place)
    return path.with_name(f"{path.name}-photos")


def photo_kind(data: bytes) -> str:
    """Return the ending for the bytes of a photo.

    Raises
    ------
    InputError
        When it is too large, or no JPEG, PNG or WebP by its first bytes.
    """
    if len(data) > LARGEST_PHOTO:
        raise InputError(f"the photo has {len(data) / 2**20:.0f} MiB; at most {LARGEST_PHOTO >> 20} are kept.")
    for kind, head in HEADS.items():
        if data.startswith(head) and (kind != "webp" or data[8:12] == b"WEBP"):
            return kind
    raise InputError("the photo is no JPEG, PNG or WebP by its first bytes; save it as one of these.")


def photo_of(path: Path | str) -> bytes:
    """Return the bytes of a photo's file, at most one more than are kept.

    Raises
    ------
    InputError
        When it is not there.
    """
    where = Path(path)
    if not where.is_file():
        raise InputError(f"{where}: there is no such file; check the name and the folder.")
    with where.open("rb") as file:
        return file.read(LARGEST_PHOTO + 1)


def keep_photo(notebook: Notebook, data: bytes, *, label: str, guitar_id: int, job_id: int | None = None) -> PhotoEntry:
    """Keep a photo; its file is on the disk before its line is written. The same bytes are kept once.

    Parameters
    ----------
    notebook : Notebook
    data : bytes
        Of the whole file: JPEG, PNG or WebP, at most 32 MiB.
    label : str
        What it shows.
    guitar_id : int
    job_id : int, optional
        A job of that guitar.

    Raises
    ------
    InputError
        When it is no photo, or the job is of another guitar.
    NotebookError
        When the folder cannot be written to.
    """
    words, kind = checked(label, "label", SHORT), photo_kind(data)
    entry = notebook.guitar_entry(guitar_id)
    job = None if job_id is None else notebook.job(job_id)
    if job is not None and job.guitar_id != guitar_id:
        raise InputError(f"job {job.called} is not of guitar {guitar_id}.")
    digest = hashlib.sha256(data).hexdigest()
    put_photo(notebook, f"{digest}.{kind}", data)
    body: Json = {"schema": PHOTO, "sha256": digest, "kind": kind, "size": len(data), "label": words,
                  "job": None if job is None else job.uuid}  # fmt: skip
    of_job = "" if job is None else f" (job {job.called})"
    note = notebook.write_note(
        guitar_id, f"{_LINE}{words}{of_job}, {digest[:12]}", state_id=entry.state_id, body=body
    )  # fmt: skip
    return _entry(notebook.path, (note.id, note.uuid), note.at, guitar_id, body)


def photos(notebook: Notebook, guitar_id: int | None = None, *, put_away: bool = False) -> list[PhotoEntry]:
    """Return the photos of a guitar, or all, oldest first; the same bytes may stand under several labels.

    ``put_away``: those that were put away as well.
    """
    found, away = _all_photos(notebook, guitar_id)
    return [one for one in found if put_away or one.uuid not in away]


def _all_photos(notebook: Notebook, guitar_id: int | None) -> tuple[list[PhotoEntry], set[str]]:
    """Return the photos, and the uuids of those put away: the last line of each counts."""
    query = select(NoteRow).where(NoteRow.text.startswith(_LINE, autoescape=True)).order_by(NoteRow.id)
    if guitar_id is not None:
        query = query.where(NoteRow.guitar_id == guitar_id)
    found: list[PhotoEntry] = []
    seen: dict[str, bool] = {}
    with notebook._read() as session:
        for row in session.scalars(query.options(undefer(NoteRow.body))):
            body = row.body or {}
            if is_photo(body):
                found.append(_entry(notebook.path, (row.id, row.uuid), moment(row.at), row.guitar_id, body))
            elif body.get("schema") == SEEN:
                seen[str(body.get("photo"))] = body.get("seen") is True
    return found, {uuid for uuid, shown in seen.items() if not shown}


def put_photo_away(notebook: Notebook, photo_id: int, *, back: bool = False) -> PhotoEntry:
    """Take a photo out of sight, or ``back``; its file and its line stay, so that every check still finds them.

    Raises
    ------
    NotebookError
        When there is no such photo, or it is so already.
    """
    found, away = _all_photos(notebook, None)
    photo = next((one for one in found if one.id == photo_id), None)
    if photo is None:
        known = ", ".join(str(one.id) for one in found[-20:]) or "none yet"
        raise NotebookError(f"there is no photo {photo_id} in this notebook; it has: {known}.")
    if (photo.uuid in away) is not back:
        raise NotebookError(f"photo {photo_id} is {'in sight' if back else 'put away'} already.")
    words = f"{_LINE}{photo.label} {'in sight again' if back else 'put away'}, {photo.sha256[:12]}"
    notebook.write_note(photo.guitar_id, words, body={"schema": SEEN, "photo": photo.uuid, "seen": back})
    return photo


def photo_called(notebook: Notebook, name: str) -> PhotoEntry | None:
    """Return a photo that is in sight by the name of its file, ``<sha256>.<kind>``; None where there is none."""
    return next((one for one in photos(notebook) if one.file.name == name), None)


def photo_bytes(entry: PhotoEntry) -> bytes:
    """Return the bytes of a photo, held against their hash.

    Raises
    ------
    NotebookError
        When the file is gone or damaged.
    """
    data, fault = _bytes_of(entry.file, entry.sha256)
    if fault:
        raise NotebookError(f"photo {entry.label!r} (entry {entry.id}): {fault}.")
    return data


def photo_fault(file: Path, digest: str) -> str:
    """Return what is wrong with the file of a photo, or nothing."""
    return _bytes_of(file, digest)[1]


def _bytes_of(file: Path, digest: str) -> tuple[bytes, str]:
    """Return the bytes of a photo, and what is wrong: a pipe would be waited for, a larger file fill the memory."""
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            return b"", f"{file} is no file"
        with file.open("rb") as opened:
            data = opened.read(LARGEST_PHOTO + 1)
    except OSError as error:
        return b"", f"its file {file} cannot be read ({error.strerror})"
    if hashlib.sha256(data).hexdigest() != digest:
        return b"", f"the bytes of {file} do not have its hash"
    return data, ""


def is_photo(body: Json) -> bool:
    """Tell whether the figures of a note are those of a photo."""
    return (
        body.get("schema") == PHOTO and bool(_DIGEST.fullmatch(str(body.get("sha256")))) and body.get("kind") in HEADS
    )


def photo_faults(place: Place, bodies: Iterator[tuple[int, Json]]) -> Iterator[str]:
    """Yield the photos among these notes whose files are gone or damaged; ``place`` is that of the notebook."""
    for number, body in bodies:
        if is_photo(body):
            file = photos_folder(place) / f"{body['sha256']}.{body['kind']}"
            if fault := photo_fault(file, str(body["sha256"])):
                yield f"entry {number}: a photo, {fault}"


def _entry(place: Place, number: tuple[int, str], at: datetime, guitar_id: int | None, body: Json) -> PhotoEntry:
    job, size = body.get("job"), body.get("size")
    return PhotoEntry(
        id=number[0], uuid=number[1], at=at, guitar_id=guitar_id, job=None if job is None else str(job),
        label=str(body.get("label", "")), sha256=str(body["sha256"]), size=size if isinstance(size, int) else 0,
        file=photos_folder(place) / f"{body['sha256']}.{body['kind']}",
    )  # fmt: skip


def put_photo(notebook: Notebook, name: str, data: bytes) -> None:
    """Write the file of a photo, named by its hash, whole or not at all; one that is there is put right.

    Raises
    ------
    NotebookError
        When the notebook can only be read, or its folder not be written to.
    """
    if notebook.reading:
        raise NotebookError(notebook.reading)
    folder = photos_folder(notebook.path)
    target = folder / name
    if target.is_file() and target.stat().st_size == len(data) and not photo_fault(target, name.partition(".")[0]):
        return
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        handle, hidden = tempfile.mkstemp(prefix=".polepiece-", suffix=".part", dir=folder)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(hidden, target)
        finally:
            with suppress(FileNotFoundError):
                os.unlink(hidden)
    except OSError as error:
        raise NotebookError(f"the photo cannot be written to {folder} ({error.strerror or error}).") from None
