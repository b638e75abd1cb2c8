"""The strings of a guitar as the magnetics and the motion need them."""

from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.guitar import (
    NOMINAL,
    OVER_COVER,
    SIGMAS,
    Draw,
    Guitar,
    Pickup,
    String,
    cover_face,
    pole_ys,
    underside_at,
)
from polepiece.pickup import engine
from polepiece.pickup.anatomy import Anatomy
from polepiece.pickup.model import StringLayout
from polepiece.strings import Rod, SpeakingString, core_spread

# initial, log-uniform range; stated assumption: no law of string wire is published
STRING_PERMEABILITY = (60.0, 1000.0)
STRING_SATURATION = (1.6, 2.0)  # T; stated assumption
# axial, of a magnetic wrap; assumption: small gaps between turns
WRAP_PERMEABILITY, WRAP_NOMINAL = (2.0, 12.0), 5.0
COURSE, FEWEST_IN_COURSES = 2e-3, 8  # m between the two strings of a course; common practice, no source
MAGNETIC_WRAPS = ("nickel-plated-steel", "stainless", "pure-nickel")
ABOVE_COVER = (
    0.2e-3  # m, where tables begin over a cover's upper face: motion is followed 0.3 mm down (`sensing_across`)
)


def string_places(guitar: Guitar, pickup: Pickup) -> tuple[FloatArray, FloatArray]:
    """Return y and height of each string's axis (k,), m, string 1 first."""
    return _places(guitar.strings, pickup)


@lru_cache(maxsize=256)
def _places(strings: tuple[String, ...], pickup: Pickup) -> tuple[FloatArray, FloatArray]:
    usual = string_ys(len(strings), pole_ys(pickup.poles))
    y = np.array([usual[k] if s.y is None else s.y for k, s in enumerate(strings)])
    height = np.array(
        [underside_at(pickup, y[k]) + 0.5 * s.diameter if s.height is None else s.height for k, s in enumerate(strings)]
    )
    y.flags.writeable = height.flags.writeable = False
    return y, height


def string_ys(count: int, poles: tuple[float, ...]) -> FloatArray:
    """Return where strings lie across poles at these y (m), string 1 first, where nobody says.

    One over each pole; two poles a string: between them; two strings a pole: courses of `COURSE`, one to each side;
    otherwise evenly from the first pole to the last.

    Common practice, no source.
    """
    at = np.asarray(poles, dtype=float)
    if count == len(at):
        return at
    if count == 2 * len(at) and count >= FEWEST_IN_COURSES:
        return np.asarray(np.repeat(at, 2) + np.tile([0.5 * COURSE, -0.5 * COURSE], len(at)))
    if len(at) == 2 * count:
        return np.asarray(0.5 * (at[0::2] + at[1::2]))
    return np.linspace(at[0], at[-1], count) if count > 1 else np.array(at[:1])


def own_poles(guitar: Guitar, pickup: Pickup) -> tuple[int, ...]:
    """Return the pole that is nearest to each string, counted from 0, string 1 first."""
    at = np.array(pole_ys(pickup.poles))
    return tuple(int(np.argmin(np.abs(at - one))) for one in string_places(guitar, pickup)[0])


def string_layout(guitar: Guitar, pickup: Pickup, shape: Anatomy) -> StringLayout:
    """Return where tables along the strings are needed.

    Raises
    ------
    InputError
        When a string would touch the cover, or lengths differ.
    """
    y, height = string_places(guitar, pickup)
    _check_over_cover(pickup, height - [0.5 * s.diameter for s in guitar.strings])
    if shape.assembly.is_mirrored():
        y = np.abs(y)
    lengths = {s.length for s in guitar.strings}
    if len(lengths) != 1:
        raise InputError(f"all strings need one modelled length; given are {sorted(1e3 * v for v in lengths)} mm.")
    return StringLayout(
        y=tuple(sorted({round(float(v), 9) for v in y})), length=lengths.pop(), low=_lowest(shape),
        high=shape.top + engine.HIGHEST,
    )  # fmt: skip


def _check_over_cover(pickup: Pickup, undersides: FloatArray) -> None:
    """Refuse strings whose ``undersides`` (m above the pickup's base) lie in the cover or on it."""
    face = cover_face(pickup)
    if face is None or (undersides >= face + OVER_COVER - 1e-9).all():
        return
    worst = int(np.argmin(undersides))
    raise InputError(
        f"string {worst + 1} would touch the cover of {pickup.name}: its underside is {1e3 * undersides[worst]:.4g} mm "
        f"above the pickup's base and the cover's upper face {1e3 * face:.4g} mm; at least "
        f"{1e3 * OVER_COVER:.3g} mm between them are allowed. Gaps are measured from the poles as drawn: were "
        "they measured from the cover, or does the cover lie lower (its z_mm)?"
    )


def _lowest(shape: Anatomy) -> float:
    """Return the lowest string axis of the tables, m: above the poles, and above a cover, where psi jumps."""
    faces = [plate.z + 0.5 * plate.thickness for plate in shape.plates]
    return max([shape.top + engine.LOWEST, *(face + ABOVE_COVER for face in faces)])


def string_rods(guitar: Guitar, draw: Draw = NOMINAL) -> tuple[Rod, ...]:
    """Return the magnetic rods of all strings; a core that is only assumed moves with the draw."""
    told = {one.path for one in guitar.assumed}
    assumed = ["strings" in told or f"strings[{k}].core_diameter" in told for k in range(len(guitar.strings))]
    return tuple(string_rod(one, draw, core_is_assumed=open_) for one, open_ in zip(guitar.strings, assumed))


def string_rod(string: String, draw: Draw = NOMINAL, *, core_is_assumed: bool = False) -> Rod:
    """Return the magnetic rod of a string; its law is a stated assumption and moves with the draw."""
    core = string.core_diameter
    if core_is_assumed and core < string.diameter and draw.number:
        # one deviate for one make of string: it is the same string before and after, and on two guitars
        name = f"core of {1e6 * string.diameter:.0f}"
        core = min(core * draw.factor(name, *core_spread(string.diameter)), 0.95 * string.diameter)
    if string.permeability is not None:
        return Rod(diameter=core, initial_permeability=string.permeability)
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
        diameter=core, initial_permeability=max(initial, 1.0), saturation=saturation,
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


def wound_strings(guitar: Guitar) -> "np.ndarray":
    """Return which strings are wound (k,), bool."""
    return np.array([one.core_diameter < one.diameter for one in guitar.strings])


def tuned_strings(guitar: Guitar) -> list[SpeakingString]:
    """Return every open string as the motion needs it, string 1 first.

    Raises
    ------
    InputError
        When a string has no pitch or no mass: then it has no motion.
    """
    silent = [k + 1 for k, one in enumerate(guitar.strings) if one.unit_mass is None or one.pitch is None]
    if silent:
        named = ", ".join(str(k) for k in silent)
        raise InputError(
            f"{guitar.name}: string {named} has no pitch or mass, so its motion cannot be computed; "
            "give the guitar file string_set and tuning, or gauge and pitch of every string."
        )
    return [_speaking(guitar, one) for one in guitar.strings]


def _speaking(guitar: Guitar, string: String) -> SpeakingString:
    assert string.unit_mass is not None and string.pitch is not None
    return SpeakingString(
        diameter=string.diameter, core_diameter=string.core_diameter, unit_mass=string.unit_mass, pitch=string.pitch,
        length=guitar.scale_length,
    )  # fmt: skip
