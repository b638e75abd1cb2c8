"""Windings that can be: turns from resistance and wire, how full their window is, and which gauges fit.

A winding is a number of turns of one wire in one window. Its resistance is turns x length of a turn x ohm a metre, so
a resistance that was read and a gauge make the turns, and the turns must find room. What finds none is refused, with
the slip that most likely made it.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Protocol

from polepiece.coil import Racetrack, Wiring, between_leads, inductance_in_air, winding_resistance
from polepiece.guitar.checks import unchecked
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import construction_of
from polepiece.materials import catalogue, copper_factor

USUAL_GAUGE = 42
USUAL_GAUGES = (41, 42, 43, 44)
ALL_GAUGES = (40, 41, 42, 43, 44, 45, 46)
"""AWG of pickup coils; common practice, no source. Other gauges are taken where they are typed."""

MOST_FILL = 0.84
"""Most of a window that round wires lying at random can fill, with their insulation: random close packing of discs,
0.840 (Meer and others, arXiv:2404.02316, 2024; abstract read). In ordered rows of equal wire it would be 0.907
(Lagrange, Thue), which a coil of such fine wire does not reach; wild windings are called 45 to 50 % copper."""
LEAST_FILL = 0.25
"""Least of a window that a coil fills which nobody called half empty; assumption, only used to choose among gauges."""
TURNS = (100.0, 20000.0)  # of one coil whose resistance was read; common practice, no source: usual are 3000 to 12000
GROWTH = (0.8, 6.0)
"""Inductance over that of the same coils in air. Computed 1.25 (rods) to 2.5 (humbucker); widened on both sides,
assumption, so that only a slip lies outside."""
INDUCTANCE = (0.005, 40.0)  # H of a pickup in air: outside it is no pickup; assumption, usual are 1.5 to 6


class Wound(Protocol):
    """What this module asks of a pickup."""

    @property
    def construction(self) -> str: ...
    @property
    def coils(self) -> "tuple[Coil, ...]": ...
    @property
    def wiring(self) -> Wiring: ...
    @property
    def resistance(self) -> float | None: ...
    @property
    def coil_resistances(self) -> tuple[float, ...]: ...
    @property
    def temperature(self) -> float: ...
    @property
    def inductance(self) -> float | None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding:
    """A `Wound` on its own: coils and readings before, or without, their pickup."""

    construction: str
    coils: "tuple[Coil, ...]"
    wiring: Wiring = "series"
    resistance: float | None = None
    coil_resistances: tuple[float, ...] = ()
    temperature: float = 20.0
    inductance: float | None = None

    @classmethod
    def of(cls, unit: Wound) -> "Winding":
        """Return the winding of a pickup."""
        return cls(
            construction=unit.construction, coils=unit.coils, wiring=unit.wiring, resistance=unit.resistance,
            coil_resistances=unit.coil_resistances, temperature=unit.temperature, inductance=unit.inductance,
        )  # fmt: skip


# ---------------------------------------------------------------- turns


def mean_turn(coil: "Coil") -> float:
    """Return the mean length of a turn, m."""
    return 2.0 * (coil.inner_half_x + coil.outer_half_x + coil.inner_half_y + coil.outer_half_y)


def ohm_per_metre(coil: "Coil") -> float:
    """Return the resistance of the coil's wire at 20 degC, ohm/m."""
    return catalogue.wire(coil.wire_awg, coil.wire_build).resistance_per_metre()


def drawn_resistances(unit: Wound) -> list[float]:
    """Return the resistance of each coil at 20 degC from the turns of its record, ohm."""
    return [winding_resistance(mean_turn(coil), coil.turns, ohm_per_metre(coil)) for coil in unit.coils]


def wound_turns(unit: Wound) -> tuple[float, ...]:
    """Return the turns of each coil, scaled to the resistance that was read between the leads, as they are wired."""
    drawn = drawn_resistances(unit)
    if unit.coil_resistances and len(unit.coil_resistances) == len(unit.coils):
        return tuple(c.turns * r / w for c, r, w in zip(unit.coils, unit.coil_resistances, drawn))
    if unit.resistance is not None:
        scale = unit.resistance / (between_leads(drawn, unit.wiring) * copper_factor(unit.temperature))
        return tuple(c.turns * scale for c in unit.coils)
    return tuple(c.turns * (c.resistance / w if c.resistance is not None else 1.0) for c, w in zip(unit.coils, drawn))


# ---------------------------------------------------------------- the window


def window_area(coil: "Coil") -> float:
    """Return the area of the winding's window, m2."""
    return (coil.outer_half_x - coil.inner_half_x) * (coil.top - coil.bottom)


def fill(coil: "Coil", turns: float, *, thinnest: bool = False) -> float:
    """Return the share of the window that wire and insulation fill.

    Parameters
    ----------
    coil : Coil
    turns : float
    thinnest : bool
        With the smallest overall diameter that the standard allows the gauge, instead of the nominal one.
    """
    diameter = catalogue.wire(coil.wire_awg, coil.wire_build).overall[0 if thinnest else 1]
    return turns * math.pi / 4.0 * diameter**2 / window_area(coil)


