"""The page on a notebook that lies on a server: the server goes, it is said; it comes back, and the page goes on."""

import asyncio
import contextlib
import os
import time
from collections.abc import AsyncIterator, Iterator
from itertools import pairwise
from pathlib import Path

import httpx
import pytest
from nicegui import core, ui

from polepiece.app.server import shared
from polepiece.app.widgets import theme
from polepiece.notebook import Server
from polepiece.notebook import postgres as postgres_server
from tests import postgres
from tests.app.conftest import Patient, application, at_rest
from tests.app.test_guitar_page import until
from tests.unit.notebook.wire import Wire, wire

AS_SHIPPED = postgres_server.ALIVE


@pytest.fixture(autouse=True)
def _slow_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine that runs the tests may be out of breath; how long is waited is tried where a test says so."""
    for name in ("ALIVE", "PAGE_PATIENCE", "WATCHED"):
        monkeypatch.setattr(postgres_server, name, 30.0)


@pytest.fixture
async def address() -> AsyncIterator[str]:
    if why := postgres.missing():
        pytest.skip(why)
    with postgres.shared(Path(os.environ["POLEPIECE_TEST_HOME"])).database() as made:
        yield made


async def test_the_page_goes_on_when_the_server_is_back(address: str) -> None:
    name = Server(url=address).database
    cluster = postgres.shared(Path(os.environ["POLEPIECE_TEST_HOME"]))
    async with application(Server(url=address)), contextlib.AsyncExitStack() as stack:
        client = await stack.enter_async_context(
            httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test")
        )
        user = Patient(client)
        await user.open("/guitar")
        user.find(marker="raise-bass").click()
        await until(lambda: len(shared.room().notebook.states(1)) == 2)
        await at_rest()
        cluster.ask(f"ALTER DATABASE {name} ALLOW_CONNECTIONS false".encode())
        cluster.ask(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'".encode())
        user.find(marker="raise-bass").click()
        await user.should_see("does not answer")
        cluster.ask(f"ALTER DATABASE {name} ALLOW_CONNECTIONS true".encode())
        user.find(marker="raise-bass").click()
        await until(lambda: len(shared.room().notebook.states(1)) == 3)


@pytest.fixture
def cable() -> Iterator[Wire]:
    if why := postgres.missing():
        pytest.skip(why)
    with wire(f"{postgres.shared(Path(os.environ['POLEPIECE_TEST_HOME'])).folder}/.s.PGSQL.5432") as made:
        yield made


def over(cable: Wire, address: str) -> Server:
    """Return the server at ``address`` as it is reached over the wire."""
    return Server(url=f"postgresql://{postgres.ROLE}@127.0.0.1:{cable.port}/{Server(url=address).database}")


@contextlib.asynccontextmanager
async def page_over(cable: Wire, address: str, page: str) -> AsyncIterator[Patient]:
    """Open a page whose notebook is reached over the wire."""
    transport = httpx.ASGITransport(core.app)
    async with (
        application(over(cable, address)),
        httpx.AsyncClient(transport=transport, base_url="http://test") as client,
    ):
        user = Patient(client)
        await user.open(page)
        yield user


async def test_a_silent_server_holds_nobody_but_who_asked_it(
    address: str, cable: Wire, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A wire that swallows everything: a page and a button say so in their time, and the loop goes on meanwhile."""
    async with application(over(cable, address)):
        transport = httpx.ASGITransport(core.app, raise_app_exceptions=False)  # a server goes on after one, too
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            user = Patient(client)
            await user.open("/guitar")
            monkeypatch.setattr(postgres_server, "PAGE_PATIENCE", 1.0)
            monkeypatch.setattr(postgres_server, "ALIVE", 1.0)
            cable.cut()
            beats: list[float] = []
            beating = asyncio.create_task(_beat(beats))
            page = asyncio.create_task(client.get("/drawer"))
            asked = asyncio.create_task(client.get("/static/polepiece.css"))
            assert (await asked).status_code == 200
            assert not page.done()
            found = await page
            assert found.status_code == 500
            assert "does not answer" in found.text
            user.find(marker="compare").trigger("choose", "1")
            await until(lambda: "does not answer" in " ".join(user.notify.messages))
            beating.cancel()
            lines = [one for one in caplog.records if "does not answer" in one.getMessage()]
            assert lines and not any(one.exc_info for one in lines)  # in the server's window, too, a line and no more
            # an answer is waited for at most AT_ONCE with the loop held; thrice that for a machine out of breath
            assert max(later - one for one, later in pairwise(beats)) < 1.0
            cable.mend()
            monkeypatch.setattr(postgres_server, "PAGE_PATIENCE", 30.0)
            monkeypatch.setattr(postgres_server, "ALIVE", 30.0)
            tried = 500
            while tried != 200:
                tried = (await asyncio.create_task(client.get("/drawer"))).status_code


async def test_a_page_that_asks_nothing_says_within_seconds_that_the_server_is_silent(
    address: str, cable: Wire, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody presses anything on Listen: the look for news is what meets the silence; the line goes with it."""
    async with page_over(cable, address, "/listen") as user:
        await user.should_not_see(marker="no-answer", retries=1)
        monkeypatch.setattr(postgres_server, "ALIVE", AS_SHIPPED)
        cable.cut()
        begun = time.monotonic()
        await until(lambda: _silent_line(user).visible)
        took = time.monotonic() - begun
        assert took < 4.0 * (theme.LOOK_AGAIN + shared.WAITS), took  # four times that: a machine out of breath
        await user.should_see("The notebook does not answer")
        cable.mend()
        await until(lambda: not _silent_line(user).visible)


def _silent_line(user: Patient) -> ui.element:
    assert user.client is not None
    return next(one for one in user.client.elements.values() if "no-answer" in one._markers)


def _said(user: Patient) -> list[ui.notification]:
    """What stands on the page meanwhile."""
    assert user.client is not None
    return [one for one in user.client.elements.values() if isinstance(one, ui.notification)]


async def _beat(beats: list[float]) -> None:
    while True:
        beats.append(time.monotonic())
        await asyncio.sleep(0.01)


async def test_what_is_written_to_a_silent_server_is_said_at_once_to_wait_and_soon_given_up(
    address: str, cable: Wire, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A second after the button it says that nothing is kept yet; two silences of two seconds later it says why."""
    async with page_over(cable, address, "/guitar") as user:
        monkeypatch.setattr(shared, "WAITS", 0.1)
        gone: list[str] = []  # only a browser takes it off the page
        monkeypatch.setattr(ui.notification, "dismiss", lambda one: gone.append(one.message))
        connect, seconds = postgres_server._connected, list[int]()

        def connected(server: Server, most: int) -> postgres_server.Patient:
            seconds.append(most)
            return connect(server, most)

        monkeypatch.setattr(postgres_server, "_connected", connected)
        monkeypatch.setattr(postgres_server, "ALIVE", AS_SHIPPED)
        cable.cut()
        begun = time.monotonic()
        user.find(marker="raise-bass").click()
        await until(lambda: bool(_said(user)))
        assert [one.message for one in _said(user)] == [shared.NOT_KEPT_YET]
        await user.should_see("does not answer (")
        assert seconds and set(seconds) == {postgres_server.PAGE_CONNECT_S}
        # four to five seconds where nothing else runs; without the look and the short connection it is this at least
        assert time.monotonic() - begun < postgres_server.PATIENCE + postgres_server.CONNECT_S
        await until(lambda: gone == [shared.NOT_KEPT_YET])
        cable.mend()
        await until(lambda: len(shared.room().notebook.states(1)) == 1)
