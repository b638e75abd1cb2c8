"""A guitar with a switch on the command line: positions by their names, and which of them a move reaches."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from tests.cli.conftest import ROOT, ask

TWO = ROOT / "examples" / "two-volumes.guitar.toml"


@pytest.fixture(scope="module")
def bridge_down() -> dict:
    return ask("predict", TWO, "--pickup", "neck", "--change", "bridge volume=5", "--draws", "8")


def test_a_prediction_is_of_the_position_that_the_complaint_names(bridge_down: dict) -> None:
    assert bridge_down["position_name"] == "both"
    assert bridge_down["position"] == ["neck", "bridge"]
    assert bridge_down["change"] == ["bridge volume=5"]


def test_it_says_which_positions_it_moves(bridge_down: dict) -> None:
    moved = bridge_down["positions_moved"]
    assert moved == ["both", "bridge", "both (bridge split-screws)", "bridge (split-screws)"]
    # wired so that it leaves the neck pickup alone: the level stays within what nobody hears (QUANTITIES, 1 dB)
    assert abs(bridge_down["difference"]["level_db"]) < 1.0


def refusal(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == 2
    return " ".join(result.output.split())


def test_a_position_that_the_switch_has_not_is_refused_with_those_it_has() -> None:
    said = refusal("predict", TWO, "--pickup", "neck", "--position", "middle", "--change", "tone=5")
    assert "Its positions are: neck; both; bridge; both (bridge split-screws); bridge (split-screws)" in said


def test_a_control_in_front_of_which_no_pickup_stands_is_refused() -> None:
    said = refusal("predict", TWO, "--pickup", "neck", "--change", "lead volume=5")
    assert "there is no pickup called 'lead'" in said
