"""A change is a value: parsed from ``key=value``, applied to a guitar, described as a job.

>>> change = parse_change("lower_bass=0,5 mm")
>>> change.text
'lower_bass=0,5 mm'
>>> change.kind
'height'
"""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar import Guitar, Pickup, as_typed, check, owner_of, remembered
from polepiece.moves.lever_acts import check_gaps
from polepiece.moves.levers import LEVERS, ORDER
from polepiece.pickup import comes_back_whole

_BOTH_WAYS = {
    "height": ("lower=0.5mm", "raise=0.5mm"),
    "gap": ("lower=0.5mm", "raise=0.5mm"),
    "height_bass": ("lower_bass=0.5mm", "raise_bass=0.5mm"),
    "gap_bass": ("lower_bass=0.5mm", "raise_bass=0.5mm"),
    "height_treble": ("lower_treble=0.5mm", "raise_treble=0.5mm"),
    "gap_treble": ("lower_treble=0.5mm", "raise_treble=0.5mm"),
}
_SWAPS = ("magnet", "finish")


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a change is as a job on the bench."""

    kind: str
    direction: str
    to: str  # where things are afterwards
    free: bool  # no part to buy, nothing to solder or open
    reversible: bool  # the guitar can be put back as it was
    opens_pickup: bool
    solder: bool
    strings_off: bool
    minutes: int
    cost: str
    risk: str
    way_back: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One move of one lever."""

    key: str  # of the lever, e.g. "lower_bass", "screw3", "magnet"
    value: Any  # SI, a word, or (grade, finish)
    text: str  # as it was typed, "key=value" or "pickup key=value"
    of: str | None = None  # whose control, where it stands before the key: "bridge volume=7"

    @property
    def kind(self) -> str:
        """The family of the lever: height, screws, magnet, charge, flip, cover, pots, cable ..."""
        return LEVERS[self.key].kind

    def describe(self, guitar: Guitar, pickup: str) -> Task:
        """Return the job that this change is on this guitar.

        Raises
        ------
        InputError
            When the change cannot be made there.
        """
        return self.made(guitar, pickup)[0]

    def made(self, guitar: Guitar, pickup: str) -> tuple[Task, Guitar]:
        """Return the job that this change is on this guitar, and the guitar after it.

        Raises
        ------
        InputError
            When the change cannot be made there.
        """
        lever = LEVERS[self.key]
        after = apply(guitar, pickup, [self])
        place = _place(guitar, self.of or pickup)
        there = guitar.pickups[_place(guitar, pickup)]
        back = _reversible(self, there)
        bar = self.key in (*_SWAPS, "flip")
        under_cover = bar and there.cover is not None
        new_lead = self.key == "wiring" and there.lead == "two-conductor" and self.value != "series"
        several = there.built.several_bars if bar else ""
        risk = lever.risk + (f", {there.built.several_bars_lie}" if several else "")
        task = Task(
            kind=lever.kind,
            direction=lever.direction or _direction(self),
            to=lever.to(after, place, self.value),
            free=lever.free,
            reversible=back,
            opens_pickup=lever.opens_pickup or new_lead,
            solder=lever.solder or under_cover,
            strings_off=lever.strings_off or new_lead,
            minutes=lever.minutes + 30 * under_cover + 60 * new_lead,
            cost=several if several and self.key != "flip" else lever.cost,
            risk="medium: a four-conductor lead must be fitted first" if new_lead else risk,
            way_back=lever.way_back if back or self.key == "charge" else _LOST,
        )
        return task, after


_LOST = "not whole: a bar charged in place comes out weaker and stays so unless it is recharged in the pickup"


