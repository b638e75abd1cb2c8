"""What to measure first: how far each assumed value, at the end of its range, moves what is computed of a pickup."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from polepiece.bench.bench import Bench
from polepiece.bench.state import BANDS, State
from polepiece.errors import PolepieceError
from polepiece.guitar import Assumption, Guitar, line_at, whose_is, with_value
from polepiece.materials import pickup_bars
from polepiece.pickup import engine

LEAST = 0.05  # dB; less is not worth a caliper: no figure shows more than one decimal
CHARGES = ("outside", "in-place")


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """One assumed value, and what measuring it would settle."""

    assumed: Assumption
    pickup: str  # of which the numbers are
    moves_db: float  # the largest change of the level or of a band's own level between the ends of its range
    most: str  # which of them: "level_db", "bands_db.presence"


def coarse_bench() -> Bench:
    """Return a bench on the coarse mesh of the draws: what moves is told apart, not stated."""
    return Bench(resolution=engine.COARSE, exact_screws=False)


def worth_measuring(
    guitar: Guitar,
    pickups: Sequence[str],
    *,
    bench: Bench | None = None,
    progress: Callable[[int, int], object] = lambda done, of: None,
) -> tuple[Worth, ...]:
    """Rank what was assumed by what a measurement of it would settle, the largest first.

    Each value is put where its 90 % range ends, one at a time, as if it had been measured there; where words are
    assumed (the grade of a magnet, how it was charged), each is tried. Values without a range, and what a file cannot
    say at its end beside the rest, are not ranked. The figure is the largest change of the level, or of a band with
    the level in it, in dB; values that move less than `LEAST` are left out.

    Parameters
    ----------
    guitar : Guitar
    pickups : sequence of str
        Names; of each its own values and those of the guitar are tried.
    bench : Bench, optional
        Default: `coarse_bench`.
    progress : callable
        Called with how many values are done, and of how many.
    """
    bench = bench or coarse_bench()
    names = [one.name for one in guitar.pickups]
    asked = [(one, name) for name in pickups for one in guitar.assumed if _concerns(one, name, names) and _ends(one)]
    found: dict[str, Worth] = {}
    for done, (one, name) in enumerate(asked):
        progress(done, len(asked))
        worth = _worth(guitar, one, name, bench)
        if worth.moves_db >= LEAST and worth.moves_db > (found[one.path].moves_db if one.path in found else 0.0):
            found[one.path] = worth
    progress(len(asked), len(asked))
    return tuple(sorted(found.values(), key=lambda one: -one.moves_db))


def _concerns(one: Assumption, name: str, names: Sequence[str]) -> bool:
    return not one.path.startswith("pickups[") or whose_is(one.path, names) == f"{name} pickup"


def _ends(one: Assumption) -> tuple[float | str, ...]:
    """Return the values that are tried in place of an assumed one."""
    line = line_at(one.path)
    if line is None or (line.kind == "numbers" and line.whole):
        return ()
    if line.kind == "grade":
        return pickup_bars.LIKELY
    if line.kind == "charge":
        return CHARGES
    return () if one.low is None or one.high is None else tuple(dict.fromkeys((one.low, one.high)))


def _worth(guitar: Guitar, one: Assumption, name: str, bench: Bench) -> Worth:
    states = [bench.state(guitar, name), *_states(guitar, one, name, bench)]
    spans = {key: max(values) - min(values) for key, values in _levels(states).items()}
    most = max(spans, key=lambda key: spans[key])
    return Worth(assumed=one, pickup=name, moves_db=spans[most], most=most)


def _states(guitar: Guitar, one: Assumption, name: str, bench: Bench) -> Iterator[State]:
    for value in _ends(one):
        there = with_value(guitar, one.path, value)
        if there is None:
            continue
        try:
            yield bench.state(there, name)
        except PolepieceError:  # no string sounds there, or a shape that cannot be solved: nothing to rank
            continue


def _levels(states: Sequence[State]) -> dict[str, list[float]]:
    out = {"level_db": [one.level_db for one in states]}
    return out | {f"bands_db.{band}": [one.bands_own_db[band] for one in states] for band in BANDS}
