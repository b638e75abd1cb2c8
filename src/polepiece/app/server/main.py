"""Puts the application together and runs it."""

import asyncio
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from nicegui import app, background_tasks, ui
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from polepiece.app import pages
from polepiece.app.server import shared
from polepiece.app.server.address import Address, bind
from polepiece.app.server.bench_door import BenchDoor
from polepiece.app.server.desk import Desk
from polepiece.app.server.first_screen import FirstScreen
from polepiece.app.server.guard import Guard, hosts_of
from polepiece.app.server.jobs import Jobs
from polepiece.app.server.live import Live
from polepiece.app.server.log_lines import say_in_one_line
from polepiece.app.server.shared import Room
from polepiece.app.server.sockets import guard_sockets
from polepiece.app.widgets import theme
from polepiece.notebook import open_notebook

STATIC = Path(__file__).parents[1] / "static"


def run(
    notebook: "str | Path | None", address: Address, *, first_guitar: str | Path, show: bool, say: Callable[[str], None]
) -> None:
    """Serve until stopped; see `front.serve`."""
    with bind(address) as taken:
        port = taken.getsockname()[1]
        here = Address(host=address.host, port=port, token=address.token)
        room = open_room(notebook, first_guitar)
        try:
            door = BenchDoor(room.notebook.bench_with)
            compose(hosts=hosts_of(here.host, port, here.is_local), token=here.token, bench=door.name)
            taken.listen(128)  # from here on a visitor waits instead of being refused
            say(here.url)
            _serve_on(taken, here, show=show)
        finally:
            room.close()


def open_room(notebook: "str | Path | None", first_guitar: str | Path) -> Room:
    """Open the notebook and make the room."""
    book = open_notebook(notebook)
    room = Room(
        notebook=book,
        live=Live(),
        margins=Live(),
        jobs=Jobs(),
        solves=Jobs(at_once=1),
        sounds=Jobs(at_once=1, warm=True),
        first_guitar=Path(first_guitar),
    )
    shared.set_room(room)
    return room


def compose(*, hosts: list[str], token: str | None, bench: Callable[[str], str | None] = lambda _: None) -> None:
    """Register guard, files and pages; for `run` and for tests."""
    app.add_middleware(FirstScreen, paths=[one.PAGE.path for one in pages.PAGES if one.PAGE.needs_guitar])
    app.add_middleware(Guard, hosts=hosts, token=token, bench=bench)  # added last, asked first
    app.add_static_files("/static", STATIC, max_cache_age=3600)
    theme.LINKED[:] = [one.PAGE for one in pages.PAGES if one.PAGE.linked]
    for one in pages.PAGES:
        one.build()
    app.config.quasar_config["loadingBar"]["skipHijack"] = True  # a bar without a name; `Working` tells what goes on
    app.on_page_exception(theme.broken)
    app.add_exception_handler(404, _nowhere)
    app.on_exception(theme.undone)
    app.on_startup(lambda: shared.room().notebook.give_way(asyncio.get_running_loop()))
    guard_sockets()
    say_in_one_line()
    app.on_startup(lambda: background_tasks.create(_warm()))
    app.on_shutdown(lambda: shared.room().close())


async def _nowhere(request: Request, _error: Exception) -> Response:
    """Answer an address that leads nowhere in the look of every page, with the way on."""
    return HTMLResponse(theme.nowhere(request.cookies.get(theme.LOOK, "")), status_code=404)


async def _warm() -> None:
    """Have the live process imported, and the guitar that was changed last solved, before a handle is moved."""
    room = shared.room()
    with suppress(Exception):  # a question that is asked will say it in words
        desk = Desk.at()
        await room.live.ask("warm", "state", desk.guitar, desk.pickup, True)


def _serve_on(taken: socket.socket, here: Address, *, show: bool) -> None:
    """Run the server on a port that is already ours: no race, and a taken port was said in words."""
    ui.run(
        host=here.host, port=here.port, fd=taken.fileno(), title="polepiece", reload=False, show=show, dark=None,
        tailwind=False, show_welcome_message=False, language="en-US", favicon=STATIC / "mark.svg",
        reconnect_timeout=15.0, binding_refresh_interval=None, server_header=False, timeout_graceful_shutdown=3,
        forwarded_allow_ips="",
        ws_per_message_deflate=not here.is_local,  # on one machine squeezing takes longer than sending
    )  # fmt: skip
