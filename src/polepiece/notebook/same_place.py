"""That an open notebook still is the one that was opened, asked before every entry.

An open file goes on to be written to wherever it was moved, even when it was removed: what is acknowledged then is
found by nobody. And where an older copy was put beneath an open notebook, an entry written on top would write over the
note of the end, which alone knows that later ones are lost.
"""

import os
from pathlib import Path

from polepiece.errors import DamagedNotebookError, NotebookError
from polepiece.notebook.dialect import Raw
from polepiece.notebook.end_note import End, last_and_fault
from polepiece.notebook.places import Place, ways_out

FileMark = tuple[int, int]  # the disk and the number by which the system knows a file


def mark_of(place: Place) -> FileMark | None:
    """Return by what the system knows the file of a notebook; None of a server, or where there is no such file."""
    if not isinstance(place, Path):
        return None
    try:
        found = os.stat(place)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def last_of_the_same(connection: Raw, place: Place, opened: FileMark | None, noted: End | None) -> int:
    """Return the number of the last entry of the notebook that was opened; in the transaction that would write.

    Parameters
    ----------
    connection : Raw
    place : Place
    opened : FileMark or None
        Of the file when it was opened.
    noted : End or None
        The last entry that was acknowledged, asked before the transaction began.

    Raises
    ------
    NotebookError
        When the file was moved, removed or replaced.
    DamagedNotebookError
        When entries that were acknowledged are not in it any more.
    """
    if opened is not None and mark_of(place) != opened:
        raise NotebookError(
            f"{place} was moved, removed or replaced by another program while it was open: this was not written. Close "
            "polepiece, see that the notebook is where it should be, and open it again."
        )
    last, fault = last_and_fault(connection, noted)
    if fault:
        raise DamagedNotebookError(f"{place} is damaged ({fault}); this was not written. {ways_out(place)}")
    return last
