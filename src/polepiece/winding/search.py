"""From a target to windings, bars and gaps: every usual gauge and bar, the turns that come nearest, by the bench.

Turns are found on the circuit alone: with the pickup solved once a bar, other turns scale its inductance and its EMF.
What is shown is a state of the bench like any other, and its interval made of the bench's draws.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize_scalar

from polepiece.arrays import FloatArray
from polepiece.bench import Bench, State, replace_pickup, threshold_of, with_grade
from polepiece.circuit import resonance
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError
from polepiece.guitar import LEAST_FILL, MOST_FILL, NOMINAL, USUAL_GAUGES, Guitar, Pickup, check_draws, draws, ninety
from polepiece.materials import Build, pickup_bars
from polepiece.pickup import GRID, STILL, Magnetised
from polepiece.winding.bobbin import Bobbin
from polepiece.winding.electrical import loaded_curve
from polepiece.winding.target import Target

TRIED = 9  # turns over the range of a gauge, before the best is refined
REFINED = 1.0  # turns
CLOSE_DB = 0.1  # to which a level that was asked for is met


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """One answer: a wire, its turns, a bar, how far the pickup is lowered for the level (raised: < 0); its state."""

    grade: str
    gauge: int
    build: Build
    turns: float
    fill: float
    resistance: float  # ohm at 20 degC, nominal wire
    lowered: float  # m
    guitar: Guitar
    state: State
    misfit: float  # in the target's unit
    misfit_interval: tuple[float, float]  # 90 %
    interval: dict[str, tuple[float, float]]  # 90 % of the state's numbers
    level_left_db: float  # what no safe gap makes up of a level that was asked for

    def as_good_as(self, best: "Found") -> bool:
        """Whether what is not known is larger than what it is behind the best."""
        return self.misfit <= best.misfit_interval[1]


def search(
    guitar: Guitar,
    pickup: str,
    target: Target,
    *,
    gauges: Sequence[int] = USUAL_GAUGES,
    grades: Sequence[str] = pickup_bars.LIKELY,
    build: Build = "single",
    shown: int = 6,
    draws_: int = DRAWS,
    bench: Bench | None = None,
    progress: Callable[[int, int], object] = lambda done, of: None,
) -> tuple[Found, ...]:
    """Return the windings, bars and gaps that come nearest to a target, the best first.

    Parameters
    ----------
    guitar : Guitar
        Its bobbin, poles, controls, cable and strings stay as they are.
    pickup : str
    target : Target
    gauges, grades, build
        What is tried. Where magnets stay in their coil (rods), the bar that is in alone.
    shown : int
        How many answers, each another pair of gauge and bar.
    draws_ : int
        Of the intervals.
    bench : Bench, optional
    progress : callable, optional
        Called with (done, all).

    Raises
    ------
    InputError
        When no winding of these gauges has room, or the pickup has no such bar.
    """
    check_draws(draws_)
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    before = bench.state(guitar, the_pickup.name)
    just_heard = threshold_of("resonance", before), threshold_of("peak", before)
    barred = list(_barred(guitar, the_pickup, grades))
    wires = [one for one in gauges if _range(Bobbin(guitar=guitar, pickup=the_pickup), one, build) is not None]
    if not wires:
        raise InputError(f"no winding of AWG {', '.join(map(str, gauges))} {build} has room on this bobbin.")
    screened: list[tuple[float, str, int, float, Bobbin]] = []
    for number, (grade, changed) in enumerate(barred):
        progress(number, len(barred) + shown)
        bobbin = Bobbin(guitar=changed, pickup=changed.pickup(the_pickup.name))
        screen = _Screen(bobbin, bench, target, just_heard)
        for gauge in wires:
            turns, misfit = screen.nearest(gauge, build)
            screened.append((misfit, grade, gauge, turns, bobbin))
    screened.sort(key=lambda one: (one[0], abs(one[2] - 42)))
    out = []
    for number, (_, grade, gauge, turns, bobbin) in enumerate(screened[:shown]):
        progress(len(barred) + number, len(barred) + shown)
        out.append(_stated(bobbin, grade, gauge, build, round(turns), target, before, just_heard, bench, draws_))
    progress(len(barred) + shown, len(barred) + shown)
    return tuple(sorted(out, key=lambda one: (one.misfit + abs(one.level_left_db), abs(one.gauge - 42))))


def _barred(guitar: Guitar, pickup: Pickup, grades: Sequence[str]) -> Iterator[tuple[str, Guitar]]:
    """Yield the bars that are tried, the one that is in first, each in the guitar."""
    own = "own constants" if pickup.magnet.constants is not None else pickup.magnet.grade
    yield own, guitar
    if pickup.built.magnets_stay is not None:
        return
    for grade in grades:
        if grade != own:
            charge = "outside" if pickup.magnet.charge == "unknown" else pickup.magnet.charge
            yield grade, replace_pickup(guitar, with_grade(pickup, grade, charge))


def _range(bobbin: Bobbin, gauge: int, build: Build) -> tuple[float, float] | None:
    """Return the turns that fill the window not half empty and not past what wire can; None where there are none."""
    reference = bobbin.reference
    low = max(reference * LEAST_FILL / bobbin.fill(reference, gauge, build), 100.0)
    high = min(reference * MOST_FILL / bobbin.fill(reference, gauge, build), 20000.0)
    ohms = bobbin.resistance(1.0, gauge, build)
    low, high = max(low, 1.01e3 / ohms), min(high, 29.9e3 / ohms)  # what a guitar file takes as a pickup
    return (low, high) if low < high else None


class _Screen:
    """Curves of one bar over turns and gauges, by the circuit alone."""

    def __init__(self, bobbin: Bobbin, bench: Bench, target: Target, just_heard: tuple[float, float]) -> None:
        self.bobbin, self.target, self.just_heard, self.bench = bobbin, target, just_heard, bench
        pickup = bobbin.pickup
        self.magnetised: Magnetised = bench.magnetised(bobbin.guitar, pickup)
        state = bench.state(bobbin.guitar, pickup.name)
        move = bench.coil_move(bobbin.guitar, pickup, self.magnetised)
        here = loaded_curve(bobbin.guitar, pickup, self.magnetised, NOMINAL, move, bench)
        self.rest_db = state.response_db - _decibel(here)

    def misfit(self, turns: float, gauge: int, build: Build) -> float:
        guitar, pickup = self.bobbin.wound(turns, gauge, build)
        curve = loaded_curve(guitar, pickup, self.magnetised, NOMINAL, STILL, self.bench)
        peak = resonance(GRID, curve)
        return self.target.misfit(self.rest_db + _decibel(curve), peak.frequency, peak.height_db, self.just_heard)

    def nearest(self, gauge: int, build: Build) -> tuple[float, float]:
        """Return the turns of a gauge that come nearest, and the misfit there."""
        span = _range(self.bobbin, gauge, build)
        assert span is not None
        tried = np.geomspace(span[0] * 1.001, span[1] * 0.999, TRIED)
        found = [self.misfit(float(one), gauge, build) for one in tried]
        at = int(np.argmin(found))
        if not math.isfinite(found[at]):
            return float(tried[at]), math.inf
        low, high = tried[max(at - 1, 0)], tried[min(at + 1, TRIED - 1)]
        better = minimize_scalar(
            lambda one: min(self.misfit(float(one), gauge, build), 1e6), bounds=(low, high), method="bounded",
            options={"xatol": REFINED},
        )  # fmt: skip
        if better.fun < found[at]:
            return float(better.x), float(better.fun)
        return float(tried[at]), found[at]


def _decibel(value: FloatArray) -> FloatArray:
    return np.asarray(20.0 * np.log10(np.maximum(value, 1e-12)))


def _stated(
    bobbin: Bobbin, grade: str, gauge: int, build: Build, turns: float, target: Target, before: State,
    just_heard: tuple[float, float], bench: Bench, count: int,
) -> Found:  # fmt: skip
    """Return an answer as the bench has it, with its gap, its intervals and how far it is from the target."""
    guitar, pickup = bobbin.wound(turns, gauge, build)
    lowered = left = 0.0
    if target.level_db is not None:
        aim = replace(before, level_db=before.level_db + target.level_db)
        guitar, lowered = bench.regap(aim, guitar, pickup.name)
        pickup = guitar.pickup(pickup.name)
    state = bench.state(guitar, pickup.name)
    if target.level_db is not None:
        left = before.level_db + target.level_db - state.level_db
    sample = draws(count, bench.seed)
    interval = bench.span(guitar, pickup.name, draws=count)
    misfit = target.misfit(state.response_db, state.resonance_hz, state.resonance_db, just_heard)
    magnetised = bench.magnetised(guitar, pickup)
    nominal = _decibel(loaded_curve(guitar, pickup, magnetised, NOMINAL, STILL, bench))
    made = []
    for draw, move in zip(sample, bench.coil_moves(guitar, pickup, magnetised, sample)):
        curve = loaded_curve(guitar, pickup, magnetised, draw, move, bench)
        peak = resonance(GRID, curve)
        drawn = state.response_db - nominal + _decibel(curve)
        made.append(target.misfit(drawn, peak.frequency, peak.height_db, just_heard))
    there = [[one] for one in made if math.isfinite(one)] or [[misfit]]
    (ends,) = ninety(there, [misfit])
    return Found(
        grade=grade, gauge=gauge, build=build, turns=turns, fill=bobbin.fill(turns, gauge, build),
        resistance=bobbin.resistance(turns, gauge, build), lowered=lowered, guitar=guitar, state=state, misfit=misfit,
        misfit_interval=ends, interval=interval, level_left_db=left if abs(left) > CLOSE_DB else 0.0,
    )  # fmt: skip
