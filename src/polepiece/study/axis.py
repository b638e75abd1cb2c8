"""One axis of a study: a lever or a parameter of the guitar file, and the values that it takes.

>>> parse_axis("lower=0..1.5mm:4").values
(0.0, 0.5, 1.0, 1.5)
>>> parse_axis("magnet=alnico-2/alnico-5/as-is").texts
('magnet=alnico-2', 'magnet=alnico-5', '')
"""

import difflib
import re
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import Guitar, line_at, path_near
from polepiece.moves import LEVERS, parse_change
from polepiece.typed_number import NUMBER, typed_number

AS_IS = ("as-is", "as is", "")  # the guitar is left as it is along this axis
MOST_VALUES = 100_000  # of one axis: more is a slip, and a range without a count does it
ALLOWED = (
    "write KEY=A/B/C for values one by one, KEY=LEAST..MOST:COUNT for steps, or KEY=LEAST..MOST for anything between "
    "(latin-hypercube and sobol); for example magnet=alnico-2/alnico-5, lower=0..1.5mm:7, cable=200..900pF"
)
_RANGE = re.compile(rf"(?P<head>(?:[^\d/]*\s)?)(?P<low>{NUMBER})\s*(?P<unit>[^\d\s./]*)\s*\.\.\s*"
                    rf"(?P<high>{NUMBER})(?P<tail>[^\d/:]*)(?::(?P<count>\d+))?")  # fmt: skip
