"""What an assumed value is, as it is said to a person who never saw a key of the file."""

import re

from polepiece.guitar.assumption import Assumption

_PLACE = re.compile(r"^(?:pickups|strings)\[\d+\]\.")
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
    "screws_face": "which way its screws face",
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
    "core_diameter": "the core of a string",
}


def assumed_words(path: str) -> str:
    """Return what stands behind a path of `Assumption`, in words.

    >>> assumed_words("pickups[0].screws.screw_raise"), assumed_words("controls.cable_pf")
    ('how far its pole screws are up', 'the cable')
    """
    key = _UNIT.sub("", _PLACE.sub("", path))
    for end in (key, ".".join(key.rsplit(".", 2)[-2:]), key.rpartition(".")[2]):
        if end in _WORDS:
            return _WORDS[end]
    table, _, name = key.rpartition(".")
    owner = f" of the {table.rpartition('.')[2].replace('_', ' ')}" if table and table != "controls" else ""
    return f"{name.replace('_', ' ')}{owner}"


def spread_words(one: Assumption) -> str:
    """Return an assumed value with its 90 % spread."""
    spread = "" if one.low is None or one.high is None else f", {one.low:g} to {one.high:g}"
    return f"{one.value}{spread}"
