"""The strings of a guitar file: own strings, or those of a set; what the file leaves out is taken from their gauges."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from polepiece.errors import InputError
from polepiece.guitar.assumption import Default
from polepiece.guitar.defaults import STRING_SET_SPREAD
from polepiece.guitar.file.layout import STRING_KEYS
from polepiece.guitar.file.tables import Filler, Table, Values, make, read_table
from polepiece.guitar.file.trade_words import BASS_SETS, bass_gauges, set_called
from polepiece.guitar.file.values import Faults
from polepiece.guitar.one_string import String
from polepiece.strings import (
    MOST_STRINGS,
    STRING_SETS,
    core_spread,
    is_wound,
    mass_spread,
    may_be_either,
    note_frequency,
    string_of,
    tension,
    usual_tuning,
    wound_core_diameter,
    wound_unit_mass,
)
from polepiece.strings import string_set as catalogue_set

FEWEST_IN_TUNE = 4  # fewer strings are test strings: nobody asks for their pitch
USUAL_WRAP: Literal["nickel-plated-steel"] = "nickel-plated-steel"
# Music wire of 0.2 to 0.5 mm breaks at 2.2 to 3.0 GPa (handbook, from memory); a note that asks for more is a slip.
BREAKS_AT = 3.5e9  # Pa
MICROMETER = "micrometer on the core at the ball end"
CHART = "unit weights of one maker's chart; straight lines between gauges"
BENCH_CORES = "strings on the bench (assumption); nine of ten cores that published weights imply lie within"

_KEYS = {key.attr: key for key in STRING_KEYS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What the top of the file says of strings."""

    tuning: tuple[str, ...]
    tuning_is_given: bool
    scale_length: float  # m


def read_strings(
    listed: list[Table], top: dict[str, Any], given: Values, faults: Faults, filler: Filler
) -> tuple[String, ...]:
    """Return the strings: those of [[strings]], or those of the set; ``top`` gets their tuning and set name.

    A set of a bass or of seven or eight strings is read as its gauges, one by one: their masses, cores and tuning are
    those of such strings.
    """
    if not listed and "string_set" in given and (gauges := bass_gauges(str(top["string_set"]))):
        listed = [{"gauge": one} for one in gauges.split()]
    if not listed:
        return _set(top, faults, filler)
    if "string_set" not in given:
        top["string_set"] = "own"
        filler.drop("string_set")
    if len(listed) > MOST_STRINGS:
        faults.add("strings", f"has {len(listed)} strings; instruments with 1 to {MOST_STRINGS} are covered.")
        return ()
    own = [_own(table, f"strings[{place}]", faults, filler) for place, table in enumerate(listed)]
    known = [one for one in own if one is not None]
    if len(known) < len(own):
        return ()
    head = _tuned(known, top, given, faults, filler)
    if head is None:
        return ()
    for place, values in enumerate(known):
        if "pitch" not in values:
            values["pitch"] = _pitch(head, place, values, faults)
    return tuple(make(String, values) for values in known)


def string_set(name: str, tuning: tuple[str, ...], scale_length: float) -> tuple[String, ...]:
    """Return the strings of a set of the catalogue in a tuning, string 1 first; ``scale_length`` in m.

    Raises
    ------
    InputError
        When the set is not offered, the tuning does not have one note for each string, or a string would break.
    """
    if name not in STRING_SETS:
        raise InputError(f'string_set is "{name}"; sets are {", ".join(STRING_SETS)}.')
    gauges = catalogue_set(name).strings
    if len(tuning) != len(gauges):
        raise InputError(
            f"tuning has {len(tuning)} notes, the set {name} has {len(gauges)} strings; give one note for each, or "
            "other strings in [[strings]]."
        )
    strings = tuple(
        String(
            diameter=one.diameter, core_diameter=one.core_diameter, unit_mass=one.unit_mass, pitch=_note(note, place),
            wrap=USUAL_WRAP if one.wound else "none",
        )
        for place, (one, note) in enumerate(zip(gauges, tuning))
    )  # fmt: skip
    for place, (one, note) in enumerate(zip(strings, tuning)):
        if fault := breaking(one.core_diameter, one.unit_mass, one.pitch, scale_length):
            raise InputError(f'tuning[{place}] is "{note}" {fault}')
    return strings


