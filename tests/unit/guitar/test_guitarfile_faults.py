"""Bad guitar files: each fault names its key, what was given, what is allowed and the likely slip."""

import os

import pytest

from polepiece.errors import GuitarFileError, InputError
from polepiece.guitar.constructions import SLUGS
from polepiece.guitar.file.guitar_file import parse_guitar, read_guitar
from polepiece.guitar.file.unusual import cautions
from tests.tables import every

HEAD = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{}"\n'
OWN = "recoil_permeability = 3.7\nenergy_product_kj_per_m3 = 43.8\n"


def faults(text: str) -> list[str]:
    with pytest.raises(GuitarFileError) as caught:
        parse_guitar(text, "g.toml")
    assert isinstance(caught.value, InputError | ValueError)
    return caught.value.faults


def one_fault(more: str, construction: str = "humbucker") -> str:
    (fault,) = faults(HEAD.format(construction) + more)
    return fault


SLIPS = {
    "tesla and gauss": (
        f"[pickups.magnet]\nremanence_t = 12800\ncoercivity_ka_per_m = 50.9\n{OWN}",
        "pickups[0].magnet.remanence_t is 12800 T; magnets lie between 0.05 and 1.6 T. "
        "If that is gauss, write remanence_gauss = 12800 (1.28 T).",
    ),
    "millitesla for gauss": (
        "[pickups.magnet]\nmeasured_gauss = [3.2]\n",
        "pickups[0].magnet.measured_gauss[0] is 3.2 gauss; pole tops read between 20 and 2000 gauss. "
        "If that is mT, write measured_mt = 3.2 (32 gauss).",
    ),
    "oersted": (
        f"[pickups.magnet]\nremanence_t = 1.28\ncoercivity_ka_per_m = 640\n{OWN}",
        "pickups[0].magnet.coercivity_ka_per_m is 640 kA/m, too much for this remanence and energy product. "
        "If that is oersted, write coercivity_oe = 640 (50.93 kA/m).",
    ),
    "inch for mm": (
        "[pickups.magnet]\nbar_length = 2.5\n",
        "pickups[0].magnet.bar_length is 2.5 mm; bars lie between 20 and 135 mm. "
        "If that is inch, write bar_length_in = 2.5 (63.5 mm).",
    ),
    "gap in inches": (
        "gap_bass_mm = 0.08\n",
        "pickups[0].gap_bass_mm is 0.08 mm; gaps lie between 0.3 and 8 mm. "
        "If that is inch, write gap_bass_in = 0.08 (2.032 mm).",
    ),
    "gap as a fraction": (
        'gap_bass_mm = "5/64"\n',
        'pickups[0].gap_bass_mm is "5/64" mm; a fraction is usually of an inch. '
        'If so, write gap_bass_in = "5/64" (1.98438 mm).',
    ),
    "ohm for kohm": (
        "resistance_kohm = 7800\n",
        "pickups[0].resistance_kohm is 7800 kohm; pickups lie between 1 and 30 kohm. "
        "If that is ohm, write resistance_ohm = 7800 (7.8 kohm).",
    ),
    "500 for 500 k": (
        "[controls]\nvolume_pot_ohm = 500\n",
        "controls.volume_pot_ohm is 500 ohm; pots lie between 50000 and 2000000 ohm. "
        "If that is kohm, write volume_pot_kohm = 500 (500 kohm).",
    ),
    "500 without a unit": (
        "[controls]\nvolume_pot = 500\n",
        "controls.volume_pot is 500 without a unit; "
        "write the unit into the key: volume_pot_kohm or volume_pot_ohm or volume_pot_megohm.",
    ),
    "megohm": (
        "[controls]\ntone_pot_kohm = 0.5\n",
        "controls.tone_pot_kohm is 0.5 kohm; pots lie between 50 and 2000 kohm. "
        "If that is megohm, write tone_pot_megohm = 0.5 (500 kohm).",
    ),
    "millihenry for henry": (
        "inductance_h = 4400\n",
        "pickups[0].inductance_h is 4400 H; pickups lie between 0.5 and 20 H. "
        "If that is mH, write inductance_mh = 4400 (4.4 H).",
    ),
    "microfarad for nanofarad": (
        "[controls]\ntone_cap_nf = 0.022\n",
        "controls.tone_cap_nf is 0.022 nF; tone capacitors lie between 0.5 and 220 nF. "
        "If that is uF, write tone_cap_uf = 0.022 (22 nF).",
    ),
    "picofarad for nanofarad": (
        "[controls]\ntone_cap_nf = 22000\n",
        "controls.tone_cap_nf is 22000 nF; tone capacitors lie between 0.5 and 220 nF. "
        "If that is pF, write tone_cap_pf = 22000 (22 nF).",
    ),
    "code printed on a capacitor": (
        "[controls]\ntone_cap_nf = 223\n",
        "controls.tone_cap_nf is 223 nF; tone capacitors lie between 0.5 and 220 nF. "
        "If 223 is printed on the capacitor, that is 22 nF.",
    ),
    "feet for metres": (
        "[controls]\ncable_m = 40\n",
        "controls.cable_m is 40 m; cables lie between 0.3 and 30 m. "
        "If that is feet, write cable_ft = 40 (12.192 m).",
    ),
    "per metre without a length": (
        "[controls]\ncable_pf_per_m = 100\n",
        "controls.cable_pf_per_m needs cable_m, the length; if it is the whole cable, write cable_pf.",
    ),
    "per cent charge": (
        "[pickups.magnet]\ncharge = 80\n",
        "pickups[0].magnet.charge is 80; fractions lie between 0 and 1. If that is per "
        "cent, write charge = 0.8.",
    ),
    "MGOe": (
        "[pickups.magnet]\nremanence_t = 1.28\ncoercivity_ka_per_m = 50.9\nrecoil_permeability = 3.7\n"
        "energy_product_kj_per_m3 = 5.5\n",
        "pickups[0].magnet.energy_product_kj_per_m3 is 5.5 kJ/m3; with this remanence and coercivity it lies "
        "between 16.29 and 65.15 kJ/m3. If that is MGOe, write energy_product_mgoe.",
    ),
    "intrinsic coercivity": (
        "[pickups.magnet]\nremanence_t = 0.385\ncoercivity_ka_per_m = 330\nrecoil_permeability = 1.05\n"
        "energy_product_kj_per_m3 = 27.9\n",
        "pickups[0].magnet.coercivity_ka_per_m is 330 kA/m; HcB cannot exceed remanence / mu0, 306.4 kA/m. "
        "Is that the intrinsic coercivity HcJ?",
    ),
    "grade as a number": (
        "[pickups.magnet]\ngrade = 5\n",
        'pickups[0].magnet.grade is 5; it must be a word in quotes. Write grade = "alnico-5".',
    ),
    "grade as a digit": (
        '[pickups.magnet]\ngrade = "V"\n',
        'pickups[0].magnet.grade is "V"; grades are written with their family: alnico-5 '
        '(or ceramic-5, ceramic-8).',
    ),
    "ferrite": (
        '[pickups.magnet]\ngrade = "ceramic"\n',
        'pickups[0].magnet.grade is "ceramic"; ferrite comes as ceramic-5 or ceramic-8; '
        "write ceramic-8 when it is not known which.",
    ),
    "rare earth": (
        '[pickups.magnet]\ngrade = "neodymium"\n',
        'pickups[0].magnet.grade is "neodymium"; '
        "rare earth has no grade here; write its own constants instead of a grade, of neodymium N35: "
        "remanence_t = 1.19, coercivity_ka_per_m = 868, energy_product_kj_per_m3 = 275, recoil_permeability = 1.05, "
        "resistivity_microohm_cm = 150.",
    ),
    "rough ferrite": (
        '[pickups.magnet]\ngrade = "ceramic-8-rough-cast"\n',
        'pickups[0].magnet.grade is "ceramic-8-rough-cast"; '
        "rough cast is a finish of an alnico; ferrite is pressed and ground.",
    ),
    "nan": (
        "gap_bass_mm = nan\n",
        "pickups[0].gap_bass_mm is NaN; it must be a finite number. Leave the key out when it is not known.",
    ),
    "inf": (
        "[pickups.coil]\nturns = inf\n",
        "pickups[0].coil.turns is Infinity; it must be a finite number. Leave the key "
        "out when it is not known.",
    ),
    "a truth for a number": ("gap_bass_mm = true\n", "pickups[0].gap_bass_mm is true; it must be a number."),
    "an open coil": (
        'coil_resistances_kohm = [4.1, "OL"]\n',
        "pickups[0].coil_resistances_kohm[1] is 'OL'; it is not one number with a unit. "
        'An open coil is a fault; write symptoms = ["open coil"] at the top of the file.',
    ),
    "unit against key": (
        'resistance_kohm = "7800 ohm"\n',
        'pickups[0].resistance_kohm is "7800 ohm", but the key says kohm: change one of them.',
    ),
    "unit of another kind": (
        'resistance_kohm = "22n"\n',
        "pickups[0].resistance_kohm is \"22n\"; 'n' is not a unit it can have (kohm, ohm, megohm).",
    ),
    "misspelled key": (
        "gap_base_mm = 2.4\n",
        "pickups[0].gap_base_mm is not a key of this table; the nearest key is gap_bass_mm.",
    ),
    "key in the wrong table": (
        "tone_cap_nf = 22\n",
        "pickups[0].tone_cap_nf is not a key of this table; it belongs in [controls].",
    ),
    "said twice": (
        "gap_bass_mm = 2.4\ngap_bass_in = 0.1\n",
        "pickups[0].gap_bass_in says again what pickups[0].gap_bass_mm says; keep one of them.",
    ),
    "grade and constants": (
        f'[pickups.magnet]\ngrade = "alnico-5"\nremanence_t = 1.28\ncoercivity_ka_per_m = 50.9\n{OWN}',
        "pickups[0].magnet.grade is given beside own constants (remanence_t ...); keep one of them.",
    ),
    "constants not whole": (
        "[pickups.magnet]\nremanence_t = 1.28\ncoercivity_ka_per_m = 50.9\n",
        "pickups[0].magnet has own constants but not all of them; also needed: energy_product_kj_per_m3, "
        "recoil_permeability.",
    ),
    "two steel laws": (
        "[pickups.slugs]\nsteel = '1018'\npermeability = 800\n",
        "pickups[0].slugs.permeability is one law too many; "
        "give a named steel, or permeability, or saturation_t with langevin_a_a_per_m.",
    ),
    "half a steel law": (
        "[pickups.slugs]\nsaturation_t = 2\n",
        "pickups[0].slugs.saturation_t needs its partner; saturation_t and "
        "langevin_a_a_per_m belong together.",
    ),
    "a permeability of brass": (
        'cover = {material = "brass", permeability = 300}\n',
        "pickups[0].cover.permeability is of a steel sheet, but this one is brass; "
        "is it steel (a fridge magnet sticks)?",
    ),
    "wrong word": (
        'screws_face = "bridg"\n',
        'pickups[0].screws_face is "bridg"; it must be one of neck, bridge. Did you mean bridge?',
    ),
    "half a wire gauge": (
        "[pickups.coil]\nwire_awg = 42.5\n",
        "pickups[0].coil.wire_awg is 42.5; it must be a whole number.",
    ),
    "one screw too few": (
        "[pickups.screws]\nscrew_raise = [0, 0, 0]\n",
        "pickups[0].screws.screw_raise has 3 values; it needs one for each of the 6 poles, string 1 first.",
    ),
    "three coils": (
        "[[pickups.coils]]\n[[pickups.coils]]\n[[pickups.coils]]\n",
        "pickups[0].coils has 3 coils; a humbucker has 2 (slug coil, then screw coil).",
    ),
    "a single number for a set": (
        "",
        'string_set is "10"; sets are 9-42, 10-46, 11-49, 12-54, of other than six strings '
        "40-100, 45-100, 45-105, 50-105, 45-130, 9-54, 10-56, 10-59, 10-62, 10-74, 9-65. "
        "Other strings are said gauge by gauge, "
        "string 1 first: 10 13 17 26 36 46 (in a file one [[strings]] table each). "
        "A set is named by its first and last string; did you mean 10-46?",
    ),
}  # fmt: skip


