"""How often the intervals of a measured pickup hold the truth, on benches that never saw the fitted model."""

from collections.abc import Iterator

import numpy as np

from tests.reference.coverage import QUANTITIES, TOLERANCE, trial
from tests.reference.measured_bench import FOUND
from verification.holding import share_row
from verification.registry import Row, study, two_processes

TRIALS = 200
ANY_LAW = ("inductance_static",)  # covers steel of any law; the benches here have one (`other_laws` has six more)
Figures = dict[str, tuple[bool, float, float]]  # quantity: held, relative error, half interval re value


def one(seed: int) -> tuple[Figures, float]:
    """Run one trial; seeds are apart from those of the tests."""
    made = trial(10_000 + seed)
    out: Figures = {}
    for name in QUANTITIES:
        found, true = made.found[name], made.true[name]
        out[name] = made.holds(name), found.value / true - 1.0, (found.high - found.low) / 2.0 / true
    return out, made.found.misfit


@study(
    "measured-intervals",
    "Measured pickups: how often a 90 % interval holds the truth",
    f"{TRIALS} drawn benches: pickup, resistor (anywhere within its {100 * TOLERANCE:g} %), interface, cable, clock, "
    "noise, hum, 24 bit. The device is an ngspice netlist of ladders, a coupled plate and a capacitor; the fit knows "
    "none of it. Found is the share of trials whose interval holds the truth; the error is that share less 0.90, the "
    "tolerance what chance allows (`verification/holding.py`). The inductance at 0 Hz is an extrapolation whose "
    "interval covers steel of any law, and these benches have one: it is judged from below alone. The other rows state "
    "the middle size of the error and of half the interval.",
)
def measured_intervals() -> Iterator[Row]:
    """Yield the share of intervals that hold, and how wide they are."""
    if FOUND is None:
        return
    with two_processes() as pool:
        made = list(pool.map(one, range(TRIALS), chunksize=10))
    case = f"{TRIALS} benches"
    for name in QUANTITIES:
        held, error, half = (np.array([figures[name][k] for figures, _ in made], dtype=float) for k in range(3))
        words = name.replace("_", " ")
        yield share_row(case, words, held, rows=len(QUANTITIES), at_least=name in ANY_LAW)
        yield Row(
            case=case, quantity=f"{words}: median error, median half interval",
            found=f"{100 * np.median(np.abs(error)):.3f} %", reference=f"{100 * np.median(half):.3f} %",
        )  # fmt: skip
    misfit = np.array([one_misfit for _, one_misfit in made])
    yield Row(
        case=case, quantity="misfit (mean square of residuals in deviations), median and 95 %",
        found=f"{np.median(misfit):.2f}, {np.quantile(misfit, 0.95):.2f}", reference="about 1 or less",
    )  # fmt: skip
