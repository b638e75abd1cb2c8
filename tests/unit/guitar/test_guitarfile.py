"""The guitar file: the examples read, the units convert, silence is listed, what is written reads back."""

import json
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from polepiece.errors import GuitarFileError
from polepiece.guitar import defaults
from polepiece.guitar.assumption import defaults_of
from polepiece.guitar.constructions import CONSTRUCTIONS, SLUGS
from polepiece.guitar.file.guitar_file import guitar_schema, parse_guitar, read_guitar, write_guitar
from polepiece.guitar.file.layout import CONTROL_KEYS, GUITAR_KEYS
from polepiece.guitar.file.unusual import cautions
from polepiece.guitar.parts import CATALOGUE_GRADES, SHEET_METALS, STEELS
from polepiece.guitar.records import PICKUP_POSITIONS, Guitar, Pickup
from polepiece.materials import catalogue
from polepiece.moves.changes import apply, parse_changes
from polepiece.strings import STRING_SETS
from tests.tables import every

ROOT = Path(__file__).parents[3]
EXAMPLES = sorted((ROOT / "examples").glob("*.guitar.toml"))
SHORTEST = (
    '[[pickups]]\nname = "p"\nposition = "{position}"\nconstruction = "{construction}"\nmagnet.grade = "alnico-5"\n'
)


def shortest(construction: str = "humbucker", position: str = "neck", more: str = "") -> Guitar:
    return parse_guitar(SHORTEST.format(construction=construction, position=position) + more)


def only(guitar: Guitar) -> Pickup:
    (pickup,) = guitar.pickups
    return pickup


def test_the_words_of_the_file_are_those_of_the_catalogue():
    assert sorted(CATALOGUE_GRADES) == sorted(one.slug for one in catalogue.magnets())
    assert set(STEELS) <= {one.name for one in catalogue.steels()}
    assert all(
        catalogue.conductor(metal) for metal in SHEET_METALS if metal != "steel"
    )  # its steel is one of those above


def test_the_reference_reads_to_the_last_digit():
    pickup = read_guitar(ROOT / "examples" / "reference-humbucker.guitar.toml").pickup("reference")
    magnet, poles = pickup.magnet, pickup.poles
    assert (magnet.grade, magnet.charge, magnet.pure_recoil, magnet.bar_to_pole_gap) == (
        "own",
        "in-place",
        True,
        0.0,
    )
    assert magnet.constants is not None
    assert (magnet.constants.remanence, magnet.constants.coercivity) == (1.28, 50.9e3)
    assert (magnet.constants.energy_product, magnet.constants.recoil_permeability) == (43.8e3, 3.7)
    assert magnet.constants.resistivity is None and magnet.constants.law == "hyperbola"
    assert (magnet.length, magnet.width, magnet.thickness) == (63.5e-3, 12.7e-3, 3.175e-3)
    assert (poles.slug_diameter, poles.slug_height, poles.screw_bottom) == (4.8e-3, 12.5e-3, -6e-3)
    assert (poles.keeper_x_min, poles.keeper_x_max, poles.keeper_top) == (-11.6e-3, -6.4e-3, 3.175e-3)
    for steel in (poles.slug_steel, poles.screw_steel, poles.keeper_steel):
        assert (steel.name, steel.permeability) == (None, 800.0)
    assert len(pickup.coils) == 2 and pickup.coils[0] == pickup.coils[1]
    assert (pickup.coils[0].inner_half_x, pickup.coils[0].turns) == (3.2e-3, 5000.0)
    assert pickup.base_plate is None and pickup.cover is None


def test_a_name_a_place_a_construction_and_a_grade_are_enough():
    for construction in SLUGS:
        for position in PICKUP_POSITIONS:
            guitar = shortest(construction, position)
            assert cautions(guitar) == (), (construction, position)
            assert len(guitar.strings) == 6 and guitar.string_set == "10-46"


def test_silence_is_listed_with_a_spread_and_what_settles_it():
    found = {one.path: one for one in shortest().assumed}
    charge = found["pickups[0].magnet.charge"]
    assert "not known" in charge.value and "gauss" in charge.settle
    gap = found["pickups[0].magnet.bar_to_pole_gap"]
    assert (gap.value, gap.low, gap.high) == ("0.1 mm", 0.02, 0.2)
    assert (found["pickups[0].coil.turns"].low, found["pickups[0].coil.turns"].high) == (4600.0, 5600.0)
    assert "pickups[0].magnet.grade" not in found
    assert all(one.settle and one.basis and one.value for one in found.values())
    assert len(found) == len(shortest().assumed), "no path twice"


def test_unknown_is_the_same_as_silent():
    said = '[pickups.magnet]\ncharge = "unknown"\n'
    text = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\nresistance_kohm = "unknown"\n'
    guitar = parse_guitar(text + said + 'grade = "unknown"\n')
    assert guitar == parse_guitar(text.replace('resistance_kohm = "unknown"\n', ""))
    assert only(guitar).magnet.grade == "unknown" and only(guitar).resistance is None
    assert {"pickups[0].magnet.grade", "pickups[0].resistance_kohm"} <= {one.path for one in guitar.assumed}


