"""What an assumed value is, as it is said to a person who never saw a key of the file."""

import re

from polepiece.guitar.assumption import Assumption
from polepiece.guitar.file.path_words import facing_words
from polepiece.guitar.records import Guitar

_PLACE = re.compile(r"^pickups\[\d+\]\.")
_STRING = re.compile(r"^strings\[(\d+)\]\.")
_COIL = re.compile(r"^coils?(?:\[\d+\])?\.")
_UNIT = re.compile(r"_(?:mm|kohm|ohm|nf|pf|h|c|t|hz)$")
_WORDS = {  # by the end of the key, without its unit
    "wiring": "how its coils are connected",
    "wound": "which way round it is wound",
    "lead": "the lead out of it",
    "distance_from_bridge": "how far it sits from the bridge",
    "inductance": "its inductance",
    "capacitance": "the capacitance of its winding",
    "temperature": "the temperature when it was read",
    "potted": "whether it is waxed",
    "magnet.grade": "the grade of its magnet",
    "magnet.charge": "how its magnet was charged",
    "magnet.finish": "the surface of its bar",
    "magnet.flipped": "which way round its bar lies",
    "magnet.bar_to_pole_gap": "the air between bar and poles",
    "slug_steel": "the steel of its slugs",
    "screw_steel": "the steel of its screws",
    "keeper_steel": "the steel of its keeper",
    "screw_raise": "how far its pole screws are up",
    "screw_pitch": "the thread of its pole screws",
    "turns": "the turns of its coils",
    "resistance": "its DC resistance",
    "gap_bass": "its height on the bass side",
    "gap_treble": "its height on the treble side",
    "base_plate": "its base plate",
    "cover": "its cover",
    "screws_face": "which way round it sits in its ring",
    "wire_awg": "the gauge of its wire",
    "wire_build": "the insulation of its wire",
    "fingerboard_radius": "the radius of the fingerboard",
    "strings": "the cores of the wound strings",
    "string_set": "the gauge of the strings",
    "string_age": "the age of the strings",
    "tuning": "the tuning",
    "controls.volume_pot": "the volume pot",
    "controls.tone_pot": "the tone pot",
    "controls.tone_cap": "the tone capacitor",
    "controls.cable": "the cable",
    "controls.input": "the input it is played into",
    "controls.volume_setting": "where the volume stands",
    "controls.tone_setting": "where the tone stands",
    "controls.input_pf": "the capacitance of what it is played into",
    "controls.tone_tap": "where the tone is taken from, before or after the volume",
    "controls.selector": "which pickup is meant where none is named",
    "pole_count": "how many poles it has",
    "pole_spacing": "how far its poles are apart",
    "row_offset": "how far a row of its poles is from the middle",
    "bar_to_pole": "the air between bar and poles",
    "magnetised_through": "through which side its bar is charged",
    "keeper_x_min": "its keeper's edge away from the bridge",
    "keeper_x_max": "its keeper's edge towards the bridge",
    "inner_half_x": "half the hole of its winding along the strings",
    "inner_half_y": "half the hole of its winding along the row",
    "outer_half_x": "half the width of its winding",
    "outer_half_y": "half the length of its winding",
    "coil.bottom": "the lower face of its winding",
    "coil.top": "the upper face of its winding",
    "base_plate.z": "how high its base plate lies",
    "cover.z": "how high its cover lies",
    "plate_gap": "the air between its plate and its rods",
}
_OF_STRING = {
    "core_diameter": "the core of string {}",
    "wrap": "how string {} is wound, and of what",
    "unit_mass_g_per_m": "what string {} weighs",
}
_OWN = ("bar", "slug", "screw", "head", "keeper", "rod", "blade", "plate")  # parts that a key names itself


def assumed_words(path: str, guitar: Guitar | None = None) -> str:
    """Return what stands behind a path of `Assumption`, in words; of ``guitar`` only what its pickup has.

    >>> assumed_words("pickups[0].screws.screw_raise"), assumed_words("controls.cable_pf")
    ('how far its pole screws are up', 'the cable')
    >>> assumed_words("strings[4].core_diameter_mm")
    'the core of string 5'
    """
    if of_string := _STRING.match(path):
        name, number = _UNIT.sub("", path[of_string.end() :]), int(of_string[1]) + 1
        return _OF_STRING.get(name, f"{name.replace('_', ' ')} of string {{}}").format(number)
    if facing := facing_words(path, guitar):
        return f"which way its {facing}"
    whole = _COIL.sub("coil.", _PLACE.sub("", path))
    key = _UNIT.sub("", whole)
    for end in (whole, key, ".".join(key.rsplit(".", 2)[-2:]), key.rpartition(".")[2]):
        if end in _WORDS:
            return _WORDS[end]
    table, _, name = key.rpartition(".")
    if name.partition("_")[0] in _OWN:
        return f"its {name.replace('_', ' ')}"
    owner = f" of its {table.rpartition('.')[2].replace('_', ' ')}" if table and table != "controls" else ""
    return f"{name.replace('_', ' ')}{owner}"


def spread_words(one: Assumption) -> str:
    """Return an assumed value with its 90 % spread."""
    spread = "" if one.low is None or one.high is None else f", {one.low:g} to {one.high:g}"
    return f"{one.value}{spread}"
