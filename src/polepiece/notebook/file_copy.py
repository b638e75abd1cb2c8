"""A copy of a notebook's file with its write-ahead log, to be read in any way without touching the file."""

import errno
import os
import shutil
from contextlib import suppress
from pathlib import Path

from polepiece.errors import NotebookError
from polepiece.notebook.places import followed

TIMES = 5  # that a file is copied anew when somebody wrote to it meanwhile


def copied(path: Path, folder: Path) -> Path:
    """Copy a notebook with its log into a folder; return the copy.

    The two are copied one after the other. When a program moved what is in the log into the file meanwhile, they do not
    belong together, and both are copied again.

    Raises
    ------
    NotebookError
        When it cannot be read, or there is no room for the copy.
    """
    path = followed(path)
    log, copy = path.with_name(f"{path.name}-wal"), folder / "n.sqlite"
    try:
        for _ in range(TIMES):
            before = _seen(path), _seen(log)
            shutil.copyfile(path, copy)
            with suppress(FileNotFoundError):
                copy.with_name(f"{copy.name}-wal").unlink()
            with suppress(FileNotFoundError):
                shutil.copyfile(log, copy.with_name(f"{copy.name}-wal"))
            if before == (_seen(path), _seen(log)):
                break
    except OSError as error:
        if error.errno == errno.ENOSPC:
            raise NotebookError(
                f"{path} is looked at in a copy, and there is no room for one in {folder.parent}. Make some, or name "
                "another folder (TMPDIR=FOLDER)."
            ) from None
        raise NotebookError(f"{path} cannot be read ({error.strerror or error}).") from None
    return copy


def _seen(path: Path) -> tuple[int, int] | None:
    """Return size and time of the last change; None where there is no such file."""
    try:
        found = os.stat(path)
    except FileNotFoundError:
        return None
    return found.st_size, found.st_mtime_ns


def taken_away(path: Path) -> None:
    """Take away a file that was begun, with all that lies beside it."""
    for end in ("", "-journal", "-wal", "-shm", "-end"):
        with suppress(FileNotFoundError):
            path.with_name(path.name + end).unlink()
