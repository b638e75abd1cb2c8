"""Positions of the switches of a guitar, and which volume and tone belong to which pickup.

A template says both in the words of the trade; what the file lists comes on top of it, or with "as-listed" in its
place. Which tone serves which pickup is common practice, no source; [[controls.tones]] says it otherwise.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from polepiece.errors import InputError
from polepiece.guitar.controls import Controls
from polepiece.guitar.netlist import follows_knobs, pickups_in
from polepiece.guitar.own_controls import Tone, Volume
from polepiece.guitar.pulled_knobs import pulled_contacts, pulled_positions
from polepiece.guitar.records import Guitar, Pickup
from polepiece.guitar.switch_position import SwitchPosition

_TEMPLATE = re.compile(
    r"(?P<volumes>one|two|three)-volumes?(?:-(?P<tones>one|two|three)-tones?)?(?:-(?P<switch>(?:three|four|five)-way|rotary))?"
)
_COUNT = {"one": 1, "two": 2, "three": 3, None: 0}
PLACES = {
    "neck": ("neck",), "middle": ("middle",), "bridge": ("bridge",), "both": ("neck", "bridge"),
    "neck+middle": ("neck", "middle"), "middle+bridge": ("middle", "bridge"), "all": ("neck", "middle", "bridge"),
}  # fmt: skip
"""Positions of a switch that need no name in the file, and the places of the pickups that are on there."""


def as_place(said: str) -> str:
    """Return a word for a position as it is kept: those of `PLACES` in small letters, a name of one's own as typed."""
    plain = said.strip().lower()
    return plain if plain in PLACES else said.strip()


@dataclass(frozen=True, slots=True)
class Layout:
    """What a template says: how many volumes and tones, and which switch ("" = none is said)."""

    volumes: int
    tones: int
    switch: str


def layout_of(template: str) -> Layout | None:
    """Return what a template says; None for "as-listed"."""
    found = _TEMPLATE.fullmatch(template)
    return Layout(_COUNT[found["volumes"]], _COUNT[found["tones"]], found["switch"] or "") if found else None


def by_place(guitar: Guitar) -> tuple[Pickup, ...]:
    """Return the pickups from the neck to the bridge."""
    return tuple(sorted(guitar.pickups, key=lambda one: -one.distance_from_bridge))


# ---------------------------------------------------------------- controls


def volumes_of(guitar: Guitar) -> tuple[Volume, ...]:
    """Return every volume that is fitted, its values filled in from [controls]; whose they are is in ``pickup``."""
    return _volumes(guitar.controls, tuple(template_owners(guitar, "volumes")))


@lru_cache(maxsize=256)
def _volumes(controls: Controls, own: tuple[str | None, ...]) -> tuple[Volume, ...]:
    listed = {one.pickup: one for one in controls.volumes}
    owners = dict.fromkeys((*own, *listed))
    found = [listed.get(owner) or Volume(pickup=owner) for owner in owners]
    return tuple(
        replace(
            one, pot=one.pot or controls.volume_pot,
            pot_measured=one.pot_measured or (controls.volume_pot_measured if one.pot is None else None),
            setting=controls.volume_setting if one.setting is None else one.setting,
            bleed_cap=controls.bleed_cap if one.bleed_cap is None else one.bleed_cap,
            bleed_resistor=controls.bleed_resistor if one.bleed_resistor is None else one.bleed_resistor,
        )
        for one in found
        if one.fitted
    )  # fmt: skip


def tones_of(guitar: Guitar) -> tuple[Tone, ...]:
    """Return every tone control that is fitted, its values filled in from [controls]."""
    return _tones(guitar.controls, tuple(template_owners(guitar, "tones")))


@lru_cache(maxsize=256)
def _tones(controls: Controls, own: tuple[str | None, ...]) -> tuple[Tone, ...]:
    listed = {one.pickup: one for one in controls.tones}
    owners = dict.fromkeys((*own, *listed))
    found = [listed.get(owner) or Tone(pickup=owner) for owner in owners]
    return tuple(
        replace(
            one, pot=one.pot or controls.tone_pot,
            pot_measured=one.pot_measured or (controls.tone_pot_measured if one.pot is None else None),
            setting=controls.tone_setting if one.setting is None else one.setting,
            cap=one.cap or controls.tone_cap, tap=one.tap or controls.tone_tap,
        )
        for one in found
        if one.fitted and (one.pot or controls.tone_pot) is not None
    )  # fmt: skip