def with_gauge(unit: Wound, gauge: int) -> Winding:
    """Return the winding with all its coils of one gauge: the turns follow from the resistance, where one was read."""
    return replace(Winding.of(unit), coils=tuple(unchecked(coil, wire_awg=gauge) for coil in unit.coils))


def _full(unit: Wound) -> float:
    """Return how full the fullest window is with the thinnest wire of its gauge."""
    return max(fill(coil, n, thinnest=True) for coil, n in zip(unit.coils, wound_turns(unit)))


def _drawn(unit: Wound) -> bool:
    """Tell whether every coil has a window at all; coils without one are named elsewhere."""
    return all(
        c.inner_half_x < c.outer_half_x and c.inner_half_y < c.outer_half_y and c.bottom < c.top for c in unit.coils
    )


@lru_cache(maxsize=1024)
def fitting_gauges(winding: Winding) -> tuple[int, ...]:
    """Return the usual gauges that make this winding possible and not half empty, thickest first; may be empty."""
    if not _drawn(winding):
        return ()
    found = []
    for gauge in USUAL_GAUGES:
        one = with_gauge(winding, gauge)
        loose = min(fill(coil, n) for coil, n in zip(one.coils, wound_turns(one)))
        if _full(one) <= MOST_FILL and loose >= LEAST_FILL:
            found.append(gauge)
    return tuple(found)


def nominal_gauge(unit: Wound) -> int:
    """Return the gauge that is computed where none is known.

    The usual one where it fits the window at this resistance; otherwise the nearest gauge that fits, finer before
    thicker; where none fits, the finest of them if the usual one is too thick (which is then refused), else the usual
    one, in a window that it leaves more than three quarters empty.
    """
    winding = Winding.of(unit)
    fitting = fitting_gauges(winding)
    if not fitting and _drawn(unit) and _full(with_gauge(winding, USUAL_GAUGE)) > MOST_FILL:
        return USUAL_GAUGES[-1]
    if USUAL_GAUGE in fitting or not fitting:
        return USUAL_GAUGE
    return min(fitting, key=lambda gauge: (abs(gauge - USUAL_GAUGE), -gauge))


# ---------------------------------------------------------------- what cannot be


def winding_faults(unit: Wound) -> tuple[str, ...]:
    """Return a sentence for each thing that no winding can be; empty where it can.

    Each sentence continues "pickup x ..." and ends with the slip that most likely made it, where one is found.
    """
    if len(unit.coils) == 1 and unit.wiring != "series":
        more = (
            ' To turn its phase against other pickups write wound = "reverse".'
            if unit.wiring == "out-of-phase"
            else " Write series, or leave wiring out."
        )
        return (f"is a {construction_of(unit.construction).words} with one coil; {unit.wiring} needs two.{more}",)
    return _faults(Winding.of(unit))


@lru_cache(maxsize=4096)
def _faults(winding: Winding) -> tuple[str, ...]:
    if not winding.coils or not _drawn(winding):
        return ()
    wrong = _impossible(winding)
    if not wrong:
        return ()
    return (f"{wrong}{''.join(f' {one}' for one in _slips(winding))}",)


def _impossible(winding: Winding) -> str:
    """Say why a winding cannot be; empty where it can."""
    for coil, n in zip(winding.coils, wound_turns(winding)):
        share = fill(coil, n, thinnest=True)
        wide, high = 1e3 * (coil.outer_half_x - coil.inner_half_x), 1e3 * (coil.top - coil.bottom)
        window = f"a window of {wide:.3g} x {high:.3g} mm"
        if share > MOST_FILL:
            return (
                f"{_read(winding)}: {n:.0f} turns of AWG {coil.wire_awg} in one coil would fill {share:.0%} of "
                f"{window}; wire at random fills {MOST_FILL:.0%} at most."
            )
        if winding.resistance is not None and not winding.coil_resistances and not TURNS[0] <= n <= TURNS[1]:
            usual = f"coils have {TURNS[0]:.0f} to {TURNS[1]:.0f}"
            return f"{_read(winding)}: {n:.3g} turns of AWG {coil.wire_awg} in one coil; {usual}."
    return _wrong_inductance(winding)


def _wrong_inductance(winding: Winding) -> str:
    """Say where the inductance of turns, or the one that was read, is none of a pickup with these coils."""
    if 0.0 in wound_turns(winding):
        return ""  # a dead coil: the fault gate says so
    air = inductance_of_coils(winding)
    least = 0.0 if winding.coil_resistances else INDUCTANCE[0]  # a coil that reads nearly nothing is the fault gate's
    if not least <= air <= INDUCTANCE[1]:
        return (
            f"{_read(winding)}: its coils would have {air:.3g} H in air alone; pickups lie between "
            f"{INDUCTANCE[0]:g} and {INDUCTANCE[1]:g} H."
        )
    if winding.inductance is None:
        return ""
    gauges = {*(coil.wire_awg for coil in winding.coils), *fitting_gauges(replace(winding, inductance=None))}
    spans = [_inductance_span(with_gauge(winding, one)) for one in gauges]
    low, high = min(one[0] for one in spans), max(one[1] for one in spans)
    if low <= winding.inductance <= high:
        return ""
    read = "turns and window" if _read_of(winding) is None else f"{_read_of(winding)} and the window"
    return (
        f"has {winding.inductance:.3g} H, but {read} make {low:.2g} to {high:.2g} H, whatever the usual gauge, the "
        "steel and the magnet: one of the two readings is wrong."
    )


