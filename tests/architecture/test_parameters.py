"""Every field of a record of the guitar is the line of a parameter, and every record checks itself by its lines."""

import ast
import importlib
import pkgutil
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest

import polepiece.guitar
from polepiece.errors import InputError
from polepiece.guitar import defaults
from polepiece.guitar.assumption import Assumption
from polepiece.guitar.checks import check
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.guitar.controls import Controls
from polepiece.guitar.file import layout
from polepiece.guitar.file.layout import key_of
from polepiece.guitar.net_element import NetElement
from polepiece.guitar.one_string import String
from polepiece.guitar.own_controls import AddedPart, Tone, Volume
from polepiece.guitar.parameter import NEEDED, Parameter, mm, parameters_of, unlined
from polepiece.guitar.parts import Magnet, MagnetConstants, Poles, Sheet, Steel
from polepiece.guitar.records import Complaint, Guitar, Measured, Pickup
from polepiece.guitar.switch_position import SwitchPosition
from tests.tables import every

PLAIN: dict[type, dict[str, Any]] = {  # what each record needs to be made
    AddedPart: {"place": "across"},
    Assumption: {"path": "name", "value": "x"},
    Coil: {},
    Complaint: {"word": "muddy"},
    Controls: {},
    Guitar: {"pickups": (), "strings": ()},
    Magnet: {},
    MagnetConstants: {"remanence": 1.2, "coercivity": 5e4, "energy_product": 4e4, "recoil_permeability": 4.0},
    Measured: {"path": "pickups[0].inductance_h", "value": 4.0, "low": 3.9, "high": 4.1},
    Pickup: {"name": "p", "position": "neck", "construction": "humbucker"},
    NetElement: {"name": "r", "kind": "resistor", "a": "jack", "b": "ground"},
    Poles: {},
    Sheet: {},
    Steel: {},
    SwitchPosition: {"name": "both"},
    String: {"diameter": 1e-3, "core_diameter": 5e-4},
    Tone: {},
    Volume: {},
}
NO_RECORDS = {
    "Default",
    "Draw",
    "GivenDraw",
    "Entered",
    "Fault",
    "Head",
    "Knobs",
    "Layout",
    "Parameter",
    "Question",
    "Slot",
    "Unit",
    "Winding",
} | {
    "BarWork",
    "BenchStep",
    "Construction",
    "MagnetsStay",
    "Pole",
    "Row",
}  # of the guitar's room: no part of a guitar
RANGED = [
    (record, one) for record in PLAIN for one in parameters_of(record)
    if one.low is not None and one.field in {own.name for own in fields(record)}
]  # fmt: skip


def test_every_record_of_the_guitar_is_looked_at_here() -> None:
    found = set()
    for one in pkgutil.walk_packages(polepiece.guitar.__path__, "polepiece.guitar."):
        room = importlib.import_module(one.name)
        found |= {
            x for x in vars(room).values() if isinstance(x, type) and is_dataclass(x) and x.__module__ == one.name
        }
    assert {one.__name__ for one in found} - NO_RECORDS == {one.__name__ for one in PLAIN}


@pytest.mark.parametrize("record", PLAIN, ids=lambda one: one.__name__)
def test_every_field_is_the_line_of_a_parameter(record: type) -> None:
    assert unlined(record) == []


@pytest.mark.parametrize("record", PLAIN, ids=lambda one: one.__name__)
def test_every_line_says_what_it_means_and_every_number_its_range(record: type) -> None:
    for one in parameters_of(record):
        assert one.meaning, one.name
        if one.kind == "number" and record not in (Assumption, Measured):  # in the unit of another key
            assert one.low is not None and one.high is not None, one.name
        assert one.kind != "word" or one.choices, one.name
        assert not one.settle or one.default is not NEEDED, one.name