def template_owners(guitar: Guitar, table: str) -> Sequence[str | None]:
    """Return whose "volumes" or "tones" the template has: pickups, or None for the one behind the switch."""
    if table == "tones" and any(one.shared_with for one in guitar.controls.tones):
        return [one.pickup for one in guitar.controls.tones]  # who shares a pot is said of all of them
    layout = layout_of(guitar.controls.template)
    count = 0 if layout is None or guitar.controls.elements else layout.volumes if table == "volumes" else layout.tones
    if count == 1:
        return [None]
    return [one.name for one in by_place(guitar)][:count]


def volume_of(guitar: Guitar, pickup: str | None) -> Volume | None:
    """Return the volume of one pickup, or with None the one behind the switch; None where there is none."""
    return next((one for one in volumes_of(guitar) if one.pickup == pickup), None)


def tone_of(guitar: Guitar, pickup: str | None) -> Tone | None:
    """Return the tone control of one pickup, or with None the one behind the switch; None where there is none."""
    return next((one for one in tones_of(guitar) if pickup in (one.pickup, *one.shared_with)), None)


# ---------------------------------------------------------------- positions


def positions_of(guitar: Guitar) -> tuple[SwitchPosition, ...]:
    """Return every position of the switches, pulled knobs included.

    Raises
    ------
    InputError
        When the template needs other pickups than there are.
    """
    found = guitar.controls.positions or _of_template(guitar)
    controls = guitar.controls
    if controls.elements and follows_knobs(controls.elements, controls.push_pull):
        return (*found, *_netlist_positions(controls, guitar.pickups))
    return (*found, *pulled_positions(found, controls.push_pull))


@lru_cache(maxsize=64)
def _netlist_positions(controls: Controls, pickups: tuple[Pickup, ...]) -> tuple[SwitchPosition, ...]:
    """Return the positions of a netlist with knobs pulled, as its contacts have them; silent ones are none."""
    out = []
    for one in pulled_contacts(controls.positions, controls.push_pull):
        try:
            out.append(replace(one, on=pickups_in(controls.elements, one, pickups)))
        except InputError:
            continue
    return tuple(out)


def _of_template(guitar: Guitar) -> tuple[SwitchPosition, ...]:
    names = [one.name for one in by_place(guitar)]
    layout = layout_of(guitar.controls.template) or Layout(0, 0, "")
    if wrong := template_fault(guitar):
        raise InputError(f"controls.template {wrong}")
    pairs = [tuple(names[at : at + 2]) for at in range(len(names) - 1)]
    single = [(one,) for one in names]
    if layout.switch == "three-way":
        groups = [single[0], tuple(names), single[1]] if len(names) == 2 else single
    elif layout.switch == "four-way":
        both = _position(guitar, tuple(names))
        in_series = SwitchPosition(name=f"{both.name} in series", on=both.on, how="series")
        return (_position(guitar, single[0]), both, _position(guitar, single[1]), in_series)
    elif layout.switch == "five-way":
        groups = [single[0], pairs[0], single[1], pairs[1], single[2]]
    elif layout.switch == "rotary" or layout.volumes <= 1:
        groups = [one for count in range(1, len(names) + 1) for one in combinations(names, count)]
    else:  # no switch: all are on, and the volumes blend them
        groups = [tuple(names)]
    return tuple(_position(guitar, one) for one in groups)


def _position(guitar: Guitar, names: tuple[str, ...]) -> SwitchPosition:
    """Return these pickups side by side, under the name that a switch of this guitar has for it."""
    count = len(guitar.pickups)
    whole = "both" if count == 2 else "all"
    return SwitchPosition(name=whole if 1 < len(names) == count else "+".join(names), on=names)


def has_free_switch(guitar: Guitar) -> bool:
    """Whether nothing is said of the switch: then any pickups may be on together, side by side."""
    controls, layout = guitar.controls, layout_of(guitar.controls.template)
    free = layout is not None and layout.switch == "" and layout.volumes == 1
    return free and not controls.positions and not controls.elements


def position_named(guitar: Guitar, text: str) -> SwitchPosition:
    """Return the position that a text names: one of the guitar's, or pickups joined by "+", "both", "all".

    Raises
    ------
    InputError
        When the guitar has no such position; the message lists those it has.
    """
    positions = positions_of(guitar)
    for one in positions:
        if one.name.strip().lower() == text.strip().lower():
            return one
    try:
        names = _names(guitar, text)
    except InputError as fault:
        raise InputError(f"position {text!r}: {fault} {_known(guitar, positions)}") from fault
    found = _plain(positions, names)
    if found is None and not has_free_switch(guitar):
        raise InputError(f"position {text!r} is none of this guitar's switch. {_known(guitar, positions)}")
    return found or _position(guitar, names)