_PICKUP = re.compile(r"pickups\[(\d+)\]")
_ONE = re.compile(rf"(?P<head>(?:[^\d]*\s)?)(?P<number>{NUMBER})(?P<tail>[^\d]*)")
_WORDS = {"k": "kohm", "K": "kohm", "kΩ": "kohm", "M": "megohm", "p": "pf", "n": "nf", "u": "uf", "turns": "turn"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What is varied. Values are numbers in ``unit``, or words; a range without a count has its two ends alone."""

    text: str  # as it was typed
    key: str  # a lever ("lower", "bridge volume") or a path of the guitar file
    is_path: bool
    values: tuple[float | str, ...]
    head: str = ""  # what stands before a number of a lever ("up ")
    tail: str = ""  # and behind it (" turn", "mm")
    unit: str = ""  # of the column
    continuous: bool = False

    @property
    def column(self) -> str:
        """Name of its column, with the unit in it."""
        name = re.sub(r"[^a-z0-9]+", "_", (f"{self.key} {self.head}").lower()).strip("_")
        return name if not self.unit or name.endswith(f"_{self.unit}") else f"{name}_{self.unit}"

    @property
    def is_number(self) -> bool:
        """Whether its values are numbers."""
        return not isinstance(self.values[0], str)

    @property
    def count(self) -> int:
        """Number of values; of a continuous axis that of its ends."""
        return len(self.values)

    @property
    def texts(self) -> tuple[str, ...]:
        """What a lever reads for each of the values; "" leaves the guitar as it is."""
        return tuple(self.lever_text(one) for one in self.values)

    def value_at(self, share: float) -> float | str:
        """Return the value at a share from 0 to 1 (1 excluded) of the axis: its steps have equal shares."""
        if self.continuous:
            low, high = float(self.values[0]), float(self.values[1])
            return float(f"{low + share * (high - low):.6g}")
        return self.values[min(int(share * self.count), self.count - 1)]

    def lever_text(self, value: float | str) -> str:
        """Return ``key=value`` of a lever; "" where nothing is moved."""
        if isinstance(value, str):
            return "" if value in AS_IS else f"{self.key}={value}"
        moves = LEVERS[self.key.rpartition(" ")[2]].kind in ("height", "screws")
        return "" if moves and value == 0.0 else f"{self.key}={self.head}{value:.6g}{self.tail}"


def parse_axis(text: str, guitar: Guitar | None = None, place: int = 0) -> Axis:
    """Read one ``KEY=VALUES``.

    Parameters
    ----------
    text : str
    guitar : Guitar, optional
        Whose file a path is of.
    place : int
        Of the pickup whose keys may be written without ``pickups[0].``.

    Raises
    ------
    InputError
        When the key is none, or the values cannot be read.
    """
    key, equals, values = (one.strip() for one in text.partition("="))
    if not equals or not key or not values:
        raise InputError(f"{text!r} is not KEY=VALUES; {ALLOWED}.")
    lever = key.rpartition(" ")[2].lower().replace("-", "_")
    if lever in LEVERS and "." not in key:
        axis = _axis(text, f"{key.rpartition(' ')[0]} {lever}".strip(), values, is_path=False, unit="")
        for one in axis.texts:
            if one:
                parse_change(one)  # says what is wrong with a value
        return axis
    path, unit = _path(text, key, guitar, place)
    return _axis(text, path, values, is_path=True, unit=unit)


def _path(text: str, key: str, guitar: Guitar | None, place: int) -> tuple[str, str]:
    """Return the whole path of a key of the file, and the unit of its values."""
    whole = key if key.startswith(("pickups[", "controls.", "strings[")) else f"pickups[{place}].{key}"
    line = line_at(whole)
    if line is None and whole != key:
        whole, line = key, line_at(key)
    if line is None:
        raise InputError(
            f"{text}: {key!r} is no lever and no key of the guitar file{_slip(key, guitar)}; levers are those of "
            "--change, keys are in docs/reference/guitar-file.md: coil.turns, magnet.bar_length, controls.cable_pf."
        )
    if guitar is not None and (found := _PICKUP.match(whole)) and int(found[1]) >= len(guitar.pickups):
        named = ", ".join(f"pickups[{at}] is {one.name}" for at, one in enumerate(guitar.pickups))
        raise InputError(f"{text}: there is no pickups[{found[1]}] in this guitar; {named}.")
    table, dot, name = whole.rpartition(".")
    written = line.names().get(name, line.unit)
    if written.factor != line.unit.factor:
        raise InputError(f"{text}: write it in {line.unit.word}, as {table}{dot}{line.name}.")
    bare = f"{table}{dot}{line.name}"
    word = "" if line.name.endswith(line.unit.suffix) and line.unit.suffix else line.unit.word
    return bare, word.replace("/", "_per_").replace(" ", "_").lower()


def _slip(key: str, guitar: Guitar | None) -> str:
    """Return what a key that is none was likely meant for, as a clause; "" where nothing is near."""
    head, dot, rest = key.partition(".")
    names = [] if guitar is None else [one.name for one in guitar.pickups]
    if dot and head in names:
        return f" (pickups go by number there: pickups[{names.index(head)}].{rest})"
    lever = difflib.get_close_matches(key.lower(), list(LEVERS), n=1, cutoff=0.7)
    near = lever[0] if lever else path_near(key)
    return f" (did you mean {near}?)" if near else ""


def _axis(text: str, key: str, values: str, *, is_path: bool, unit: str) -> Axis:
    found = _RANGE.fullmatch(values)
    if found is not None:
        return _ranged(text, key, found, is_path=is_path, unit=unit)
    if ".." in values:
        raise InputError(f"{text}: {values!r} is not understood; {ALLOWED}.")
    words = [one.strip() for one in values.split("/")]
    if len(set(words)) < len(words):
        raise InputError(f"{text}: a value is there twice.")
    numbers = [_ONE.fullmatch(one) for one in words]
    outer = {(one["head"], one["tail"].strip()) for one in numbers if one is not None}
    if None in numbers or len(outer) > 1:
        return Axis(text=text, key=key, is_path=is_path, values=tuple(words))
    ((head, tail),) = outer
    if is_path and (head or tail):  # "10-46", "A5"
        return Axis(text=text, key=key, is_path=is_path, values=tuple(words))
    each = tuple(_number(text, one["number"]) for one in numbers if one is not None)
    gap = " " if numbers[0] is not None and numbers[0]["tail"].startswith(" ") else ""
    return Axis(
        text=text, key=key, is_path=is_path, values=each, head=head, tail=gap + tail, unit=unit or _unit_word(tail)
    )


def _ranged(text: str, key: str, found: "re.Match[str]", *, is_path: bool, unit: str) -> Axis:
    head, tail = found["head"], found["tail"]
    low, high = _number(text, found["low"]), _number(text, found["high"])
    if found["unit"] and found["unit"] != tail.strip():
        raise InputError(f"{text}: write both ends in one unit, once, behind the second: {ALLOWED}.")
    if is_path and (head or tail.strip()):
        raise InputError(f"{text}: a key of the guitar file has its unit in its name; write numbers alone.")
    if not low < high:
        raise InputError(f"{text}: the range must rise; {low:g} is not below {high:g}.")
    unit = unit or _unit_word(tail)
    common = {"text": text, "key": key, "is_path": is_path, "head": head, "tail": tail, "unit": unit}
    if found["count"] is None:
        return Axis(**common, values=(low, high), continuous=True)  # type: ignore[arg-type]
    count = int(found["count"])
    if not 2 <= count <= MOST_VALUES:
        raise InputError(f"{text}: {count} steps; a range has 2 to {MOST_VALUES}.")
    steps = tuple(float(f"{low + (high - low) * k / (count - 1):.6g}") for k in range(count))
    return Axis(**common, values=steps)  # type: ignore[arg-type]


def _number(text: str, number: str) -> float:
    try:
        return float(typed_number(number))
    except InputError as error:
        raise InputError(f"{text}: {number!r}: {error}; {ALLOWED}.") from None


def _unit_word(tail: str) -> str:
    word = _WORDS.get(tail.strip(), tail.strip().lower())
    return re.sub(r"[^a-z0-9]+", "_", word).strip("_") if word != "%" else "percent"
