"""What a visitor writes is written for the bench whose token he has shown."""

import contextlib
from pathlib import Path

import httpx
import pytest
from nicegui import core

from polepiece.app.server import shared
from polepiece.app.server.bench_door import FRESH, BenchDoor
from polepiece.app.server.guard import BENCH
from polepiece.errors import LostConnectionError
from polepiece.notebook import pass_of
from tests.app.conftest import Patient, application
from tests.app.test_guitar_page import until


async def test_two_browsers_write_for_two_benches_and_a_third_is_told(tmp_path: Path) -> None:
    async with application(tmp_path / "notebook.sqlite"), contextlib.AsyncExitStack() as stack:
        book = shared.room().notebook
        tokens = {name: book.add_bench(name)[1] for name in ("north", "south")}

        async def visitor(bench: str | None) -> Patient:
            cookies = {} if bench is None else {BENCH: pass_of(tokens[bench])}
            client = await stack.enter_async_context(
                httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test", cookies=cookies)
            )
            user = Patient(client)
            await user.open("/guitar")
            return user

        for place, name in enumerate(("north", "south"), start=2):
            (await visitor(name)).find(marker="raise-bass").click()
            await until(lambda place=place: len(book.states(1)) == place)
        assert [one.bench for one in book.log(1)] == [None, "north", "south"]
        nobody = await visitor(None)
        nobody.find(marker="raise-bass").click()
        await nobody.should_see("written by its benches (north, south), and no token is shown")
        book.end_bench("north", "lost")
        assert len(book.states(1)) == 3


def test_the_door_asks_now_and_then_and_stays_open_while_nobody_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    benches, asked, now = {"p": "north"}, [], [0.0]

    def ask(shown: str) -> str | None:
        asked.append(shown)
        if now[0] > 100:
            raise LostConnectionError("nobody answers")
        return benches.get(shown)

    monkeypatch.setattr("polepiece.app.server.bench_door.time.monotonic", lambda: now[0])
    door = BenchDoor(ask)
    assert [door.name("p"), door.name("p"), door.name("q")] == ["north", "north", None]
    assert asked == ["p", "q"]
    now[0] = FRESH + 1
    benches.clear()
    assert door.name("p") is None
    benches["p"] = "north"
    assert door.name("p") == "north"
    now[0] = 101
    assert [door.name("p"), door.name("q")] == ["north", None]
