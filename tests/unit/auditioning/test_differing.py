"""How far a difference goes on a guitar, and that a staircase never asks for more than can be played."""

from dataclasses import replace

import pytest

from polepiece.auditioning.differing import largest_difference, resonance_lowered
from polepiece.bench import coarse_bench
from polepiece.errors import InputError
from polepiece.guitar import read_guitar
from polepiece.measure.listening.threshold import MOST, ThresholdPlan
from tests.cli.conftest import ROOT


@pytest.mark.parametrize(("file", "cable"), [("demo", 500e-12), ("demo", 1.4e-9), ("seven-strings", 900e-12)])
def test_a_staircase_of_resonance_can_be_played_to_its_largest_difference(file: str, cable: float) -> None:
    bench, guitar = coarse_bench(), read_guitar(ROOT / "examples" / f"{file}.guitar.toml")
    guitar = replace(guitar, controls=replace(guitar.controls, cable_capacitance=cable))
    pickup = guitar.pickups[0].name
    largest = largest_difference(guitar, pickup, "resonance", bench)
    plan = ThresholdPlan.within("resonance", largest)
    asked = MOST * plan.first  # what follows a wrong answer to the first
    assert 10.0 <= plan.first <= 40.0
    assert asked <= largest
    lowered = bench.state(resonance_lowered(guitar, pickup, asked, bench), pickup).resonance_hz
    now = bench.state(guitar, pickup).resonance_hz
    assert lowered is not None and now is not None
    assert 100.0 * (1.0 - lowered / now) == pytest.approx(asked, rel=1e-3)  # the root is asked for to 1e-6 of the cable


def test_other_quantities_know_no_end() -> None:
    guitar = read_guitar(ROOT / "examples" / "demo.guitar.toml")
    for quantity in ("level", "brightness"):
        assert ThresholdPlan.within(quantity, largest_difference(guitar, "neck", quantity, coarse_bench())) == (
            ThresholdPlan(quantity=quantity)
        )


def test_what_leaves_too_little_room_is_refused_before_it_begins() -> None:
    assert ThresholdPlan.within("resonance", 30.0).first == 20.0
    with pytest.raises(InputError, match="12 % is the largest"):
        ThresholdPlan.within("resonance", 12.0)
    with pytest.raises(InputError, match="needed to begin with"):
        ThresholdPlan.within("resonance", 0.0)
