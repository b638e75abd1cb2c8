"""One verdict of a ledger: does all that was measured fit the prediction, and does it fit another bar better?

All measured differences are taken together, with the covariance of the computed draws: lines of one pickup move
together, and a verdict that took each by itself would count one deviation many times.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench import Bench, Prediction, grade_slugs, replace_pickup, with_grade
from polepiece.draw_counts import DRAWS
from polepiece.evidence import Evidence
from polepiece.guitar import Guitar, grade_words
from polepiece.guitar import draws as make_draws
from polepiece.later import special
from polepiece.measure import NINETY, Estimate
from polepiece.moves import apply, parse_changes

HEAD = "Verdict: "
LEAST_SHARE = 0.05  # of cases as far or further by chance: under it a deviation is said; the usual convention
LEAST_ODDS = 3.0  # under them two bars are not told apart; a usual bound ("worth a bare mention"), from memory
MOST_ODDS = 100.0  # more is not said: tails of a normal distribution are not known that far out
THIRD = "third_octave_db."
HALF_THIRD = 2.0 ** (1.0 / 6.0)
JUDGED = ("level_db", "bands_db.lows", "bands_db.mids", "bands_db.highs", "bands_db.presence", "wound_minus_plain_db")

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """How far what was measured is from what was computed of one bar."""

    share: float  # of cases that are as far or further by chance
    likelihood: float  # log, up to what all bars share


def verdict_words(
    guitar: Guitar, pickup: str, changes: Sequence[str], evidence: Evidence, found: Prediction, bench: Bench,
    progress: Progress = lambda *_: None, draws: int = DRAWS,
) -> str:  # fmt: skip
    """Return the verdict in a sentence."""
    measured = [one for one in evidence.plucks if one.told and one.name in JUDGED and one.name in found.difference]
    if not measured:
        return f"{HEAD}none yet. No difference of level or bands was measured: compare plucks before and after."
    after = apply(guitar, pickup, parse_changes(list(changes)))
    made = fit_of(measured, guitar, after, pickup, bench, draws)
    if made.share >= LEAST_SHARE:
        said = f"{HEAD}it fits the prediction ({_chance(made.share)} by chance)."
    else:
        said = f"{HEAD}it does not fit the prediction ({_chance(made.share)} by chance)."
    if not any(one.startswith("magnet=") for one in changes):
        return said
    return f"{said} {_other_bars(measured, guitar, after, pickup, bench, made, progress, draws)}".strip()


def _chance(share: float) -> str:
    return f"as far off or further in {100 * share:.0f} % of cases" if share >= 0.005 else "so far off in hardly a case"


def fit_of(
    measured: Sequence[Estimate], before: Guitar, after: Guitar, pickup: str, bench: Bench, draws: int = DRAWS
) -> Fit:
    """Return how measured differences fit those computed from one state to another.

    Normal distributions: covariance of the paired draws, plus the variance of each measurement (a 90 % interval is
    1.645 standard deviations to each side).
    """
    sample = make_draws(draws, bench.seed)
    here, there = bench.drawn(before, pickup, sample), bench.drawn(after, pickup, sample)
    keys = [one.name for one in measured]
    moves = np.array([[b[key] - a[key] for key in keys] for a, b in zip(here, there)])
    stated = _numbers(bench, before, after, pickup, keys)
    spread = np.atleast_2d(np.cov(moves, rowvar=False))
    noise = np.array([((one.high - one.low) / 2.0 / NINETY) ** 2 for one in measured])
    return _normal(np.array([one.value for one in measured]) - stated, spread + np.diag(noise))


def _numbers(bench: Bench, before: Guitar, after: Guitar, pickup: str, keys: Sequence[str]) -> FloatArray:
    a, b = (bench.state(one, pickup).numbers() for one in (before, after))
    return np.array([b[key] - a[key] for key in keys])


def _normal(apart: FloatArray, covariance: FloatArray) -> Fit:
    distance = float(apart @ np.linalg.solve(covariance, apart))
    _, size = np.linalg.slogdet(covariance)
    return Fit(share=float(special.chdtrc(len(apart), distance)), likelihood=-0.5 * (distance + float(size)))


def _other_bars(
    measured: Sequence[Estimate], before: Guitar, after: Guitar, pickup: str, bench: Bench, made: Fit,
    progress: Progress, draws: int,
) -> str:  # fmt: skip
    """Say which other bar, charged outside and at the same heights, fits best beside the one that went in."""
    mine = after.pickup(pickup)
    others = [one for one in grade_slugs() if one != mine.magnet.grade]
    fits: dict[str, Fit] = {}
    for k, slug in enumerate(others):
        progress(k, len(others), "holding it against every other bar")
        other = replace_pickup(after, with_grade(mine, slug, "outside"))
        fits[slug] = fit_of(measured, before, other, pickup, bench, draws)
    if not fits:
        return ""
    best = max(fits, key=lambda one: fits[one].likelihood)
    odds = made.likelihood - fits[best].likelihood
    ours, theirs = grade_words(mine.magnet.grade), grade_words(best)
    if abs(odds) < math.log(LEAST_ODDS):
        return f"It cannot tell {ours} from {theirs}: odds {_odds(abs(odds))}{' for the other' if odds < 0.0 else ''}."
    if odds >= 0.0:
        return f"It fits {ours} better than any other bar; next is {theirs}: odds {_odds(odds)}."
    return f"{theirs} would fit better than {ours}: odds {_odds(-odds)}."


def _odds(log: float) -> str:
    odds = math.exp(min(log, 20.0))
    if odds > MOST_ODDS:
        return f"more than {MOST_ODDS:.0f} to 1"
    return f"{odds:.0f} to 1" if odds >= 10.0 else f"{odds:.1f} to 1"


def thirds_words(plucks: Sequence[Estimate], frequency: FloatArray, change_db: FloatArray) -> str:
    """Say how many measured third octaves hold the computed response; empty where none was measured."""
    thirds = [one for one in plucks if one.name.startswith(THIRD) and one.told]
    held = 0
    for one in thirds:
        middle = float(one.name.removeprefix(THIRD))
        inside = (frequency >= middle / HALF_THIRD) & (frequency < middle * HALF_THIRD)
        value = float(np.mean(change_db[inside])) if inside.any() else float(np.interp(middle, frequency, change_db))
        held += one.low <= value <= one.high
    if not thirds:
        return ""
    return (
        f"Third octaves: the computed change of the response lies in the measured 90 % interval of {held} of "
        f"{len(thirds)} (its own interval left out)."
    )
