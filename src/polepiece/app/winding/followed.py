"""A job of a card followed to its answer: what went wrong stands on the card, and a tab that is gone gets nothing."""

from typing import Any

from nicegui import Client

from polepiece.app.server.addressing import alive
from polepiece.app.server.jobs import Job, Stopped
from polepiece.app.widgets.controls import Fault, Working
from polepiece.errors import PolepieceError


async def followed(job: Job, client: Client, working: Working, fault: Fault) -> dict[str, Any] | None:
    """Return what a job found; None when it was stopped, went wrong (said on the card), or nobody looks any more."""
    try:
        found: dict[str, Any] = await working.follow(job)
    except Stopped:
        return None
    except PolepieceError as error:
        fault.show(error)
        return None
    return found if alive(client) else None
