"""A notebook in a folder of its own or on a server, a clock that a test moves, and a small guitar.

Every test that takes `notebook`, `place` or `new_place` runs on both, but for those marked `FILE`: they damage bytes of
a file, or ask what only a file has.
"""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from polepiece.guitar import Guitar, read_guitar
from polepiece.notebook import Notebook, Place, Server, open_notebook
from tests import postgres

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


FILE = pytest.mark.parametrize("new_place", ["file"], indirect=True)
SERVER = pytest.mark.parametrize("new_place", ["server"], indirect=True)
NewPlace = Callable[[str], Place]


@pytest.fixture(scope="session")
def cluster() -> postgres.Cluster:
    """The PostgreSQL server of this run."""
    if why := postgres.missing():
        pytest.skip(why)
    return postgres.shared(Path(os.environ["POLEPIECE_TEST_HOME"]))


@pytest.fixture(params=["file", "server"])
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[NewPlace]:
    """Return what gives places for notebooks: files, or empty databases."""
    with ExitStack() as stack:

        def place(name: str) -> Place:
            if request.param == "file":
                return tmp_path / name
            made: postgres.Cluster = request.getfixturevalue("cluster")
            return Server(url=stack.enter_context(made.database(postgres.EMPTY)))

        yield place


@pytest.fixture
def place(new_place: NewPlace) -> Place:
    """A place where there is no notebook yet."""
    return new_place("notebook.sqlite")


@pytest.fixture
def notebook(place: Place, clock: Clock) -> Iterator[Notebook]:
    with open_notebook(place, clock=clock) as opened:
        yield opened


@pytest.fixture(scope="session")
def guitar() -> Guitar:
    return read_guitar(DEMO)
