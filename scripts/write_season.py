"""Write the invented season of the demonstration: a dozen jobs on invented guitars, their readings, their ledgers.

    python scripts/write_season.py [--job N]

Everything is made by the real chain. The guitar on the bench is not quite the one in its file: a draw of what is not
known of it, one of those that intervals are made of. What its meters say is drawn with their stated accuracy from that
truth, what its listener answers from the size of the difference; then the ledger is made as `polepiece prove` makes it.
Nothing is a real guitar, customer or reading. ``--job N`` prints the ledger of one job as JSON and writes nothing.
"""

import argparse
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from polepiece.bench import (
    OF_ANY,
    PROBE_HIGH,
    QUANTITIES,
    Bench,
    drawn_factors,
    pole_places,
    threshold_of,
)
from polepiece.bench import field as field_at
from polepiece.evidence import Evidence, prove, usual_probe
from polepiece.guitar import Guitar, read_guitar, write_guitar
from polepiece.guitar.spread import Draw
from polepiece.measure import (
    BlindTrial,
    Estimate,
    GaussMeter,
    PoleReading,
    TrialPlan,
    direct_resistance,
    half_width,
    right_rate,
)
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY
from polepiece.moves import apply, parse_changes
from scripts.season_on_the_bench import on_the_bench

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES, SEASON = ROOT / "examples", ROOT / "src" / "polepiece" / "cli" / "season.json"
SCHEMA = "polepiece/season/1"
SEED, DRAWS, DIGITS = 1907, 64, 6
PROBE_TRUE = 0.5e-3 + 0.7 * (PROBE_HIGH - 0.5e-3)  # m: where this shop's element is; its owner does not know it
SCALE_TRUE = 0.012  # of this shop's gauss meter, within its limits
PLUCKED = 0.3  # dB: deviation of a difference by plucks; that of a careful hand
BANDS = ("level_db", "bands_db.lows", "bands_db.mids", "bands_db.highs", "bands_db.presence")
INVENTED = (
    "Invented: readings are drawn, with the accuracy of the meters, from the computed truth of a guitar that is not "
    "quite the one in the file."
)


@dataclass(frozen=True, kw_only=True)
class Job:
    """One job; ``proof`` names what was measured: gauss, plucks, meters, ear. ``then``: what became of it."""

    guitar: str  # an example
    pickup: str
    said: str
    change: tuple[str, ...]
    came: int  # day of the season
    customer: str
    limits: str = ""
    proof: frozenset[str] = field(default_factory=frozenset)
    then: str = "closed"  # closed, unproven, undone, on the bench
    outcome: str = ""


ALL = frozenset({"gauss", "plucks", "meters", "ear"})
JOBS = (
    Job(guitar="demo", pickup="neck", said="neck: muddy", change=("magnet=alnico-3",), came=0,
        customer="trio guitarist", proof=ALL, outcome="kept: a little clearer, and quieter"),
    Job(guitar="two-humbuckers", pickup="bridge", said="bridge: thin", change=("magnet=alnico-8",), came=3,
        customer="evening band", limits="no solder", proof=ALL, outcome="kept: fuller, and louder than the neck now"),
    Job(guitar="wound-third-drop-d", pickup="neck", said="neck: dull", change=("magnet=alnico-5",), came=6,
        customer="teacher", proof=frozenset({"plucks", "ear"}), outcome="kept"),
    Job(guitar="two-volumes", pickup="neck", said="neck: boomy", change=("magnet=alnico-4",), came=9,
        customer="studio down the road", proof=frozenset({"gauss", "plucks"}), outcome="no improvement that was heard"),
    Job(guitar="two-volumes", pickup="bridge", said="bridge: weak", change=("magnet=ceramic-8",), came=10,
        customer="studio down the road", proof=ALL, outcome="kept: louder"),
    Job(guitar="two-humbuckers", pickup="neck", said="neck: boomy", change=("magnet=alnico-3",), came=14,
        customer="evening band", then="unproven", outcome="taken home before it was measured"),
    Job(guitar="humbucker-and-singles", pickup="bridge", said="bridge: harsh", change=("magnet=alnico-2",), came=17,
        customer="wedding band", proof=frozenset({"gauss", "meters", "ear"}), outcome="kept: softer"),
    Job(guitar="one-humbucker-no-tone", pickup="bridge", said="bridge: harsh", change=("magnet=alnico-5",), came=21,
        customer="loud trio", proof=ALL, outcome="kept"),
    Job(guitar="demo", pickup="bridge", said="bridge: thin", change=("magnet=alnico-8",), came=25,
        customer="trio guitarist", then="undone", outcome="too loud beside the neck: the old bar is back"),
    Job(guitar="baritone", pickup="bridge", said="bridge: weak", change=("magnet=alnico-5",), came=28,
        customer="film composer", proof=frozenset({"gauss", "plucks"}), outcome="kept"),
    Job(guitar="demo", pickup="neck", said="neck: muddy", change=("lower=0.5mm",), came=33, customer="trio guitarist",
        limits="nothing opened", proof=frozenset({"plucks", "ear"}), outcome="kept: what the bar had begun"),
    Job(guitar="small-two-row", pickup="neck", said="neck: harsh", change=("tilt=bass up 0.8mm",), came=36,
        customer="choir accompanist", then="on the bench"),
)  # fmt: skip