def string_set_name(text: str) -> str:
    """Return the name of a set as it is offered: "10-46" for "10-46", ".010-.046" or "010 - 046".

    Raises
    ------
    InputError
        When the set is not offered; a first gauge alone is answered with the set that is probably meant.
    """
    parts = [one.strip(' ".').removeprefix("0.").lstrip("0") for one in text.replace("\u2013", "-").split("-")]
    name = "-".join(parts)
    if name in STRING_SETS:
        return name
    offered = ", ".join(STRING_SETS)
    first = set_called(text) or parts[0]
    alike = [one for one in STRING_SETS if one.split("-")[0] == first]
    if set_called(text) and len(alike) == 1:
        return alike[0]
    hint = f" A set is named by its first and last string; did you mean {alike[0]}?" if alike else ""
    example = bass_gauges(text) or "10 13 17 26 36 46"
    raise InputError(
        f'string_set is "{text}"; sets are {offered}, of other than six strings {", ".join(BASS_SETS)}. Other '
        f"strings are said gauge by gauge, string 1 first: {example} (in a file one [[strings]] table each).{hint}"
    )


def breaking(core: float, unit_mass: float | None, pitch: float | None, scale_length: float) -> str:
    """Return why a string (m, kg/m, Hz, m) cannot be tuned so, or nothing."""
    if unit_mass is None or pitch is None:
        return ""
    stress = tension(unit_mass=unit_mass, frequency=pitch, length=scale_length) / (0.785398 * core**2)
    if stress <= BREAKS_AT:
        return ""
    return (
        f"on a string that would break there ({stress * 1e-9:.1f} GPa in its core; music wire holds about 3). "
        "Notes are listed from string 1, the thin one, to the thick one."
    )


def _set(top: dict[str, Any], faults: Faults, filler: Filler) -> tuple[String, ...]:
    try:
        top["string_set"] = string_set_name(top["string_set"])
        strings = string_set(top["string_set"], top["tuning"], top["scale_length"])
    except InputError as error:
        faults.add(*str(error).split(" ", 1))
        return ()
    filler.assume(STRING_SET_SPREAD, "strings")
    return strings


def _own(table: Table, path: str, faults: Faults, filler: Filler) -> dict[str, Any] | None:
    """Return the values of one own string, completed from its gauge; None when there is a fault."""
    before = len(faults.found)
    given = read_table(table, STRING_KEYS, path, faults)
    values: dict[str, Any] = {attr: one.value for attr, one in given.items()}
    gauge, flag = values.pop("_gauge", None), values.pop("_wound", None)
    if gauge is not None:
        if "diameter" in values:
            faults.add(given["_gauge"].path, f"is given beside {given['diameter'].path}; keep one of them.")
        values["diameter"] = gauge
        letter = str(table.get("gauge", "")).strip().lower()[-1:]
        if letter in ("w", "p"):
            if flag is not None and flag != (letter == "w"):
                faults.add(f"{path}.wound", f"is {str(flag).lower()}, which gauge contradicts; change one of them.")
            flag, given["_wound"] = letter == "w", given["_gauge"]
    if "diameter" not in values:
        if len(faults.found) == before:
            faults.add(
                f"{path}.diameter", "is missing; every string needs a gauge (10 or 0.010), or its diameter in mm."
            )
        return None
    _complete(values, given, flag, path, faults, filler)
    return values if len(faults.found) == before else None


def _complete(
    values: dict[str, Any], given: Mapping[str, Any], flag: bool | None, path: str, faults: Faults, filler: Filler
) -> None:
    """Fill in wrap, core and mass of one string, and list what was assumed."""
    outer, core, wrap = values["diameter"], values.get("core_diameter"), values.get("wrap")
    if core is not None and core > outer:
        faults.add(given["core_diameter"].path, f"is {core * 1e3:.4g} mm, more than the string ({outer * 1e3:.4g} mm).")
        return
    wound = _wound(values, flag)
    others = {"core_diameter": None if core is None else core < outer, "wrap": None if wrap is None else wrap != "none"}
    for attr, says in others.items():
        if flag is not None and says not in (None, flag):
            path = given["_wound"].path
            faults.add(path, f"is {str(flag).lower()}, which {given[attr].path} contradicts; change one of them.")
            return
    if wrap is None:
        values["wrap"] = USUAL_WRAP if wound else "none"
        if wound or (flag is None and core is None and may_be_either(outer) and "permeability" not in values):
            words = "wound, nickel-plated steel" if wound else "none: a plain string"
            filler.assume(Default(values["wrap"], settle="look at it", words=words), f"{path}.wrap")
    if core is None:
        values["core_diameter"] = wound_core_diameter(outer) if wound else outer
        if wound:
            _assume(filler, path, "core_diameter", values["core_diameter"], core_spread(outer), MICROMETER, BENCH_CORES)
    if "unit_mass" not in values:
        if wound:
            values["unit_mass"] = wound_unit_mass(outer, values["core_diameter"], values["wrap"])
        else:
            values["unit_mass"] = string_of(outer, wound=False).unit_mass
        part = mass_spread(outer)
        weigh = "weigh a metre, or the maker's chart"
        _assume(filler, path, "unit_mass", values["unit_mass"], (1.0 - part, 1.0 + part), weigh, CHART)


