"""Moves as they are done by hand: which side or screw, which way, how far, and the gaps before and after.

The one place of these words; plan, page, report and work sheet take them from here. A lever names its function
(`levers.Lever.hand`). Gaps are those of the guitar file: string pressed at the last fret, to the pole as drawn.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from polepiece.guitar import Guitar, Pickup, controls_of, grade_words, owner_of, string_gaps, wiring_words
from polepiece.moves.lever_values import ScrewMove, Value

_TURNS = {0.25: "a quarter turn", 0.5: "half a turn", 0.75: "three quarters of a turn", 1.0: "one turn"}
SEEN = 0.02e-3  # m; a gap that moved less reads the same on a ruler


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """One thing a hand does: "bass side" of "neck pickup" "down 0.8 mm"."""

    move: str
    part: str = ""  # "": the pickup as a whole
    whose: str = ""  # "": it is behind the switch, and moves every pickup
    screws: tuple[int, ...] = ()  # the strings whose screws are turned, where these are named
    row: str = ""  # " in the neck row", of two rows of screws


Hand = Callable[[Guitar, Guitar, str, Value], Movement]


def pickup_words(name: str) -> str:
    """Return a pickup as it is spoken of: "neck pickup", and a name that says so already as it is."""
    return name if "pickup" in name.lower() else f"{name} pickup"


def string_words(number: int) -> str:
    """Return a string by its number: 1st, 2nd, 3rd, 4th ..."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number if number % 100 not in (11, 12, 13) else 0, "th")
    return f"{number}{ending}"


def mm_words(metres: float) -> str:
    """Return a distance in mm without needless zeros: "0.8 mm"."""
    return f"{round(abs(metres) * 1e3, 2):g} mm"


# ---------------------------------------------------------------- values as they are marked


def marked_ohm(ohm: float) -> str:
    """Return a resistance as it stands on a pot or resistor: 500k, 1M."""
    return f"{ohm / 1e6:g}M" if ohm >= 1e6 else f"{ohm / 1e3:g}k" if ohm >= 1e3 else f"{ohm:g}"


def marked_farad(farad: float) -> str:
    """Return a capacitance with its three-digit mark: "22 nF (223)"; two figures and the zeros that follow, in pF."""
    pf = round(farad * 1e12)
    words = f"{pf / 1000:g} nF" if pf >= 1000 else f"{pf} pF"
    zeros = len(str(pf)) - 2
    return f"{words} ({str(pf)[:2]}{zeros})" if zeros >= 0 and pf % 10**zeros == 0 else words


def at(value: Any) -> str:
    """Return where a knob or switch stands."""
    return f"at {value:g}" if isinstance(value, float | int) else str(value).replace("-", " ")


def _plain_farad(farad: float) -> str:
    return f"{farad * 1e12:.0f} pF"


# ---------------------------------------------------------------- what hands do


def side(part: str, way: str) -> Hand:
    """Return the words of a height screw or both: ``part`` "" is the whole pickup."""
    return lambda _b, _a, name, far: Movement(part=part, move=f"{way} {mm_words(far)}", whose=pickup_words(name))


def tilted(_before: Guitar, _after: Guitar, name: str, treble_up: float) -> Movement:
    """Return the words of a tilt: one side down, the other up by as much."""
    down, up = ("bass", "treble") if treble_up > 0 else ("treble", "bass")
    far = mm_words(treble_up)
    return Movement(part=f"{down} side", move=f"down {far}, {up} side up {far}", whose=pickup_words(name))


def body_down(before: Guitar, _after: Guitar, name: str, far: float) -> Movement:
    """Return the words of a body that goes down while its screws stay where they are to the strings."""
    turns = far / before.pickup(name).poles.screw_pitch
    move = f"down {mm_words(far)} and all its screws up as much ({turns:.1f} turns, anticlockwise)"
    return Movement(move=move, whose=pickup_words(name))


def turned(*numbers: int, row: str = "") -> Hand:
    """Return the words of one screw turned, or of all (none named), of the row towards neck or bridge."""

    where = f" in the {row} row" if row else ""

    def hand(_before: Guitar, _after: Guitar, name: str, far: ScrewMove) -> Movement:
        part = f"screw of the {string_words(numbers[0])} string" if numbers else "all screws"
        part += where
        size = abs(far.amount)
        much = _TURNS.get(size, f"{size:g} turns") if far.unit == "turn" else mm_words(size)
        way = "up, anticlockwise" if far.amount > 0 else "down, clockwise"
        return Movement(part=part, move=f"{much} {way}", whose=pickup_words(name), screws=numbers, row=where)

    return hand


def bar_in(before: Guitar, after: Guitar, name: str, _: Value) -> Movement:
    """Return the words of another bar."""
    old, new = (_bar(one.pickup(name)) for one in (before, after))
    return Movement(move=f"opened, bar of {new} instead of {old}", whose=pickup_words(name))


def _bar(pickup: Pickup) -> str:
    rough = "-rough-cast" if pickup.magnet.finish == "rough-cast" else ""
    return "the one in it" if pickup.magnet.grade == "unknown" else grade_words(pickup.magnet.grade + rough)


def bar_turned(_before: Guitar, _after: Guitar, name: str, _: Value) -> Movement:
    """Return the words of a bar that goes back the other way round."""
    return Movement(move="opened, its bar turned end for end", whose=pickup_words(name))


def recharged(_before: Guitar, _after: Guitar, name: str, charge: Value) -> Movement:
    """Return the words of another state of charge."""
    moves = {"in-place": "recharged assembled, in a magnetiser", "outside": "opened, its bar charged outside"}
    weaker = f"bar weakened to {charge:.0%}" if isinstance(charge, float) else "bar recharged"
    return Movement(move=moves.get(charge, weaker), whose=pickup_words(name))