@every(SLIPS)
def test_a_slip_is_named(slip):
    more, sentence = SLIPS[slip]
    head = "string_set = 10\n" if slip == "a single number for a set" else ""
    assert faults(head + HEAD.format("humbucker") + more) == [sentence]


OVERLAPS = {
    "slug in bar": (
        "humbucker", "[pickups.poles]\nrow_offset = 8\nkeeper_x_min=-10.6\nkeeper_x_max=-6.4\n",
        "has slugs and bar that overlap by 0.75 mm (slugs x 5.6 to 10.4, z 0 to 12.5 mm; "
        "bar x -6.35 to 6.35, z 0 to 3.175 mm).",
    ),
    "keeper in bar": (
        "humbucker", "[pickups.keeper]\nx_max = -6\n",
        "has keeper and bar that overlap by 0.35 mm (keeper x -11.6 to -6, z 0 to 3.175 mm; "
        "bar x -6.35 to 6.35, z 0 to 3.175 mm).",
    ),
    "holes of a steel plate too small": (
        "humbucker", 'base_plate = {material = "steel", hole_mm = 2.5}\n',
        "has screws that do not pass the holes of the steel base plate: 2.5 mm wide, x -10.5 to -7.5, z -6 to 12.5 mm.",
    ),
    "screws at the rim of a steel plate": (
        "humbucker", 'base_plate = {material = "steel", width_mm = 19}\n',
        "has screws that cut the rim of the steel base plate: x -10.5 to -7.5, z -6 to 12.5 mm, it ends at x 9.5 mm.",
    ),
    "blades through a steel plate": (
        "twin-blade", 'base_plate = "steel"\n[pickups.blades]\nbottom_mm = -4\n',
        "has blades that go through a steel base plate, whose slots are not modelled; next best: base_plate "
        '= "none", with inductance_h and the pole tops (magnet.measured_gauss) measured.',
    ),
    "middle of three bars in the slugs": (
        "three-bars", "[pickups.magnet]\nbar_width = 14\n",
        "has slugs and middle bar that overlap by 0.4 mm (slugs x 6.6 to 11.4, z 0 to 12.5 mm; "
        "middle bar x -7 to 7, z 0 to 4.8 mm).",
    ),
    "keeper beside its screws": (
        "humbucker", "[pickups.keeper]\nx_min = -8\n",
        "has its keeper (-8 mm to -6.4 mm) beside its screws, which stand at x = -9 mm.",
    ),
    "neighbouring poles": (
        "rod-single", "[pickups.rods]\nrod_diameter = 11\n",
        "has neighbouring poles that overlap: rod_diameter is 11 mm, pole_spacing 10.4 mm.",
    ),
    "screws in their coil": (
        "humbucker", "[pickups.screws]\nscrew_diameter = 7\nhead_diameter = 7\n",
        "has screws that overlap the screw coil: they reach 3.5 mm, its inner_half_x 3.2 mm.",
    ),
    "heads in their coil": (
        "humbucker", "[pickups.screws]\nscrew_top = 10\nhead_diameter = 7\n",
        "has screw heads that overlap the screw coil: they reach 3.5 mm, its inner_half_x 3.2 mm.",
    ),
    "row longer than its coil": (
        "humbucker", "[pickups.poles]\npole_spacing = 11\n[pickups.coil]\ninner_half_y = 29\n",
        "has slugs that overlap the slug coil: they reach 29.9 mm, its inner_half_y 29 mm.",
    ),
    "coil in the bar": (
        "bar-single", "[pickups.coil]\nbottom = 4\n",
        "has a coil that overlaps the bar: it starts at 4 mm, the bar ends at 5 mm.",
    ),
    "coils in each other": (
        "humbucker", "[pickups.coil]\nouter_half_x = 9.5\n",
        "has coils that overlap by 1 mm in the middle of the pickup.",
    ),
    "coil inside out": (
        "rod-single", "[pickups.coil]\ninner_half_x = 9\n",
        "has a coil whose inner half-widths are not smaller than its outer ones.",
    ),
    "coil upside down": (
        "rod-single", "[pickups.coil]\nbottom = 15\n", "has a coil with bottom 15 mm not under top 14 mm.",
    ),
    "poles in the bar": (
        "bar-single", "[pickups.slugs]\nslug_bottom = 4\n",
        "has slugs and bar that overlap by 1 mm (slugs x -2.4 to 2.4, z 4 to 17.5 mm; "
        "bar x -5 to 5, z 0 to 5 mm).",
    ),
    "slug upside down": (
        "humbucker", "[pickups.slugs]\nslug_bottom = 13\n",
        "has slug_bottom 13 mm not under slug_height 12.5 mm.",
    ),
    "head thinner than its screw": (
        "humbucker", "[pickups.screws]\nhead_diameter = 2\n",
        "has head_diameter 2 mm under its screw (3 mm).",
    ),
    "base plate in the magnet": (
        "humbucker", "[pickups.base_plate]\nz = 1\n",
        "has a base plate that overlaps the magnet: its upper face is at 1.25 mm.",
    ),
    "cover on the slugs": (
        "humbucker", "[pickups.cover]\nz = 12\n",
        "has a cover that overlaps the slugs: under face 11.75 mm, they end at 12.5 mm.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", OVERLAPS)
def test_overlapping_parts_are_named(case):
    construction, more, sentence = OVERLAPS[case]
    found = faults(HEAD.format(construction) + more)
    assert f"pickups[0] {sentence}" in found, found


@pytest.mark.parametrize("word", ["stacked coils", "Stacked_Humbucker", "stacked", "piezo"])
def test_what_is_not_covered_is_refused_by_name(word):
    fault = one_fault("", word)
    assert fault.startswith(f'pickups[0].construction is "{word}", which this version does not cover: ')
    assert "; next best: " in fault or fault.endswith("leave it out of the file.")


def test_an_unheard_of_construction_is_told_which_there_are():
    assert one_fault("", "humbuker") == (
        f'pickups[0].construction is "humbuker"; it must be one of {", ".join(SLUGS)}. Did you mean humbucker?'
    )


@pytest.mark.parametrize(
    ("word", "slug"),
    [
        ("Mini Humbucker", "small-humbucker"),
        ("two adjustable rows", "two-screw-rows"),
        ("one_side_bar", "side-bar-single"),
    ],
)
def test_words_of_the_trade_are_read(word, slug):
    text = HEAD.format("humbucker").replace('construction = "humbucker"', f'construction = "{word}"')
    assert parse_guitar(text).pickups[0].construction == slug


def test_parts_that_a_construction_lacks_are_refused():
    fault = one_fault("[pickups.keeper]\nkeeper_top = 3\n", "rod-single")
    assert fault == "pickups[0].keeper.keeper_top is not a part of a rod-single; leave it out."


def test_all_faults_come_at_once_each_with_its_place():
    text = (
        "colour = 1\n" + HEAD.format("humbucker") + "gap_bass_mm = 20\nresistance_kohm = 7800\n"
        '[pickups.magnet]\ngrade = "alnico-55"\n' + HEAD.format("rod-single").replace('"p"', '"q"')
        + '[[pickups]]\nname = "p"\n[[complaints]]\npickup = "z"\nword = "muddy"\n'
    )  # fmt: skip
    places = [fault.split(" ")[0] for fault in faults(text)]
    assert places == [
        "colour", "pickups[0].gap_bass_mm", "pickups[0].resistance_kohm", "pickups[0].magnet.grade",
        "pickups[2].position", "pickups[2].construction", "complaints[0].pickup",
    ]  # fmt: skip


def test_two_pickups_of_one_name():
    assert faults(HEAD.format("humbucker") * 2) == [
        'pickups[1].name is "p" again; every pickup needs a name of its own.'
    ]


@pytest.mark.parametrize("text", ["", "  \n", "name = 'x'\n"])
def test_nothing_to_read(text):
    (fault,) = faults(text)
    assert "[[pickups]]" in fault and "\n" not in fault


@pytest.mark.parametrize(
    "text",
    [
        "name = ",
        "name == 3",
        "[[pickups",
        "pickups = 3",
        "[pickups]\nname = 'x'",
        "[[pickups]]\nmagnet = 3",
        "a=" + "[" * 5000,
    ],
)
def test_broken_toml_and_wrong_shapes_are_one_paragraph(text):
    for fault in faults(text):
        assert "\n" not in fault and "Traceback" not in fault


def test_files_that_cannot_be_read(tmp_path):
    binary, large, empty = tmp_path / "b.toml", tmp_path / "l.toml", tmp_path / "e.toml"
    binary.write_bytes(b"\xff\xfe\x00name")
    large.write_bytes(b"# " + b"x" * (1 << 20))
    empty.write_bytes(b"")
    words = {
        binary: "is not UTF-8", large: "is larger than 1 MiB", empty: "is empty",
        tmp_path: "is a folder", tmp_path / "no.toml": "there is no such file",
    }  # fmt: skip
    for path, word in words.items():
        with pytest.raises(GuitarFileError, match=word) as caught:
            read_guitar(path)
        assert "\n" not in str(caught.value) and path.name in str(caught.value)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads every file")
def test_a_file_without_permission(tmp_path):
    path = tmp_path / "g.toml"
    path.write_text("x")
    path.chmod(0)
    with pytest.raises(GuitarFileError, match="cannot be read"):
        read_guitar(path)


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    path = tmp_path / "g.toml"
    path.write_bytes(b"\xef\xbb\xbf" + HEAD.format("humbucker").replace("\n", "\r\n").encode())
    assert read_guitar(path).pickups[0].name == "p"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("gap_bass_mm = 2\ngap_treble_mm = 2.6\n", "Are bass and treble swapped?"),
        ("gap_treble_mm = 1\ngap_bass_mm = 2.4\n", "has strings 1 and 2 at 1 to 1.28 mm from their poles; under 1.5"),
        ("gap_treble_mm = 1\ncover = 'brass'\n", "Was it measured to the cover?"),
        ("[controls]\ntone_cap_nf = 0.68\n", "Is that the treble bleed?"),
        ("[controls]\ncable_pf = 90\n", "controls.cable_pf is 90 pF; usual are 150 to 1500 pF."),
        ("resistance_kohm = 2\n", "pickups[0].resistance_kohm is 2 kohm; usual are 3 to 20 kohm."),
        (
            "[pickups.magnet]\nbar_length = 50\n",
            "pickups[0].magnet.bar_length is 50 mm; usual are 55 to 65 mm.",
        ),
    ],
)
def test_the_unusual_is_asked_about_but_accepted(more, words):
    assert any(words in one for one in cautions(parse_guitar(HEAD.format("humbucker") + more)))


