"""Dated copies of the notebook beside it: before a migration, once a day of use, and on demand.

A copy is made with SQLite's own backup, so that a notebook in use is copied whole, and is looked at before it counts:
a damaged notebook is not copied over good copies. Only copies made by themselves are ever deleted, and only after a
newer one is in its place.
"""

import os
import shutil
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from polepiece.errors import NotebookError
from polepiece.notebook.chain import newest
from polepiece.notebook.end_note import forget_end
from polepiece.notebook.file_copy import copied
from polepiece.notebook.places import Place, beside, folder_of, followed
from polepiece.notebook.structure import entry_faults

KEPT_DAILY, KEPT_BEFORE = 7, 3
BUSY_S = 5.0  # s that another program is waited for
ROOM = 3  # times the notebook's size must be free on the disk for a copy that nobody asked for


Copier = Callable[[Path], None]
"""Writes a whole notebook, looked at, into an empty file."""


def copy_file(path: Path) -> Copier:
    """Return what copies a notebook that is a file."""
    return lambda into: _copy(path, into)


def write_copy(path: Place, out: Path, copy: Copier, *, replace: bool = False) -> Path:
    """Copy a notebook, whole and looked at, to a file of its own.

    Raises
    ------
    NotebookError
        When the file is there already (unless ``replace``), the notebook is damaged, or the copy cannot be written.
    """
    out = followed(out)
    if out.is_dir():
        raise NotebookError(f"{out} is a folder; name the file, for example {out / beside(path).name}.")
    if out.exists() and not replace:
        raise NotebookError(f"{out} is there already; choose another name, or replace it.")
    if isinstance(path, Path) and out.resolve() == path.resolve():
        raise NotebookError(f"{out} is the notebook itself; choose another name.")
    hidden = out.with_name(f".{out.name}.part")
    try:
        os.close(os.open(hidden, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600))
        copy(hidden)
        os.replace(hidden, out)
        forget_end(out)
    except (OSError, sqlite3.Error) as error:
        reason = getattr(error, "strerror", None) or error
        raise NotebookError(f"{out} cannot be written ({reason}); nothing was left behind.") from None
    finally:
        for one in (hidden, *(hidden.with_name(hidden.name + end) for end in ("-journal", "-wal", "-shm"))):
            with suppress(FileNotFoundError):
                one.unlink()
    return out


def _copy(path: Path, into: Path) -> None:
    with closing(sqlite3.connect(into)) as target:
        try:
            _copy_pages(path, target)
        except sqlite3.OperationalError as error:
            if not any(sign in str(error) for sign in ("readonly", "unable to open")):
                raise
            with TemporaryDirectory(prefix="polepiece-copying-") as folder:  # on a disk that cannot be written to
                _copy_pages(copied(path, Path(folder)), target)
        faults = [str(one) for (one,) in target.execute("PRAGMA quick_check") if one != "ok"]
        if target.execute("SELECT 1 FROM sqlite_schema WHERE name = 'chain'").fetchone():
            faults += entry_faults(target)
        if faults:
            raise NotebookError(f"{path} is damaged ({faults[0]}); no backup was made of it, the older ones are kept.")


def _copy_pages(path: Path, target: sqlite3.Connection) -> None:
    """Copy a notebook page by page, as SQLite does while it is in use; wait for another program, but not for ever."""
    until = time.monotonic() + BUSY_S

    def gone_on(status: int, _: int, __: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > until:
            raise NotebookError(
                f"{path} is held by another program for more than {BUSY_S:g} s. Close it there and try again."
            )

    with closing(sqlite3.connect(path, timeout=BUSY_S)) as source:
        source.backup(target, progress=gone_on)


def backup_daily(path: Place, day: str, copy: Copier, size: int) -> str:
    """Copy a notebook of ``size`` bytes on the first entry of a day (2026-03-03); return what went wrong, or nothing.

    The entry is kept already, so that nothing here may fail it.
    """
    out = folder_of(path) / f"{day}.sqlite"
    try:
        if out.exists():
            return ""
        if shutil.disk_usage(out.parent.parent).free < ROOM * size:
            return f"no backup was made today: there is little room left on the disk of {out.parent}"
        out.parent.mkdir(mode=0o700, exist_ok=True)
        write_copy(path, out, copy)
        _leave("[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9].sqlite", out.parent, KEPT_DAILY, by_entries=True)
    except (OSError, sqlite3.Error, NotebookError) as error:
        return f"no backup was made today: {error}"
    return ""


def backup_before(path: Path, revision: str) -> Path:
    """Copy a notebook before its schema goes on from ``revision``; without the copy the step is not made."""
    folder = folder_of(path)
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise NotebookError(f"{folder} cannot be made ({error.strerror}); the notebook is as it was.") from None
    place = 1
    while (out := folder / f"before-{revision}-{place:03d}.sqlite").exists():
        place += 1
    write_copy(path, out, copy_file(path))
    _leave("before-*.sqlite", folder, KEPT_BEFORE)
    return out


def backups_of(path: Place) -> list[Path]:
    """Return the backups of a notebook, those before a migration last."""
    return sorted(folder_of(path).glob("*.sqlite"))


def restore_file(path: Path, backup: Path) -> Path | None:
    """Put a copy of a backup in the place of a notebook; what was there is kept beside it, its path is returned.

    Raises
    ------
    NotebookError
        When the backup is not there or damaged; nothing is changed then.
    """
    if not backup.is_file():
        raise NotebookError(f"{backup}: there is no such file; the backups are in {folder_of(path)}.")
    fresh = path.with_name(f".{path.name}.restored")
    write_copy(backup, fresh, copy_file(backup), replace=True)
    aside = _set_aside(path) if path.exists() else None
    os.replace(fresh, path)
    forget_end(path)
    return aside


def _set_aside(path: Path) -> Path:
    """Give a notebook, with what belongs to it, a name that is free; return it."""
    place = 1
    while (aside := path.with_name(f"{path.name}-replaced-{place}")).exists():
        place += 1
    for end in ("", "-wal", "-shm"):
        with suppress(FileNotFoundError):
            os.replace(path.with_name(path.name + end), aside.with_name(aside.name + end))
    return aside


def _leave(pattern: str, folder: Path, most: int, *, by_entries: bool = False) -> None:
    """Take the oldest copies away, but for so many; of copies of days those with the fewest entries are the oldest.

    Their names tell what a clock said. One that was years ahead for a week would push out all later copies.
    """
    found = sorted(folder.glob(pattern), key=lambda one: (_entries(one) if by_entries else 0, one.name))
    for one in found[:-most]:
        one.unlink(missing_ok=True)


def _entries(copy: Path) -> int:
    """Return how many entries a copy holds, -1 when that cannot be read."""
    try:
        with closing(sqlite3.connect(f"{copy.as_uri()}?immutable=1", uri=True)) as file:
            return newest(file)
    except sqlite3.Error:
        return -1
