"""Files that commands write: asked for before work begins, whole or not at all, and nothing written over unasked.

One rule for every path that a person names: what is there already stays, and the command says so and stops; with
``--replace`` it is written over. ``hear`` and ``demo`` fill a folder with names of their own choice, so they may write
again what they wrote before (`made_here`), and say that they did; anything else in their way stays.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from polepiece.errors import InputError

GENERATOR = b'<meta name="generator" content="polepiece">'  # in the head of every page of the report rung
HEAD = 1024  # bytes of a page in which that stands

Own = Callable[[Path], bool]


def writable(option: str, path: str, *, inputs: Iterable[str | None], replace: bool, makes: bool = False) -> None:
    """Refuse a file to write before any work is done.

    Parameters
    ----------
    option : what names the file on the command line, as it is typed: ``--out``, ``OUT.wav``.
    path : the file.
    inputs : files that the command reads; none is ever written over.
    replace : write over a file that is there.
    makes : the command makes the folder where it is missing.

    Raises
    ------
    InputError
        When the path is an input, a folder, in a folder that is not there or not to be written in, or taken.
    """
    target = Path(path)
    if target.is_dir():
        raise InputError(f"{option} {path} is a folder; name a file in it.")
    folder = target.resolve().parent
    if not folder.is_dir() and not makes:
        raise InputError(f"{option} {path}: the folder does not exist.")
    if folder.is_dir() and not os.access(folder, os.W_OK):
        raise InputError(f"{option} {path}: the folder may not be written in (permissions).")
    if any(_same(target, Path(one)) for one in inputs if one is not None):
        raise InputError(f"{option} {path} is an input of this command; choose another name.")
    if target.exists() and not replace:
        raise InputError(taken(target))


def taken(target: Path) -> str:
    """Return the words for a file that is in the way."""
    return f"{target} is there already; choose another name, or write over it with --replace."


def write_whole(path: str | Path, data: str | bytes) -> None:
    """Write a file (text as UTF-8) beside its place and move it there: the old file, the new one, never half of one."""
    target = Path(path)
    with staged(target.parent, [target.name], inputs=[], replace=True) as staging:
        staging.path(target.name).write_bytes(data.encode("utf-8") if isinstance(data, str) else data)


class Staging:
    """A hidden folder inside the destination; what is put there appears under its name when all is done."""

    def __init__(self, destination: Path, hidden: Path) -> None:
        self.destination, self.hidden = destination, hidden
        self.again: list[str] = []  # names that were there before, when all is done

    def path(self, name: str) -> Path:
        """Return where to write the file that will be called ``name``."""
        return self.hidden / name


@contextmanager
def staged(
    folder: str | Path, names: Iterable[str], *, inputs: Iterable[Path], replace: bool = False, own: Own | None = None
) -> Iterator[Staging]:
    """Let a command write several files into ``folder``: all of them appear, or none.

    Parameters
    ----------
    folder : made if missing.
    names : of the files that will be written; others may join them, and are looked at in the end.
    inputs : files that are read and must not be overwritten.
    replace : write over files that are there.
    own : tells of a file that is there whether this command wrote it and may write it again.

    Raises
    ------
    InputError
        When the folder cannot be written to, a file would overwrite an input, or one is there already.
    """
    destination = Path(folder)
    sources = list(inputs)
    for name in names:
        _free(destination / name, sources, replace=replace, own=own)
    made = _make(destination)
    try:
        hidden = Path(tempfile.mkdtemp(prefix=".polepiece-", dir=destination))
    except OSError as error:
        _unmake(made)
        raise _refused(destination, error) from None
    try:
        staging = Staging(destination, hidden)
        yield staging
        written = sorted(hidden.iterdir())
        for one in written:
            _free(destination / one.name, sources, replace=replace, own=own)
        staging.again = [one.name for one in written if (destination / one.name).exists()]
        for one in written:
            os.replace(one, destination / one.name)
        made = []
    except OSError as error:
        raise _refused(destination, error) from None
    finally:
        shutil.rmtree(hidden, ignore_errors=True)
        _unmake(made)


def made_here(path: Path) -> bool:
    """Tell whether a sound or page bears the tool's name, as everything does that it writes."""
    from polepiece.sound import bears_our_name

    if path.suffix.lower() in (".wav", ".flac"):
        return bears_our_name(path)
    with path.open("rb") as file:
        return GENERATOR in file.read(HEAD)


def _free(target: Path, inputs: Iterable[Path], *, replace: bool, own: Own | None) -> None:
    """Refuse a name that is an input, a folder, or taken."""
    if any(_same(target, source) for source in inputs):
        raise InputError(f"{target} is an input of this command; choose another --out folder.")
    if target.is_dir():
        raise InputError(f"{target} is a folder, and a file of that name is to be written; choose another name.")
    if not target.exists() or replace or (own is not None and own(target)):
        return
    if own is None:
        raise InputError(taken(target))
    raise InputError(
        f"{target} is there already and is not what an earlier run of this command left; choose another --out folder, "
        "or write over it with --replace."
    )


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
