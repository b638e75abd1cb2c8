"""The invented guitar of the examples and a bench, for tests that need no other."""

from pathlib import Path

import pytest

from polepiece.bench import Bench
from polepiece.guitar import Guitar, read_guitar

DEMO = Path(__file__).parents[2] / "examples" / "demo.guitar.toml"


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench()
