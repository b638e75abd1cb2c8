"""How often the intervals of plucks before and after hold the truth: on drawn numbers, from sound, and as predicted."""

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import numpy as np

from polepiece.bench import Bench
from polepiece.bench.state import difference
from polepiece.guitar import Guitar, read_guitar
from polepiece.measure import Estimate, FileFact, Taken, as_predicted, compare_plucks, plucks_of
from polepiece.measure.plucks.predicted import LEFT_OUT
from polepiece.moves import apply, parse_changes
from polepiece.pickup import open_strings
from polepiece.strings import Spread
from tests.reference.plucked_session import OPEN, Response, Sitting, numbers, session, third_octave_change
from tests.reference.plucked_trials import OTHER_HAND, coverage
from tests.reference.rendered_sitting import rendered
from verification.holding import share_row
from verification.registry import Row, study, two_processes

TRIALS = 120
DESIGNS = tuple(
    (strings, of, plucks, apart)
    for strings, of in ((1, 6), (6, 6), (2, 6), (3, 6), (5, 6), (3, None), (6, None))
    for plucks in (3, 5) for apart in (0.0, 1.0, 2.0)
    if strings not in (1, of) or apart == (0.0 if strings == 1 else 2.0)
)  # fmt: skip
SITTING = Sitting(strings=(OPEN[0], OPEN[2], OPEN[3], OPEN[5]), plucks=4, gap=1.2, lead=0.6, t60_spread=0.03)
QUANTITIES = (
    "level_db", "sensitivity_1khz_db", "bands_db.lows", "bands_db.presence", "bands_own_db.highs",
    "attack_minus_sustain_db.highs", "third_octave_db.4000", "decay_time_percent",
)  # fmt: skip
GUITAR = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
CHANGES = ("magnet=ceramic-8", "tilt=treble up 0.4mm", "cable=900pF", "tone=4", "lower=0.8mm", "wiring=parallel")
PAIRS = 72
PLUCKS = 5
HAND = Spread(onset=0.0)
GROUPS = {
    "level": ("level_db",), "bands against the level": ("bands_db",), "bands themselves": ("bands_own_db",),
    "attack against sustain": ("attack_minus_sustain_db",),
    "strings against one another": ("wound_minus_plain_db", "string_balance_db"),
}  # fmt: skip


@study(
    "pluck-intervals",
    "Plucks before and after: how often a 90 % interval holds the truth",
    "200 trials of 10 quantities a row. Plucks of a string scatter by 1 dB, by a drawn factor of up to "
    f"{OTHER_HAND:g} more or less in each sitting; strings change by different amounts with the standard deviation in "
    "the row. The truth is the mean change of all strings of the guitar, plucked or not; of notes on frets, the mean "
    "of any number. Found is the share of intervals that hold it; the error is that share less 0.90, the tolerance "
    "what chance allows (`verification/holding.py`). Where not all were plucked, the interval adds what plucks and "
    "what strings leave open so that the sum is not too narrow whichever is the larger, and is never narrower than the "
    "plucks alone make it: it may hold more often, and is judged from below.",
)
def pluck_intervals() -> Iterator[Row]:
    """Yield the share of intervals that hold, by design."""
    for strings, of, plucks, apart in DESIGNS:
        held, least = coverage(strings=strings, of=of, plucks=plucks, apart=apart, trials=200, quantities=10, seed=99)
        which = f"{strings} of {of} strings" if of else f"{strings} notes of any number"
        yield share_row(
            f"{which}, {plucks} plucks, strings apart {apart:g} dB", "mean change", held.ravel(), rows=len(DESIGNS),
            at_least=strings > 1 and strings != of, more=f"; least to show {least:.2f} dB",
        )  # fmt: skip


def one(seed: int) -> dict[str, bool]:
    """Make two sittings through a drawn tilt and say which intervals hold it."""
    random = np.random.default_rng([2712, seed])
    gain, tilt, apart = random.uniform(-4.0, 4.0), random.uniform(-2.0, 2.0), random.uniform(0.0, 1.0)
    strings = apart * random.standard_normal(len(SITTING.strings))

    def response(own: float) -> Response:
        return lambda f: 10.0 ** ((gain + own + tilt * np.log2(f / 1e3)) / 20.0)

    changed = [response(float(x)) for x in strings]
    sounds = session(SITTING, random)[0], session(SITTING, random, changed)[0]
    takes = [
        plucks_of([Taken(samples=x[:, None], sample_rate=SITTING.rate,
                         fact=FileFact(role=role, name=role, sha256=role))], tuning=SITTING.strings)
        for role, x in zip(("before", "after"), sounds)
    ]  # fmt: skip
    found = compare_plucks(*takes, tuning=SITTING.strings)
    was, now = numbers(SITTING), numbers(SITTING, changed)
    about = np.mean([third_octave_change(SITTING, changed, middle) for middle in (800.0, 1000.0, 1250.0)])
    true = {name: now[name] - was[name] for name in was} | {
        "sensitivity_1khz_db": float(about), "decay_time_percent": 0.0,
        "third_octave_db.4000": third_octave_change(SITTING, changed, 4000.0),
    }  # fmt: skip
    return {name: found[name].low <= true[name] <= found[name].high for name in QUANTITIES}


