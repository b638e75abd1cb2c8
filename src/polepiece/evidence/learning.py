"""What a measurement taught: how much narrower the predictions of the next move have become."""

from collections.abc import Sequence
from dataclasses import dataclass

from polepiece.bench import Bench
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Guitar
from polepiece.moves import Change, apply

KEYS = (
    "level_db", "bands_db.lows", "bands_db.mids", "bands_db.highs", "bands_db.presence", "resonance_hz",
    "resonance_db", "inductance_120hz_h", "dc_resistance_ohm",
)  # fmt: skip
Pair = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowed:
    """One number of a state, or of its difference: its 90 % interval before and after the measurement."""

    key: str  # dotted, as in the numbers of a state
    before: Pair
    after: Pair

    @property
    def widths(self) -> Pair:
        """Width before and after."""
        return self.before[1] - self.before[0], self.after[1] - self.after[0]


def narrowed(
    before: Guitar,
    after: Guitar,
    pickup: str,
    changes: Sequence[Change] = (),
    *,
    draws: int = DRAWS,
    bench: Bench | None = None,
) -> tuple[Narrowed, ...]:
    """Return the intervals that a measurement has moved.

    Parameters
    ----------
    before, after : Guitar
        The guitar as its file had it, and with what was measured (`with_measured`, `with_charge`).
    pickup : str
    changes : sequence of Change
        The move that is predicted; without one the intervals are those of the state itself, which a meter may check.
    draws : int
    bench : Bench, optional

    Raises
    ------
    InputError
        When the pickup does not exist or a change is not possible on it.
    """
    bench = bench or Bench()
    name = before.pickup(pickup).name
    found = []
    for guitar in (before, after):
        if changes:
            found.append(bench.interval(guitar, apply(guitar, name, changes), name, draws=draws))
        else:
            found.append(bench.span(guitar, name, draws=draws))
    old, new = found
    return tuple(Narrowed(key=key, before=old[key], after=new[key]) for key in KEYS if key in old and key in new)
