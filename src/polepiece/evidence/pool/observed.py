"""What a ledger says of a bar and of the steel: the logarithm of measured over computed, and what it hangs on.

What a constant does to the field at the poles is taken from the same one-at-a-time changes that every interval is made
of (`MagnetMoves`): a parabola through both ends of its spread. What the permeability of the steel does to the
inductance is taken from a few solved points.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench import Bench
from polepiece.errors import PolepieceError
from polepiece.evidence.coil_surface import solved_inductance
from polepiece.evidence.proof import POLE_FIELD
from polepiece.guitar import INDUCTANCE, SIGMAS, Guitar, Pickup, known, reading_of
from polepiece.materials import QUANTITIES, catalogue, published_hash
from polepiece.measure import Claim, Entry, Ledger
from polepiece.moves import apply, parse_changes
from polepiece.pickup import engine, string_places

INDUCTANCE_LINE = "inductance_120hz_h"
LAID_ON = 0.03 / math.sqrt(6.0)  # of a reading, not shared by a bench: the probe laid on six poles again
MODEL = 0.01  # of a computed field, a share: worst of the checked constructions against finite elements is twice that
COIL_MODEL = 0.012  # of a computed inductance: |L| within 1.2 % of three-dimensional finite elements
STEEL_DEVIATES = (-2.5, -SIGMAS, -0.8, 0.0, SIGMAS, 2.5)
NOT_COUNTED = math.log(1.18 / 0.85) / (
    2.0 * SIGMAS
)  # of turns that nobody counted or measured, as `coil_surface` has them


@dataclass(frozen=True, slots=True, kw_only=True)
class BarReading:
    """One bar at the pole tops: ``ratio`` is ln(measured / computed). Spreads are standard deviations of logarithms."""

    bench: str
    grade: str
    outside: bool  # charged outside; False: in place
    ratio: float
    low: tuple[float, ...]  # ln of the field at the low end of the spread of each of `QUANTITIES`, over the nominal one
    high: tuple[float, ...]
    gap: float  # by the contact of bar and poles
    shared: float  # by meter and probe, the same in all readings of a bench
    own: float  # by laying on, and by the model


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilReading:
    """One pickup's inductance: ``ratio`` is ln(measured / computed)."""

    bench: str
    ratio: float
    curve: FloatArray  # ln of the inductance over the nominal one at `STEEL_DEVIATES`
    own: float  # by turns, meter and model


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """What could be used, and why the rest could not, with how often."""

    bars: tuple[BarReading, ...]
    coils: tuple[CoilReading, ...]
    left_out: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proven:
    """A ledger, the guitar before its change, and whose it is."""

    bench: str
    guitar: Guitar
    ledger: Ledger


def observe(proven: Iterable[Proven], *, bench: Bench | None = None) -> Observed:
    """Return what ledgers say of bars and steel.

    A bar is counted once: of several readings of one grade in one pickup of one guitar, the last. Ledgers that were
    computed with other constants than the published ones now, bars whose charge or grade is not known, and pickups
    that were settled by the very measurement are left out.
    """
    bench = bench or Bench()
    bars: dict[object, BarReading] = {}
    coils: dict[object, CoilReading] = {}
    left: dict[str, int] = {}
    for one in proven:
        if one.ledger.provenance.get("constants") != published_hash():
            left["computed with other constants"] = left.get("computed with other constants", 0) + 1
            continue
        try:
            sides = {"before": one.guitar, "after": apply(one.guitar, one.ledger.pickup, _changes(one.ledger))}
        except PolepieceError:
            left["its change cannot be made to the guitar"] = left.get("its change cannot be made to the guitar", 0) + 1
            continue
        for entry in one.ledger.entries:
            guitar = sides.get(entry.of)
            if guitar is None or entry.computed is None or entry.measured is None:
                continue
            pickup = guitar.pickup(one.ledger.pickup)
            place = (one.bench, one.guitar.name, pickup.name)
            if entry.key == POLE_FIELD:
                why = _bar_left_out(guitar, pickup)
                if why:
                    left[why] = left.get(why, 0) + 1
                else:
                    bars[(*place, pickup.magnet.grade, pickup.magnet.charge)] = _bar(
                        one.bench, guitar, pickup, entry, bench
                    )
            elif entry.key == INDUCTANCE_LINE and (found := _coil(one.bench, guitar, pickup, entry, bench)) is not None:
                coils.setdefault(place, found)
    return Observed(bars=tuple(bars.values()), coils=tuple(coils.values()), left_out=left)


def _changes(ledger: Ledger) -> "tuple":  # type: ignore[type-arg]
    return tuple(parse_changes(ledger.change))


