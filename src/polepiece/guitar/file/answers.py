"""A guitar from answers: what is typed for the lines of the parameters, put into a document and read like a file.

An answer is the text that a person typed, or "" (and "unknown", "don't know") for what is not known: then the key is
left out and its default is listed as assumed. Nothing is checked here that the reader checks; its faults come back
with the path they belong to.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from operator import attrgetter
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar.file import layout, trade_words
from polepiece.guitar.file.guitar_file import write_guitar
from polepiece.guitar.file.layout import key_of, parameter_of
from polepiece.guitar.file.reader import read_document
from polepiece.guitar.file.said_positions import ASKED, position_tables, positions_said
from polepiece.guitar.file.units import as_decimal, show
from polepiece.guitar.file.values import Faults, is_unknown
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.records import Guitar

Document = dict[str, Any]
STRINGS = "strings"  # the answer that is a set, or the gauges of all strings
_SHEETS = ("cover", "base_plate")
OF_A_SET = 6  # strings
MOST_ENTERED = 6  # pickups that a form asks for; a file may have more
_SEVERAL = ";"  # between several texts of one answer
OF_ANY = (
    "name", "position", "construction", "magnet.grade", "gap_bass", "gap_treble", "resistance", "distance_from_bridge",
    "wound",
)  # fmt: skip
"""What stays of a pickup that turns out to be built otherwise; everything else is of its old parts."""
_PLACED = re.compile(r"pickups\[(\d+)\](?=\.|$)")
_GAUGES = re.compile(r"[\s,;/]+|(?<=[0-9wp])\s*[-\u2013]\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """The answers for one pickup by attribute, and which pickup of an edited guitar it was (None: a new one)."""

    answers: Mapping[str, str]
    was: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong: the path as in the file, and a sentence that continues it."""

    path: str
    sentence: str

    @property
    def words(self) -> str:
        """The whole sentence, as a file's faults are said."""
        return f"{self.path} {self.sentence}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What came of answers: the guitar, or why there is none."""

    guitar: Guitar | None
    faults: tuple[Fault, ...] = ()


def entered(answers: Mapping[str, str], pickups: Sequence[Slot], *, was: Guitar | None = None) -> Entered:
    """Read answers as a guitar.

    Parameters
    ----------
    answers : mapping
        Of the guitar ("name", "scale_length") and its controls ("controls.volume_pot"), by attribute; `STRINGS` is a
        set or gauges.
    pickups : sequence of Slot
        In the order of the guitar. "name" may be left out: it is called by its place then.
    was : Guitar, optional
        The guitar that is edited: what is not asked, and what is answered as before, stays as it was.
    """
    old = None if was is None else _document_of(was)
    document: Document = deepcopy(old) if old is not None else {}
    tables = [_pickup(slot, was, old) for slot in pickups]
    _renumber(document, [slot.was for slot in pickups])
    _rename(document, old, pickups, tables)
    before = {} if was is None else answers_of(was)
    document["pickups"] = tables
    for attr, text in answers.items():
        if text.strip() != before.get(attr, "").strip():
            _answer(document, attr, text)
    for place, slot in enumerate(pickups):
        known = {} if slot.was is None or was is None else pickup_answers(was, slot.was)
        for attr, text in slot.answers.items():
            if text.strip() != known.get(attr, "").strip() or attr not in known:
                _forget(document, f"pickups[{place}].{attr if attr in _SHEETS else key_of(attr)}")
    return _read(document)


def _document_of(guitar: Guitar) -> Document:
    return tomllib.loads(write_guitar(guitar), parse_float=Decimal)


def _read(document: Document) -> Entered:
    faults = Faults()
    guitar = read_document(document, faults)
    if guitar is None or faults.found:
        found = [one.partition(" ") for one in faults.found] or [("guitar", " ", "has faults.")]
        return Entered(guitar=None, faults=tuple(Fault(path=path, sentence=said) for path, _, said in found))
    return Entered(guitar=guitar)


# ---------------------------------------------------------------- one answer into a document


def _is_silent(text: str) -> bool:
    return not text.strip() or is_unknown(text)


