"""Every invented instrument of `examples/` on record, and every page asked for it: each comes whole."""

import contextlib
from pathlib import Path

import httpx
import pytest
from nicegui import core

from polepiece.app.pages import PAGES
from polepiece.app.server import shared
from polepiece.guitar import read_guitar
from tests.app.conftest import application

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.guitar.toml"))


async def test_every_page_comes_for_every_example(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """One notebook with all of them; what pages compute afterwards is theirs: here they are built and sent."""
    async with application(tmp_path / "notebook.sqlite", demo=False), contextlib.AsyncExitStack() as stack:
        client = await stack.enter_async_context(
            httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test")
        )
        numbers = {}
        for file in EXAMPLES:
            guitar = read_guitar(file)
            numbers[guitar.name] = shared.room().notebook.add_guitar(guitar, why="an example").id
        seen = 0
        for name, number in numbers.items():
            for page in PAGES:
                answer = await client.get(f"{page.PAGE.path}?guitar={number}")
                assert answer.status_code == 200, (name, page.PAGE.path, answer.text[:300])
                assert "Internal Server Error" not in answer.text and page.PAGE.title in answer.text, (
                    name,
                    page.PAGE.path,
                )
                seen += 1
        assert seen == len(EXAMPLES) * len(PAGES) >= 20 * 8
    loud = [record.getMessage() for record in caplog.get_records("call") if record.levelname == "ERROR"]
    assert not loud, loud
