"""Worth of several states from which of two was chosen: the Bradley-Terry model, its intervals, circles of choices.

P(i chosen over j) = 1 / (1 + exp(w_j - w_i)); the worths w add to zero.

References
----------
Bradley and Terry 1952, Biometrika 39, 324.
Ford 1957, Am. Math. Monthly 64, 28: there is a finite answer only when no group of states always wins.
Kendall and Babington Smith 1940, Biometrika 31, 324: circular triads.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

WEAK_SD = 2.0
"""Spread of worths, in logits, believed beforehand where the choices alone give no finite answer (assumption: two
states that differ by one such spread are told apart in 88 % of the pairs)."""
FAR = 12.0  # logits: nobody chooses more surely


@dataclass(frozen=True, slots=True, kw_only=True)
class Worths:
    """Worth of every state with its 90 % interval, in logits against the mean of all."""

    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    finite: bool  # False: some states never lost to the rest, and WEAK_SD bounds all of them


def fit_worths(wins: FloatArray) -> Worths:
    """Return the worths that make the choices likeliest (Bradley and Terry 1952), intervals by likelihood ratio.

    Parameters
    ----------
    wins : array (m, m)
        How often the state of the row was chosen over that of the column.

    Raises
    ------
    InputError
        When the states do not hang together through pairs.
    """
    wins = np.asarray(wins, dtype=float)
    m = len(wins)
    if wins.shape != (m, m) or (wins < 0.0).any() or np.diag(wins).any():
        raise InputError(
            f"wins has shape {wins.shape}; a square table of counts with nothing on its diagonal is needed."
        )
    if not _reaches_all(wins + wins.T):
        raise InputError("some states were never compared with the others, not even through a third.")
    finite = _reaches_all(wins) and _reaches_all(wins.T)
    tight = 0.0 if finite else WEAK_SD**-2
    best = _newton(wins, tight, None, 0.0)
    drop = _log_likelihood(wins, best, tight) - 0.5 * 2.7055  # chi-square, one degree of freedom, 90 %
    low, high = zip(*(_profile(wins, tight, best, k, drop) for k in range(m)))
    return Worths(value=tuple(map(float, best)), low=low, high=high, finite=finite)


def _reaches_all(links: FloatArray) -> bool:
    seen, todo = {0}, [0]
    while todo:
        for k in np.flatnonzero(links[todo.pop()] > 0.0):
            if int(k) not in seen:
                seen.add(int(k))
                todo.append(int(k))
    return len(seen) == len(links)


def _log_likelihood(wins: FloatArray, worth: FloatArray, tight: float) -> float:
    return float(-(wins * np.log1p(np.exp(worth[None, :] - worth[:, None]))).sum() - 0.5 * tight * worth @ worth)


def _newton(wins: FloatArray, tight: float, held: int | None, value: float) -> FloatArray:
    """Return the likeliest worths; with ``held`` that state stands at ``value``."""
    m, games = len(wins), wins + wins.T
    conditions = np.ones((1, m)) if held is None else np.vstack([np.ones(m), np.eye(m)[held]])
    wanted = np.zeros(len(conditions)) if held is None else np.array([0.0, value])
    worth: FloatArray = np.linalg.pinv(conditions) @ wanted
    for _ in range(200):
        chosen = 1.0 / (1.0 + np.exp(worth[None, :] - worth[:, None]))
        slope = wins.sum(1) - (games * chosen).sum(1) - tight * worth
        bend = games * chosen * (1.0 - chosen)
        curve = np.diag(bend.sum(1) + tight) - bend
        size = len(conditions)
        system = np.block([[curve, conditions.T], [conditions, np.zeros((size, size))]])
        step = np.linalg.lstsq(system, np.concatenate([slope, wanted - conditions @ worth]), rcond=None)[0][:m]
        worth = worth + step * min(1.0, 2.0 / max(1e-12, float(np.abs(step).max())))
        if np.abs(step).max() < 1e-10:
            break
    return worth


def _profile(wins: FloatArray, tight: float, best: FloatArray, k: int, drop: float) -> tuple[float, float]:
    from scipy.optimize import brentq  # here: it is a third of a command's start

    def above(value: float) -> float:
        return _log_likelihood(wins, _newton(wins, tight, k, value), tight) - drop

    here = float(best[k])
    low = -FAR if above(-FAR) > 0.0 else float(brentq(above, -FAR, here, xtol=1e-6))
    high = FAR if above(FAR) > 0.0 else float(brentq(above, here, FAR, xtol=1e-6))
    return low, high


def circles(wins: FloatArray) -> list[tuple[int, int, int]]:
    """Return the triples that go round: the first over the second, that over the third, the third over the first."""
    over = np.asarray(wins) > np.asarray(wins).T
    found = []
    for a, b, c in combinations(range(len(over)), 3):
        if over[a, b] and over[b, c] and over[c, a]:
            found.append((a, b, c))
        elif over[b, a] and over[c, b] and over[a, c]:
            found.append((a, c, b))
    return found


def consistency(wins: FloatArray) -> float | None:
    """Return 1 without circles, 0 with most of them; None unless every pair met once.

    Kendall and Babington Smith 1940.
    """
    table = np.asarray(wins, dtype=float)
    m = len(table)
    if not ((table + table.T + np.eye(m)) == 1.0).all():
        return None
    score = table.sum(1)
    count = m * (m - 1) * (2 * m - 1) / 12.0 - 0.5 * float(score @ score)
    return 1.0 - 24.0 * count / (m**3 - m if m % 2 else m**3 - 4 * m)


def chance_of_no_preference(wins: FloatArray, seed: int, draws: int = 10_000) -> float:
    """Return how often coins instead of choices set the states as far apart (spread of scores, drawn).

    Definition of a permutation test.
    """
    table = np.asarray(wins, dtype=float)
    games = (table + table.T).astype(int)
    rng = np.random.default_rng(seed)
    upper = np.triu_indices(len(table), 1)
    won = rng.binomial(games[upper], 0.5, size=(draws, len(upper[0])))
    score = np.zeros((draws, len(table)))
    for column, (a, b) in enumerate(zip(*upper)):
        score[:, a] += won[:, column]
        score[:, b] += games[a, b] - won[:, column]
    half = 0.5 * games.sum(1)
    seen = float(((table.sum(1) - half) ** 2).sum())
    return (1 + int((((score - half) ** 2).sum(1) >= seen - 1e-9).sum())) / (draws + 1)
