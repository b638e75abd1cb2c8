"""Volumes, tones and added parts where there are several: of one pickup, or after the switch for all that are on."""

from dataclasses import dataclass
from typing import Annotated, Literal

from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import NEEDED, choice, flag, kohm, nanofarad, number, picofarad, text, texts

OF_PICKUP = "whose it is; left out = the one after the switch, for all that are on"

SHARED = "other pickups on the same pot, which is there once where several of them are on; one volume behind the switch"

# fmt: off


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume(Checked):
    """One volume; what is None is as [controls] says it for all."""

    pickup: str | None = text(None, OF_PICKUP)
    pot: float | None = kohm(
        None, 50, 2000, "pots lie", "as marked; left out = volume_pot_kohm", none="unknown")
    pot_measured: float | None = kohm(
        None, 50, 2000, "pots lie", "across the outer lugs, one end free", none="unknown")
    setting: float | None = number(
        None, 0, 10, "knobs lie", "as printed on the knob; left out = volume_setting", none="unknown")
    bleed_cap: float | None = picofarad(
        None, 50, 5000, "treble bleeds lie", "treble bleed; left out = bleed_cap_pf", none="unknown",
        aliases=("bleed",))
    bleed_resistor: float | None = kohm(
        None, 10, 2000, "treble bleeds lie", "with it; left out = bleed_resistor_kohm", none="unknown")
    wired: Literal["usual", "independent"] = choice(
        "usual", "independent: pickup at the wiper, output at the end of the track, so that it does not turn down "
        "another pickup beside it", quiet=True)
    fitted: bool = flag(True, "false: taken out", quiet=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone(Checked):
    """One tone control; what is None is as [controls] says it for all."""

    pickup: str | None = text(None, OF_PICKUP)
    pot: float | None = kohm(None, 50, 2000, "pots lie", "as marked; left out = tone_pot_kohm", none="unknown")
    pot_measured: float | None = kohm(None, 50, 2000, "pots lie", "across the outer lugs", none="unknown")
    setting: float | None = number(
        None, 0, 10, "knobs lie", "as printed on the knob; left out = tone_setting", none="unknown")
    cap: float | None = nanofarad(
        None, 0.5, 220, "tone capacitors lie", "its capacitor; left out = tone_cap_nf", none="unknown")
    shared_with: tuple[str, ...] = texts((), SHARED)
    tap: Literal["before", "after"] | None = choice(
        None, "before or after the volume that it sits beside; left out = tone_tap")
    fitted: bool = flag(True, "false: taken out", quiet=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedPart(Checked):
    """A resistor or capacitor in line with a pickup or across it, or behind the switch."""

    place: Annotated[Literal["across", "in-line"], choice(NEEDED, "where it sits: across the leads, or in line")]
    pickup: str | None = text(None, "whose leads; left out = behind the switch, for all that are on")
    resistor: float | None = kohm(None, 0.01, 10000, "they lie", "its resistor", none="none")
    capacitor: float | None = nanofarad(
        None, 0.01, 1000, "they lie", "its capacitor; with a resistor, side by side", none="none")
