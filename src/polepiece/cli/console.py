"""Tables for people: units, digits that the interval allows, what was assumed."""

import re
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from polepiece.shown_number import plain_signed

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from polepiece.guitar import Assumption, Guitar

IMPORTANT = (
    "magnet.grade", "magnet.charge", "magnet.finish", "magnet.bar_to_pole_gap", "resistance", "coil.turns",
    "distance_from_bridge", "gap_bass", "gap_treble", "poles.slug_steel.name", "poles.screw_steel.name",
    "poles.screw_raise", "capacitance", "controls.cable_capacitance", "string_age", "controls.volume_pot",
    "controls.tone_pot", "screws_face", "lead", "fingerboard_radius",
)  # fmt: skip
ALSO_IMPORTANT = ("wire_awg", "base_plate", "cover", "strings", "core_diameter")  # of one coil or string, or of a part
"""Attributes and ends of key paths that move the numbers most; the others are counted."""


def console() -> "Console":
    """Return where tables go; wide enough for them where stdout is not a terminal."""
    from rich.console import Console

    return Console(highlight=False, width=None if sys.stdout.isatty() else 134, soft_wrap=False)


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[Any]], *, left: int = 1) -> "Table":
    """Return a table; the first ``left`` columns hold words, the others numbers."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    made = Table(title=title, title_justify="left", title_style="bold", header_style="bold", box=SIMPLE_HEAD)
    for place, name in enumerate(columns):
        words = place < left
        made.add_column(Text(name), justify="left" if words else "right", overflow="fold", no_wrap=words and left == 1)
    for row in rows:
        made.add_row(*(Text("-" if cell is None else str(cell)) for cell in row))
    return made


def digits_for(interval: tuple[float, float] | None, *, least: int = 0, most: int = 1) -> int:
    """Return how many decimals a dB value deserves: one where its interval is narrower than 2 dB."""
    if interval is None:
        return most
    return most if interval[1] - interval[0] < 2.0 else least


def signed(value: float | None, interval: tuple[float, float] | None = None) -> str:
    """Return a difference with its sign, and its interval in brackets where there is one."""
    if value is None:
        return "-"
    if interval is None:
        return plain_signed(value)
    n = digits_for(interval)
    low, high = (plain_signed(one, n) for one in interval)
    return f"{plain_signed(value, n)} [{low}..{high}]"


def show_assumed(where: "Console", assumed: "Sequence[Assumption]", *, guitar: "Guitar", everything: bool) -> None:
    """Print what was assumed, by what it is: the important values, and how many others there are.

    The key in the file stands behind each where everything is listed.
    """
    from polepiece.guitar import assumed_words, spread_words

    chosen = chosen_of(assumed, everything=everything)
    groups: dict[str, list[str]] = {}
    for one in chosen:
        key = f" ({one.path})" if everything else ""
        settle = f"; to settle it: {one.settle}" if one.settle else ""
        groups.setdefault(_part(one, guitar), []).append(
            f"  {assumed_words(one.path, guitar)}: {spread_words(one)}{settle}{key}"
        )
    if groups:
        where.print("Assumed (value, 90 % spread, what would settle it):", style="bold")
    for group, lines in groups.items():
        where.print("\n".join([group, *lines]), markup=False, soft_wrap=True)
    rest = len(assumed) - len(chosen)
    if rest:
        where.print(f"and {rest} more assumed values; --assumed lists them.")


def chosen_of(assumed: "Sequence[Assumption]", *, everything: bool) -> "list[Assumption]":
    """Return the assumed values that move the numbers most, or all of them."""
    from polepiece.guitar import key_of

    important = {*(key_of(attr).removeprefix("controls.") for attr in IMPORTANT), *ALSO_IMPORTANT}
    return [one for one in assumed if everything or _tail(one) in important]


def _part(one: "Assumption", guitar: "Guitar") -> str:
    """Return whose value it is: a pickup by its name, or the guitar."""
    from polepiece.moves import pickup_words

    place = re.match(r"pickups\[(\d+)\]", one.path)
    return "guitar" if place is None else pickup_words(guitar.pickups[int(place[1])].name)


def _tail(one: "Assumption") -> str:
    return one.path.rpartition("].")[2].removeprefix("controls.")
