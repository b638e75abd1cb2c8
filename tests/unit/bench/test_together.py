"""Pickups on together: signs that a bench knows (common practice, no source)."""

import pytest

from polepiece.bench import Bench
from polepiece.bench.together import together
from polepiece.errors import InputError
from polepiece.geometry import Resolution
from polepiece.guitar import parse_guitar
from polepiece.moves import apply, parse_changes

TWO = """
name = "two"
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
lead = "four-conductor"
[pickups.magnet]
grade = "alnico-2"
charge = "outside"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "humbucker"
lead = "four-conductor"
[pickups.magnet]
grade = "alnico-5"
charge = "outside"
"""


@pytest.fixture(scope="module")
def both():
    guitar = parse_guitar(TWO)
    coarse = Resolution(
        sectors=8, slice_height=2.5e-3, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2
    )
    bench = Bench(resolution=coarse)
    return guitar, bench


def test_two_like_fitted_pickups_are_in_phase(both):
    guitar, bench = both

    assert together(guitar, ["neck", "bridge"], bench=bench).in_phase


def test_flipping_one_bar_turns_the_phase_and_cancels_the_lows(both):
    guitar, bench = both
    flipped = apply(guitar, "neck", parse_changes(["flip=yes"]))

    before, after = (together(g, ["neck", "bridge"], bench=bench) for g in (guitar, flipped))

    assert not after.in_phase
    # a string moves three times as far over the neck pickup as over the other: the fundamentals do not cancel wholly
    assert after.level_db < before.level_db - 4.0
    assert after.bands_own_db["lows"] - before.bands_own_db["lows"] < after.level_db - before.level_db - 1.0


def test_one_pickup_is_not_together(both):
    guitar, bench = both

    with pytest.raises(InputError, match="fewer than two"):
        together(guitar, ["neck"], bench=bench)