def test_every_given_value_leaves_the_list_of_assumptions():
    full = write_guitar(replace(shortest(), assumed=()))
    assert parse_guitar(full).assumed == ()


TABLES = (
    defaults_of(GUITAR_KEYS), defaults_of(CONTROL_KEYS), defaults.USUAL, *defaults.POSITION.values(),
    *(one.defaults_at("neck") for one in CONSTRUCTIONS),
)  # fmt: skip


@every(one for table in TABLES for one in table.items())
def test_a_default_lies_in_its_own_spread(_, default):
    value = default.value[0] if isinstance(default.value, tuple) else default.value
    if default.low is not None:
        assert default.low <= value <= default.high


@pytest.mark.parametrize(
    ("key", "attr", "si"),
    [
        ("gap_bass_in = 0.1", "gap_bass", 2.54e-3),
        ('gap_bass_in = "3/32"', "gap_bass", 2.38125e-3),
        ("gap_bass_64ths = 6", "gap_bass", 2.38125e-3),
        ('gap_bass_mm = "2,6"', "gap_bass", 2.6e-3),
        ('gap_bass = "2.6 mm"', "gap_bass", 2.6e-3),
        ("resistance_ohm = 7800", "resistance", 7800.0),
        ('resistance_kohm = "7,8"', "resistance", 7800.0),
        ('resistance = "7.8k"', "resistance", 7800.0),
        ("inductance_mh = 4400", "inductance", 4.4),
        ("distance_from_bridge_in = 6", "distance_from_bridge", 0.1524),
        ("coil_resistances_kohm = [3.9, 4]", "coil_resistances", (3900.0, 4000.0)),
    ],
)
def test_bench_units_become_si(key, attr, si):
    assert getattr(only(shortest(more=key)), attr) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("line", "attr", "si"),
    [
        ("remanence_gauss = 12800", "remanence", 1.28),
        ("coercivity_oe = 640", "coercivity", 50.93e3),  # 1 Oe = 79.577 A/m
        ("energy_product_mgoe = 5.5", "energy_product", 43.77e3),  # 1 MGOe = 7.9577 kJ/m3
        ("resistivity_microohm_cm = 47", "resistivity", 47e-8),
    ],
)
def test_magnet_constants_in_the_units_of_data_sheets(line, attr, si):
    constants = {"remanence": "remanence_t = 1.28", "coercivity": "coercivity_ka_per_m = 50.9",
                 "energy_product": "energy_product_kj_per_m3 = 43.8"} | {attr: line}  # fmt: skip
    text = SHORTEST.replace('magnet.grade = "alnico-5"', "[pickups.magnet]\nrecoil_permeability = 3.7\n")
    guitar = parse_guitar(text.format(position="neck", construction="humbucker") + "\n".join(constants.values()))
    assert getattr(only(guitar).magnet.constants, attr) == pytest.approx(si, rel=1e-3)


def test_a_cable_by_length():
    assert shortest(more="[controls]\ncable_m = 6\ncable_pf_per_m = 90\n").controls.cable_capacitance == 540e-12
    guitar = shortest(more="[controls]\ncable_ft = 20\n")
    assert guitar.controls.cable_capacitance == pytest.approx(20 * 0.3048 * 100e-12)
    assert "controls.cable_pf_per_m" in {one.path for one in guitar.assumed}


def test_rough_cast_is_a_finish_of_any_alnico():
    for word in ("alnico-5", "alnico-2", "alnico-5-unoriented"):
        text = SHORTEST.format(position="neck", construction="humbucker")
        magnet = only(parse_guitar(text.replace("alnico-5", f"{word}-rough-cast"))).magnet
        assert (magnet.grade, magnet.finish) == (word, "rough-cast")


def test_rods_may_be_called_slugs():
    one = shortest("rod-single", more="[pickups.slugs]\nslug_diameter = 5\nslug_height = 18\n")
    two = shortest("rod-single", more="[pickups.rods]\ndiameter = 5\nlength = 18\n")
    assert one == two
    assert only(one).poles.rod_lengths == (18e-3,) * 6


def test_staggered_rods():
    lengths = [17, 17.5, 18, 18, 17.5, 17]
    poles = only(shortest("rod-single", more=f"[pickups.rods]\nrod_lengths = {lengths}\n")).poles
    assert poles.rod_lengths == (17e-3, 17.5e-3, 18e-3, 18e-3, 17.5e-3, 17e-3)


def test_pole_keys_count_in_their_own_table_and_in_poles():
    parts = only(shortest(more="[pickups.slugs]\ndiameter = 5\npermeability = 300\n")).poles
    poles = only(shortest(more="[pickups.poles]\nslug_diameter = 5\nslug_permeability = 300\n")).poles
    assert parts == poles
    assert (poles.slug_steel.name, poles.slug_steel.permeability) == (None, 300.0)


