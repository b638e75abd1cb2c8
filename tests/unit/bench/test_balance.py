"""The level of a pickup against the others: what is shared by all pickups moves both.

Source: one cable and one set of controls carry every pickup of the guitar (its wiring); the balance of two pickups
behind them hardly depends on them. A bar is in one pickup only.
"""

import pytest

from polepiece.bench import Bench, coarse_bench, predict
from polepiece.bench.balance import balance_intervals, balances
from polepiece.guitar import parse_guitar
from polepiece.moves import apply, parse_changes

GUITAR = """
[[pickups]]
name = "neck"
position = "neck"
construction = "rod-single"
magnet.grade = "alnico-5"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "rod-single"
magnet.grade = "alnico-5"
"""


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench()


@pytest.mark.parametrize("move", ["volume=5", "volume_pot=250k", "cable=300pF", "strings=11-49"])
def test_what_is_shared_leaves_the_balance_almost_alone(move: str, bench: Bench) -> None:
    guitar = parse_guitar(GUITAR)
    changed = apply(guitar, "neck", parse_changes([move]))
    before, after = balances(guitar, changed, "neck", bench=bench)["bridge"]
    level = bench.level(changed, "neck") - bench.level(guitar, "neck")
    # two pickups of one kind: coils are alike, but the one at the bridge has more of the partials that a load takes
    assert after == pytest.approx(before, abs=0.8)
    interval = balance_intervals(guitar, changed, "neck", bench=bench, count=8, level=(level, level))
    low, high = interval["balance_with_db.bridge"]
    assert low <= after - before <= high
    assert high - low < 1.2


def test_a_height_moves_the_balance_by_the_level(bench: Bench) -> None:
    guitar = parse_guitar(GUITAR)
    found = predict(guitar, "neck", parse_changes(["lower=0.5mm"]), bench=bench, draws=8)
    before, after = found.balance_with["bridge"]
    assert after - before == pytest.approx(found.difference["level_db"], abs=1e-9)
    assert found.interval["balance_with_db.bridge"] == found.interval["level_db"]


def test_no_change_is_no_difference(bench: Bench) -> None:
    guitar = parse_guitar(GUITAR)
    found = predict(guitar, "neck", parse_changes(["cable=500pF"]), bench=bench, draws=8)
    assert set(found.difference.values()) == {0.0}
    assert found.balance_with["bridge"][0] == found.balance_with["bridge"][1]


def test_pickups_that_are_never_heard_apart_have_no_balance() -> None:
    """Two volumes and no switch: one position, both on; what is said of one against the other would be of one sound."""
    guitar = parse_guitar(f'[controls]\ntemplate = "two-volumes"\n{GUITAR}')
    found = predict(guitar, "bridge", parse_changes(["lower=0.5mm"]), bench=coarse_bench(), draws=8)
    assert found.balance_with == {} and not [one for one in found.interval if one.startswith("balance")]


def test_a_pickup_that_is_heard_only_beside_another_is_judged_as_it_is_heard() -> None:
    listed = 'positions = [{ name = "n", on = ["neck"] }, { name = "b", on = ["neck", "bridge"] }]'
    guitar = parse_guitar(f'[controls]\ntemplate = "as-listed"\nvolumes = [{{}}]\n{listed}\n{GUITAR}')
    found = predict(guitar, "neck", parse_changes(["lower=0.5mm"]), bench=coarse_bench(), draws=8)
    (was, now), (low, high) = found.balance_with["bridge"], found.interval["balance_with_db.bridge"]
    assert low <= now - was <= high and now - was > found.difference["level_db"] + 0.5  # it is lowered in both
