"""Open this first: the whole chain from a guitar to numbers, and what a change does to them.

guitar -> anatomy -> factors (geometry only, cached) -> magnet state (grade, history) -> coil fields L(f)
       -> strings sensed (V s/m) -> circuit (V per V) -> State
"""

from collections.abc import Sequence
from dataclasses import dataclass

from polepiece.voicing.balance import balance_intervals, balances
from polepiece.voicing.bench import Bench
from polepiece.voicing.changes import Change, apply
from polepiece.voicing.guitar import Guitar
from polepiece.voicing.h2_spread import h2_interval
from polepiece.voicing.spread import check_draws
from polepiece.voicing.state import State, difference
from polepiece.voicing.together import Together, together


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prediction:
    """A change judged twice: at the same gap, and with the gap re-set to the old level."""

    pickup: str
    changes: tuple[Change, ...]
    before: State
    after: State
    difference: dict[str, float]
    interval: dict[str, tuple[float, float]]  # 90 %, of the difference at the same gap
    after_at_old_level: State | None  # None where no safe gap reaches the old level
    difference_at_old_level: dict[str, float] | None
    lowered: float | None  # m the pickup was lowered for it (negative: raised)
    balance_with: dict[str, tuple[float, float]]  # level against each other pickup: before, after; dB
    both_on: dict[str, tuple[Together, Together]]  # on together with each other pickup: before, after


def pickup_state(guitar: Guitar, pickup: str) -> State:
    """Return the state of one pickup of ``guitar``; the chain, step by step, is `Bench.state`."""
    return Bench().state(guitar, pickup)


def predict(
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    seed: int = 0,
    draws: int = 64,
    bench: Bench | None = None,
) -> Prediction:
    """Predict what ``changes`` do to ``pickup``.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Name, or position where it is the only one there.
    changes : sequence of Change
    seed, draws : int
        Of the 90 % interval.
    bench : Bench, optional
        Shares factors and magnet states between calls.

    Raises
    ------
    InputError
        When the pickup does not exist, a change is not possible on it, or ``draws`` are too few.
    """
    check_draws(draws)
    bench = bench or Bench(seed=seed)
    name = guitar.pickup(pickup).name
    changed = apply(guitar, name, changes)
    before, after = bench.state(guitar, name), bench.state(changed, name)
    interval = bench.interval(guitar, changed, name, draws=draws)
    interval |= h2_interval(guitar, changed, name, bench=bench, count=draws)
    at_level = None
    lowered = None
    if abs(after.level_db - before.level_db) > 0.05:
        regapped, lowered = bench.regap(before, changed, name)
        at_level = bench.state(regapped, name)
    others = [p.name for p in guitar.pickups if p.name != name]
    balance = balances(guitar, changed, name, bench=bench)
    interval |= balance_intervals(guitar, changed, name, bench=bench, count=draws, level=interval["level_db"])
    return Prediction(
        pickup=name,
        changes=tuple(changes),
        before=before,
        after=after,
        difference=difference(before, after),
        interval=interval,
        after_at_old_level=at_level,
        difference_at_old_level=difference(before, at_level) if at_level is not None else None,
        lowered=lowered,
        both_on={
            other: (together(guitar, [name, other], bench=bench), together(changed, [name, other], bench=bench))
            for other in others
        },
        balance_with=balance,
    )
