"""The guitar file: one instrument as TOML in bench units, read into and written from :class:`Guitar`."""

import re
import tomllib
from decimal import Decimal
from pathlib import Path

from polepiece.errors import GuitarFileError
from polepiece.guitar.file.reader import read_document
from polepiece.guitar.file.schema import guitar_schema
from polepiece.guitar.file.size import LARGEST, size_fault
from polepiece.guitar.file.values import Faults
from polepiece.guitar.file.writer import document_of
from polepiece.guitar.records import Guitar

__all__ = ["guitar_schema", "parse_guitar", "read_guitar", "write_guitar"]

_COMMA = re.compile(r"^\s*[\w.-]+\s*=\s*([-+]?\d+),(\d+)\s*(?:#.*)?$", re.MULTILINE)  # gap_bass_mm = 2,6


def read_guitar(path: str | Path) -> Guitar:
    """Read a guitar file.

    Parameters
    ----------
    path : str or Path
        A ``*.guitar.toml`` of at most 1 MiB.

    Returns
    -------
    Guitar
        In SI units; ``assumed`` lists what the file did not say.

    Raises
    ------
    GuitarFileError
        With every fault of the file at once, each with the path of its key.
    """
    path = Path(path)
    where = path.name or str(path)
    if path.is_dir():
        raise GuitarFileError("is a folder; give the guitar file inside it.", where=where)
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise GuitarFileError("there is no such file; check the name and the folder.", where=str(path)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise GuitarFileError(f"cannot be read: {reason}.", where=where) from None
    if len(raw) > LARGEST:
        raise GuitarFileError(
            "is larger than 1 MiB; a guitar file has a few kilobytes. Is it a recording?", where=where
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise GuitarFileError(f"is not UTF-8 text (byte {error.start}); save it as UTF-8.", where=where) from None
    return parse_guitar(text, where)


def parse_guitar(text: str, where: str = "guitar file") -> Guitar:
    """Read the text of a guitar file; ``where`` begins every message.

    Raises
    ------
    GuitarFileError
        With every fault at once.
    """
    if too_much := size_fault(text):
        raise GuitarFileError(too_much, where=where)
    if not text.strip():
        raise GuitarFileError(
            "is empty; it needs at least one [[pickups]] table with name, position, construction.",
            where=where,
        )
    try:
        document = tomllib.loads(text.replace("\r\n", "\n"), parse_float=Decimal)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        comma = _COMMA.search(text)
        slip = (
            f'A decimal comma needs quotes in TOML: {comma[1]}.{comma[2]} or "{comma[1]},{comma[2]}".'
            if comma
            else "Texts need quotes, lists square brackets."
        )
        said = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "a number is too long or lists too deep"
        raise GuitarFileError(f"is not TOML: {said}. {slip}", where=where) from None
    faults = Faults()
    guitar = read_document(document, faults)
    if guitar is None or faults.found:
        raise GuitarFileError(faults.told() or ["has faults."], where=where)
    return guitar


def write_guitar(guitar: Guitar) -> str:
    """Return a guitar as the text of a guitar file; reading it gives an equal record.

    What is only assumed is left out where reading would assume the same again. Otherwise (a guitar built in
    code, or one whose assumed value a change has moved) every value is written, and ``[[assumed]]`` with it.
    """
    silent = frozenset(one.path for one in guitar.assumed)
    short = document_of(guitar, silent=silent, listed=False)
    try:
        if parse_guitar(short) == guitar:
            return short
    except GuitarFileError:
        pass  # the short form leaves out what it may not; the long one says everything
    return document_of(guitar, silent=frozenset(), listed=True)
