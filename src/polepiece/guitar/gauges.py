"""The gauge of a wire that nobody read: which ones fit, which one is computed, which one a draw takes.

Every usual gauge that fits the window at the resistance that was read, with turns that fill it neither past what wire
can nor by less than a quarter, is taken as likely as the next. Thin wire reaches a resistance with fewer turns, and
the inductance goes as their square: that is most of what an ohmmeter leaves open.
"""

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from polepiece.guitar.assumption import Assumption
from polepiece.guitar.file.layout import key_of
from polepiece.guitar.records import Guitar, Pickup
from polepiece.guitar.spread import Draw
from polepiece.guitar.windings import Winding, fitting_gauges, nominal_gauge, with_gauge, wound_turns
from polepiece.materials import catalogue

KEY = key_of("coil.wire_awg").partition(".")[2]
SETTLE = "inductance meter at 120 Hz beside the ohmmeter, or a micrometer on a loose end"
BASIS = "assumption: every usual gauge (AWG 41 to 44) that fits the window is as likely; AWG 42 computed where it fits"

TURNS = key_of("coil.turns").partition(".")[2]
TURNS_SETTLE = "inductance meter at 120 Hz beside the ohmmeter"
TURNS_BASIS = (
    "the resistance that was read, over the diameters that the wire's standard allows each gauge that it may be"
)


def gauge_assumption(path: str, winding: Winding) -> Assumption:
    """Return the line for `Guitar.assumed`: the gauge that is computed and the thickest and finest that fit."""
    gauge = nominal_gauge(winding)
    fitting = fitting_gauges(winding) or (gauge,)
    others = [str(one) for one in fitting if one != gauge]
    words = f"AWG {gauge}" + (f"; AWG {' and '.join(others)} would fit as well" if others else "")
    low, high = min(*fitting, gauge), max(*fitting, gauge)
    return Assumption(path=path, value=words, low=float(low), high=float(high), basis=BASIS, settle=SETTLE)


def turns_assumption(path: str, winding: Winding, *, gauge_known: bool) -> Assumption:
    """Return the line of turns that follow from a resistance: as computed, and over the wires that would read it."""
    gauge = winding.coils[0].wire_awg
    gauges = {gauge} if gauge_known else {gauge, *fitting_gauges(winding)}
    counts = list(dict.fromkeys(f"{one:.0f}" for one in wound_turns(winding)))
    ends = []
    for coil, turns in zip(winding.coils, wound_turns(winding)):
        ohms = turns * catalogue.wire(gauge, coil.wire_build).resistance_per_metre()
        ends += [ohms / one for awg in gauges for one in catalogue.wire(awg, coil.wire_build).resistance_spread]
    return Assumption(
        path=path, value=f"{' and '.join(counts)}, from the resistance", low=float(round(min(ends))),
        high=float(round(max(ends))), basis=TURNS_BASIS, settle=TURNS_SETTLE if gauge_known else SETTLE,
    )  # fmt: skip


def _lines(guitar: Guitar, pickup: Pickup, key: str = KEY) -> list[Assumption]:
    """Return the assumed gauge (or turns) of every coil; empty where one of them is known."""
    place = next(at for at, one in enumerate(guitar.pickups) if one.name == pickup.name)
    paths = {one.path: one for one in guitar.assumed if one.path.startswith(f"pickups[{place}].coil")}
    shared = paths.get(f"pickups[{place}].coil.{key}")
    each = [shared] if shared is not None else [
        paths.get(f"pickups[{place}].coils[{k}].{key}") for k in range(len(pickup.coils))
    ]  # fmt: skip
    return [] if None in each else [one for one in each if one is not None]


def assumed_gauges(guitar: Guitar, pickup: Pickup) -> tuple[int, ...]:
    """Return the gauges that the wire may have, thickest first: its own alone where it is known."""
    own = pickup.coils[0].wire_awg
    lines = _lines(guitar, pickup)
    if not lines:
        return (own,)
    low = min(own if one.low is None else one.low for one in lines)
    high = max(own if one.high is None else one.high for one in lines)
    fitting = {one for one in fitting_gauges(Winding.of(pickup)) if low <= one <= high}
    return tuple(sorted(fitting | {own}))


def drawn_gauge(guitar: Guitar, pickup: Pickup, draw: Draw) -> float:
    """Return the ohms a metre of a draw's gauge over those of the gauge that is computed; 1 where it is known."""
    gauges = assumed_gauges(guitar, pickup)
    if len(gauges) == 1 or not draw.number:
        return 1.0
    return gauge_factors(guitar, pickup)[int(draw.share(f"wire gauge of {pickup.name}") * len(gauges))]


def gauge_factors(guitar: Guitar, pickup: Pickup) -> tuple[float, ...]:
    """Return the ohms a metre of every gauge that the wire may have over those of the one that is computed."""
    coil = pickup.coils[0]
    own = catalogue.wire(coil.wire_awg, coil.wire_build).resistance_per_metre()
    return tuple(
        catalogue.wire(one, coil.wire_build).resistance_per_metre() / own for one in assumed_gauges(guitar, pickup)
    )


def read_again(guitar: Guitar, pickup: Pickup, values: Mapping[str, Any]) -> tuple[Guitar, Pickup]:
    """Return guitar and pickup with new readings: a gauge and turns that were assumed follow them.

    Raises
    ------
    InputError
        When no winding has these readings.
    """
    lines, turns = _lines(guitar, pickup), _lines(guitar, pickup, TURNS)
    asked = {field.name for field in fields(Winding)}
    winding = replace(Winding.of(pickup), **{name: value for name, value in values.items() if name in asked})
    if lines:
        values = {**values, "coils": with_gauge(winding, nominal_gauge(winding)).coils}
    moved = replace(pickup, **values)
    new = {one.path: gauge_assumption(one.path, winding) for one in lines}
    if moved.resistance is not None or moved.coil_resistances or any(one.resistance for one in moved.coils):
        known = not lines
        new |= {one.path: turns_assumption(one.path, Winding.of(moved), gauge_known=known) for one in turns}
    return replace(guitar, assumed=tuple(new.get(one.path, one) for one in guitar.assumed)), moved
