"""The bobbin that is wound: a pickup's coils with any wire on them, and how far their sizes may be off.

Turns, resistance, fill and gauges are those of `guitar.windings` and the wire tables; nothing is computed twice.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from polepiece.coil import Racetrack, between_leads, inductance_in_air
from polepiece.guitar import (
    SIGMAS,
    Coil,
    Guitar,
    Pickup,
    drawn_resistances,
    fill,
    key_of,
    key_path,
    mean_turn,
    parse_guitar,
    unchecked,
    window_area,
    with_entries,
)
from polepiece.materials import Build, catalogue

CALIPER = 0.1e-3  # m, half a 90 % interval of a size that was measured: a plastic caliper; common practice, no source
STRETCH = 0.02
"""Half a 90 % interval of ln(ohm a metre) by winding tension; assumption. Charts of winding tension give the pull at
which wire of a gauge begins to stretch for good and recommend half to four fifths of it (a wire maker's chart, read:
0.22 N for AWG 42, 70 MPa); a hand that pulls harder thins the wire: e % longer, it has e % more ohm a metre."""
SETTLED = ("resistance", "inductance", "capacitance", "coil.wire_awg", "coil.wire_build", "coil.turns")
SIZES = ("inner_half_x", "inner_half_y", "outer_half_x", "outer_half_y", "bottom", "top")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeSpread:
    """Standard deviations of ln(mean turn) and ln(window), and d ln L / d ln(mean turn) by the outer sizes."""

    mean_turn: float
    window: float
    inductance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bobbin:
    """One pickup of a guitar as a place for wire."""

    guitar: Guitar
    pickup: Pickup

    @property
    def place(self) -> int:
        """Place of the pickup in its guitar."""
        return self.guitar.pickups.index(self.pickup)

    @property
    def reference(self) -> float:
        """Turns of the first coil of the record: what turns are counted against."""
        return self.pickup.coils[0].turns

    def coils(self, turns: float, gauge: int, build: Build) -> tuple[Coil, ...]:
        """Return the coils with ``turns`` on the first, the others in their ratio, of one wire; not judged."""
        scale = turns / self.reference
        return tuple(
            unchecked(one, turns=scale * one.turns, wire_awg=gauge, wire_build=build, resistance=None)
            for one in self.pickup.coils
        )

    def resistance(self, turns: float, gauge: int, build: Build) -> float:
        """Return ohm between the leads at 20 degC with nominal wire. Kirchhoff, `coil.between_leads`."""
        unit = unchecked(self.pickup, coils=self.coils(turns, gauge, build), resistance=None, coil_resistances=())
        return between_leads(drawn_resistances(unit), self.pickup.wiring)

    def fill(self, turns: float, gauge: int, build: Build, *, thinnest: bool = False) -> float:
        """Return the share of its window that wire and insulation fill, of the fullest coil."""
        return max(fill(one, one.turns, thinnest=thinnest) for one in self.coils(turns, gauge, build))

    def wire_length(self, turns: float) -> float:
        """Return the length of wire on all coils, m. Turns times the length of the mean one: definition."""
        return sum(turns / self.reference * one.turns * mean_turn(one) for one in self.pickup.coils)

    def wound(self, turns: float, gauge: int, build: Build, resistance: float | None = None) -> tuple[Guitar, Pickup]:
        """Return the guitar with this winding on the bobbin; ``resistance`` as read between the leads (ohm, 20 degC).

        Without one the turns are counted, and the resistance follows from the wire.

        What was measured of the old winding is gone.

        Raises
        ------
        InputError
            When no winding can be like that: `guitar.windings.winding_faults` says why, and the likely slip.
        """
        moved = replace(
            self.pickup, coils=self.coils(turns, gauge, build), resistance=resistance, coil_resistances=(),
            temperature=20.0, inductance=None, capacitance=None,
        )  # fmt: skip
        gone = tuple(key_of(one) for one in SETTLED)
        guitar = with_entries(self.guitar, moved, settled=gone)
        return guitar, moved

    def spread(self) -> SizeSpread:
        """Return how far the sizes may be off: those assumed by their spread, those measured by a caliper.

        First order in each size, added as independent (assumption); the effect on L is that of the outer sizes on the
        same coil in air, which holds more of it than one over steel.
        """
        coil = self.pickup.coils[0]
        lines = {one.path: one for one in self.guitar.assumed}
        turn = window = 0.0
        for name in SIZES:
            line = lines.get(key_path(self.place, f"coil.{name}"))
            known = line is None or line.low is None or line.high is None
            half = CALIPER if known else 0.5e-3 * (line.high - line.low)  # type: ignore[union-attr, operator]  # mm
            moved = unchecked(coil, **{name: getattr(coil, name) + half})
            turn += (math.log(mean_turn(moved) / mean_turn(coil)) / SIGMAS) ** 2
            window += (math.log(max(window_area(moved), 1e-9) / window_area(coil)) / SIGMAS) ** 2
        wider = unchecked(coil, outer_half_x=coil.outer_half_x + CALIPER, outer_half_y=coil.outer_half_y + CALIPER)
        per = math.log(_in_air(wider) / _in_air(coil)) / math.log(mean_turn(wider) / mean_turn(coil))
        return SizeSpread(mean_turn=math.sqrt(turn), window=math.sqrt(window), inductance=per)


@lru_cache(maxsize=256)
def _in_air(coil: Coil) -> float:
    shape = Racetrack(
        inner_half_x=coil.inner_half_x, inner_half_y=coil.inner_half_y, outer_half_x=coil.outer_half_x,
        outer_half_y=coil.outer_half_y, bottom=coil.bottom, top=coil.top, turns=1.0,
    )  # fmt: skip
    return float(inductance_in_air([shape])[0, 0])


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSpread:
    """Standard deviations of a gauge: ln(ohm a metre); ln(overall diameter squared) that the bare wire does not make.

    ``shared`` is d ln(overall squared) / d ln(ohm a metre): thick copper has fewer ohms and takes more room.
    """

    ohms: float
    enamel: float
    shared: float


def wire_spread_of(gauge: int, build: Build) -> WireSpread:
    """Return what the standard allows a gauge, its limits as 90 % (NEMA MW 1000, as tabulated in `materials`)."""
    wire = catalogue.wire(gauge, build)
    low, high = wire.resistance_spread
    ohms = 0.5 * math.log(high / low) / SIGMAS
    overall = math.log(wire.overall[2] / wire.overall[0]) / SIGMAS  # half of ln(d^2)
    shared = -wire.bare[1] / wire.overall[1]
    return WireSpread(ohms=ohms, enamel=math.sqrt(max(overall**2 - (shared * ohms) ** 2, 0.0)), shared=shared)


def stock_bobbin(construction: str, sizes: Iterable[str] = ()) -> Bobbin:
    """Return a pickup of a construction without a guitar file: what is usual of it, and ``sizes`` as file keys.

    ``sizes`` are like ``outer_half_x_mm=8.2``: keys of the coil in a guitar file.

    Raises
    ------
    GuitarFileError
        When there is no such construction or key, or a size is none.
    """
    lines = "".join(f"coil.{one.strip()}\n" for one in sizes)
    text = (
        f'name = "a bobbin"\n[[pickups]]\nname = "pickup"\nposition = "bridge"\nconstruction = "{construction}"\n'
        f'{lines}[pickups.magnet]\ngrade = "alnico-5"\n'
    )
    guitar = parse_guitar(text, "--construction and --size")
    return Bobbin(guitar=guitar, pickup=guitar.pickups[0])
