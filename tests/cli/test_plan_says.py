"""What a plan says: why it is short, what a bench tries first, and every number with its interval."""

from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from tests.cli.conftest import ask

RODS = """
[[pickups]]
name = "bridge"
position = "bridge"
construction = "rod-single"
magnet.grade = "alnico-5"
"""
ASKED = ("--complaint", "bridge: piercing", "--draws", "8")


@pytest.fixture(scope="module")
def rods(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("rods") / "rods.guitar.toml"
    path.write_text(RODS, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def free(rods: Path) -> dict[str, Any]:
    return ask(
        "plan", rods, *ASKED, "--constraint", "budget=none", "--constraint", "no-solder", "--constraint", "keep-output"
    )


def flat(effect: dict[str, Any]) -> dict[str, float]:
    """Dotted keys of an effect as in `interval`."""
    out: dict[str, float] = {}
    for key, value in effect.items():
        if isinstance(value, dict):
            out |= {f"{key}.{name}": one for name, one in value.items()}
        elif isinstance(value, list):
            out |= {f"{key}.{number}": one for number, one in enumerate(value, start=1)}
        else:
            out[key] = value
    return out


def test_every_number_of_a_row_has_an_interval_that_holds_it(free: dict[str, Any]) -> None:
    assert len(free["rows"]) > 1
    for row in free["rows"]:
        effect = flat(row["effect"])
        missing = effect.keys() - row["interval"].keys()
        assert all(key.startswith("resonance_") for key in missing)  # a draw may have no peak
        assert any(key.startswith("h2_db.") for key in row["interval"])
        for key, (low, high) in row["interval"].items():
            assert low <= effect[key] <= high, key


def test_a_short_plan_says_why_and_keeps_doing_nothing(free: dict[str, Any], rods: Path) -> None:
    assert free["rows"][-1]["change"] == []
    assert len(free["rows"]) < 5
    refused = sum(1 + one["alike"] for one in free["refused"])
    assert f"{len(free['rows'])} rows only: {refused} moves were refused" in free["few"]
    assert any(one["reason"].startswith("budget none") for one in free["refused"])
    asked = [
        "plan",
        str(rods),
        *ASKED,
        "--constraint",
        "budget=none",
        "--constraint",
        "no-solder",
        "--constraint",
        "keep-output",
        "--all",
    ]
    shown = " ".join(CliRunner().invoke(app, asked).stdout.split())
    assert free["few"] in shown
    assert "tone to 8" in shown  # what a bench tries first
    assert "dB, 90 %" in shown
    assert "strings 1, 2" in shown