def test_steel_laws():
    law = "[pickups.screws]\nsaturation_t = 2.05\nlangevin_a_a_per_m = 680.57\n[pickups.keeper]\nsteel = '1018'\n"
    poles = only(shortest(more=law)).poles
    assert (poles.screw_steel.name, poles.screw_steel.saturation, poles.screw_steel.langevin_a) == (
        None,
        2.05,
        680.57,
    )
    assert poles.keeper_steel.name == "1018" and poles.slug_steel.name == "1010"


def test_coils_one_by_one_take_what_they_share():
    more = "[pickups.coil]\nturns = 5100\n[[pickups.coils]]\n[[pickups.coils]]\nturns = 4900\nresistance_kohm = 4\n"
    slug, screw = only(shortest(more=more)).coils
    assert (slug.turns, screw.turns, slug.resistance, screw.resistance) == (5100.0, 4900.0, None, 4000.0)


def test_own_strings_replace_the_set():
    guitar = shortest(more="[[strings]]\ndiameter = 0.43\npermeability = 100\ny = 5\nheight = 17\nlength = 40\n")
    (string,) = guitar.strings
    assert (string.diameter, string.core_diameter, string.permeability) == (0.43e-3, 0.43e-3, 100.0)
    assert (string.y, string.height, string.length) == (5e-3, 17e-3, 40e-3)
    assert guitar.string_set == "own"


def test_a_keeper_may_be_missing_and_a_cover_there():
    pickup = only(shortest(more='keeper = "none"\ncover = "brass"\nbase_plate = "none"\n'))
    assert pickup.poles.keeper_x_min is None and pickup.base_plate is None
    assert pickup.cover is not None and pickup.cover.material == "brass"


def test_string_sets_have_the_weights_of_printed_tables():
    """Unit weights of .026, .036, .046 round-wound strings in printed tables (from memory):
    0.000127, 0.000240, 0.000382 lb/in; makers' tables differ among themselves by some 3 %."""
    printed = {0.026: 0.000127, 0.036: 0.000240, 0.046: 0.000382}
    for string in shortest().strings[3:]:
        pounds_per_inch = printed[round(string.diameter / 0.0254, 3)]
        assert string.unit_mass == pytest.approx(pounds_per_inch * 0.45359237 / 0.0254, rel=0.03)


def test_strings_of_a_set_are_those_of_the_one_catalogue():
    """The strings that the published tensions are tested on are those that a guitar file gets."""
    for name, one in STRING_SETS.items():
        guitar = parse_guitar(f'string_set = "{name}"\n' + SHORTEST.format(construction="humbucker", position="neck"))
        assert [(s.diameter, s.core_diameter, s.unit_mass) for s in guitar.strings] == [
            (s.diameter, s.core_diameter, s.unit_mass) for s in one.strings
        ]
    assert [round(s.pitch, 2) for s in shortest().strings] == [329.63, 246.94, 196.0, 146.83, 110.0, 82.41]


# ---------------------------------------------------------------- writing


@pytest.fixture(scope="module")
def schema_validator():
    """The schema's own validator, made once: making the schema takes seconds."""
    return jsonschema.Draft202012Validator(guitar_schema())


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_round_trip_and_fit_the_schema(path, schema_validator):
    guitar = read_guitar(path)
    text = write_guitar(guitar)
    assert parse_guitar(text) == guitar
    for document in (path.read_text(encoding="utf-8"), text, write_guitar(replace(guitar, assumed=()))):
        schema_validator.validate(tomllib.loads(document))


def test_the_schema_is_one_and_refuses_what_reading_refuses(schema_validator):
    schema = schema_validator.schema
    jsonschema.Draft202012Validator.check_schema(schema)
    json.dumps(schema, allow_nan=False)
    for wrong in ("colour = 'red'\n", "gap_bass_mm = 40\n", "[controls]\nvolume_pot_kohm = 5\n"):
        text = SHORTEST.format(position="neck", construction="humbucker") + wrong
        assert not schema_validator.is_valid(tomllib.loads(text))
        with pytest.raises(GuitarFileError):
            parse_guitar(text)


def test_a_short_file_stays_short():
    text = write_guitar(shortest())
    assert len(text.splitlines()) < 20 and "[[assumed]]" not in text and "assumed = [" not in text


def test_a_moved_assumption_is_written_out():
    guitar = apply(shortest(), "p", parse_changes(["lower_bass=0.5mm", "magnet=alnico-3"]))
    text = write_guitar(guitar)
    assert parse_guitar(text) == guitar
    moved = next(one for one in guitar.assumed if one.path == "pickups[0].gap_bass_mm")
    assert (moved.value, moved.low, moved.high) == ("3.2 mm (moved)", 2.7, 3.7)


def test_a_line_taken_out_of_a_written_file_is_assumed_again():
    text = write_guitar(replace(shortest(), assumed=()))
    shorter = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("turns ="))
    assert [one.path for one in parse_guitar(shorter).assumed] == ["pickups[0].coil.turns"]


def test_the_reference_page_is_what_its_script_writes():
    script = ROOT / "scripts" / "write_guitar_file_page.py"
    done = subprocess.run([sys.executable, str(script), "--check"], check=False, capture_output=True, text=True)
    assert done.returncode == 0, f"run {script.name} again {done.stderr}"
