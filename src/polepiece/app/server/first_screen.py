"""Where no guitar is on record every page that shows one leads to the Bench, which offers to enter one."""

from collections.abc import Sequence

from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from polepiece.app.server import shared
from polepiece.errors import NotebookError


class FirstScreen:
    """ASGI middleware in front of the pages.

    Parameters
    ----------
    app : ASGI application
    paths : sequence of str
        Of the pages that need a guitar.
    """

    def __init__(self, app: ASGIApp, *, paths: Sequence[str]) -> None:
        self.app, self.paths = app, frozenset(paths)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Lead to the Bench, or pass on."""
        page = scope["type"] == "http" and scope["method"] == "GET" and scope["path"] in self.paths
        if page and _nothing_there():
            await RedirectResponse("/", status_code=303)(scope, receive, send)
            return
        await self.app(scope, receive, send)


def _nothing_there() -> bool:
    try:
        return not shared.room().notebook.guitars()
    except NotebookError:  # nobody answers: the page itself says so in words
        return False