@pytest.mark.parametrize(
    "value",
    [
        "1e400",
        "-1e-400",
        "1" + "0" * 400,
        '"1e999999999"',
        '"1/' + "9" * 99 + '"',
        '"9/0"',
        "[[[1]]]",
        "1979-05-27",
    ],
)
def test_numbers_beyond_any_measure_and_things_that_are_none(value):
    fault = one_fault(f"gap_bass_mm = {value}\n")
    assert fault.startswith("pickups[0].gap_bass_mm is ") and len(fault) < 250


def test_a_name_that_turns_the_writing_after_it_round_is_refused():
    (fault,) = faults('name = "a \u202eguitar"\n' + HEAD.format("humbucker"))
    assert fault == "name holds an invisible character that turns writing round (U+202E); delete it."
    assert parse_guitar('name = "גיטרה"\n' + HEAD.format("humbucker") + '[pickups.magnet]\ngrade = "alnico-5"\n').name


def test_a_decimal_comma_without_quotes_is_named():
    text = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "humbucker"\ngap_bass_mm = 2,6\n'
    with pytest.raises(GuitarFileError, match=r'decimal comma needs quotes in TOML: 2\.6 or "2,6"'):
        parse_guitar(text)
    with pytest.raises(GuitarFileError, match="a number is too long"):
        parse_guitar(f"gap = {'9' * 5000}\n")