@study(
    "pluck-recordings",
    "Plucks before and after: from sound to interval",
    f"{TRIALS} pairs of sittings of additive plucks (stiff partials, all four strings of an instrument, four plucks "
    "each, hand of 1 dB, 4 mm of 648, 3 % of the decay times) through a drawn gain and tilt, strings up to 1 dB apart, "
    "noise at -100 dB. The truth is summed over the partials as a state's numbers are. Found is the share of 90 % "
    "intervals that hold it; the tolerance is what chance allows (`verification/holding.py`).",
)
def pluck_recordings() -> Iterator[Row]:
    """Yield the share of intervals that hold, by quantity."""
    with two_processes() as pool:
        made = list(pool.map(one, range(TRIALS), chunksize=5))
    for name in QUANTITIES:
        yield share_row(
            f"{TRIALS} pairs of sittings", name, [trial[name] for trial in made], rows=len(QUANTITIES)
        )  # fmt: skip


@lru_cache(maxsize=1)
def _guitar() -> tuple[Guitar, Bench]:
    return read_guitar(GUITAR), Bench()


def heard(change: str, seeds: tuple[int, int], hand: Spread | None) -> dict[str, tuple[Estimate, float]]:
    """Render two sittings before and after ``change``; return what plucks say, and the states' difference, by name."""
    guitar, bench = _guitar()
    changed = apply(guitar, "neck", parse_changes([change]))
    true = difference(bench.state(guitar, "neck"), bench.state(changed, "neck"))
    tuning, wound = open_strings(guitar)
    plucks = PLUCKS if hand else 3
    first, second = (
        rendered(one, "neck", plucks=plucks, seed=seed, hand=hand, bench=bench, name=str(k))
        for k, (one, seed) in enumerate(zip((guitar, changed), seeds))
    )
    found = compare_plucks(first, second, tuning=tuning, wound=wound)
    return {one.name: (one, true[one.name]) for one in found.estimates if one.name in true}


def predicted(number: int) -> dict[str, tuple[float, bool]]:
    """Say by quantity how far pair ``number`` is off and whether its interval, set beside a state's, holds the state's.

    Every sitting has a hand of its own.
    """
    hands = np.random.SeedSequence([2713, number]).generate_state(2)
    out = {}
    for name, (said, true) in heard(CHANGES[number % len(CHANGES)], (int(hands[0]), int(hands[1])), HAND).items():
        claim = as_predicted(said)
        out[name] = said.value - true, claim.low <= true <= claim.high
    return out


def left_out(change: str) -> dict[str, float]:
    """Return by quantity how far a hand that varies nothing is off the states."""
    return {name: said.value - true for name, (said, true) in heard(change, (1, 2), None).items()}


@study(
    "pluck-predictions",
    "Plucks before and after: measured against predicted",
    f"Sittings of the stated stroke on all strings of the example guitar, rendered before and after {len(CHANGES)} "
    "kinds of change with the flux law as curved as it is. First with a hand that varies nothing: how far plucks and "
    "states are apart at most, for a state adds up the partials of a small stroke; the tolerance is the limit that the "
    "ledger allows for that (both columns: hundredths of a dB). Then "
    f"{PAIRS} pairs of {PLUCKS} plucks a string, a hand of {HAND.level_db:g} dB, {1e3 * HAND.position:g} mm and 8 "
    "degrees, another one before than after. Found is the share of 90 % intervals, as the ledger has them, that hold "
    "the difference of the two states, and the mean error. The limits are not used up by every change, so these rows "
    "are judged from below; what chance allows is counted from how far the shares of the pairs scatter.",
)
def pluck_predictions() -> Iterator[Row]:
    """Yield what a state leaves out, and the share of intervals that hold the difference of the states."""
    guitar, bench = _guitar()
    for change in CHANGES:  # solved once, before the work is shared out
        bench.state(apply(guitar, "neck", parse_changes([change])), "neck")
    with two_processes() as pool:
        bare = list(pool.map(left_out, CHANGES))
        made = list(pool.map(predicted, range(PAIRS), chunksize=4))
    for head, limit in LEFT_OUT.items():
        apart, change, name = max(
            (abs(off), change, name)
            for change, one in zip(CHANGES, bare) for name, off in one.items() if name.partition(".")[0] == head
        )  # fmt: skip
        yield Row(
            case="a hand that varies nothing", quantity=head, found=f"{apart:.2f} dB apart ({name}, {change})",
            reference="0 dB", error=apart, tolerance=limit,
        )  # fmt: skip
    for words, heads in GROUPS.items():
        mine = np.array([[one for name, one in trial.items() if name.partition(".")[0] in heads] for trial in made])
        yield share_row(
            f"{PAIRS} pairs of sittings", words, mine[..., 1], rows=len(GROUPS), at_least=True,
            more=f"; mean error {mine[..., 0].mean():+.2f} dB",
        )  # fmt: skip
