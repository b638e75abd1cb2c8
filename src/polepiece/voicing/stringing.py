"""The strings of a guitar as the magnetics and the motion need them."""

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.strings import Rod, SpeakingString
from polepiece.voicing import engine
from polepiece.voicing.anatomy import Anatomy, anatomy
from polepiece.voicing.engine import StringLayout
from polepiece.voicing.gaps import string_undersides
from polepiece.voicing.guitar import Guitar, Pickup, String
from polepiece.voicing.spread import NOMINAL, SIGMAS, Draw

# initial, log-uniform range; stated assumption: no law of string wire is published
STRING_PERMEABILITY = (60.0, 1000.0)
STRING_SATURATION = (1.6, 2.0)  # T; stated assumption
# axial, of a magnetic wrap; assumption: small gaps between turns
WRAP_PERMEABILITY, WRAP_NOMINAL = (2.0, 12.0), 5.0
MAGNETIC_WRAPS = ("nickel-plated-steel", "stainless", "pure-nickel")

ABOVE_COVER = 0.2e-3  # m, the lowest string axis over a cover's upper face: thinner strings would touch it


def string_places(guitar: Guitar, unit: Pickup) -> tuple[FloatArray, FloatArray]:
    """Return y and height of each string's axis (k,), m, string 1 first."""
    count = len(guitar.strings)
    ys = anatomy(unit).pole_y
    under = string_undersides(unit)
    spread = np.linspace(0.0, 1.0, count) if count > 1 else np.zeros(1)
    y = np.array([s.y if s.y is not None else np.interp(t, np.linspace(0, 1, len(ys)), ys)
                  for s, t in zip(guitar.strings, spread)])  # fmt: skip
    height = np.array(
        [s.height if s.height is not None else np.interp(t, np.linspace(0, 1, len(under)), under) + 0.5 * s.diameter
         for s, t in zip(guitar.strings, spread)]
    )  # fmt: skip
    return y, height


def string_layout(guitar: Guitar, unit: Pickup, shape: Anatomy) -> StringLayout:
    """Return where tables along the strings are needed."""
    y, _ = string_places(guitar, unit)
    if shape.assembly.is_mirrored():
        y = np.abs(y)
    lengths = {s.length for s in guitar.strings}
    if len(lengths) != 1:
        raise InputError(f"all strings need one modelled length; given are {sorted(1e3 * v for v in lengths)} mm.")
    return StringLayout(
        y=tuple(sorted({round(float(v), 9) for v in y})), length=lengths.pop(), low=_lowest(shape),
        high=shape.top + engine.HIGHEST,
    )  # fmt: skip


def _lowest(shape: Anatomy) -> float:
    """Return the lowest string axis of the tables, m: above the poles, and above a cover, where psi jumps."""
    faces = [plate.z + 0.5 * plate.thickness for plate in shape.plates]
    return max([shape.top + engine.LOWEST, *(face + ABOVE_COVER for face in faces)])


def string_rod(string: String, draw: Draw = NOMINAL) -> Rod:
    """Return the magnetic rod of a string; its law is a stated assumption and moves with the draw."""
    if string.permeability is not None:
        return Rod(diameter=string.core_diameter, initial_permeability=string.permeability)
    if draw.number:
        z = draw.deviate("string permeability") / SIGMAS
        low, high = np.log(STRING_PERMEABILITY[0]), np.log(STRING_PERMEABILITY[1])
        initial = float(np.exp(0.5 * (low + high) + 0.5 * z * (high - low)))
        saturation = draw.value("string saturation", string.saturation, *STRING_SATURATION)
    else:
        initial, saturation = string.initial_permeability, string.saturation
    wrap = 1.0
    if string.wrap in MAGNETIC_WRAPS and string.core_diameter < string.diameter:
        # each material has a permeability of its own within the range: one for another is not known to be no change
        name = "wrap" if string.wrap == "nickel-plated-steel" else f"wrap {string.wrap}"
        wrap = draw.value(name, WRAP_NOMINAL, *WRAP_PERMEABILITY)
    return Rod(
        diameter=string.core_diameter, initial_permeability=max(initial, 1.0), saturation=saturation,
        wrap_diameter=string.diameter if wrap > 1.0 else 0.0, wrap_permeability=max(wrap, 1.0),
    )  # fmt: skip


def open_strings(guitar: Guitar) -> tuple[tuple[float, ...], list[bool]]:
    """Return the pitch of each open string, Hz, string 1 first, and which are wound.

    Raises
    ------
    InputError
        When a string has no pitch.
    """
    pitches = tuple(one.pitch for one in guitar.strings if one.pitch is not None)
    if len(pitches) != len(guitar.strings):
        raise InputError(f"{guitar.name}: a string has no pitch; give the guitar file string_set and tuning.")
    return pitches, [one.core_diameter < one.diameter for one in guitar.strings]


def speaking_strings(guitar: Guitar) -> list[SpeakingString]:
    """Return the strings as the motion needs them; strings without pitch or mass are left out."""
    return [
        SpeakingString(
            diameter=s.diameter, core_diameter=s.core_diameter, unit_mass=s.unit_mass, pitch=s.pitch,
            length=guitar.scale_length,
        )
        for s in guitar.strings
        if s.unit_mass is not None and s.pitch is not None
    ]  # fmt: skip