def guitar_before(number: int) -> Guitar:
    """Return the guitar as it came for a job: its example, with what was done to it before in this season."""
    job = JOBS[number]
    guitar = read_guitar(EXAMPLES / f"{job.guitar}.guitar.toml")
    for earlier in JOBS[:number]:
        if earlier.guitar == job.guitar and earlier.then in ("closed", "unproven"):
            guitar = apply(guitar, earlier.pickup, parse_changes(earlier.change))
    return guitar


def ledger_of(number: int) -> dict[str, Any] | None:
    """Return the ledger of a job as it is kept; None where nothing was measured."""
    job = JOBS[number]
    if not job.proof:
        return None
    bench, before = Bench(seed=0), guitar_before(number)
    changes = parse_changes(job.change)
    after = apply(before, job.pickup, changes)
    random = np.random.default_rng([SEED, number])
    truth = [bench.drawn(one, job.pickup, [Draw(number=number + 1, seed=SEED)])[0] for one in (before, after)]
    told: dict[str, Any] = {}
    if "meters" in job.proof:
        for side, one in zip(("before", "after"), truth):
            ohms = one["dc_resistance_ohm"] * (1.0 + METER_ACCURACY * random.uniform(-1.0, 1.0))
            told[f"dcr_{side}"] = direct_resistance(float(f"{ohms:.3g}"))  # as many digits as such a meter shows
            told[f"metered_{side}"] = (_inductance(one, random),)
    if "gauss" in job.proof:
        told |= {"gauss_before": _poles(before, job, number, bench, random),
                 "gauss_after": _poles(after, job, number, bench, random),
                 "probe": usual_probe(), "meter": GaussMeter()}  # fmt: skip
    if "plucks" in job.proof:
        told["plucks"] = tuple(_plucked(key, truth, random) for key in BANDS)
    if "ear" in job.proof:
        told["trial"] = _heard(truth, random, number, job)
    ledger = prove(before, job.pickup, changes, Evidence(**told), date=_day(job), bench=bench, draws=DRAWS)
    return _short(replace(ledger, notes=(INVENTED, *ledger.notes)).to_dict())


def _inductance(truth: Mapping[str, float], random: np.random.Generator) -> Estimate:
    value = truth["inductance_120hz_h"] * (1.0 + LCR_ACCURACY * random.uniform(-1.0, 1.0))
    half = half_width(0.0, [LCR_ACCURACY * value])
    return Estimate(name="inductance_120hz_h", value=value, low=value - half, high=value + half, unit="H")


