"""Families of levers: what each is on the bench, and what decides how well it can be told beforehand.

A lever names its family (`levers.Lever.kind`); plan and work sheet ask here. All of it is common practice, no source.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One family of levers."""

    step: str = ""  # of the work sheet, {to} is where things are afterwards; "" = made for the job in hand
    strings_on: bool = False  # set last, with the strings on
    in_cavity: bool = False  # soldered in the control cavity or at the leads
    on_guitar: bool = True  # the guitar itself is touched, or turned with a tool
    shared: bool = False  # moves every pickup, not one alone
    hangs_on: tuple[str, ...] = ()  # ends of key paths whose assumed value decides, the first that is assumed


KINDS: dict[str, Kind] = {
    "magnet": Kind(
        hangs_on=(
            "magnet.charge", "magnet.grade", "magnet.bar_to_pole_gap", "poles.screw_steel", "screw_steel", "magnet.bar",
        ),
    ),
    "charge": Kind(hangs_on=("magnet.charge", "magnet.grade")),
    "flip": Kind(
        step="Bar back in with its other pole where the mark was; compass again before it is closed. To: {to}.",
        hangs_on=("magnet.charge", "lead"),
    ),
    "cover": Kind(hangs_on=("cover", "base_plate")),
    "wiring": Kind(
        step="Connect: {to}. Shield and base plate stay on ground; tin short, sleeve every joint.", in_cavity=True,
        hangs_on=("lead", "wiring", "inductance"),
    ),
    "orientation": Kind(
        step="Turn the pickup round in its ring, {to}; the lead must reach without pull.",
        hangs_on=("screws_face", "distance_from_bridge"),
    ),
    "height": Kind(strings_on=True, hangs_on=("gap_bass", "gap_treble", "screw_raise", "magnet.charge")),
    "screws": Kind(strings_on=True, hangs_on=("screw_raise", "gap_bass", "gap_treble")),
    "settings": Kind(
        step="Set: {to}.", strings_on=True, on_guitar=False, shared=True,
        hangs_on=("controls.tone_pot", "controls.tone_cap", "controls.volume_pot", "controls.cable", "capacitance"),
    ),
    "cable": Kind(
        step="Play through: {to}; measure it, plug to plug, with a capacitance meter.", strings_on=True,
        on_guitar=False, shared=True, hangs_on=("controls.cable", "capacitance", "inductance"),
    ),
    "input": Kind(
        step="Play into: {to}.", strings_on=True, on_guitar=False, shared=True, hangs_on=("controls.input",)
    ),
    "shunt": Kind(
        step="Clip it across the pickup first, listen; solder it only if it stays: {to}.", shared=True,
        hangs_on=("controls.volume_pot", "capacitance", "inductance"),
    ),
    "pots": Kind(
        step="Unsolder the old pot, note each lug; fit the measured new one: {to}.", in_cavity=True, shared=True,
        hangs_on=("controls.volume_pot", "controls.tone_pot", "controls.cable", "capacitance"),
    ),
    "capacitor": Kind(
        step="Unsolder the old capacitor, one leg first to listen; fit: {to}.", in_cavity=True, shared=True,
        hangs_on=("controls.tone_cap", "controls.tone_pot"),
    ),
    "bleed": Kind(
        step="Across the volume pot, middle lug to hot lug: {to}.", in_cavity=True, shared=True,
        hangs_on=("controls.volume_pot", "controls.cable"),
    ),
    "strings": Kind(
        step="Fit and stretch: {to}; then action and intonation.", strings_on=True, shared=True,
        hangs_on=("string_set", "string_age"),
    ),
}  # fmt: skip
