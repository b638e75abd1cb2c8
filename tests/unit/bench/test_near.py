"""A turned screw answered at once: each string between two pickups whose screws all stand alike.

Beside the exact state (`Bench`, demo guitar, neck), the response is off by 0.03 dB for an eighth up, 0.07 dB of 0.36 dB
for half a turn up, 0.57 dB of 0.95 dB for two screws a turn down.
"""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import NearBench, half_a_turn_up, most_common
from polepiece.guitar import Guitar, read_guitar
from polepiece.moves import apply, parse_changes
from tests.app.conftest import DEMO

STRING = 2  # of screw 3


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def bench() -> NearBench:
    return NearBench()


def test_half_a_turn_up_moves_all_screws_alike(guitar: Guitar) -> None:
    turned = apply(guitar, "neck", parse_changes(["screw2=down 1 turn"]))
    higher = half_a_turn_up(turned, "neck").pickup("neck").poles
    assert higher.screw_raise == pytest.approx([0.5 * higher.screw_pitch] * 6)  # from where most of them stand
    assert half_a_turn_up(turned, "neck").pickup("bridge") == guitar.pickup("bridge")
    assert most_common((1.0, 2.0, 2.0)) == 2.0


def test_each_string_is_that_of_its_own_screw(guitar: Guitar, bench: NearBench) -> None:
    turned = apply(guitar, "neck", parse_changes(["screw3=up 0.5 turn"]))
    seen = []
    for one in (guitar, half_a_turn_up(guitar, "neck"), turned):
        pickup = one.pickup("neck")
        seen.append(bench.sensed(one, pickup, bench.magnetised(one, pickup)).sensitivity)
    low, high, near = seen
    others = [k for k in range(6) if k != STRING]
    np.testing.assert_allclose(near[others], low[others])  # rounding alone: the very same records
    np.testing.assert_allclose(near[STRING], high[STRING], rtol=1e-9)
    assert abs(high[STRING]).sum() > abs(low[STRING]).sum()  # a nearer pole hears more


def test_a_quarter_is_half_way(guitar: Guitar, bench: NearBench) -> None:
    quarter, half = (
        bench.state(apply(guitar, "neck", parse_changes([f"screw3=up {turn} turn"])), "neck") for turn in (0.25, 0.5)
    )
    here = bench.state(guitar, "neck")
    moved = [one.string_balance_db[STRING] - here.string_balance_db[STRING] for one in (quarter, half)]
    assert 0.0 < moved[0] < moved[1]
    assert moved[0] / moved[1] == pytest.approx(0.5, abs=0.03)  # linear in volts, so nearly in small decibels


def test_screws_that_stand_alike_are_exact(guitar: Guitar, bench: NearBench) -> None:
    alike = replace(guitar, name="the same")
    assert bench.state(alike, "neck").level_db == bench.state(guitar, "neck").level_db