def _poles(
    guitar: Guitar, job: Job, number: int, bench: Bench, random: np.random.Generator
) -> tuple[PoleReading, ...]:  # fmt: skip
    """Return what the shop's meter shows on the first row of poles."""
    pickup = guitar.pickup(job.pickup)
    places = pole_places(pickup)
    places = tuple(one for one in places if one.row == places[-1].row)
    points = np.array([(one.x, one.y, one.face + PROBE_TRUE) for one in places])
    flux = field_at(guitar, pickup.name, points, bench=bench).flux_density[:, 2]
    other = bench.heard_in(bench.heard)
    other.seed = SEED
    moved = drawn_factors(guitar, pickup, max(number + 1, 8), other)[number]
    out = []
    for one, value in zip(places, flux):
        again = 1.0 + GaussMeter().repeatability * random.standard_normal()
        read = value * moved[min(one.pole, len(moved)) - 1] * again * (1.0 + SCALE_TRUE)
        out.append(PoleReading(pole=one.pole, row=one.row, flux_density=round(float(read), 4), signed=True))
    return tuple(out)


def _plucked(key: str, truth: list[dict[str, float]], random: np.random.Generator) -> Estimate:
    value = truth[1][key] - truth[0][key] + PLUCKED * random.standard_normal()
    half = 1.645 * PLUCKED
    return Estimate(name=key, value=value, low=value - half, high=value + half, unit="dB")


def _heard(truth: list[dict[str, float]], random: np.random.Generator, number: int, job: Job) -> BlindTrial:
    """Return a trial of sixteen, answered by somebody who hears a difference of two thresholds nearly always."""
    numbers = [QUANTITIES[key].number for key in OF_ANY if key != "level"]
    sizes = [abs(truth[1][one] - truth[0][one]) for one in numbers if one in truth[0] and one in truth[1]]
    largest = max(size / threshold_of("presence") for size in sizes)
    share = min(max((largest - 0.3) / 1.5, 0.0), 0.95)
    trial = BlindTrial(plan=TrialPlan(level_matched=True), seed=SEED + number, date=_day(job))
    while not trial.over:
        right = "B" if trial.plays("X") == "after" else "A"
        wrong = "A" if right == "B" else "B"
        trial = trial.answered(right if random.random() < right_rate(share, 0.5) else wrong)
    return trial


def bench_of(number: int) -> dict[str, Any] | None:
    """Return how far the job is that is open at the end; None of the others."""
    job = JOBS[number]
    if job.then != "on the bench":
        return None
    found = on_the_bench(
        guitar_before(number), job.pickup, job.said, job.change, seed=SEED + number, date=_day(job)
    )  # fmt: skip
    return dict(_short(found))


def _day(job: Job) -> str:
    return str(np.datetime64("2026-03-02") + job.came + 1)


def _short(value: Any) -> Any:
    """Return numbers with six digits: what another machine's last bits are is not kept."""
    if isinstance(value, dict):
        return {key: _short(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_short(one) for one in value]
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
    return value


def season() -> dict[str, Any]:
    """Return everything."""
    jobs = []
    for number, job in enumerate(JOBS):
        before = guitar_before(number)
        after = apply(before, job.pickup, parse_changes(job.change))
        jobs.append({
            "guitar": job.guitar, "pickup": job.pickup, "said": job.said, "change": list(job.change), "came": job.came,
            "customer": job.customer, "limits": job.limits, "then": job.then, "outcome": job.outcome,
            "before": write_guitar(before), "after": write_guitar(after), "ledger": ledger_of(number),
            "bench": bench_of(number),
        })  # fmt: skip
        print(f"{number + 1} of {len(JOBS)}: {job.guitar}, {job.pickup}", flush=True)
    return {"schema": SCHEMA, "note": INVENTED, "jobs": jobs}


def main() -> None:
    """Write the file, or print one ledger."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--job", type=int, metavar="N", help="from 1")
    parser.add_argument("--bench", action="store_true", help="make the job that is open at the end anew, nothing else")
    asked = parser.parse_args()
    if asked.bench:
        kept = json.loads(SEASON.read_text(encoding="utf-8"))
        for number, (job, one) in enumerate(zip(JOBS, kept["jobs"], strict=True)):
            after = apply(guitar_before(number), job.pickup, parse_changes(job.change))
            one |= {
                "change": list(job.change),
                "then": job.then,
                "after": write_guitar(after),
                "bench": bench_of(number),
            }
        SEASON.write_text(json.dumps(kept, indent=0, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")
        return
    if asked.job is not None:
        print(json.dumps(ledger_of(asked.job - 1), indent=1))
        return
    SEASON.write_text(json.dumps(season(), indent=0, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
