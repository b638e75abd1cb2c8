"""`sweep`: the command from its options to its table, killed for good and taken up again, and its slips."""

import json
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
from typer.testing import CliRunner, Result

from polepiece.cli import sweep
from polepiece.cli.commands import app
from polepiece.cli.progress import TimeLeft
from tests.cli.conftest import DEMO, ask
from tests.cli.test_surface import against

ONE = ("sweep", DEMO, "-p", "neck", "--coarse", "-v", "cable=300pF/500pF", "-v", "lower=0..0.4mm:2")


class Here:
    """A worker that is this process."""

    size = 1

    def submit(self, call: Any, /, *arguments: Any) -> "Future[Any]":
        future: Future[Any] = Future()
        future.set_result(call(*arguments))
        return future

    def is_lost(self, error: BaseException) -> bool:
        return False

    def close(self) -> None:
        pass


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep, "_workers", lambda *_: Here())


def run(*words: "str | Path") -> Result:
    return CliRunner().invoke(app, [str(one) for one in words])


def test_a_table_and_what_is_said_of_it(here: None) -> None:
    body = ask(*ONE, "--out", "s.parquet")
    against("sweep", body)
    assert (body["candidates"], body["rows"], body["computed_now"], body["table"]) == (4, 4, 4, "s.parquet")
    assert [one["solves_again"] for one in body["axes"]] == ["strings and coil", "circuit"]
    table = pq.read_table("s.parquet")
    assert table.num_rows == 4
    assert set(body["columns"]) == set(table.schema.names)
    told = json.loads(table.schema.metadata[b"polepiece_sweep"])
    assert told["commit"] is None or len(told["commit"].rstrip("+")) == 12
    again = run(*ONE, "--out", "s.parquet")
    assert again.exit_code == 2
    assert "is there already" in again.output
    assert "s.parquet is written" in run(*ONE, "--out", "s.parquet", "--replace").output


def test_a_dry_run_writes_nothing_and_says_how_long() -> None:
    said = run(*ONE, "--out", "s.parquet", "--dry-run").output
    assert "4 candidates" in said
    assert "2 values; has the strings and coil solved again" in said
    assert "on 2 cores" in run(*ONE, "--out", "s.parquet", "--dry-run", "--workers", "2").output
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--out", "s.csv"), "name it *.parquet"),
        (("--out", "no/s.parquet"), "the folder does not exist"),
        (("--out", "s.parquet", "--design", "sobol"), "needs --count"),
        (("--out", "s.parquet", "-v", "height=1/2"), "no lever and no key"),
        (("--out", "s.parquet", "--scheduler", "tcp://127.0.0.1:9"), "dask scheduler"),
    ],
)
def test_slips(options: tuple[str, ...], words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from polepiece.study import Cluster

    monkeypatch.setattr("polepiece.study.Cluster", lambda address: Cluster(address, timeout_s=0.2))
    found = run(*ONE, *options)
    assert found.exit_code == 2
    assert words in found.output


def test_killed_for_good_it_goes_on_with_the_same_command() -> None:
    """SIGKILL to the command itself as its first part is there; its workers see the end of the pipe and go."""
    command = ["sweep", str(DEMO), "-p", "neck", "--coarse", "-v", "lower=0..0.9mm:40", "-v", "volume=6..10:40",
               "-v", "cable=300pF/500pF", "-o", "s.parquet", "--workers", "1"]  # fmt: skip
    whole = [sys.executable, "-m", "polepiece", *command]
    with subprocess.Popen(whole, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=dict(os.environ)) as first:
        until = time.monotonic() + 300.0
        while not list(Path().glob("s.parquet.parts/*.parquet")) and time.monotonic() < until:
            time.sleep(0.01)
        first.send_signal(signal.SIGKILL)
    kept = len(list(Path().glob("s.parquet.parts/*.parquet")))
    assert kept > 0
    assert not Path("s.parquet").exists()
    body = ask(*command)
    assert 0 < body["computed_now"] < body["candidates"] == 3200
    table = pq.read_table("s.parquet")
    assert sorted(table["candidate"].to_pylist()) == list(range(3200))
    assert not Path("s.parquet.parts").exists()


def test_time_left_counts_what_was_done_here_alone() -> None:
    """900 were there before: 20 in 10 s are the pace, 80 more take 40 s."""
    now = [0.0]
    left = TimeLeft(lambda: now[0])
    assert left.words(900, 1000) == ""
    now[0] = 10.0
    assert left.words(920, 1000) == ", 40 s left"
    assert left.words(1000, 1000) == ""


def test_expected_seconds_follow_what_is_solved_again() -> None:
    def seconds(*vary: str) -> float:
        found = ask("sweep", DEMO, "-p", "neck", "-o", "s.parquet", "--dry-run", *(x for v in vary for x in ("-v", v)))
        return float(found["expected_processor_seconds"])

    assert seconds("cable=200..900pF:100") < 2.0 < seconds("lower=0..1mm:100") < seconds("screw1=up 0.1..1 turn:100")
