"""The page on a notebook that lies on a server: the server goes, it is said; it comes back, and the page goes on."""

import contextlib
import os
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from nicegui import core

from polepiece.app.server import shared
from polepiece.notebook import Server
from tests import postgres
from tests.app.conftest import Patient, application, at_rest
from tests.app.test_guitar_page import until


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