def written(line: Parameter, text: str) -> tuple[str, Any]:
    """Return the key and the raw value that stand for what was typed: a bare number is in the unit of the line."""
    if line.kind == "flag":
        return line.name, text
    if line.kind == "texts" and _SEVERAL in text:
        return line.name, [one.strip() for one in text.split(_SEVERAL) if one.strip()]
    if line.dimension == "number" or line.kind not in ("number", "numbers"):
        return line.name, text
    try:
        as_decimal(text)
    except InputError:
        return (line.stem if re.search(r"[^-+0-9.,\s]", text) else line.name), text
    return (line.stem if "/" in text else line.name), text


def _put(table: Document, line: Parameter, text: str) -> None:
    """Put one answer into its table in place of whatever said it before."""
    for name in [one for one in table if one in line.names() or one in (line.stem, *line.aliases)]:
        del table[name]
    if not _is_silent(text):
        name, value = written(line, text.strip())
        table[name] = value


def _answer(document: Document, attr: str, text: str) -> None:
    """Put an answer of the guitar or its controls into a document."""
    if attr == STRINGS:
        _strings(document, text)
        return
    if attr == ASKED:
        document.setdefault("controls", {})["positions"] = (
            []
            if _is_silent(text)
            else position_tables(text, [str(one.get("name")) for one in document.get("pickups", [])])
        )
        return
    table = document.setdefault("controls", {}) if attr.startswith("controls.") else document
    _put(table, parameter_of(attr), text)
    _forget(document, key_of(attr))


def _strings(document: Document, text: str) -> None:
    """A set by its name, or gauges one by one; thick to thin is turned round, string 1 being the thin one."""
    before = len(document.get("strings", ())) or OF_A_SET
    for name in ("strings", "string_set"):
        document.pop(name, None)
    _forget(document, "string_set")
    _forget(document, "strings")
    pieces = [one for one in _GAUGES.split(trade_words.bass_gauges(text) or text.strip()) if one]
    if before != (len(pieces) if len(pieces) > 2 else OF_A_SET):
        _forget_sizes(document)
    if len(pieces) < 3:
        if not _is_silent(text):
            document["string_set"] = text.strip()
        return
    sizes = [float(re.sub(r"[^0-9.]", "", one) or 0) for one in pieces]
    falling = len(pieces) > 1 and sizes == sorted(sizes, reverse=True) and sizes[0] > sizes[-1]
    document["strings"] = [{"gauge": one} for one in (reversed(pieces) if falling else pieces)]


def _forget_sizes(document: Document) -> None:
    """Take what was only assumed of pickups and tuning out: with another number of strings they are others."""
    tables, kept = document.get("pickups", []), []
    for one in document.get("assumed", []):
        found = _PLACED.match(str(one.get("path")))
        table: Any = tables[int(found[1])] if found is not None and int(found[1]) < len(tables) else None
        table = document if one.get("path") == "tuning" else table
        *homes, key = (str(one.get("path")),) if found is None else one["path"][found.end() + 1 :].split(".")
        for home in homes:
            name, _, at = home.rstrip("]").partition("[")
            table = table.get(name) if isinstance(table, dict) else None
            table = table[int(at)] if at and isinstance(table, list) and int(at) < len(table) else table
        if isinstance(table, dict) and key in table:
            del table[key]
        else:
            kept.append(one)
    if "assumed" in document:
        document["assumed"] = kept
    for part in (part for table in tables for part in table.values() if isinstance(part, dict)):
        for key in [key for key, said in part.items() if isinstance(said, list) and said and len(set(said)) == 1]:
            part[key] = part[key][:1]  # one for all, however many


def _forget(document: Document, path: str) -> None:
    """Take what was assumed or measured of a path out of its lists: it is said anew."""
    for name in ("assumed", "measured"):
        if name in document:
            document[name] = [
                one for one in document[name]
                if one.get("path") != path and not str(one.get("path")).startswith((f"{path}.", f"{path}["))
            ]  # fmt: skip


# ---------------------------------------------------------------- pickups


