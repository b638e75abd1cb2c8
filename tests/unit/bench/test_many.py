"""Guitars that differ in their controls, computed together, against one state after the other."""

import random
from pathlib import Path

import pytest

from polepiece.bench import coarse_bench, numbers_of_many, solved_alike
from polepiece.errors import MeasurementError
from polepiece.guitar import read_guitar
from polepiece.moves import apply, parse_changes

EXAMPLES = Path(__file__).parents[3] / "examples"
WAYS = (
    "volume_pot=250k", "volume_pot=1M", "tone_pot=none", "tone_cap=10nF", "cable=300pF", "volume=7", "volume=0",
    "tone=0", "bleed=150pF", "shunt=220k", "input=500k",
)  # fmt: skip


@pytest.mark.parametrize("name", ["demo", "two-volumes", "three-rod-singles"])
def test_together_they_say_what_each_says_alone(name: str) -> None:
    """Of the same functions over one more axis: only the order of sums differs, some 1e-12 of a number."""
    guitar = read_guitar(EXAMPLES / f"{name}.guitar.toml")
    pickup, bench, dice = guitar.pickups[0].name, coarse_bench(), random.Random(name)
    changed = [guitar]
    for _ in range(12):
        keys: dict[str, str] = {one.partition("=")[0]: one for one in dice.sample(WAYS, 3)}
        changed.append(apply(guitar, pickup, parse_changes(keys.values())))
    assert len({solved_alike(one) for one in changed}) == 1
    silent = 0
    for one, found in zip(changed, numbers_of_many(bench, changed, pickup), strict=True):
        try:
            alone = bench.state(one, pickup).numbers()
        except MeasurementError as error:
            assert found == str(error)
            silent += 1
            continue
        assert found == pytest.approx(alone, rel=1e-9, abs=1e-9)
    assert silent < len(changed)


def test_another_gap_is_not_alike() -> None:
    guitar = read_guitar(EXAMPLES / "demo.guitar.toml")
    lower = apply(guitar, "neck", parse_changes(["lower=0.3mm"]))
    assert solved_alike(guitar) != solved_alike(lower)
