"""The move back to the old level, with levels written down as functions of the gap."""

import math

import pytest

from polepiece.bench.regap import CLOSE_DB, falling_root, nearest_root

SAFE, FAR = 1.5e-3, 7e-3  # m, the gaps between which a pickup is moved
WITHIN = 5e-6  # m: 0.005 dB at the least slope here, 1 dB per mm


def voltage(gap, *, decay=2e-3):
    return math.exp(-gap / decay)


OTHER = voltage(2.1e-3)  # V, any unit: of the pickup that stays


def opposed(gap):
    """Level of a pickup at ``gap`` together with another one out of phase, dB; it is least at 2.1 mm."""
    return 10.0 * math.log10((OTHER - voltage(gap)) ** 2 + 1e-4)


def move_back(level, *, gap, old_gap, how=nearest_root):
    return how(lambda move: level(gap + move) - level(old_gap), SAFE - gap, FAR - gap)


@pytest.mark.parametrize("lowered", [0.3e-3, 0.5e-3, 1.5e-3])
def test_out_of_phase_a_lowering_is_undone_by_raising_as_much(lowered):
    assert opposed(2.7e-3 + lowered) > opposed(2.7e-3) + 1.0  # lower is louder here

    assert move_back(opposed, gap=2.7e-3 + lowered, old_gap=2.7e-3) == pytest.approx(-lowered, abs=WITHIN)


def test_out_of_phase_a_raising_is_undone_by_lowering_as_much():
    assert move_back(opposed, gap=2.4e-3, old_gap=2.7e-3) == pytest.approx(0.3e-3, abs=WITHIN)


def test_the_nearest_of_two_gaps_is_taken():
    """At 1.9 mm the level is that of 2.32 mm as well; from 1.7 mm the former is nearer."""
    assert move_back(opposed, gap=1.7e-3, old_gap=1.9e-3) == pytest.approx(0.2e-3, abs=WITHIN)


def test_no_gap_with_the_old_level_comes_as_near_as_it_can():
    """As loud as no gap is: the loudest gap is the nearest. Where every move is away from it, none is made."""
    far = nearest_root(lambda move: opposed(3e-3 + move) - 3.0, SAFE - 3e-3, FAR - 3e-3)
    still = nearest_root(lambda move: opposed(2.1e-3 + move) + 60.0, SAFE - 2.1e-3, FAR - 2.1e-3)

    assert far == FAR - 3e-3
    assert still == 0.0


def test_one_pickup_alone_finds_the_same_either_way():
    def level(gap):
        return 20.0 * math.log10(voltage(gap))

    for how in (falling_root, nearest_root):
        move = move_back(level, gap=3.1e-3, old_gap=2.6e-3, how=how)
        assert abs(level(3.1e-3 + move) - level(2.6e-3)) < CLOSE_DB


def test_one_pickup_that_cannot_get_loud_enough_is_raised_to_the_safe_gap():
    assert move_back(lambda gap: -gap, gap=3e-3, old_gap=1e-3, how=falling_root) == SAFE - 3e-3