def _pickup(slot: Slot, was: Guitar | None, old: Document | None) -> Document:
    """Return the table of a pickup: the old one with what is answered otherwise, or one of the answers alone."""
    known: Mapping[str, str] = {}
    table: Document = {}
    if slot.was is not None and was is not None and old is not None:
        known = pickup_answers(was, slot.was)
        if known["construction"] == slot.answers.get("construction", known["construction"]):
            table = deepcopy(old["pickups"][slot.was])
        else:  # sizes of parts that the other construction has are none of this one
            said = {attr: known[attr] for attr in OF_ANY if known.get(attr)}
            new = {attr: text for attr, text in slot.answers.items() if attr in OF_ANY or text != known.get(attr, "")}
            slot, known = Slot(answers=said | new, was=slot.was), {}
    for attr, text in slot.answers.items():
        if attr in known and known[attr].strip() == text.strip():
            continue
        if attr in _SHEETS:
            table.pop(attr, None)
            table |= {} if _is_silent(text) else {attr: text.strip()}
        elif home := key_of(attr).rpartition(".")[0]:
            inner = table.setdefault(home, {})
            _put(inner, parameter_of(attr), text)
            if not inner:
                del table[home]
        else:
            _put(table, parameter_of(attr), text)
    return table


def _rename(document: Document, old: Document | None, slots: Sequence[Slot], tables: list[Document]) -> None:
    """Give pickups without a name that of their place; what spoke of one by its old name speaks of it by the new."""
    taken: list[str] = [str(one["name"]) for one in tables if "name" in one]
    for slot, table in zip(slots, tables):
        place = str(table.get("position", "")).strip() or "pickup"
        auto = slot.answers.get("position", "") and _called_by_place(slot, old)
        if "name" in table and not auto:
            continue
        before = table.pop("name", None)
        if before in taken:
            taken.remove(str(before))
        numbers = [place, *(f"{place} {k}" for k in range(2, 20))]
        table["name"] = next(one for one in numbers if one not in taken)
        taken.append(table["name"])
    if old is None:
        return
    names = {
        str(old["pickups"][slot.was]["name"]): str(table["name"])
        for slot, table in zip(slots, tables) if slot.was is not None
    }  # fmt: skip
    told = document.get("complaints", [])
    document["complaints"] = [
        {**one, "pickup": names[one["pickup"]]} if one.get("pickup") in names else one
        for one in told if one.get("pickup") is None or one["pickup"] in names
    ]  # fmt: skip
    if "controls" in document:
        document["controls"] = _renamed(document["controls"], names)


def _called_by_place(slot: Slot, old: Document | None) -> bool:
    """Tell whether a pickup that was there is called by its old place, so that a new place is its new name."""
    if slot.was is None or old is None or "name" in slot.answers:
        return False
    table = old["pickups"][slot.was]
    return bool(table["name"] == table["position"] != slot.answers["position"])


def _renamed(value: Any, names: Mapping[str, str]) -> Any:
    """Return a part of the controls with pickups called anew: names alone, and those before a colon."""
    if isinstance(value, dict):
        return {key: _renamed(one, names) if key in _SAY_PICKUPS else (
            [_renamed(each, names) for each in one] if isinstance(one, list) and one and isinstance(one[0], dict)
            else one) for key, one in value.items()}  # fmt: skip
    if isinstance(value, list):
        return [_renamed(one, names) for one in value]
    head, colon, rest = str(value).partition(":")
    return names.get(head, head) + colon + rest


_SAY_PICKUPS = ("pickup", "shared_with", "on", "coils", "push_pull", "selector")


def _renumber(document: Document, was: Sequence[int | None]) -> None:
    """Let paths in [[assumed]] and [[measured]] follow their pickups; those of pickups that are gone go as well."""
    place = {old: new for new, old in enumerate(was) if old is not None}
    for name in ("assumed", "measured"):
        kept = []
        for one in document.get(name, []):
            found = _PLACED.match(str(one.get("path", "")))
            if found is None:
                kept.append(one)
            elif int(found[1]) in place:
                kept.append({**one, "path": f"pickups[{place[int(found[1])]}]{one['path'][found.end() :]}"})
        if name in document:
            document[name] = kept


