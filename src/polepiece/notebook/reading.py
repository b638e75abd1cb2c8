"""Opening for reading alone: a notebook on a disk that cannot be written to, or what is whole of a damaged one."""

import os
from pathlib import Path
from tempfile import TemporaryDirectory

from polepiece.errors import DamagedNotebookError, NotebookError, ReadOnlyNotebookError
from polepiece.notebook.connection import open_unchanging
from polepiece.notebook.file_copy import copied
from polepiece.notebook.opening import open_engine
from polepiece.notebook.places import Place, Server, notebook_path
from polepiece.notebook.rescue import rescue
from polepiece.notebook.store import Notebook


def read_notebook(path: Path | Server | str | None = None) -> Notebook:
    """Open a notebook to look at it; where it cannot be written to or is damaged, what can be read of it.

    ``reading`` of what is returned says why nothing can be written, or is empty; ``notices()`` begins with it.

    Raises
    ------
    NotebookError
        When the file is no notebook, or nothing of it can be read.
    """
    where = notebook_path(path)
    try:
        return Notebook(where)
    except DamagedNotebookError as error:
        return _what_is_whole(where, error)
    except ReadOnlyNotebookError:
        if not (isinstance(where, Path) and where.is_file() and os.access(where, os.R_OK)):
            raise
        return _unchanging(where)


def _unchanging(path: Path) -> Notebook:
    """Open a file that cannot be written to, with what is in its write-ahead log."""
    why = f"{path} cannot be written to; it is open for reading only."
    log = path.with_name(f"{path.name}-wal")
    if not log.is_file() or log.stat().st_size == 0:
        try:
            return Notebook.only_read(path, open_unchanging(path), why, None)
        except DamagedNotebookError as error:
            return _what_is_whole(path, error)
        except ReadOnlyNotebookError:
            pass  # of an older version: a copy is brought up to date
    folder = TemporaryDirectory(prefix="polepiece-reading-")
    try:
        return Notebook.only_read(path, open_engine(copied(path, Path(folder.name))), why, folder)
    except BaseException:
        folder.cleanup()
        raise


def _what_is_whole(path: Place, error: DamagedNotebookError) -> Notebook:
    folder = TemporaryDirectory(prefix="polepiece-reading-")
    try:
        found = rescue(path, Path(folder.name) / "whole.sqlite")
        if not found.kept or not found.sealed:  # without seals nobody knows what is whole; `rescue` says so
            raise error
        engine = open_engine(found.path)
    except DamagedNotebookError:
        folder.cleanup()
        raise error from None
    except NotebookError as why_not:
        folder.cleanup()
        raise DamagedNotebookError(f"{error} What is whole cannot be shown: {why_not}") from None
    lost = f"; {len(found.lost)} entries are lost" if found.lost else ""
    why = f"{error} What is shown is what is whole, {found.kept} entries{lost}, and it is open for reading only."
    return Notebook.only_read(path, engine, why, folder)