def _bar_left_out(guitar: Guitar, pickup: Pickup) -> str:
    magnet = pickup.magnet
    if magnet.grade == "unknown" or magnet.constants is not None:
        return "the grade of its bar is not known"
    if magnet.charge not in ("outside", "in-place"):
        return "the charge of its bar is not known"
    return "settled by a gauss meter already" if reading_of(guitar, pickup, known.GAUSS) is not None else ""


def _ratio(entry: Entry) -> float:
    assert entry.computed is not None and entry.measured is not None
    return math.log(abs(entry.measured.value / entry.computed.value))


def _deviation(claim: Claim) -> float:
    """Return the standard deviation of a claim's logarithm."""
    return max(math.log(claim.high / claim.low) / (2.0 * SIGMAS), 1e-4) if claim.low > 0.0 else 1.0


def _bar(bench_name: str, guitar: Guitar, pickup: Pickup, entry: Entry, bench: Bench) -> BarReading:
    ends = field_ends(guitar, pickup, bench)
    assert entry.measured is not None
    whole = _deviation(entry.measured)
    still = (0.0, 0.0)  # a constant whose spread is not known, a pickup without contact
    gap = ends.get("gap", still)
    return BarReading(
        bench=bench_name, grade=pickup.magnet.grade, outside=pickup.magnet.charge == "outside", ratio=_ratio(entry),
        low=tuple(ends.get(key, still)[0] for key in QUANTITIES),
        high=tuple(ends.get(key, still)[1] for key in QUANTITIES), gap=abs(gap[1] - gap[0]) / (2.0 * SIGMAS),
        shared=math.sqrt(max(whole**2 - LAID_ON**2, 1e-8)), own=math.hypot(LAID_ON, MODEL),
    )  # fmt: skip


def field_ends(guitar: Guitar, pickup: Pickup, bench: Bench) -> dict[str, tuple[float, float]]:
    """Return ln of the field over the poles, over the nominal one, at the low and high end of each spread."""
    solved = bench.magnetised(guitar, pickup)
    moves = bench.moves(pickup, solved)
    y, height = string_places(guitar, pickup)

    def mean(table: FloatArray) -> float:
        return float(np.abs(engine.vertical_field(solved.model, table, y, height)).mean())

    nominal = mean(solved.pickup_table)
    return {
        key: (math.log(mean(solved.pickup_table + low) / nominal), math.log(mean(solved.pickup_table + high) / nominal))
        for key, (low, high) in moves.ends.items()
    }


def _coil(bench_name: str, guitar: Guitar, pickup: Pickup, entry: Entry, bench: Bench) -> CoilReading | None:
    """Return what an inductance says of the steel; None where it is settled already, or there is no such steel."""
    if reading_of(guitar, pickup, INDUCTANCE) is not None:
        return None
    curve = steel_curve(guitar, pickup, bench)
    if np.ptp(curve) < 1e-6:
        return None
    assert entry.measured is not None
    low, high = known.wire_factors(pickup)
    wire = math.log(high / low) / (2.0 * SIGMAS)
    turns = wire if known.resistance_known(pickup) else math.hypot(wire, NOT_COUNTED)
    own = math.sqrt((2.0 * turns) ** 2 + _deviation(entry.measured) ** 2 + COIL_MODEL**2)
    return CoilReading(bench=bench_name, ratio=_ratio(entry), curve=curve, own=own)


def steel_curve(guitar: Guitar, pickup: Pickup, bench: Bench) -> FloatArray:
    """Return ln of the inductance at 120 Hz over the nominal one at each of `STEEL_DEVIATES`."""
    stated = catalogue.steel("1010").reversible_permeability
    at = int(np.argmin(np.abs(engine.SAMPLES - 120.0)))
    bare = replace(guitar, measured=())
    sizes = []
    for z in STEEL_DEVIATES:
        factors = np.array([permeability(z) / stated, 1.0, 1.0])
        sizes.append(float(solved_inductance(bare, pickup.name, factors, bench=bench)[at].real))
    return np.log(np.array(sizes) / sizes[STEEL_DEVIATES.index(0.0)])


def permeability(deviate: float) -> float:
    """Return the reversible permeability at a deviate of its published spread, log-normal on each side."""
    stated = catalogue.steel("1010")
    low, high = stated.spread["reversible_permeability"]
    middle = stated.reversible_permeability
    end = high / middle if deviate > 0.0 else low / middle
    return float(max(middle * end ** (abs(deviate) / SIGMAS), 1.0))


def counted(observed: Observed) -> Iterator[str]:
    """Yield in words what was left out."""
    for why, count in sorted(observed.left_out.items()):
        yield f"{count} left out: {why}"