def _names(guitar: Guitar, text: str) -> tuple[str, ...]:
    word = text.strip()
    if (word == "both" and len(guitar.pickups) == 2) or (word == "all" and len(guitar.pickups) > 1):
        return tuple(one.name for one in guitar.pickups)
    places = PLACES.get(word, tuple(one.strip() for one in word.split("+")))
    return tuple(dict.fromkeys(guitar.pickup(one).name for one in places))


def _plain(positions: Sequence[SwitchPosition], names: Sequence[str]) -> SwitchPosition | None:
    """Return the position with just these pickups on, side by side and each as it is wired."""
    alike = [one for one in positions if set(one.on) == set(names) and one.how == "parallel" and not one.coils]
    return alike[0] if alike else None


def _known(guitar: Guitar, positions: Sequence[SwitchPosition]) -> str:
    here = " and ".join(one.name for one in guitar.pickups)
    if has_free_switch(guitar):
        return (
            "A position is a pickup's name or place, several joined by + "
            f'(such as "neck+bridge"), "both" or "all"; this guitar has {here}.'
        )
    return f"Its positions are: {'; '.join(one.name for one in positions)}; its pickups {here}."


def position_with(guitar: Guitar, names: Sequence[str]) -> SwitchPosition:
    """Return the position in which just these pickups are on side by side; made up where the switch has none."""
    wanted = tuple(dict.fromkeys(guitar.pickup(one).name for one in names))
    found = _plain(positions_of(guitar), wanted)
    return replace(found or _position(guitar, wanted), on=wanted)


def is_heard(guitar: Guitar, pickup: str) -> bool:
    """Whether a pickup is on in any position; a netlist may leave one out."""
    return has_free_switch(guitar) or any(pickup in one.on for one in positions_of(guitar))


def goes_together(guitar: Guitar, pickups: Sequence[str]) -> bool:
    """Whether pickups can be thought on side by side: of a netlist only where a position has just these on."""
    return not guitar.controls.elements or _plain(positions_of(guitar), pickups) is not None


def usual_position(guitar: Guitar, pickup: str) -> SwitchPosition:
    """Return where a pickup is heard when nothing is said: by itself, else the first position in which it is on."""
    positions = positions_of(guitar)
    alone = _plain(positions, (pickup,))
    if alone is not None or has_free_switch(guitar):
        return alone or _position(guitar, (pickup,))
    on = sorted((one for one in positions if pickup in one.on), key=lambda one: len(one.on))
    if not on:
        raise InputError(f"{pickup} is on in no position of this guitar: nothing done to it is heard.")
    return on[0]


def heard_position(guitar: Guitar, pickup: str, text: str | None = None) -> SwitchPosition:
    """Return the position that a text names; without one that of a complaint about the pickup, else the usual one."""
    told = [one.position for one in guitar.complaints if one.position and one.pickup in (None, pickup)]
    for one in [text] if text is not None else told:
        found = position_named(guitar, one)
        if text is not None or pickup in found.on:
            return found
    return usual_position(guitar, pickup)


# ---------------------------------------------------------------- what is wrong


def template_fault(guitar: Guitar) -> str:
    """Say what a template needs that the guitar has not; nothing where it fits."""
    controls, layout, count = guitar.controls, layout_of(guitar.controls.template), len(guitar.pickups)
    spoken = f'is "{controls.template.replace("-", " ")}"'
    if controls.elements:
        return "" if controls.positions else "is not asked: [[controls.elements]] needs [[controls.positions]]."
    if layout is None:
        return (
            "" if controls.positions else 'as-listed needs positions: [[controls.positions]] name = "...", on = [...].'
        )
    slip = (
        ' Spell it out: template = "as-listed" with [[controls.volumes]], [[controls.tones]], [[controls.positions]].'
    )
    if layout.volumes > 1 and layout.volumes != count:
        return f"{spoken}; that needs {layout.volumes} pickups, and this guitar has {count}.{slip}"
    if layout.tones > 1 and layout.tones > count:
        return f"{spoken}; that needs {layout.tones} pickups or more, and this guitar has {count}.{slip}"
    needs = {"three-way": (2, 3), "four-way": (2,), "five-way": (3,), "rotary": (2, 3)}.get(layout.switch)
    if needs and count not in needs and not controls.positions:
        said = " or ".join(map(str, needs))
        return f"{spoken}; that switch needs {said} pickups, and this guitar has {count}.{slip}"
    return ""
