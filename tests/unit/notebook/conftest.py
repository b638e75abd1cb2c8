"""A notebook in a folder of its own, a clock that a test moves, and a small guitar."""

import os
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from polepiece.guitar import Guitar, read_guitar
from polepiece.notebook import Notebook, open_notebook

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
"""Where there is one, a folder in memory: every write waits for the disk, and a busy disk can take seconds."""


@pytest.fixture
def tmp_path() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="polepiece-test-", dir=MEMORY) as folder:
        yield Path(folder)


class Clock:
    """A clock that goes on by a minute whenever it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 3, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def notebook(tmp_path: Path, clock: Clock) -> Iterator[Notebook]:
    with open_notebook(tmp_path / "notebook.sqlite", clock=clock) as opened:
        yield opened


@pytest.fixture(scope="session")
def guitar() -> Guitar:
    return read_guitar(DEMO)
