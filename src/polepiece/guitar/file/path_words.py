"""What a path of a guitar file is in words: "neck pickup: gap at the thickest string" for pickups[0].gap_bass_mm."""

import difflib
import re
from collections.abc import Sequence

from polepiece.guitar.file import layout
from polepiece.guitar.file.units import UNITS
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.records import Guitar

_PICKUP = re.compile(r"pickups\[(\d+)\]\.?(.*)")
_COIL = re.compile(r"coils?(?:\[(\d+)\])?\.(.+)")
_STRING = re.compile(r"strings\[(\d+)\]\.?(.*)")
_LEADING = re.compile(r"^[a-z_]+(?:\[\d+\])?(?:\.[a-z_0-9]+(?:\[\d+\])?)*(?= )")
_SUFFIXES = sorted({unit.suffix for units in UNITS.values() for unit in units if unit.suffix}, key=len, reverse=True)
_WRITE = re.compile(r", write [\w.]+ = \S+ \(([^)]*)\)")
_SHEETS = {"base_plate": "base plate", "cover": "cover"}


def whose_is(path: str, names: Sequence[str]) -> str:
    """Return whose a path is: "neck pickup", "controls", "string 3" or "guitar"; ``names`` are those of the pickups."""
    if found := _PICKUP.fullmatch(path):
        place = int(found[1])
        return f"{names[place]} pickup" if place < len(names) else f"pickup {place + 1}"
    if found := _STRING.fullmatch(path):
        return f"string {int(found[1]) + 1}"
    return "controls" if path.partition(".")[0] == "controls" else "guitar"


def line_at(path: str) -> Parameter | None:
    """Return the parameter at a path; None for a whole table, or one of a list that is read elsewhere."""
    found = _PICKUP.fullmatch(path)
    inner = found[2] if found else path
    if found and (coil := _COIL.fullmatch(inner)):
        return _named(layout.COIL_KEYS, coil[2])
    if found:
        table, _, name = inner.rpartition(".")
        if table in _SHEETS:
            return _named(layout.SHEET_KEYS, name)
        keys = layout.PICKUP_TABLES[table][0] if table in layout.PICKUP_TABLES else () if table else layout.PICKUP_KEYS
        return _named(keys, name)
    if string := _STRING.fullmatch(path):
        return _named(layout.STRING_KEYS, string[2])
    table, _, name = path.rpartition(".")
    return _named({"": layout.GUITAR_KEYS, "controls": layout.CONTROL_KEYS}.get(table, ()), name)


def path_near(path: str) -> str:
    """Return the path that was likely meant by one that is none, those of a pickup without ``pickups[0].``; or ""."""
    tables: dict[str, layout.Keys] = {
        "": layout.PICKUP_KEYS, "controls.": layout.CONTROL_KEYS, "coil.": layout.COIL_KEYS,
        **{f"{name}.": keys for name, (keys, _) in layout.PICKUP_TABLES.items()},
        **{f"{name}.": layout.SHEET_KEYS for name in _SHEETS},
    }  # fmt: skip
    known = [f"{table}{key.name}" for table, keys in tables.items() for key in keys]
    return next(iter(difflib.get_close_matches(path, known, n=1, cutoff=0.7)), "")


def _named(keys: layout.Keys, name: str) -> Parameter | None:
    bare = re.sub(r"\[\d+\]$", "", name)
    return next((key for key in keys if bare in key.names() or bare in (key.stem, *key.aliases)), None)


def facing_words(path: str, guitar: Guitar | None) -> str:
    """Return what of a pickup looks one way at the path that says which way, such as "screws face"; "" elsewhere."""
    found = _PICKUP.fullmatch(path)
    if found is None or guitar is None or found[2] != "screws_face" or int(found[1]) >= len(guitar.pickups):
        return ""
    return guitar.pickups[int(found[1])].built.faces


def what_is(path: str, guitar: Guitar | None = None) -> str:
    """Return what stands at a path, without whose it is: "cover, thickness"; a key nobody knows in its own words.

    What only some constructions have is called as that of ``guitar`` has it.
    """
    if facing := facing_words(path, guitar):
        return facing
    found = _PICKUP.fullmatch(path)
    inner = found[2] if found else path
    line = line_at(path)
    head = ""
    if found and (coil := _COIL.fullmatch(inner)):
        head = f"coil {int(coil[1]) + 1}, " if coil[1] else "coil, "
    elif found and inner.partition(".")[0] in _SHEETS:
        sheet = _SHEETS[inner.partition(".")[0]]
        if "." not in inner:
            return sheet
        head = f"{sheet}, "
    if line is not None:
        return head + line.called
    last = inner.rpartition(".")[2]
    end = next((one for one in _SUFFIXES if last.endswith(one)), "")
    return head + (last.removesuffix(end).replace("_", " ") or "itself")


def in_words(path: str, names: Sequence[str], guitar: Guitar | None = None) -> str:
    """Return whose and what: "neck pickup: gap at the thickest string"; what is the guitar's stands alone."""
    owner = whose_is(path, names)
    if path == "strings":
        return "strings"
    whole = _PICKUP.fullmatch(path)
    if (whole and not whole[2]) or re.fullmatch(r"strings\[\d+\]|controls", path):
        return owner
    return what_is(path, guitar) if owner == "guitar" else f"{owner}: {what_is(path, guitar)}"


def sentence_in_words(sentence: str, names: Sequence[str]) -> str:
    """Return a fault or a caution that begins with a path with that in words."""
    found = _LEADING.match(sentence)
    if found is None:
        return sentence
    return in_words(found[0], names) + sentence[found.end() :]


def without_keys(sentence: str) -> str:
    """Return a fault for a form, where no key of a file is to be written: what the likely slip makes of the value."""
    return _WRITE.sub(r": that is \1", sentence)
