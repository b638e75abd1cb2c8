"""A parameter of the guitar is one line: a field of its record, made here.

The line says the default in the unit of the bench, the range, what it means, and where it has one the 90 % spread and
what settles it. Reader, writer, schema, reference page, the list of assumptions, the record's own check and the forms
of the app are made from it. Ranges are input checks from the bench (common practice, no source), never constants of
the physics. How to add one: CONTRIBUTING.md.
"""

from collections.abc import Iterable
from dataclasses import MISSING, dataclass, field, fields, is_dataclass, replace
from decimal import Decimal
from functools import cache, partial
from typing import Any, Literal, get_args, get_origin, get_type_hints

from polepiece.guitar.file.units import UNITS, Unit, to_si, unit_with_suffix

GAUGE = "plastic or brass caliper"
PRACTICE = "common practice, no source"
NEEDED: Any = MISSING  # as the default of a line: the value must be given. The line then stands in `Annotated`
Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One line; its key in the file is ``stem`` plus the suffix of any unit of ``dimension``."""

    meaning: str
    label: str = ""  # what it is called where a person reads it; "": the words of its stem
    kind: str = "number"  # number numbers readings word text texts flag grade charge gauge
    stem: str = ""  # "": the name of the field
    field: str = ""  # of its record; "" = another way to say one, worked out by the reader
    attr: str = ""  # the field from the guitar or the pickup: "poles.slug_diameter"
    dimension: str = "number"
    written: str = ""  # suffix that is written, and in whose unit low, high and default are
    low: float | None = None
    high: float | None = None
    noun: str = "it lies"  # plural subject of the range sentence: "magnets lie" between
    usual: Span | None = None  # asked about outside, not refused
    choices: tuple[str, ...] = ()  # of a word; those of its Literal where nothing is said
    none: str = ""  # the word for "there is none" or "not known", if the value may be missing
    aliases: tuple[str, ...] = ()
    whole: bool = False
    may_be_empty: bool = False
    default: Any = None  # in the unit of the file
    spread: Span | tuple[None, None] = (None, None)  # 90 %
    settle: str = ""  # the measurement that replaces the default; "" = the default is no assumption
    words: str = ""  # printed instead of the default
    quiet: bool = False  # written only when it is not the default
    say_none: bool = False  # its default is something, so "none" must be written
    other_ways: tuple["Parameter", ...] = ()

    @property
    def name(self) -> str:
        """The key as it is written."""
        return self.stem + self.written

    @property
    def called(self) -> str:
        """What it is, for a person: "gap at the thickest string", "bar length"."""
        return self.label or self.stem.replace("_", " ")

    @property
    def unit(self) -> Unit:
        """The unit in which the key is written."""
        return unit_with_suffix(self.dimension, self.written)

    def names(self) -> dict[str, Unit]:
        """Every accepted spelling of the key and its unit."""
        return {stem + unit.suffix: unit for stem in (self.stem, *self.aliases) for unit in UNITS[self.dimension]}

    def limits(self, unit: Unit) -> Span:
        """The allowed range in another unit of the same dimension."""
        scale = self.unit.factor / unit.factor
        low = float("-inf") if self.low is None else float(Decimal(str(self.low)) * scale)
        high = float("inf") if self.high is None else float(Decimal(str(self.high)) * scale)
        return low, high

    def in_si(self, value: Any) -> Any:
        """Return a value in the unit of the file as records keep it."""
        if isinstance(value, tuple):
            return tuple(self.in_si(one) for one in value)
        if isinstance(value, bool) or not isinstance(value, int | float) or self.whole:
            return value
        return to_si(Decimal(str(value)), self.unit)


# ---------------------------------------------------------------- lines


def _line(default: Any, meaning: str, **facts: Any) -> Any:
    """Return the field of a record; without a default, what stands in its `Annotated`."""
    if "spread" in facts:
        facts.setdefault("settle", GAUGE)
    if default is NEEDED:
        return Parameter(meaning=meaning, **facts)
    one = Parameter(meaning=meaning, default=default, **facts)
    return field(default=one.in_si(default), metadata={"parameter": one})


def number(default: Any, low: float | None, high: float | None, noun: str, meaning: str, **facts: Any) -> Any:
    """Return the line of a number, or of a list of numbers with ``kind="numbers"``."""
    return _line(default, meaning, low=low, high=high, noun=noun, **facts)


text = partial(_line, kind="text")
texts = partial(_line, kind="texts")
choice = partial(_line, kind="word")  # of the Literal that is its type, or of ``choices``
flag = partial(_line, kind="flag")
mm = partial(number, dimension="length")
kohm = partial(number, dimension="resistance", written="_kohm")
nanofarad = partial(number, dimension="capacitance", written="_nf")
picofarad = partial(number, dimension="capacitance", written="_pf")
henry = partial(number, dimension="inductance", written="_h")
hertz = partial(number, dimension="frequency", written="_hz")
tesla = partial(number, dimension="flux_density", written="_t")
kiloampere_per_metre = partial(number, dimension="field_strength", written="_ka_per_m")
ampere_per_metre = partial(number, dimension="field_strength", written="_a_per_m")
kilojoule_per_m3 = partial(number, dimension="energy", written="_kj_per_m3")
microohm_cm = partial(number, dimension="resistivity", written="_microohm_cm")
gram_per_metre = partial(number, dimension="mass_per_length", written="_g_per_m")
celsius = partial(number, dimension="temperature", written="_c")


def part(of: type, stem: str = "") -> Any:
    """Return a field that is a record of its own; with ``stem`` its lines stand in the table of their owner."""
    return field(default=of(), metadata={"of": of, "stem": stem})


def unwritten(default: Any, why: str) -> Any:
    """Return a field that lives in memory only, and why."""
    return field(default=default, metadata={"unwritten": why})


# ---------------------------------------------------------------- the lines of a record


@cache
def parameters_of(record: type, owner: str = "", stem: str = "") -> tuple[Parameter, ...]:
    """Return the lines of a record in order; ``owner`` comes before every attribute, ``stem`` before every key."""
    found: list[Parameter] = []
    for one in fields(record):
        line = line_of(record, one.name)
        if line is not None:
            whole = replace(line, field=one.name, attr=owner + one.name, stem=stem + (line.stem or one.name))
            found += [whole, *line.other_ways]
        elif inner := one.metadata.get("stem"):
            of: type = one.metadata["of"]
            found += parameters_of(of, f"{owner}{one.name}.", inner)
    return tuple(found)


@cache
def line_of(record: type, name: str) -> Parameter | None:
    """Return the line that a field of a record was made with, its words read off its type; None for a part."""
    hint = get_type_hints(record, include_extras=True)[name]
    line = next((one for one in getattr(hint, "__metadata__", ()) if isinstance(one, Parameter)), None)
    line = line or {one.name: one for one in fields(record)}[name].metadata.get("parameter")
    if line is None or line.choices or line.kind not in ("word", "charge"):
        return line
    return replace(line, choices=tuple(_words(hint)))


def _words(hint: Any) -> Iterable[str]:
    if get_origin(hint) is Literal:
        return get_args(hint)
    return [word for inner in get_args(hint) if not isinstance(inner, Parameter) for word in _words(inner)]


def unlined(record: type) -> list[str]:
    """Return the fields of a record that are neither a line, nor a record of their own, nor said to be unwritten."""
    hints = get_type_hints(record)
    return [
        one.name for one in fields(record)
        if line_of(record, one.name) is None and "unwritten" not in one.metadata and not _is_part(hints[one.name])
    ]  # fmt: skip


def _is_part(hint: Any) -> bool:
    inner = [one for one in get_args(hint) if one not in (type(None), ...)]
    return is_dataclass(hint) or (bool(inner) and all(_is_part(one) for one in inner))
