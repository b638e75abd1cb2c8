"""What one running server holds: its notebook, its live process, its jobs."""

from dataclasses import dataclass
from pathlib import Path

from polepiece.app.engine import Live
from polepiece.app.jobs import Jobs
from polepiece.notebook import Notebook


@dataclass(slots=True, kw_only=True)
class Room:
    """Everything that all tabs share."""

    notebook: Notebook
    live: Live  # answers at once
    margins: Live  # 90 % intervals: a second at first, so that they keep nobody waiting
    jobs: Jobs
    solves: Jobs  # new geometries for the Guitar page: never behind a plan
    sounds: Jobs  # in a warm process, never behind a plan either
    first_guitar: Path  # what an empty notebook begins with

    def close(self) -> None:
        """End the processes."""
        self.live.close()
        self.margins.close()
        self.jobs.close()
        self.solves.close()
        self.sounds.close()


_room: Room | None = None


def furnish(room: "Room | None") -> None:
    """Set (or forget) the room of this process."""
    global _room  # noqa: PLW0603  one server a process
    _room = room


def room() -> Room:
    """Return the room of this process."""
    if _room is None:
        raise RuntimeError("the page is used before the server has been set up")
    return _room
