"""Trials with known truth: strings that change by different amounts, plucks that scatter."""

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.measure import mean_change

TRUE = 1.5  # dB, mean change of all strings there might be
OTHER_HAND = 2.0  # factor either way by which the scatter of a sitting may differ from that of another


def coverage(
    *, strings: int, of: int | None, plucks: int, apart: float, trials: int, quantities: int, seed: int
) -> tuple[FloatArray, float]:
    """Return which 90 % intervals hold the truth (trials, quantities), and the middle least difference.

    Strings change by `TRUE` with a standard deviation of ``apart``; ``strings`` of the ``of`` that the guitar has are
    plucked, and the truth is the mean change of all of these; None: of any number. Plucks scatter by about 1 dB, by a
    drawn factor more or less in each sitting. Normal all.
    """
    random = np.random.default_rng([2711, seed, strings, of or 0, plucks])
    held, least = [], []
    for _ in range(trials):
        there = strings if of is None else of
        change = random.normal(TRUE, apart, (there, 1, quantities)) if apart else np.full((there, 1, quantities), TRUE)
        true = TRUE if of is None or strings == 1 else change.mean(axis=(0, 1))
        level = random.normal(0.0, 5.0, (strings, 1, quantities))
        sizes = OTHER_HAND ** random.uniform(-1.0, 1.0, 2)
        before, after = (level + size * random.normal(size=(strings, plucks, quantities)) for size in sizes)
        found = mean_change(list(before), list(after + change[:strings]), others=np.inf if of is None else of - strings)
        held.append((found.low <= true) & (found.high >= true))
        least.append(found.least)
    return np.array(held), float(np.median(least))
