"""The job that is open at the end of the invented season: its plan, its work sheet as far as it is, a trial by ear.

Made by the real chain, as `write_season` says: the guitar on the bench is a draw of what is not known of its file, its
meters are drawn with their stated accuracy, its listener answers at random from a stated share.
"""

from typing import Any

import numpy as np

from polepiece.app.plan.rows import moves_of
from polepiece.bench import Bench
from polepiece.guitar import Guitar
from polepiece.guitar.spread import Draw
from polepiece.measure import BlindTrial, TrialPlan, right_rate
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY
from polepiece.moves import parse_changes
from polepiece.planning import make_plan, parse_complaints, plan_json

SHARE = 0.6  # of trials in which the listener hears the change: between "hardly" and "always", so that it takes a while


def on_the_bench(
    guitar: Guitar, pickup: str, said: str, change: tuple[str, ...], *, seed: int, date: str
) -> dict[str, Any]:
    """Return plan, what was chosen of it, entries of the sheet (key, label, value, number, unit), and the trial.

    Parameters
    ----------
    guitar : Guitar
        As it came.
    pickup, said, change : of the job.
    seed : int
    date : str
        ISO, of the readings.
    """
    bench = Bench(seed=0)
    plan = make_plan(guitar, bench, parse_complaints([said], guitar))
    row = next(one for one in plan.rows + plan.rest if one.pickup == pickup and one.change == change)
    random = np.random.default_rng([seed, 77])
    truth = bench.drawn(guitar, pickup, [Draw(number=41, seed=seed)])[0]
    ohms = truth["dc_resistance_ohm"] * (1.0 + METER_ACCURACY * random.uniform(-1.0, 1.0)) / 1e3
    henry = truth["inductance_120hz_h"] * (1.0 + LCR_ACCURACY * random.uniform(-1.0, 1.0))
    sheet = [
        ("head.date", "date", date, None, None),
        ("baseline.dc_resistance", "DC resistance", f"{ohms:.2f}", round(ohms, 2), "kohm"),
        ("baseline.temperature", "temperature", "21", 21.0, "degC"),
        ("baseline.inductance_120hz_h", "inductance at 120 Hz", f"{henry:.2f}", round(henry, 2), "H"),
    ]
    trial = BlindTrial(plan=TrialPlan(level_matched=True), seed=seed, date=date)
    while not trial.over:
        right = "B" if trial.plays("X") == "after" else "A"
        wrong = "A" if right == "B" else "B"
        trial = trial.answered(right if random.random() < right_rate(SHARE, 0.5) else wrong)
    return {
        "plan": plan_json(plan), "changes": list(row.change), "chosen": f"{row.pickup}: {moves_of(row)}",
        "sheet": [list(one) for one in sheet],
        "trial": trial.to_dict() | {"of": {"guitar": guitar.name, "pickup": pickup, "changes": parse_texts(change)}},
    }  # fmt: skip


def parse_texts(change: tuple[str, ...]) -> list[str]:
    """Return moves as they are read, so that a slip is found here."""
    return [one.text for one in parse_changes(change)]
