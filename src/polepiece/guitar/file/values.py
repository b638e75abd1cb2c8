"""One value of a guitar file: read it, judge its range, name the likely slip.

Nothing here raises: faults are gathered, so that a person mends a file once.
"""

import difflib
import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any, NamedTuple

from polepiece.errors import InputError
from polepiece.guitar.checks import number_refused, printed, text_refused, word_refused
from polepiece.guitar.file import trade_words
from polepiece.guitar.file.units import UNITS, Unit, as_decimal, show, split_quantity, to_si, unit_of
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import CATALOGUE_GRADES
from polepiece.materials import NEODYMIUM, SAMARIUM_COBALT

MOST_FAULTS = 200  # listed; a file with more is not a guitar file that somebody mends line by line
LONGEST_VALUE = 60  # characters of a number or a word
UNKNOWN_WORDS = ("unknown", "don't know", "dont know", "not known", "?")


class Given(NamedTuple):
    """A value that the file gave, in SI, and the path of its key."""

    value: Any
    path: str


class Faults:
    """The faults of one file, in the order in which they were found; of many the first."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self._more = 0

    @property
    def full(self) -> bool:
        """Whether no more are listed: a sentence that takes work need not be made."""
        return len(self.found) >= MOST_FAULTS

    def told(self) -> list[str]:
        """Return the faults, and how many more there were."""
        return [*self.found, f"and {self._more} more faults; mend these first."] if self._more else self.found

    def add(self, path: str, sentence: str) -> None:
        """Note one fault: the path of the key and a sentence that continues it."""
        if self.full:
            self._more += 1
            return
        self.found.append("".join(one if one.isprintable() else " " for one in f"{path} {sentence}"))


def nearest(name: str, known: Iterable[str]) -> str:
    """Return " (did you mean ...?)" or nothing."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f"; the nearest key is {close[0]}" if close else ""


def is_unknown(raw: object) -> bool:
    """Tell whether the person wrote that the value is not known."""
    return isinstance(raw, str) and raw.strip().lower() in UNKNOWN_WORDS


