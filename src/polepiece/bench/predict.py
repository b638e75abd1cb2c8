"""Open this first: the whole chain from a guitar to numbers, and what a change does to them.

guitar -> anatomy -> factors (geometry only, cached) -> magnet state (grade, history) -> coil fields L(f)
       -> strings sensed (V s/m) -> pickups that are on, circuit (V per V) -> partials of a stroke -> State
"""

from collections.abc import Sequence
from dataclasses import dataclass

from polepiece.bench.balance import balance_intervals, balances
from polepiece.bench.bench import Bench
from polepiece.bench.h2_spread import h2_interval
from polepiece.bench.state import State, difference
from polepiece.bench.switched import heard_before_and_after
from polepiece.bench.together import together
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Guitar, SwitchPosition, check_draws, coils_of, goes_together, usual_position
from polepiece.moves import Change, apply, positions_moved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prediction:
    """A change judged twice: at the same gap, and with the gap re-set to the old level."""

    pickup: str
    position: str  # in which it is heard, before
    heard: tuple[str, ...]  # the pickups that are on there
    moved: tuple[str, ...]  # every position of the guitar in which the changes are heard
    changes: tuple[Change, ...]
    before: State
    after: State
    difference: dict[str, float]
    interval: dict[str, tuple[float, float]]  # 90 %, of the difference at the same gap
    after_at_old_level: State | None  # None where no safe gap reaches the old level
    difference_at_old_level: dict[str, float] | None
    lowered: float | None  # m the pickup was lowered for it (negative: raised)
    balance_with: dict[str, tuple[float, float]]  # level against each other pickup: before, after; dB
    both_on: dict[
        str, tuple[State, State]
    ]  # on together with each other pickup, coils as in the position: before, after


def pickup_state(guitar: Guitar, pickup: str) -> State:
    """Return the state of one pickup of ``guitar``; the chain, step by step, is `Bench.state`."""
    return Bench().state(guitar, pickup)


def predict(
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    position: str | None = None,
    seed: int = 0,
    draws: int = DRAWS,
    bench: Bench | None = None,
) -> Prediction:
    """Predict what ``changes`` do to ``pickup``.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Name, or position where it is the only one there.
    changes : sequence of Change
    position : str, optional
        In which the guitar is heard, see `pickups_on`; the pickup is on in it. Default: the pickup by itself. A change
        of the selector is heard in that position before, in the new one after.
    seed, draws : int
        Of the 90 % interval.
    bench : Bench, optional
        Shares factors and magnet states between calls.

    Raises
    ------
    InputError
        When the pickup does not exist or is not on, a change is not possible on it, or ``draws`` are too few.
    """
    check_draws(draws)
    alone = (bench or Bench(seed=seed)).heard_in(None)
    name = guitar.pickup(pickup).name
    changed = apply(guitar, name, changes)
    heard = heard_before_and_after(guitar, changed, name, position)
    here, there = (alone.heard_in(one) for one in heard)
    before, after = here.state(guitar, name), there.state(changed, name)
    interval = here.interval(guitar, changed, name, draws=draws, there=there)
    interval |= h2_interval(guitar, changed, name, bench=alone, count=draws)
    at_level = None
    lowered = None
    if abs(after.level_db - before.level_db) > 0.05 and senses_otherwise(guitar, changed, name):
        regapped, lowered = there.regap(before, changed, name)
        at_level = there.state(regapped, name)
    others = [p.name for p in guitar.pickups if p.name != name and goes_together(guitar, (name, p.name))]
    balance = balances(guitar, changed, name, bench=alone)
    level = interval["level_db"] if all(one == usual_position(guitar, name) for one in heard) else None
    interval |= balance_intervals(guitar, changed, name, bench=alone, count=draws, level=level)
    return Prediction(
        pickup=name,
        position=heard[0].name,
        heard=heard[0].on,
        moved=positions_moved(guitar, name, changes),
        changes=tuple(changes),
        before=before,
        after=after,
        difference=difference(before, after),
        interval=interval,
        after_at_old_level=at_level,
        difference_at_old_level=difference(before, at_level) if at_level is not None else None,
        lowered=lowered,
        both_on={
            other: tuple(  # type: ignore[misc]
                together(one, [name, other], bench=alone, coils=_joined_as_in(at, name, other))
                for one, at in zip((guitar, changed), heard)
            )
            for other in others
        },
        balance_with=balance,
    )


def _joined_as_in(position: SwitchPosition, *pickups: str) -> tuple[str, ...]:
    """Return how the coils of these pickups are joined in a position, where that is not as they are wired."""
    return tuple(one for one in position.coils if coils_of(one)[0] in pickups)


def senses_otherwise(before: Guitar, after: Guitar, pickup: str) -> bool:
    """Whether a change moves what the pickup takes up: then its gap is re-set; after a turn of a knob it is not."""
    return before.pickup(pickup) != after.pickup(pickup) or before.strings != after.strings
