"""``polepiece serve`` as a person starts it: refusals, a taken port, Ctrl-C, the token."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.notebook import open_notebook
from tests.app.conftest import Served, serve, stop

TOKEN = "a-token-of-many-letters"
PATIENCE = 240.0  # s for one page or one end: nothing here is about time, and a machine may be out of breath


def refused(*arguments: str) -> str:
    result = CliRunner().invoke(app, ["serve", "--no-browser", *arguments])
    assert result.exit_code == 2, result.output
    return result.output


def test_another_host_needs_a_token(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("POLEPIECE_TOKEN", raising=False)
    assert "needs a token" in refused("--host", "0.0.0.0")


def test_a_taken_port_is_said_in_words(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        words = refused("--port", str(other.getsockname()[1]), "--notebook", str(tmp_path / "n.sqlite"))
    assert "choose another port with --port" in words
    assert not (tmp_path / "n.sqlite").exists()


def test_a_token_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    assert "the token cannot be read" in refused("--host", "0.0.0.0", "--token-file", str(tmp_path / "none"))
    (tmp_path / "empty").write_text("\n")
    assert "first line is empty" in refused("--host", "0.0.0.0", "--token-file", str(tmp_path / "empty"))


def test_with_a_token_only_those_who_know_it_come_in(tmp_path: Path) -> None:
    (tmp_path / "token").write_text(TOKEN + "\n")
    served = serve(tmp_path / "n.sqlite", "--host", "0.0.0.0", "--token-file", str(tmp_path / "token"))
    try:
        with pytest.raises(urllib.error.HTTPError) as told:
            urllib.request.urlopen(served.url + "/guitar", timeout=PATIENCE)
        assert told.value.code == 401
        told.value.close()
        jar = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with jar.open(f"{served.url}/guitar?token={TOKEN}", timeout=PATIENCE) as page:
            assert page.url == f"{served.url}/guitar"
            assert b"Harbour Lane" in page.read()
    finally:
        stop(served)


def test_ctrl_c_leaves_nothing_behind(tmp_path: Path) -> None:
    served = serve(tmp_path / "n.sqlite")
    _get(served, "/guitar")
    os.killpg(served.process.pid, signal.SIGINT)  # as a terminal does: to every process of the group
    assert served.process.wait(PATIENCE) == 0
    deadline = time.monotonic() + PATIENCE
    while _group(served.process.pid) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert not _group(served.process.pid)
    stop(served)


def test_what_was_recorded_is_there_when_it_is_started_again(tmp_path: Path) -> None:
    for _ in range(2):
        served = serve(tmp_path / "n.sqlite")
        assert "Harbour Lane" in _get(served, "/")
        stop(served)
    with open_notebook(tmp_path / "n.sqlite") as book:
        assert len(book.guitars()) == 1  # the invented guitar is not put on record twice


def test_other_commands_do_not_load_the_page() -> None:
    code = (
        "import sys, polepiece.cli.commands\n"
        "print([m for m in sys.modules if m.startswith(('nicegui', 'polepiece.app'))])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def _get(served: Served, path: str) -> str:
    with urllib.request.urlopen(served.url + path, timeout=PATIENCE) as page:
        return str(page.read().decode())


def _group(leader: int) -> list[int]:
    """Return the processes of a group that still run."""
    found = []
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, group = place.read_text().rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(group) == leader and state != "Z":
            found.append(int(place.parent.name))
    return found