# ---------------------------------------------------------------- answers of a guitar that is there


def answers_of(guitar: Guitar) -> dict[str, str]:
    """Return what a guitar answers of itself and its controls; "" for what was assumed."""
    assumed = {one.path for one in guitar.assumed}
    out = {}
    for prefix, record, keys in (("", guitar, layout.GUITAR_KEYS), ("controls.", guitar.controls, layout.CONTROL_KEYS)):
        for line in keys:
            if not line.attr.startswith("_") and line.field:
                said = _said(record, line.attr, line)
                out[prefix + line.attr] = "" if key_of(prefix + line.attr) in assumed else said
    netlist = bool(guitar.controls.elements)  # its positions are of its contacts, and said there
    out[ASKED] = "" if netlist else positions_said(guitar.controls.positions)
    own = guitar.string_set == "own"
    gauges = " ".join(show(one.diameter / 0.0254e-3) + ("w" if one.wrap != "none" else "") for one in guitar.strings)
    out[STRINGS] = gauges if own else "" if "string_set" in assumed else guitar.string_set
    return out


def pickup_answers(guitar: Guitar, place: int) -> dict[str, str]:
    """Return what a guitar answers of one of its pickups, by attribute; "" for what was assumed."""
    pickup, assumed, out = guitar.pickups[place], {one.path for one in guitar.assumed}, {}
    keys = (*layout.PICKUP_KEYS, *layout.MAGNET_KEYS, *layout.POLE_KEYS)
    for line in keys:
        said = _said(pickup, line.attr, line) if line.field else ""
        out[line.attr] = "" if f"pickups[{place}].{key_of(line.attr)}" in assumed else said
    for line in layout.COIL_KEYS:
        path = f"pickups[{place}].{key_of(f'coil.{line.attr}')}"
        listed = any(one.startswith(f"pickups[{place}].coils[") and one.endswith(line.name) for one in assumed)
        unsaid = path in assumed or listed
        out[f"coil.{line.attr}"] = "" if unsaid else _said(pickup.coils[0], line.attr, line)
    for name in _SHEETS:
        sheet = getattr(pickup, name)
        out[name] = "" if f"pickups[{place}].{name}" in assumed else "none" if sheet is None else sheet.material
    return out


def _said(record: object, attr: str, line: Parameter) -> str:
    """Return a value as it would be typed, in the unit of the line."""
    value = attrgetter(attr)(record)
    if value is None:
        return line.none if line.say_none else ""
    if line.kind == "numbers" and isinstance(value, tuple):  # one for all is typed as one; unlike ones are not asked
        return _said_number(value[0], line) if len(set(value)) == 1 and value[0] is not None else ""
    if line.kind == "texts" and line.field != "tuning":
        return f"{_SEVERAL} ".join(value)
    if isinstance(value, tuple):
        return " ".join("" if one is None else one if isinstance(one, str) else show(one) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return _said_number(value, line)


def _said_number(value: Any, line: Parameter) -> str:
    return show(float(Decimal(repr(float(value))) / line.unit.factor)) if not line.whole else str(value)


# ---------------------------------------------------------------- one value of a guitar moved


def with_value(guitar: Guitar, path: str, raw: float | str) -> Guitar | None:
    """Return a guitar with another value at a path of its file, as if measured so; None where it is refused.

    What moves with a value when it is read (a gauge that fits, say) moves here too.
    """
    document = _document_of(guitar)
    table: Any = document
    steps = re.findall(r"[a-z_0-9]+|\[\d+\]", path)
    for step, after in pairwise(steps):
        if step.startswith("["):
            table = table[int(step[1:-1])]
        elif after.startswith("["):
            if len(table.get(step, [])) <= int(after[1:-1]):
                return None
            table = table[step]
        else:
            inner = table.setdefault(step, {})
            if not isinstance(inner, dict):
                return None
            table = inner
    table[steps[-1]] = raw if isinstance(raw, str) else Decimal(repr(raw))
    _forget(document, path)
    return _read(document).guitar
