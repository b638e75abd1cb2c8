"""Positions of a switch in one line, as they are answered: "neck; neck: split-screws + bridge; 5 = bridge"."""

import re
from collections.abc import Sequence
from typing import Any

from polepiece.guitar.switch_position import SwitchPosition, coils_of

ASKED = "controls.positions"
HELP = (
    "Only circuits that this number of pickups can have are offered. A switch that is none of them, such as a five-way "
    "that splits: choose volumes and tones, and say its positions here, in their order, with a semicolon between. Such "
    'as neck; neck: split-screws + bridge; 3 = neck + bridge in series; bridge. Before a "=" stands what you call it.'
)
_HOW = re.compile(r"(?P<on>.*?)\s*[, ]\s*(?P<how>in series,? out of phase|in series|in parallel|out of phase)", re.I)
_HOWS = {"in series": "series", "out of phase": "out-of-phase", "in series out of phase": "series-out-of-phase"}


def position_tables(text: str, pickups: Sequence[str] = ()) -> list[dict[str, Any]]:
    """Return the [[controls.positions]] that a line says; whether its pickups are there is for the reader.

    "both" and "all" are all ``pickups``.

    Examples
    --------
    >>> position_tables("neck: split-screws + bridge")
    [{'name': 'neck: split-screws + bridge', 'on': ['neck', 'bridge'], 'coils': ['neck: split-screws']}]
    >>> position_tables("1 = neck; neck + bridge in series")[1]["how"]
    'series'
    """
    return [_table(one.strip(), pickups) for one in text.split(";") if one.strip()]


def _table(said: str, pickups: Sequence[str]) -> dict[str, Any]:
    name, equals, rest = (one.strip() for one in said.partition("="))
    what = rest if equals else said
    found = _HOW.fullmatch(what)
    how = "" if found is None else _HOWS.get(found["how"].lower().replace(",", ""), "")
    each = [one.strip() for one in (what if found is None else found["on"]).split("+")]
    on = list(dict.fromkeys(one.partition(":")[0].strip() for one in each))
    if len(on) == 1 and on[0].lower() in ("both", "all") and len(pickups) > 1:
        on = list(pickups)
    coils = [one for one in each if ":" in one]
    return (
        {"name": name if equals else said, "on": on}
        | ({"coils": coils} if coils else {})
        | ({"how": how} if how else {})
    )


def positions_said(positions: Sequence[SwitchPosition]) -> str:
    """Return positions as one line that reads back as they are; their own names where they are called otherwise."""
    return "; ".join(_said(one) for one in positions)


def _said(one: SwitchPosition) -> str:
    joined: dict[str, list[str]] = {name: [] for name in one.on}
    for entry in one.coils:
        joined.setdefault(coils_of(entry)[0], []).append(entry)
    how = next((f" {words}" for words, slug in _HOWS.items() if slug == one.how), "")
    what = " + ".join(entry for name, entries in joined.items() for entry in entries or [name]) + how
    plain = re.sub(r"\s+", "", one.name).lower()
    return what if plain == re.sub(r"\s+", "", what).lower() else f"{one.name} = {what}"
