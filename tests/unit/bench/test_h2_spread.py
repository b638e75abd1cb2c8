"""The interval of the second harmonic against the whole chain, draw by draw."""

import numpy as np
import pytest

from polepiece.bench import Bench, measures, predict
from polepiece.bench.h2_spread import drawn_h2_db, h2_interval
from polepiece.bench.state import H2_AMPLITUDE
from polepiece.geometry import Resolution
from polepiece.guitar import parse_guitar
from polepiece.guitar.records import Guitar
from polepiece.guitar.spread import Draw, draws
from polepiece.moves import apply, parse_changes
from polepiece.pickup import engine
from polepiece.pickup.electrics import turns
from polepiece.pickup.stringing import string_places, string_rods
from tests.unit.bench.test_together import TWO

COARSE = Resolution(
    sectors=8, slice_height=2.5e-3, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2
)  # fmt: skip
PRINTED = 0.05  # dB, half of the last digit that is ever printed of it; a second harmonic is heard from some 3 dB


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(resolution=COARSE)


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return parse_guitar(TWO)


def whole_chain(guitar: Guitar, sample: list[Draw], bench: Bench) -> np.ndarray:
    """Sense every draw with the linkage itself, differentiated: what a state does for the nominal guitar."""
    pickup = guitar.pickup("neck")
    solved = bench.magnetised(guitar, pickup)
    moves = bench.moves(pickup, solved)
    turned = np.array(turns(pickup)) * bench.switched(guitar, pickup).senses[0]
    y, height = string_places(guitar, pickup)
    out = []
    for draw in sample:
        gaps = [draw.value(f"gap {side}", 0.0, -1e-4, 1e-4) for side in ("treble", "bass")]
        rods = string_rods(guitar, draw)
        table = solved.pickup_table + moves.at(draw, pickup.magnet)
        found = engine.sensed_strings(
            solved.model, rods, y, height + np.linspace(*gaps, len(y)), table, solved.coil_table
        )
        out.append(measures.h2_db(found.sensitivity @ turned, found.second @ turned, H2_AMPLITUDE))
    return np.array(out).T


@pytest.mark.parametrize("change", ["lower=0.5mm", "magnet=alnico-5"])
def test_a_drawn_change_is_that_of_the_whole_chain(bench, guitar, change):
    sample = draws(8, 3)
    after = apply(guitar, "neck", parse_changes([change]))

    drawn = drawn_h2_db(after, "neck", sample, bench=bench) - drawn_h2_db(guitar, "neck", sample, bench=bench)

    exact = whole_chain(after, sample, bench) - whole_chain(guitar, sample, bench)
    np.testing.assert_allclose(drawn, exact, atol=PRINTED)
    assert np.ptp(exact, axis=1).max() > 4 * PRINTED, "the draws differ by more than the method errs"


def test_no_change_has_no_interval(bench, guitar):
    assert set(h2_interval(guitar, guitar, "neck", bench=bench, count=8).values()) == {(0.0, 0.0)}


def test_a_prediction_carries_it_for_every_string(bench, guitar):
    found = predict(guitar, "neck", parse_changes(["lower=0.5mm"]), draws=16, bench=bench)
    for k in range(1, 7):
        low, high = found.interval[f"h2_db.{k}"]
        assert low < high
        assert low - PRINTED <= found.difference[f"h2_db.{k}"] <= high + PRINTED
