"""Folders that commands write to: checked before work begins, filled whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from polepiece.errors import InputError


def writable(option: str, path: str, *, inputs: Iterable[str | None]) -> None:
    """Refuse a file to write that is one of the inputs, or whose folder is not there; before any work is done."""
    if Path(path).exists() and any(Path(path).samefile(one) for one in inputs if one and Path(one).exists()):
        raise InputError(f"--{option} {path} is an input of this command; choose another name.")
    if Path(path).is_dir() or not Path(path).resolve().parent.is_dir():
        raise InputError(f"--{option} {path}: the folder does not exist, or it is one itself.")


class Staging:
    """A hidden folder inside the destination; what is put there appears under its name when all is done."""

    def __init__(self, destination: Path, hidden: Path) -> None:
        self.destination, self.hidden = destination, hidden

    def path(self, name: str) -> Path:
        """Return where to write the file that will be called ``name``."""
        return self.hidden / name


@contextmanager
def staged(folder: str | Path, names: Iterable[str], *, inputs: Iterable[Path]) -> Iterator[Staging]:
    """Let a command write several files into ``folder``: all of them appear, or none.

    Parameters
    ----------
    folder : made if missing.
    names : of the files that will be written.
    inputs : files that are read and must not be overwritten.

    Raises
    ------
    InputError
        When the folder cannot be written to or a file would overwrite an input.
    """
    destination = Path(folder)
    for name in names:
        for source in inputs:
            if _same(destination / name, source):
                raise InputError(f"{destination / name} is an input of this command; choose another --out folder.")
    made = _make(destination)
    try:
        hidden = Path(tempfile.mkdtemp(prefix=".polepiece-", dir=destination))
    except OSError as error:
        _unmake(made)
        raise _refused(destination, error) from None
    try:
        yield Staging(destination, hidden)
        for one in sorted(hidden.iterdir()):
            os.replace(one, destination / one.name)
        made = []
    except OSError as error:
        raise _refused(destination, error) from None
    finally:
        shutil.rmtree(hidden, ignore_errors=True)
        _unmake(made)


def _same(one: Path, other: Path) -> bool:
    if one.exists() and other.exists():
        return os.path.samefile(one, other)
    return one.resolve() == other.resolve()


def _make(destination: Path) -> list[Path]:
    """Make the folder; return what had to be made, the deepest first."""
    missing = [one for one in (destination, *destination.parents) if not one.exists()]
    try:
        destination.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refused(destination, error) from None
    return missing


def _unmake(made: list[Path]) -> None:
    for one in made:
        try:
            one.rmdir()
        except OSError:
            return


def _refused(destination: Path, error: OSError) -> InputError:
    return InputError(
        f"nothing can be written to {destination} ({error.strerror or error}); choose another folder with --out."
    )
