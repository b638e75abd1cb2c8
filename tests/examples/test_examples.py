"""Every invented instrument of `examples/` goes through the tool, on the rough mesh, and reads back as it was written.

Nothing here is held against a figure of its own: that a guitar of each kind can be entered, looked over, computed and
worked on is what is asked. One number a guitar says that it was computed: what its strings pull and give is above zero.
"""

from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from polepiece.bench import Bench, predict, strings
from polepiece.cli.commands import app
from polepiece.guitar import (
    Slot,
    answers_of,
    cautions,
    entered,
    parse_guitar,
    pickup_answers,
    read_guitar,
    write_guitar,
)
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.moves import parse_changes
from polepiece.report import work_sheet, worksheet_html

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(path.name for path in EXAMPLES.glob("*.guitar.toml"))
LEAST = 12  # invented instruments beside the demo and the geometry of the verification
OTHERS = ("demo.guitar.toml", "reference-humbucker.guitar.toml")


@pytest.fixture(scope="module")
def bench() -> Bench:
    """One bench for all: pickups that share a geometry are solved once."""
    return Bench()


def test_there_is_one_of_each_kind() -> None:
    guitars = [read_guitar(EXAMPLES / name) for name in NAMES if name not in OTHERS]
    assert len(guitars) >= LEAST
    assert all(one.invented for one in guitars)
    assert len({one.name for one in guitars}) == len(guitars)
    used = {pickup.construction for one in guitars for pickup in one.pickups}
    there = {one.slug for one in CONSTRUCTIONS}
    assert used == there  # every construction has its example


@pytest.mark.parametrize("name", NAMES)
def test_an_example_reads_back_checks_and_is_plausible(name: str) -> None:
    guitar = read_guitar(EXAMPLES / name)
    assert parse_guitar(write_guitar(guitar)) == guitar
    slots = [Slot(answers=pickup_answers(guitar, k), was=k) for k in range(len(guitar.pickups))]
    assert entered(answers_of(guitar), slots, was=guitar).guitar == guitar  # the form shows it and leaves it alone
    assert cautions(guitar) == ()
    found = CliRunner().invoke(app, ["check", str(EXAMPLES / name), "--quick"])
    assert found.exit_code == 0
    assert guitar.name in " ".join(found.output.split())


@pytest.mark.parametrize("name", [one for one in NAMES if one not in OTHERS])
def test_an_example_is_computed_and_worked_on(name: str, bench: Bench) -> None:
    guitar = read_guitar(EXAMPLES / name)
    pickup = guitar.pickups[-1].name
    changes = parse_changes(["lower=0.3mm"])
    found = predict(guitar, pickup, changes, draws=8, bench=bench)
    low, high = found.interval["level_db"]
    assert low <= found.difference["level_db"] <= high < 0.0  # further from the strings is softer, whatever it is
    taken = strings(guitar, pickup, bench=bench)
    assert len(taken.sensitivity) == len(guitar.strings)
    assert np.all(taken.sensitivity > 0.0)
    sheet = work_sheet(guitar, pickup, changes, bench=bench, draws=8)
    assert any("lower" in step.text.lower() or "height" in step.text.lower()
               for section in sheet.sections for step in section.steps)  # fmt: skip
    assert pickup in worksheet_html(sheet)
