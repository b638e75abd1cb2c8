"""Which bench a visitor's browser writes for: what it has shown at the door, and who that is now."""

import time
from collections.abc import Callable

from nicegui import ui

from polepiece.errors import PolepieceError

SCOPE = "polepiece.bench"  # key of a request's scope: the pass that its cookie holds
FRESH = 5.0  # s for which an answer of the notebook counts; a bench that was ended is out after that


class BenchDoor:
    """Asks the notebook whose pass one is, not at every request.

    Parameters
    ----------
    ask : callable
        `Notebook.bench_with`: the name of the bench with a pass, or None.
    """

    def __init__(self, ask: Callable[[str], str | None]) -> None:
        self._ask = ask
        self._known: dict[str, tuple[str, float]] = {}

    def name(self, shown: str) -> str | None:
        """Return the bench that has shown this, None when it is of none (any more)."""
        name, until = self._known.get(shown, ("", 0.0))
        if name and time.monotonic() < until:
            return name
        try:
            found = self._ask(shown)
        except PolepieceError:  # nobody answers: who was known stays known, and writing says what is wrong
            return name or None
        if found is None:
            self._known.pop(shown, None)
        else:
            self._known[shown] = (found, time.monotonic() + FRESH)
        return found


def pass_of_visitor() -> str | None:
    """Return the pass of the visitor whose page is at work here, None for a visitor without one."""
    try:
        request = ui.context.client.request
    except RuntimeError:  # no page is at work: the server does something of its own
        return None
    found = request.scope.get(SCOPE) if request is not None else None
    return found if isinstance(found, str) else None
