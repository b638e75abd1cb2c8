"""The guitar that a command is about: a file, or one on record in the notebook.

The rule: what ends in .toml or has a folder in it is a file. Anything else is a guitar on record, by its number, its
name or how its name begins; where none is called so, a file of that name. What could be both is refused with both.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from polepiece.errors import InputError, NotebookError

if TYPE_CHECKING:
    from polepiece.guitar import Guitar


def guitar_called(called: str, notebook: str | None = None) -> "Guitar":
    """Return the guitar that FILE on the command line names.

    Raises
    ------
    GuitarFileError
        When a file cannot be read, or has faults.
    NotebookError, InputError
        When no guitar or several are called so, or a file as well; the guitars on record are listed.
    """
    from polepiece.guitar import read_guitar

    if called.lower().endswith(".toml") or os.sep in called or "/" in called:
        return read_guitar(called)
    there = Path(called).exists()
    on_record, refused = _on_record(called, notebook)
    if on_record is None and there:
        return read_guitar(called)
    if on_record is None:
        raise NotebookError(f"{refused} There is no file of that name either.")
    if there:
        raise InputError(
            f"{called!r} is a file in this folder and the guitar {on_record.name!r} on record; write ./{called} for "
            "the file, or the number of the guitar (polepiece log lists them)."
        )
    return on_record


def _on_record(called: str, notebook: str | None) -> "tuple[Guitar | None, str]":
    """Return the guitar on record, or None and why there is none; no notebook is made for asking."""
    from polepiece.cli.notices import tell_notices
    from polepiece.notebook import notebook_path, read_notebook

    path = notebook_path(notebook)
    if isinstance(path, Path) and not path.exists():
        return None, f"there is no guitar {called!r} on record: there is no notebook yet."
    with read_notebook(path) as book:
        tell_notices(book)
        try:
            return book.guitar(book.find_guitar(called).id), ""
        except NotebookError as error:
            if "any of several" in str(error):
                raise
            return None, str(error)
