"""A socket that talks nonsense, or for another tab: one line each, no traceback, and nothing is done."""

import asyncio
import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import aiohttp
import pytest

from polepiece.app.server.sockets import NEEDED, fault_of, readable
from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from tests.app.conftest import DEMO

NONSENSE = [
    '42["event"]', '42["event", 7]', '42["event", {}]', '42["event", {"client_id": 7, "id": 1}]', "42[", "42", "42{}",
    "42[]",
    "42[[1], 2]", '42["handshake", null]', '42["handshake", {"client_id": "x"}]', '42["ack", {"client_id": []}]',
    '42["log", {"client_id": "CLIENT", "level": "loud", "message": "m"}]', '42["javascript_response", [1]]',
    "42[" * 3000,
    '42["event", {"client_id": "CLIENT", "id": true}]', '42["event", {"client_id": "CLIENT", "id": "4"}]',
    '42["event", {"client_id": "CLIENT", "id": 4, "args": 7}]',
    '42["event", {"client_id": "CLIENT", "id": 4, "args": ["{"]}]',
    "4", "49", "451-[]", "43[", '42["no such thing", {}]', '42["event", {"client_id": "CLIENT", "id": 1e308}]',
]  # fmt: skip


@pytest.mark.parametrize("name", list(NEEDED))
def test_what_a_message_has_to_hold(name: str) -> None:
    good: dict[str, Any] = {key: "x" if kind is str else 1 for key, kind in NEEDED[name].items()}
    assert fault_of(name, (good,)) == ""
    for wrong in ((), (good, good), (None,), ([],), ("x",), *(({**good, key: []},) for key in good)):
        assert fault_of(name, wrong)
    for key in good:
        assert fault_of(name, ({one: value for one, value in good.items() if one != key},))


def test_what_can_be_read() -> None:
    for good in ("0", "1", '2["event",{}]', '212["event"]', "3[]"):
        assert readable(good)
    for wrong in ("", b"2[]", None, "2", "2[", "2{}", "2[]", "2[1]", "2[[1]]", "51-[]", "9", "2" + "[" * 100_000):
        assert not readable(wrong)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """A server whose words are read at the end."""
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as book:
        book.add_guitar(read_guitar(DEMO))
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "polepiece", "serve", "--notebook", str(path), "--port", "0", "--no-browser"],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
        env={name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "NICEGUI_"))},
    )  # fmt: skip
    assert process.stdout is not None
    said = process.stdout.readline()
    yield re.findall(r"http://\S+:\d+", said)[0], process
    if process.poll() is None:
        os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


async def page_of(session: aiohttp.ClientSession, url: str) -> str:
    """Open a page; return the name of its client."""
    async with session.get(f"{url}/drawer") as answer:
        text = await answer.text()
    return re.findall(r"client_id[^0-9a-f]+([0-9a-f-]{36})", text)[0]


async def socket_of(session: aiohttp.ClientSession, url: str, client: str) -> aiohttp.ClientWebSocketResponse:
    """Open the socket of a page, with its handshake."""
    made = await session.ws_connect(url.replace("http", "ws") + "/_nicegui_ws/socket.io/?EIO=4&transport=websocket")
    assert (await made.receive_str()).startswith("0")
    await made.send_str("40")
    assert (await made.receive_str()).startswith("40")
    hand = {"client_id": client, "tab_id": f"tab of {client}", "document_id": f"document of {client}"}
    await made.send_str("420" + json.dumps(["handshake", hand]))
    while not (answer := await made.receive_str()).startswith("430"):
        pass
    assert answer == "430[true]"
    return made


async def test_nonsense_and_foreign_tabs_are_refused_in_a_line_each(
    served: tuple[str, "subprocess.Popen[str]"],
) -> None:
    url, process = served
    async with aiohttp.ClientSession() as mine, aiohttp.ClientSession() as other:
        here, there = await page_of(mine, url), await page_of(other, url)
        assert here != there
        socket, _ = await socket_of(mine, url, here), await socket_of(other, url, there)
        for one in NONSENSE:
            await socket.send_str(one.replace("CLIENT", here))
        await socket.send_bytes(b"\x00\xff")
        for kind in ("event", "javascript_response", "ack", "log"):
            foreign = {"client_id": there, "id": 4, "request_id": "x", "next_message_id": 9, "level": "error",
                       "message": "not mine", "args": []}  # fmt: skip
            await socket.send_str("42" + json.dumps([kind, foreign]))
        await asyncio.sleep(1.0)  # s; nothing answers these, so there is nothing to wait for
        async with mine.get(f"{url}/drawer") as answer:
            assert answer.status == 200
    process.send_signal(signal.SIGINT)
    words, _ = process.communicate(timeout=240)  # s, for a machine out of breath
    assert "Traceback" not in words
    assert "not mine" not in words
    lines = [one for one in words.splitlines() if "it was not taken" in one]
    assert sum("is for another tab than its own" in one for one in lines) == 4
    assert len(lines) >= len(NONSENSE) - 3  # an unknown event is nobody's; "4" and "49" may end in the transport