@every(RANGED)
def test_a_record_refuses_a_number_out_of_its_range_in_the_words_of_the_file(record: type, line: Parameter) -> None:
    assert line.high is not None
    over = line.in_si(2.0 * abs(line.high) + 1.0)
    wrong = (over,) if line.kind in ("numbers", "readings") else over
    with pytest.raises(InputError, match=rf"{line.name} is .*; {line.noun} between .* and ") as said:
        record(**PLAIN[record] | {line.field: wrong})
    assert line.unit.word in str(said.value)


def test_every_record_is_checked_when_it_is_made_from_another() -> None:
    for record, needed in PLAIN.items():
        made = record(**needed)
        line = next(one for one in parameters_of(record) if one.kind == "text" or one.low is not None)
        wrong = "x" * 1001 if line.kind == "text" else (1e9 if line.kind == "number" else "x")
        with pytest.raises(InputError, match=line.name):
            replace(made, **{line.field: wrong})


@dataclass(frozen=True, slots=True, kw_only=True)
class Unruly:
    """A record as it must not be: one field without a line, and no check."""

    thickness: float = mm(1.0, 0.5, 2, "they lie", "of it")
    colour: str = "red"


def test_a_field_without_a_line_and_a_record_without_a_check_are_found() -> None:
    assert unlined(Unruly) == ["colour"]
    unchecked = Unruly(thickness=1.0)  # in m: nobody refused it
    with pytest.raises(
        InputError, match=r"^thickness is 1000 mm; they lie between 0\.5 and 2 mm\. Is that mm where m is meant\?$"
    ):
        check(unchecked)


def test_a_table_says_only_what_is_otherwise() -> None:
    """A construction or position that repeats the line of a parameter says it twice."""
    tables = {**{one.slug: one.defaults for one in CONSTRUCTIONS}, **defaults.POSITION}
    twice = {name: [k for k, v in table.items() if defaults.USUAL.get(k) == v] for name, table in tables.items()}
    assert {name: keys for name, keys in twice.items() if keys} == {}


def test_no_key_has_two_parameters() -> None:
    tables = {"top": layout.GUITAR_KEYS, "pickup": layout.PICKUP_KEYS, "controls": layout.CONTROL_KEYS,
              "coil": layout.COIL_KEYS, "strings": layout.STRING_KEYS, "sheet": layout.SHEET_KEYS,
              "magnet": layout.PICKUP_TABLES["magnet"][0], "poles": layout.POLE_KEYS}  # fmt: skip
    tables |= {name: keys for name, (_, keys) in layout.CONTROL_TABLES.items()}
    for table, keys in tables.items():
        names = layout.all_names(keys, ())
        assert sorted(set(names)) == sorted(names), table


SOURCE = Path(polepiece.guitar.__file__).parents[1]
OTHERS = {"resistance_kohm", "inductance_h", "temperature_c"}  # columns of the drawer and fields of sweeps, too


def spelled(source: str) -> set[str]:
    """Return the keys of the guitar file with a unit or a table of their own that a module spells out."""
    attrs = [one.attr for keys in (layout.PICKUP_KEYS, layout.MAGNET_KEYS, layout.POLE_KEYS) for one in keys]
    attrs += [f"controls.{one.attr}" for one in layout.CONTROL_KEYS]
    keys = {key_of(attr) for attr in attrs if key_of(attr) != attr}
    texts = [one.value for one in ast.walk(ast.parse(source)) if isinstance(one, ast.Constant)]
    ends = {text.rpartition("].")[2] for text in texts if isinstance(text, str)}
    return (ends & keys) - (OTHERS & set(map(str, texts)))


def test_nobody_else_spells_a_key_that_its_parameter_says() -> None:
    assert spelled('path = f"pickups[{place}].gap_bass_mm"') == {"gap_bass_mm"}
    assert spelled('x = key_path(place, "gap_bass") + "screws.screw_raise"') == {"screws.screw_raise"}
    files = [one for one in SOURCE.rglob("*.py") if one.relative_to(SOURCE).parts[0] != "guitar"]
    assert {str(one): found for one in files if (found := spelled(one.read_text("utf-8")))} == {}