def parse_change(text: str) -> Change:
    """Read one ``key=value``.

    Raises
    ------
    InputError
        When the lever is not known, or its value is missing, out of range, without unit or reads both ways.
    """
    key, equals, value = text.partition("=")
    of, _, word = key.strip().rpartition(" ")
    if word.lower().replace("-", "_") in LEVERS and of:
        key = word
    else:
        of = ""
    key, value = key.strip().lower().replace("-", "_"), value.strip()
    if not equals or not value:
        raise InputError(f"{text!r} is not key=value; write for example lower=0.5mm or magnet=alnico-3.")
    if of and not LEVERS[key].own:
        raise InputError(f"{text}: a pickup stands before volume, tone and their parts only; choose it with --pickup.")
    if key in _BOTH_WAYS:
        one, other = _BOTH_WAYS[key]
        raise InputError(f"{text} reads both ways; write {one} (further from the strings) or {other} (nearer).")
    if key not in LEVERS:
        close = difflib.get_close_matches(key, LEVERS, n=1, cutoff=0.6)
        hint = f"the nearest is {LEVERS[close[0]].example}" if close else f"known are {', '.join(LEVERS)}"
        raise InputError(f"{text}: there is no lever {key!r}; {hint}.")
    typed = f"{of} {key}={value}" if of else f"{key}={value}"
    return Change(key=key, value=LEVERS[key].read(key, value), text=typed, of=of or None)


def parse_changes(texts: Iterable[str]) -> tuple[Change, ...]:
    """Read several ``key=value``; every fault is reported at once.

    Raises
    ------
    InputError
        With one line for each change that cannot be read, and for a lever that is moved twice.
    """
    changes: list[Change] = []
    faults = []
    for text in texts:
        try:
            change = parse_change(text)
        except InputError as error:
            faults.append(str(error))
            continue
        if (change.key, change.of) in [(one.key, one.of) for one in changes]:
            faults.append(f"{text}: {change.key} is moved twice; say it once.")
        changes.append(change)
    if faults:
        raise InputError("\n".join(faults))
    return tuple(changes)


def apply(guitar: Guitar, pickup: str, changes: Iterable[Change], *, allow_rods: bool = False) -> Guitar:
    """Return the guitar after the changes.

    The order in which they are given does not matter: magnets come first, then charge, then heights, screws
    and the circuit. So ``charge=in-place`` beside ``magnet=...`` means recharged after assembly, and a bar
    swapped without it is charged outside.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Name of the pickup that is worked on.
    changes : iterable of Change
    allow_rods : bool
        Compute another grade of rod magnets although nobody can swap them.

    Raises
    ------
    InputError
        When a change cannot be made on this pickup, or goes beyond what is ever planned.
    """
    place = _place(guitar, pickup)
    before = guitar.pickups[place]
    name = before.name
    changes = list(changes)
    if texts := [one for one in changes if isinstance(one, str)]:
        raise InputError(f"{texts[0]!r} is a text; parse_changes([{texts[0]!r}]) makes a change of it.")
    changes = sorted(changes, key=lambda one: ORDER[one.key])
    guitar = remembered(guitar, place)
    for change in changes:
        stay = before.built.magnets_stay
        if stay is not None and change.key in _SWAPS and not allow_rods:
            raise InputError(f"{change.text}: {name} cannot have its grade changed; {stay.reason}.")
        try:
            at = place if change.of is None else _own_place(guitar, change)
            guitar = LEVERS[change.key].act(guitar, at, change.value)
        except InputError as error:
            raise InputError(f"{change.text}: {error}") from None
    guitar = as_typed(guitar, place)
    try:
        check_gaps(before, guitar.pickups[place], len(guitar.strings))
        check(guitar.pickups[place])
    except InputError as error:
        raise InputError(f"{', '.join(one.text for one in changes)}: {error}") from None
    return guitar


def _place(guitar: Guitar, pickup: str) -> int:
    return guitar.pickups.index(guitar.pickup(pickup))


def _own_place(guitar: Guitar, change: Change) -> int:
    """Return the place of the pickup whose control is named, which must be its own."""
    assert change.of is not None
    at = _place(guitar, change.of)
    name = guitar.pickups[at].name
    attr = LEVERS[change.key].attr
    if not guitar.controls.elements and owner_of(guitar, attr, name) is None:
        raise InputError(
            f"{change.key} is one for all pickups of this guitar; write {change.key}={change.text.partition('=')[2]}."
        )
    return at


def _direction(change: Change) -> str:
    if change.kind == "screws":
        return "up" if change.value.amount > 0 else "down"
    return "take off" if change.value == "off" else "put on"


def _reversible(change: Change, pickup: Pickup) -> bool:
    """A swap or flip of a bar that loses field in air loses it for good (`charge_lost`); so does recharging."""
    if change.key == "charge":
        return bool(change.value == pickup.magnet.charge)
    return change.key not in (*_SWAPS, "flip") or comes_back_whole(pickup)
