"""Do many benches together make intervals narrower and leave them true? 1,000 benches drawn, pooled by the dozen."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from polepiece.bench import Bench, replace_pickup, with_grade
from polepiece.evidence.pool.grades import bent, pool_grades
from polepiece.evidence.pool.observed import field_ends
from polepiece.evidence.pool.steel import pool_steel
from polepiece.guitar import read_guitar
from polepiece.guitar.spread import SIGMAS
from polepiece.materials import QUANTITIES
from tests.reference.pooled_benches import Ends, bar, coils, drawn_truth, readings
from verification.holding import share_row
from verification.registry import Row, study

DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
GRADES = ("alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8", "ceramic-8")
WORLDS, BENCHES, BARS = 50, 20, 4  # 1,000 benches
SEED = 20261130
JUDGED = 4  # rows


def ends_of_grades() -> dict[str, Ends]:
    """Return what both ends of each constant's spread do to ln of the field, of every grade in one pickup."""
    guitar, bench = read_guitar(DEMO), Bench()
    found = {}
    for grade in GRADES:
        one = replace_pickup(guitar, with_grade(guitar.pickup("neck"), grade, "outside"))
        found[grade] = field_ends(one, one.pickup("neck"), bench)
    return found


@study(
    "pooled-benches",
    "Ledgers of many benches pooled: the next bar, the next pickup's steel",
    f"{WORLDS} worlds of {BENCHES} benches, 1,000 in all, each bench with a meter and a probe of its own and {BARS} "
    "bars. A world has its grades' true constants drawn from the published spreads and bars that differ by 0.2 to 1 of "
    "them. Found is the share of next bars (one a bench) whose field lies in the pooled interval, the same of a bar "
    "with its grade's own constants, of charge and of steel; the tolerance is what chance allows "
    "(`verification/holding.py`).",
)
def pooled_benches() -> Iterator[Row]:
    """Yield shares and widths."""
    ends, draw = ends_of_grades(), np.random.default_rng(SEED)
    low, high = ({g: [one.get(key, (0.0, 0.0))[k] for key in QUANTITIES] for g, one in ends.items()} for k in (0, 1))
    published = {g: float(np.linalg.norm(bent(np.zeros(4), np.array(low[g]), np.array(high[g]))[1])) for g in GRADES}
    gaps = {grade: abs(one["gap"][1] - one["gap"][0]) / (2.0 * SIGMAS) for grade, one in ends.items()}
    bars, constants, steel, charges, widths, widths_of_steel = [], [], [], [], [], []
    for _ in range(WORLDS):
        truth = drawn_truth(draw, GRADES, tau=float(draw.uniform(0.2, 1.0)), charge=True)
        found = pool_grades(readings(draw, truth, ends, benches=BENCHES, bars=BARS, in_place=0.3))
        held = []
        for _ in range(BENCHES):
            grade = str(draw.choice(list(found.grades)))
            mean, deviation = found.grades[grade].field(low[grade], high[grade])
            half = SIGMAS * np.hypot(deviation, gaps[grade])
            held.append(abs(bar(draw, truth, grade, ends[grade]) - mean) <= half)
            widths.append(deviation / published[grade])
        bars.append(held)
        held = []
        for grade, one in found.grades.items():
            value, slope, _ = bent(one.mean, np.array(low[grade]), np.array(high[grade]))
            true = bent(truth.grades[grade], np.array(low[grade]), np.array(high[grade]))[0]
            held.append(abs(value - true) <= SIGMAS * np.sqrt(slope @ one.covariance @ slope))
        constants.append(np.mean(held))
        assert found.charge is not None
        charges.append(abs(found.charge[0] - truth.charge) <= SIGMAS * found.charge[1])
        seen = pool_steel(coils(draw, truth, pickups=BENCHES))
        assert seen is not None
        _, least, most = seen.next_pickup
        new = np.clip(draw.normal(*truth.steel, size=4), -2.5, 2.5)
        steel.append((least <= new) & (new <= most))
        widths_of_steel.append((most - least) / (2.0 * SIGMAS))
    yield share_row("1,000 benches", "field of the next bar", bars, rows=JUDGED)
    yield share_row("1,000 benches", "field of a bar with its grade's own constants", constants, rows=JUDGED)
    yield share_row("1,000 benches", "charge of bars charged outside", charges, rows=JUDGED)
    yield share_row("1,000 benches", "steel of the next pickup", steel, rows=JUDGED, at_least=True)
    for name, one in (("field of the next bar", widths), ("steel of the next pickup", widths_of_steel)):
        yield Row(
            case="1,000 benches", quantity=f"{name}: median width over the published one",
            found=f"{np.median(one):.2f}", reference="1", error=max(float(np.median(one)) - 1.0, 0.0), tolerance=0.0,
        )  # fmt: skip
