"""One part of a circuit that no template has: a netlist of standard parts between named nodes."""

from dataclasses import dataclass
from typing import Annotated, Literal

from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import NEEDED, choice, henry, kohm, nanofarad, number, text, texts

PartKind = Literal["resistor", "capacitor", "inductor", "pot", "switch", "pickup"]
VALUES: dict[PartKind, tuple[str, ...]] = {
    "resistor": ("resistance",), "capacitor": ("capacitance",), "inductor": ("inductance",),
    "pot": ("resistance", "wiper"), "switch": ("closed",), "pickup": ("pickup",),
}  # fmt: skip
"""What each kind needs beside its two ends."""
CLOSED = (
    "positions in which a contact is closed, with knobs pulled too; or a knob that closes it when pulled, as push_pull "
    'says it ("neck: phase"), or with "not" before it when pushed in ("not neck: phase")'
)
NODE = "one end: a name of your own, jack or ground"

# fmt: off


@dataclass(frozen=True, slots=True, kw_only=True)
class NetElement(Checked):
    """A part between two nodes; "ground" and "jack" are nodes that are always there."""

    name: Annotated[str, text(NEEDED, "what you call it; a pot or capacitor is turned or changed by this name")]
    kind: Annotated[PartKind, choice(NEEDED, "what it is; a switch is a contact that is closed in some positions")]
    a: Annotated[str, text(NEEDED, NODE + "; of a pot the end that 10 turns to; of a pickup its hot lead")]
    b: Annotated[str, text(NEEDED, "the other end; of a pot the end that 0 turns to")]
    wiper: str = text("", "node of a pot's wiper")
    resistance: float | None = kohm(None, 0, 20000, "they lie", "of a resistor, or a pot's whole track", none="unknown")
    capacitance: float | None = nanofarad(None, 0, 10000, "they lie", "of a capacitor", none="unknown")
    inductance: float | None = henry(None, 0, 100, "they lie", "of an inductor", none="unknown")
    setting: float = number(10.0, 0, 10, "knobs lie", "of a pot", quiet=True)
    taper: Literal["audio", "linear"] = choice("audio", "law of a pot's track", quiet=True)
    closed: tuple[str, ...] = texts((), CLOSED)
    pickup: str = text("", "which pickup, as it is wired")
    coil: Literal["all", "slugs", "screws"] = choice(
        "all", "one coil of it; both may be elements of their own", quiet=True)