def covered(_before: Guitar, _after: Guitar, name: str, metal: str) -> Movement:
    """Return the words of a cover on or off."""
    on = "" if metal == "on" else f"{metal.replace('-', ' ')} "
    return Movement(move="cover taken off" if metal == "off" else f"{on}cover soldered on", whose=pickup_words(name))


def rewired(before: Guitar, _after: Guitar, name: str, wiring: str) -> Movement:
    """Return the words of coils connected otherwise."""
    words = wiring_words(before.pickup(name).built).get(wiring, wiring.replace("-", " "))
    return Movement(move=words if wiring.startswith("split") else f"coils wired {words}", whose=pickup_words(name))


def faced(before: Guitar, _after: Guitar, name: str, facing: str) -> Movement:
    """Return the words of a pickup turned round in its ring."""
    return Movement(
        move=f"turned round, {before.pickup(name).built.what_faces} to the {facing}", whose=pickup_words(name)
    )


def control(attr: str, part: str, words: Callable[[Any], str], *, gone: str = "", way: str = "") -> Hand:
    """Return the words of a part or setting of the circuit: the new value, and the one that was there.

    ``gone``: what is said where it is taken out. ``way``: where it goes, if it was not there before.
    """

    def hand(before: Guitar, after: Guitar, name: str, value: Value) -> Movement:
        netlist = bool(before.controls.elements)
        own = netlist or owner_of(before, attr, name) is not None
        old = None if netlist else getattr(controls_of(before, name), attr)
        whose = pickup_words(name) if own else ""
        if value is None:
            return Movement(part=part, move=gone or "taken out", whose=whose)
        instead = way if old is None else f" instead of {words(old).removeprefix('at ')}"
        return Movement(part=part, move=words(value) + instead, whose=whose)

    return hand


def cabled(before: Guitar, _after: Guitar, name: str, farad: float) -> Movement:
    """Return the words of another cable."""
    old = controls_of(before, name).cable_capacitance
    way = "shorter" if farad < old else "longer"
    return Movement(part=f"{way} cable,", move=f"{_plain_farad(farad)} instead of {_plain_farad(old)}")


def strung(before: Guitar, _after: Guitar, _name: str, named: str) -> Movement:
    """Return the words of another set."""
    old = f" instead of {before.string_set}" if before.string_set not in ("", "own") else ""
    return Movement(part="strings", move=f"{named}{old}")


# ---------------------------------------------------------------- a job in words


def joined(found: Sequence[Movement]) -> list[Movement]:
    """Return the movements with screws that turn alike as one: "screws of the 5th and 6th string"."""
    out: list[Movement] = []
    for one in found:
        last = out[-1] if out else None
        if last is not None and one.screws and replace(last, screws=one.screws, part=one.part) == one:
            screws = (*last.screws, *one.screws)
            part = f"screws of the {', '.join(map(string_words, screws[:-1]))} and {string_words(screws[-1])} string"
            part += one.row
            out[-1] = replace(last, screws=screws, part=part)
        else:
            out.append(one)
    return out


def short_words(found: Sequence[Movement], *, shared: str = "") -> str:
    """Return a job for one row: "neck pickup, bass side down 0.8 mm"; ``shared`` is put behind what moves all."""
    out: list[str] = []
    whose: str | None = None
    for number, one in enumerate(found, start=1):
        what = f"{one.part} {one.move}".strip()
        if one.whose and one.whose != whose:
            what = f"{one.whose}{', ' if one.part else ' '}{what}"
        whose = one.whose
        last = not one.whose and shared and (number == len(found) or found[number].whose)
        out.append(what + (f" ({shared})" if last else ""))
    return ", ".join(out)


def full_words(found: Sequence[Movement], gaps: str = "", *, shared: str = "") -> str:
    """Return a job for a sentence: "bass side of the neck pickup down 0.8 mm (6th string ...: 2.6 -> 3.4 mm)"."""
    out: list[str] = []
    whose = ""
    for one in found:
        if one.whose and one.whose != whose:
            what = f"{one.part} of the {one.whose} {one.move}" if one.part else f"{one.whose} {one.move}"
        else:
            what = f"{one.part} {one.move}".strip() + ("" if one.whose or not shared else f", for {shared}")
        whose = one.whose
        out.append(what)
    return ", ".join(out) + (f" ({gaps})" if gaps else "")


def gap_words(before: Pickup, after: Pickup, last: int) -> str:
    """Return the gaps that a job moves, before and after, or nothing. ``last``: its thickest string."""
    sides = [(last, before.gap_bass, after.gap_bass), (1, before.gap_treble, after.gap_treble)]
    moved = [one for one in sides if abs(one[2] - one[1]) > SEEN]
    if not moved:
        each = zip(range(1, last + 1), string_gaps(before), string_gaps(after))
        moved = [one for one in each if abs(one[2] - one[1]) > SEEN]
        if len(moved) > 2:
            moved = [moved[-1], moved[0]]
    if not moved:
        return ""
    (first, was, now), *others = moved
    spoken = [f"{string_words(first)} string pressed at the last fret: {_from_to(was, now)}"]
    spoken += [f"{string_words(number)} {_from_to(was, now)}" for number, was, now in others]
    return f"{', '.join(spoken)} mm"


def _from_to(was: float, now: float) -> str:
    """Return two gaps with one decimal, two where one would hide the step."""
    fine = any(abs(one * 1e4 - round(one * 1e4)) > 0.05 for one in (was, now))
    n = 2 if fine else 1
    return f"{was * 1e3:.{n}f} -> {now * 1e3:.{n}f}"