def _wound(values: Mapping[str, Any], flag: bool | None) -> bool:
    """Tell whether a string is wound: what its core, the flag or the wrap say; else by its gauge.

    A string with a linear permeability of its own is a test string, solid where nobody says otherwise.
    """
    if "core_diameter" in values:
        return bool(values["core_diameter"] < values["diameter"])
    if flag is not None:
        return flag
    if "wrap" in values:
        return bool(values["wrap"] != "none")
    return values.get("permeability") is None and is_wound(values["diameter"])


def _assume(
    filler: Filler, path: str, attr: str, value: float, spread: tuple[float, float], settle: str, basis: str
) -> None:
    key = _KEYS[attr]
    bench = round(value / float(key.unit.factor), 6)
    low, high = (float(f"{bench * one:.4g}") for one in spread)
    filler.assume(Default(float(f"{bench:.4g}"), low, high, settle, basis), f"{path}.{key.name}", key)


def _tuned(
    known: list[dict[str, Any]], top: dict[str, Any], given: Values, faults: Faults, filler: Filler
) -> Head | None:
    """Return the tuning that own strings have, or note that it does not fit them."""
    count, scale = len(known), top["scale_length"]
    needed = any("pitch" not in one for one in known)
    usual = usual_tuning([one["diameter"] for one in known])
    if "tuning" in given:
        if len(top["tuning"]) != count and needed:
            faults.add(
                given["tuning"].path,
                f"has {len(top['tuning'])} notes for {count} strings; give one for each, string 1 (the thin one) "
                "first.",
            )
            return None
        return Head(tuning=top["tuning"], tuning_is_given=True, scale_length=scale)
    if not needed or usual == top["tuning"]:
        return Head(tuning=top["tuning"], tuning_is_given=False, scale_length=scale)
    if usual is None:
        if count >= FEWEST_IN_TUNE:
            faults.add(
                "tuning",
                f"is missing: {count} strings need {count} notes, string 1 (the thin one) first, such as "
                f"tuning = {_example(count)}; or give every string its pitch_hz.",
            )
            return None
        return Head(tuning=(), tuning_is_given=False, scale_length=scale)
    top["tuning"] = usual
    filler.drop("tuning")
    filler.assume(Default(usual, settle="ask, or a tuner"), "tuning")
    return Head(tuning=usual, tuning_is_given=False, scale_length=scale)


def _example(count: int) -> str:
    notes = ("E4", "B3", "G3", "D3", "A2", "E2", "B1", "F#1", "C#1", "G#0", "D#0", "A#0")[:count]
    return "[" + ", ".join(f'"{one}"' for one in notes) + "]"


def _pitch(head: Head, place: int, values: Mapping[str, Any], faults: Faults) -> float | None:
    """Return the pitch of a string by the tuning; None for a test string."""
    if not head.tuning:
        return None
    note = head.tuning[place]
    try:
        pitch = _note(note, place)
    except InputError as error:
        faults.add(*str(error).split(" ", 1))
        return None
    if fault := breaking(values["core_diameter"], values.get("unit_mass"), pitch, head.scale_length):
        slip = "" if head.tuning_is_given else " The tuning was assumed: give tuning."
        faults.add(f"tuning[{place}]", f'is "{note}" {fault}{slip}')
    return pitch


def _note(note: str, place: int) -> float:
    try:
        pitch = note_frequency(note)
    except InputError:
        raise InputError(
            f'tuning has "{note}" for string {place + 1}; a note is a letter, # or b, and its octave, e.g. E2 or Bb3.'
        ) from None
    low, high = _KEYS["pitch"].limits(_KEYS["pitch"].unit)
    if not low <= pitch <= high:
        raise InputError(
            f'tuning has "{note}" for string {place + 1}, {pitch:.4g} Hz; strings lie between {low:g} and {high:g} Hz.'
        )
    return pitch