def _inductance_span(winding: Winding) -> tuple[float, float]:
    air = inductance_of_coils(winding)
    return GROWTH[0] * air, GROWTH[1] * air


def inductance_of_coils(unit: Wound) -> float:
    """Return the inductance of the coils in air, as they are wired, without what they share, H."""
    each = [
        n**2 * _air(c.inner_half_x, c.inner_half_y, c.outer_half_x, c.outer_half_y, c.top - c.bottom)
        for c, n in zip(unit.coils, wound_turns(unit))
    ]
    return between_leads(each, unit.wiring)


@lru_cache(maxsize=256)
def _air(inner_half_x: float, inner_half_y: float, outer_half_x: float, outer_half_y: float, height: float) -> float:
    """Return the inductance of one coil in air, H per turn squared."""
    coil = Racetrack(
        inner_half_x=inner_half_x, inner_half_y=inner_half_y, outer_half_x=outer_half_x, outer_half_y=outer_half_y,
        bottom=0.0, top=height, turns=1.0,
    )  # fmt: skip
    return float(inductance_in_air([coil])[0, 0])


def _read_of(winding: Winding) -> str | None:
    if winding.coil_resistances:
        return f"{', '.join(_kohm(one) for one in winding.coil_resistances)} kohm coil by coil"
    if winding.resistance is not None:
        wired = f" wired {winding.wiring}" if len(winding.coils) > 1 else ""
        return f"{_kohm(winding.resistance)} kohm{wired}"
    if any(one.resistance is not None for one in winding.coils):
        return f"{', '.join(_kohm(one.resistance) for one in winding.coils if one.resistance)} kohm coil by coil"
    return None


def _read(winding: Winding) -> str:
    return f"has {_read_of(winding) or 'turns'} that cannot be"


def _kohm(ohm: float) -> str:
    return f"{ohm / 1e3:.4g}"


# ---------------------------------------------------------------- the likely slip


def _possible(winding: Winding) -> bool:
    """Tell whether a winding can be with its own gauge or with a usual one."""
    own = {coil.wire_awg for coil in winding.coils}
    return any(not _impossible(one) for one in (winding, *(with_gauge(winding, g) for g in USUAL_GAUGES if {g} != own)))


def _slips(winding: Winding) -> tuple[str, ...]:
    """Return what would make the winding possible: another wiring, unit or share, or else another gauge or window."""
    found = [words for other, words in _readings_meant(winding) if _possible(other)]
    gauges = USUAL_GAUGES if found else ALL_GAUGES
    fitting = [g for g in gauges if not _impossible(with_gauge(winding, g))]
    usual = [g for g in fitting if g in USUAL_GAUGES]
    if fitting:
        found.append(f"Is the gauge another one? AWG {' or '.join(map(str, usual or fitting))} would fit.")
    elif _read_of(winding) is None:
        found.append("Are the turns those of both coils?")
    return (*found, "Or is the winding larger than these sizes? Write them.")


def _readings_meant(winding: Winding) -> Iterator[tuple[Winding, str]]:
    """Yield what may have been meant instead, and the question that asks for it."""
    read, each = winding.resistance, bool(winding.coil_resistances)
    if read is not None and not each:
        if winding.wiring == "parallel":
            words = f"Side by side they read a quarter of it: {_kohm(read / 4.0)} kohm."
            yield replace(winding, wiring="series"), f"Is {_kohm(read)} kohm what the coils read in series? {words}"
        if winding.wiring.startswith("split"):
            words = f"The one that is on reads half: {_kohm(read / 2.0)} kohm."
            yield replace(winding, resistance=read / 2.0), f"Is {_kohm(read)} kohm the reading of both coils? {words}"
    if read is not None or each:
        yield _times(winding, 1e3), "Is that kohm where ohm is meant?"
        yield _times(winding, 1e-3), "Is that ohm where kohm is meant?"
    if each or any(coil.resistance for coil in winding.coils):
        half = "Is that the reading of both coils, given for each? One coil reads half of it."
        yield _times(winding, 0.5), half


def _times(winding: Winding, factor: float) -> Winding:
    """Return the winding with every reading of resistance multiplied."""
    return replace(
        winding,
        resistance=None if winding.resistance is None else factor * winding.resistance,
        coil_resistances=tuple(factor * one for one in winding.coil_resistances),
        coils=tuple(
            c if c.resistance is None else unchecked(c, resistance=factor * c.resistance) for c in winding.coils
        ),
    )