def read_value(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read one value in SI, or note its fault and return None; None without a fault means "not known"."""
    if key.none == "none" and isinstance(raw, str) and raw.strip().lower() == "none":
        return Given(None, path)
    if is_unknown(raw) and (key.kind != "text" or key.attr == "string_age"):
        return None
    if isinstance(raw, str) and len(raw) > LONGEST_VALUE and not key.kind.startswith("text"):
        faults.add(path, f"is {printed(raw)}; that is too long for a value.")
        return None
    reader = READERS[key.kind]
    return reader(raw, key, unit, path, faults)


# ---------------------------------------------------------------- numbers


def _decimal(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> tuple[Decimal, Unit] | None:
    """Read a number and the unit it is in; a unit written in the value must agree with the key."""
    if isinstance(raw, bool) or not isinstance(raw, int | float | Decimal | str):
        faults.add(path, f"is {printed(raw)}; it must be a number.")
        return None
    try:
        if isinstance(raw, str):
            number, spelling = split_quantity(_as_marked(raw, key))
            if spelling:
                written = unit_of(key.dimension, spelling)
                if written is None:
                    units = ", ".join(dict.fromkeys(one.word for one in UNITS[key.dimension] if one.word))
                    faults.add(path, f'is "{raw}"; {spelling!r} is not a unit it can have ({units or "no unit"}).')
                    return None
                if unit.suffix and written.factor != unit.factor:
                    faults.add(path, f'is "{raw}", but the key says {unit.word}: change one of them.')
                    return None
                return number, written
            printed_in = trade_words.unit_printed(number, raw, key, unit)
            if "/" in raw and key.dimension == "length" and unit.word == "mm" and (unit.suffix or printed_in is None):
                faults.add(
                    path,
                    f'is "{raw}" mm; a fraction is usually of an inch. '
                    f'If so, write {key.stem}_in = "{raw}" ({show(number * Decimal("25.4"))} mm).',
                )
                return None
            return number, printed_in or unit
        return as_decimal(raw), unit
    except InputError as error:
        hint = ""
        if key.dimension == "resistance" and isinstance(raw, str) and raw.strip().lower() in ("open", "ol"):
            hint = ' An open coil is a fault; write symptoms = ["open coil"] at the top of the file.'
        faults.add(path, f"is {printed(raw)}; {str(error).replace(repr(raw), 'it')}.{hint}")
        return None


def _as_marked(raw: str, key: Parameter) -> str:
    """Return what is marked on a pot or said of a wire without the letters that are no unit: A500k, AWG 42."""
    if key.dimension == "resistance":
        return trade_words.without_taper(raw)
    return trade_words.gauge_number(raw) if key.field == "wire_awg" else raw


def _refuse(sentence: str, path: str, faults: Faults) -> bool:
    """Note what is wrong; True where something is."""
    if sentence:
        faults.add(path, sentence)
    return bool(sentence)


def read_number(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read one number."""
    found = _decimal(raw, key, unit, path, faults)
    if found is None:
        return None
    number, used = found
    if _refuse(number_refused(number, key, used), path, faults):
        return None
    return Given(int(number) if key.whole else to_si(number, used), path)


def read_numbers(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read one number or a list of numbers; a tuple either way."""
    items = raw if isinstance(raw, list) else [raw]
    if not items:
        return Given((), path)
    values = [
        read_number(one, key, unit, f"{path}[{place}]" if isinstance(raw, list) else path, faults)
        for place, one in enumerate(items)
    ]
    good = tuple(one.value for one in values if one is not None)
    return Given(good, path) if len(good) == len(values) else None


def read_readings(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read gauss at the poles: signed, "unknown" where a pole was not read."""
    if not isinstance(raw, list):
        faults.add(
            path,
            f'is {printed(raw)}; it must be a list, string 1 first, with "unknown" where no pole was read.',
        )
        return None
    values: list[float | None] = []
    for place, one in enumerate(raw):
        here = f"{path}[{place}]"
        if is_unknown(one):
            values.append(None)
            continue
        found = _decimal(one, key, unit, here, faults)
        if found is not None and not _refuse(number_refused(abs(found[0]), key, found[1]), here, faults):
            values.append(to_si(found[0], found[1]))
    return Given(tuple(values), path) if len(values) == len(raw) else None


# ---------------------------------------------------------------- words


def read_word(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read one of a few words, ours or the trade's; case, blanks and underscores do not matter."""
    word = trade_words.said_as(raw) if isinstance(raw, str) else ""
    word = trade_words.counted(word) if key.field == "template" else word
    for choice in key.choices:
        if word == choice.lower():
            return Given(choice, path)
    meant = trade_words.readings(key.field, word)
    if len(meant) == 1 and meant[0] in key.choices:
        return Given(meant[0], path)
    if len(meant) > 1:
        faults.add(path, trade_words.which_of(str(raw), meant))
        return None
    faults.add(path, word_refused(raw, key.choices, word))
    return None


def read_free_text(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read a text of one to a thousand characters."""
    if key.attr == "string_set" and isinstance(raw, int | Decimal) and not isinstance(raw, bool):
        raw = str(raw)
    return None if _refuse(text_refused(raw, key), path, faults) else Given(raw, path)


def read_free_texts(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read a list of texts; one text alone is a list of one."""
    items = raw if isinstance(raw, list) else [raw]
    if key.field == "tuning" and isinstance(raw, str):
        items = list(trade_words.tuning_called(raw)) or items
    values = [read_free_text(one, key, unit, f"{path}[{place}]", faults) for place, one in enumerate(items)]
    good = tuple(one.value for one in values if one is not None)
    return Given(good, path) if len(good) == len(values) else None


def read_flag(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read true or false; "yes" and "no" as well."""
    words = {"yes": True, "no": False, "true": True, "false": False}
    if isinstance(raw, str) and raw.strip().lower() in words:
        return Given(words[raw.strip().lower()], path)
    if not isinstance(raw, bool):
        faults.add(path, f"is {printed(raw)}; it must be true or false.")
        return None
    return Given(raw, path)


def read_charge(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read a state of charge: a word, or the fraction that is left."""
    if isinstance(raw, str) and not re.match(r"\s*[\d.,+-]", raw):
        return read_word(raw, key, unit, path, faults)
    return read_number(raw, key, unit, path, faults)


# ---------------------------------------------------------------- grades

_RARE_EARTH = {
    "neodymium": NEODYMIUM, "ndfeb": NEODYMIUM, "samarium": SAMARIUM_COBALT, "smco": SAMARIUM_COBALT,
}  # fmt: skip


def grade_of(text: str) -> tuple[str, str | None]:
    """Return the catalogue slug and the finish (or None) that a grade as typed stands for.

    Raises
    ------
    InputError
        When it is no grade of the catalogue; the message continues "grade is ...; ".
    """
    word, finish = trade_words.said_as(text), None
    if rough := re.fullmatch(r"rough-cast-(.+)|(.+)-rough-cast", word):
        word, finish = rough[1] or rough[2], "rough-cast"
    elif word.endswith("-polished"):
        word, finish = word.removesuffix("-polished"), "polished"
    meant = trade_words.readings("grade", word)
    word = meant[0] if len(meant) == 1 else word
    if finish == "rough-cast" and word.startswith("ceramic"):
        raise InputError("rough cast is a finish of an alnico; ferrite is pressed and ground.")
    if word in CATALOGUE_GRADES or word == "unknown":
        return word, finish
    if word in ("ferrite", "ceramic"):
        raise InputError(f"ferrite comes as ceramic-5 or ceramic-8; write ceramic-8 when it is not known which.{''}")
    for name, stuff in _RARE_EARTH.items():
        if name in word:
            raise InputError(
                "rare earth has no grade here; write its own constants instead of a grade, "
                f"of {stuff.name}: {stuff.keys}."
            )
    if word == "alnico":
        families = [one for one in CATALOGUE_GRADES if one.startswith("alnico-")]
        raise InputError(f"that is a family: {', '.join(families)}; write unknown when it is not known which.")
    short = re.fullmatch(r"(?:alnico-?|al-?)?(2|3|4|5|6|8|9|ii|iii|iv|v|vi|viii|ix)", word)
    roman = {"ii": "2", "iii": "3", "iv": "4", "v": "5", "vi": "6", "viii": "8", "ix": "9"}
    if short:
        digit = roman.get(short[1], short[1])
        raise InputError(f"grades are written with their family: alnico-{digit} (or ceramic-5, ceramic-8).")
    close = difflib.get_close_matches(word, CATALOGUE_GRADES, n=1, cutoff=0.6)
    hint = f" Did you mean {close[0]}?" if close else ""
    raise InputError(f"it must be one of {', '.join(CATALOGUE_GRADES)}, alnico-5-rough-cast or unknown.{hint}")


def read_grade(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read a grade as (slug, finish or None)."""
    if not isinstance(raw, str):
        hint = f' Write grade = "alnico-{raw}".' if raw in (2, 3, 4, 5, 6, 8, 9) else ""
        faults.add(path, f"is {printed(raw)}; it must be a word in quotes.{hint}")
        return None
    try:
        return Given(grade_of(raw), path)
    except InputError as error:
        faults.add(path, f'is "{raw}"; {error}')
        return None


# ---------------------------------------------------------------- gauges


def read_gauge(raw: object, key: Parameter, unit: Unit, path: str, faults: Faults) -> Given | None:
    """Read a gauge as it stands on a packet: thousandths of an inch (46) or inches (".046"); m.

    A w (wound) or p (plain) behind it is read by who completes the string.
    """
    typed = str(raw).strip().lower().rstrip('"').removesuffix("in").strip() if isinstance(raw, str) else raw
    typed = typed[:-1].strip() if isinstance(typed, str) and typed[-1:] in ("w", "p") else typed
    if isinstance(typed, str) and "-" in typed.strip("-"):
        faults.add(path, f'is "{raw}"; that is a set. Name it at the top, string_set = "{raw}", or one string a table.')
        return None
    if isinstance(raw, bool) or not isinstance(typed, int | float | Decimal | str):
        faults.add(path, f'is {printed(raw)}; it must be a gauge: 10, 0.010 or ".010".')
        return None
    try:
        number = as_decimal(typed)
    except InputError as error:
        faults.add(path, f"is {printed(raw)}; {str(error).replace(repr(typed), 'it')}.")
        return None
    if number.is_finite() and Decimal("0.007") <= number <= Decimal("0.15"):
        return Given(float(number * Decimal("0.0254")), path)
    if number.is_finite() and 7 <= number <= 150:
        return Given(float(number * Decimal("0.0000254")), path)
    in_mm = number.is_finite() and Decimal("0.15") < number < 4
    slip = f" If that is mm, write diameter = {show(number)}." if in_mm else ""
    faults.add(
        path,
        f"is {show(number)}; gauges lie between 7 and 150 thousandths of an inch, or 0.007 and 0.150 inch.{slip}",
    )
    return None


READERS = {
    "gauge": read_gauge,
    "number": read_number,
    "numbers": read_numbers,
    "readings": read_readings,
    "word": read_word,
    "text": read_free_text,
    "texts": read_free_texts,
    "flag": read_flag,
    "charge": read_charge,
    "grade": read_grade,
}
