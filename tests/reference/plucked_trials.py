"""Trials with known truth: strings that change by different amounts, plucks that scatter."""

import numpy as np

from polepiece.measure import mean_change

TRUE = 1.5  # dB, mean change of all strings there are


def coverage(
    *, strings: int, plucks: int, apart: float, trials: int, quantities: int, seed: int, draws: int = 400
) -> tuple[float, float]:
    """Return the share of 90 % intervals that hold the truth, and the middle least difference.

    Strings change by `TRUE` with a standard deviation of ``apart``, plucks scatter by 1 dB, normal both.
    """
    random = np.random.default_rng([2711, seed, strings, plucks])
    held, least = [], []
    for trial in range(trials):
        level = random.normal(0.0, 5.0, (strings, 1, quantities))
        change = random.normal(TRUE, apart, (strings, 1, quantities)) if apart else TRUE
        before = level + random.normal(size=(strings, plucks, quantities))
        after = level + change + random.normal(size=(strings, plucks, quantities))
        found = mean_change(list(before), list(after), seed=trial, draws=draws)
        held.append((found.low <= TRUE) & (found.high >= TRUE))
        least.append(found.least)
    return float(np.mean(held)), float(np.median(least))
