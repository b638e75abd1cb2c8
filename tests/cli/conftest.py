"""One runner and one way to start the command as a person would."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from typer.testing import CliRunner

from polepiece.bench import bench
from polepiece.cli import second
from polepiece.cli.commands import app
from polepiece.pickup.engine import COARSE
from tests import one_tree  # noqa: F401

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "demo.guitar.toml"
REFERENCE = ROOT / "examples" / "reference-humbucker.guitar.toml"


def refuse(name: str) -> None:
    """Refuse what strict JSON does not have: NaN and infinities."""
    raise ValueError(f"{name} is not JSON")


def strict(text: str) -> dict[str, Any]:
    """Read one strict JSON object and nothing else."""
    body = json.loads(text, parse_constant=refuse)
    assert isinstance(body, dict)
    return body


def ask(*arguments: "str | Path") -> dict[str, Any]:
    """Run a command with --json in this process and return its object."""
    result = CliRunner().invoke(app, [*map(str, arguments), "--json"])
    assert result.exit_code in (0, 1), result.output
    return strict(result.stdout)


FINE = ("test_demo", "test_measure_gauss", "test_season")  # whose figures are looked at


@pytest.fixture(scope="module", autouse=True)
def coarse(request: pytest.FixtureRequest) -> Iterator[None]:
    """Have commands in this process solve on the coarse mesh: how they answer is looked at, not the figures."""
    with pytest.MonkeyPatch.context() as patch:
        if request.module.__name__.rpartition(".")[2] not in FINE:
            patch.setattr(bench, "Resolution", lambda: COARSE)
        yield


@pytest.fixture(scope="module", autouse=True)
def one_core() -> Iterator[None]:
    """Have commands in this process do without a second one, which takes a second to start beside busy workers.

    What it does and how it ends is `test_second_process.py`'s; commands in a process of their own (`started`) have it.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(second, "os", SimpleNamespace(cpu_count=lambda: 1))
        yield


@pytest.fixture(scope="session")
def started() -> Callable[..., "subprocess.CompletedProcess[str]"]:
    """Start ``polepiece`` in a process of its own."""

    def start(*arguments: "str | Path", **options: Any) -> "subprocess.CompletedProcess[str]":
        command = [sys.executable, "-m", "polepiece", *map(str, arguments)]
        return subprocess.run(
            command, capture_output=True, text=True, timeout=300, check=False, env=dict(os.environ), **options
        )

    return start
