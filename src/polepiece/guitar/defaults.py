"""What is assumed of a pickup by its construction and position, where that is not what its parameters say.

Every parameter has its default in its own line (`records`, `parts`, `coil`, `controls`): that of a humbucker at the
neck. Here is what is otherwise. Values are in the units of the guitar file (mm, kohm, nF, pF). The spread is meant as
90 %: nineteen in twenty instruments on a bench are above ``low``, nineteen in twenty below ``high``. Everything here is
common practice without a source unless its ``basis`` says otherwise; none of it is a constant of the physics.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from polepiece.guitar.assumption import FEELER, LOOK, SPACING, Default, defaults_of
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import Construction, construction_of
from polepiece.guitar.parameter import parameters_of
from polepiece.guitar.parts import Magnet, Poles, Position
from polepiece.guitar.records import Pickup
from polepiece.strings import USUAL_SCALE

DRAWN = "the drawn geometry is used as it is, because own magnet constants are given"

USUAL = defaults_of((
    *parameters_of(Pickup), *parameters_of(Magnet, "magnet."), *parameters_of(Poles, "poles."),
    *parameters_of(Coil, "coil."),
))  # fmt: skip

_GAP = next(one for one in parameters_of(Pickup) if one.attr == "gap_bass")

BASS_FROM = 0.7e-3  # m: string 1 of a bass, C3 of a six-string too, is thicker, that of a baritone or of a bass with
#                     the spacing of a guitar is not (common practice)
ONE_POLE_EACH = (4, 5, 7, 8, 9)  # strings; with six every construction says it itself
IN_PAIRS = 12  # strings, over six poles, or over twelve that stand half as far apart
BASS_SPACING = Default(18.0, 16.0, 20.0, SPACING)
ON_A_BLADE = {  # no pole is seen there
    "poles.count": "count the strings over it; a pair is one",
    "poles.pole_spacing": "caliper over the outer strings at the pickup, divided by one less than there are",
}
BASS_PLACE = "that of a guitar, longer as the scale is; on basses it may be nearer to the bridge"
SADDLE = "tape: saddle to the middle of the pickup"
POSITION: dict[Position, dict[str, Default]] = {
    "neck": {},
    "middle": {
        "distance_from_bridge": Default(98.0, 85.0, 110.0, SADDLE),
        "gap_bass": Default(2.5, 2.0, 3.0, FEELER),
        "gap_treble": Default(2.1, 1.7, 2.6, FEELER),
    },
    "bridge": {
        "distance_from_bridge": Default(43.0, 32.0, 52.0, SADDLE),
        "gap_bass": Default(2.25, 1.9, 2.7, FEELER),
        "gap_treble": Default(1.75, 1.5, 2.2, FEELER),
    },
}


class Strung(NamedTuple):
    """What the strings of an instrument say of its pickups."""

    strings: int = 6
    thinnest: float = 0.254e-3  # m
    scale: float = USUAL_SCALE  # m

    @property
    def bass(self) -> bool:
        """Whether these are strings of a bass."""
        return self.thinnest >= BASS_FROM


SIX_STRINGS = Strung()


def pickup_defaults(
    *, construction: str, position: Position, drawn: bool, strung: Strung = SIX_STRINGS, poles: int | None = None
) -> dict[str, Default]:
    """Return the defaults of one pickup by attribute.

    Parameters
    ----------
    construction, position : str
        As in the guitar file.
    drawn : bool
        Own magnet constants are given: the drawn geometry is used as it is (no extra gap, no base plate).
    strung : Strung
        What lies over it: a pickup is made for so many strings, and those of a bass lie further apart.
    poles : int, optional
        How many there are in a row, where it is said: two to a string stand half as far apart.
    """
    built = construction_of(construction)
    found = {**USUAL, **POSITION[position], **built.defaults_at(position)}
    found = _for_strings(found, strung, poles, halves=any(row.half for row in built.rows))
    if built.measured_row.pole.is_blade:
        found |= {attr: replace(found[attr], settle=settle) for attr, settle in ON_A_BLADE.items()}
    if drawn:
        del found["magnet.grade"]
        found["base_plate"] = Default("none", settle=LOOK, basis=DRAWN, words="no base plate")
        found["magnet.bar_to_pole_gap"] = Default(0.0, settle="feeler strip", basis=DRAWN, words="0 mm")
    return found


def _for_strings(
    found: dict[str, Default], strung: Strung, poles: int | None, *, halves: bool
) -> dict[str, Default]:  # fmt: skip
    """Return defaults with as many poles as there are strings; of two halves two rods a string."""
    out = dict(found)
    if strung.bass:
        place = found["distance_from_bridge"]
        assert isinstance(place.value, float) and place.low is not None and place.high is not None
        share = max(strung.scale / USUAL_SCALE, 1.0)
        out["distance_from_bridge"] = replace(
            place, value=round(share * place.value), low=round(0.8 * share * place.low), high=round(share * place.high),
            basis=BASS_PLACE,
        )  # fmt: skip
        if not halves or poles == strung.strings:
            out["poles.pole_spacing"] = BASS_SPACING
    if not halves and two_to_a_string(poles, strung.strings):
        apart = out["poles.pole_spacing"]
        value, low, high = (0.5 * float(str(end)) for end in (apart.value, apart.low, apart.high))
        out["poles.pole_spacing"] = replace(apart, value=value, low=low, high=high)
    if strung.strings in ONE_POLE_EACH and (strung.bass or not halves):
        words, count = ("two to a string", 2 * strung.strings) if halves else ("one to a string", strung.strings)
        out["poles.count"] = replace(found["poles.count"], value=count, words=f"{count}, {words}")
    return out


def two_to_a_string(poles: int | None, strings: int) -> bool:
    """Tell whether so many poles in a row are two to every string, or to every pair of strings that lies as one."""
    return poles is not None and strings > 0 and poles == (strings if strings == IN_PAIRS else 2 * strings)


BESIDE = "as much above or below the gap that was read as is usual (common practice, no source)"
GAPS = ("gap_bass", "gap_treble")


def beside_the_other(found: dict[str, Default], read: Mapping[str, float], built: Construction) -> dict[str, Default]:
    """Return the defaults with the gap that was not read as it usually is beside the one that was (``read``, mm).

    Nobody is assumed to have set a string where it is pulled: not under the safe gap, but where the one that was read
    is smaller.
    """
    if len(read) != 1:
        return found
    (known, gap), (unread,) = next(iter(read.items())), [one for one in GAPS if one not in read]
    usual, one = found[known].value, found[unread]
    assert isinstance(usual, float) and isinstance(one.value, float)
    least, most = _GAP.limits(_GAP.unit)
    safe = 1e3 * (built.safe_gap_bass if unread == "gap_bass" else min(built.safe_gap_treble, 1e-3 * gap))
    moved = max(gap - usual, safe - one.value)
    value, low, high = (
        None if end is None else round(min(max(end + moved, least), most), 6) for end in (one.value, one.low, one.high)
    )
    return {**found, unread: replace(one, value=value, low=low, high=high, basis=BESIDE)}


ROW_SLACK = 3.0  # mm that a row of poles may be longer than usual before bar, keeper and coils follow it
HALF_A_POLE = 2.45  # mm, of rods and slugs: a coil follows before its poles would stand in it
LONGEST_ROW = 115.0  # mm, first pole to last
ALONG_THE_ROW = {
    "magnet.length": 1.0,
    "poles.keeper_length": 1.0,
    "poles.blade_length": 1.0,
    "poles.plate_length": 1.0,
    "coil.inner_half_y": 0.5,
    "coil.outer_half_y": 0.5,
}


def row_longer(found: dict[str, Default], count: int | None, spacing: float | None) -> float:
    """Return how much longer (mm) a row of ``count`` poles ``spacing`` mm apart is than usual; 0 if shorter."""
    usual, poles = found["poles.pole_spacing"].value, found["poles.count"].value
    assert isinstance(usual, float) and isinstance(poles, int)
    extra = ((count or poles) - 1) * (usual if spacing is None else spacing) - (poles - 1) * usual
    inner = found["coil.inner_half_y"].value
    assert isinstance(inner, float)
    room = 2.0 * (inner - HALF_A_POLE) - (poles - 1) * usual  # below 0: the coil goes round half of the row
    slack = min(ROW_SLACK, room) if room > 0.0 else ROW_SLACK
    return round(extra, 6) if extra > slack else 0.0


def as_long_as_its_row(found: dict[str, Default], extra: float, *, halves: bool = False) -> dict[str, Default]:
    """Return the defaults of a pickup whose bar, keeper and coils are longer by as much as its row of poles is.

    Of two ``halves`` each coil goes round one half of the row, and is longer by half as much.
    """
    out = dict(found)
    for attr, share in ALONG_THE_ROW.items():
        one = found.get(attr)
        share *= 0.5 if halves and attr.startswith("coil.") else 1.0
        if extra and one is not None and isinstance(one.value, float):
            low, high = (None if end is None else round(end + share * extra, 6) for end in (one.low, one.high))
            out[attr] = replace(one, value=round(one.value + share * extra, 6), low=low, high=high)
    return out


# ---------------------------------------------------------------- strings

STRING_SET_SPREAD = Default(
    None,
    settle="micrometer on the core at the ball end",
    words="cores of the wound strings, +-20 %; nickel-plated steel wrap",
)
