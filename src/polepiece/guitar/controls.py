"""Controls, cable and input after the pickup, as a record; the names of circuit templates that it may have."""

from dataclasses import dataclass, replace
from typing import Literal

from polepiece.guitar.checks import Checked
from polepiece.guitar.net_element import NetElement
from polepiece.guitar.own_controls import AddedPart, Tone, Volume
from polepiece.guitar.parameter import NEEDED, choice, kohm, nanofarad, number, picofarad, text, texts
from polepiece.guitar.switch_position import SwitchPosition

Template = Literal[
    "one-volume-one-tone",
    "one-volume",
    "one-volume-one-tone-three-way",
    "one-volume-one-tone-four-way",
    "one-volume-one-tone-five-way",
    "one-volume-one-tone-rotary",
    "one-volume-two-tones-three-way",
    "one-volume-two-tones-five-way",
    "two-volumes",
    "two-volumes-one-tone",
    "two-volumes-two-tones",
    "two-volumes-one-tone-three-way",
    "two-volumes-two-tones-three-way",
    "two-volumes-two-tones-four-way",
    "three-volumes-one-tone",
    "three-volumes-three-tones-rotary",
    "as-listed",
]
TEMPLATE = (
    "which controls there are and which switch; as-listed: those of [[controls.volumes]], [[controls.tones]] and "
    "[[controls.positions]] alone"
)
PUSH_PULL = (
    'pulled knobs: each "pickup: how its coils are joined then", such as "bridge: split-screws", or "bridge: phase", '
    'its leads exchanged; what two of one pickup do together: "bridge: split-screws + parallel = split-screws"'
)
POT_WORDS = "500 kohm, marked and measured alike, +-20 %"
OUTER_LUGS = "ohmmeter across the outer lugs, one end free"
KNOB = "look at the knob"
SHEET = "amplifier's sheet"

# fmt: off
CABLE_LENGTH = number(
    NEEDED, 0.3, 30, "cables lie", "with cable_pf_per_m instead of cable_pf", dimension="distance", stem="cable",
    written="_m", attr="_cable_length")
CABLE_PER_METRE = replace(
    number(NEEDED, 20, 300, "cables lie", "with cable_m", dimension="capacitance_per_length", stem="cable",
           written="_pf_per_m", attr="_cable_per_metre", spread=(60.0, 160.0),
           settle="capacitance meter on the cable"),
    default=100.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls(Checked):
    """Controls, cable and input after the pickup. Settings run 0-10 as printed on a knob."""

    volume_pot: float = kohm(
        500.0, 50, 2000, "pots lie", "as marked", spread=(400.0, 600.0), settle=OUTER_LUGS, words=POT_WORDS)
    volume_pot_measured: float | None = kohm(
        None, 50, 2000, "pots lie", "across the outer lugs, one end free", none="unknown")
    volume_setting: float = number(
        10.0, 0, 10, "knobs lie", "as printed on the knob", aliases=("volume",), settle=KNOB)
    tone_pot: float | None = kohm(  # None: no tone control
        500.0, 50, 2000, "pots lie", 'as marked; "none": no tone control', none="none", say_none=True,
        spread=(400.0, 600.0), settle=OUTER_LUGS, words=POT_WORDS)
    tone_pot_measured: float | None = kohm(None, 50, 2000, "pots lie", "across the outer lugs", none="unknown")
    tone_setting: float = number(
        10.0, 0, 10, "knobs lie", "as printed on the knob", aliases=("tone",), settle=KNOB)
    tone_cap: float = nanofarad(
        22.0, 0.5, 220, "tone capacitors lie", "tone capacitor", usual=(2, 110), spread=(19.8, 24.2),
        settle="read it, or a capacitance meter")
    tone_tap: Literal["before", "after"] = choice(
        "before", "tone control before or after the volume control", settle="follow the wire from the tone pot")
    bleed_cap: float | None = picofarad(
        None, 50, 5000, "treble bleeds lie", "treble bleed across the volume control", none="none",
        aliases=("bleed",))
    bleed_resistor: float | None = kohm(
        None, 10, 2000, "treble bleeds lie", "with the bleed capacitor", none="none")
    bleed_wiring: Literal["series", "parallel"] = choice(
        "parallel", "bleed resistor to bleed capacitor", quiet=True)
    shunt_resistor: float | None = kohm(
        None, 10, 5000, "they lie", "resistor clipped across the pickup", none="none", aliases=("shunt",))
    cable_capacitance: float = picofarad(
        500.0, 50, 3000, "cables lie", "whole cable up to the first pedal or amplifier", stem="cable",
        usual=(150, 1500), spread=(300.0, 900.0), settle="capacitance meter on the cable, or its length",
        other_ways=(CABLE_LENGTH, CABLE_PER_METRE))
    input_resistance: float = kohm(
        1000.0, 10, 20000, "inputs lie", "amplifier or first pedal", stem="input", aliases=("input_resistance",),
        label="input resistance",
        spread=(500.0, 1100.0), settle=SHEET)
    input_capacitance: float = picofarad(
        0.0, 0, 2000, "inputs lie", "amplifier or first pedal", stem="input", aliases=("input_capacitance",),
        label="input capacitance",
        spread=(0.0, 100.0), settle=SHEET)
    selector: str = text(
        "neck", 'which position is on: its name, a pickup, several joined by +, "both" or "all"',
        settle="say which pickup is meant")
    template: Template = choice("one-volume-one-tone", TEMPLATE, quiet=True)
    push_pull: tuple[str, ...] = texts((), PUSH_PULL, label="knobs that pull (push-pull)")
    volumes: tuple[Volume, ...] = ()
    tones: tuple[Tone, ...] = ()
    parts: tuple[AddedPart, ...] = ()
    positions: tuple[SwitchPosition, ...] = ()
    elements: tuple[NetElement, ...] = ()  # a netlist: then it is the whole circuit up to the jack
