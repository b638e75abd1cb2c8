"""What makes the tests quick changes nothing of what they look at: warm benches, seconds of processes."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from polepiece.bench import Bench
from polepiece.pickup.engine import COARSE
from polepiece.which_constants import VARIABLE
from tests import warm_benches
from tests.processor_time import used


@pytest.fixture
def warm(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(warm_benches, "KNOWN", {})
    monkeypatch.setattr(Bench, "__init__", warm_benches.on_a_warm_bench(Bench.__init__))
    yield


def test_benches_of_a_kind_know_what_one_of_them_knows(warm: None) -> None:
    first, second = Bench(), Bench()
    first._states["asked"] = "answered"  # type: ignore[assignment]
    assert second._states["asked"] == "answered"
    assert second.executor is None and second._coming is not first._coming  # what belongs to one alone stays with it


def test_what_an_answer_hangs_on_keeps_them_apart(warm: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    first = Bench()
    first._states["asked"] = "answered"  # type: ignore[assignment]
    others = [Bench(seed=1), Bench(exact_screws=False), Bench(resolution=COARSE)]
    monkeypatch.setenv(VARIABLE, str(tmp_path / "pooled.json"))
    others.append(Bench())
    assert not any("asked" in one._states for one in others)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc: nobody says what a process has used")
def test_what_a_child_has_used_is_seen_while_it_is_there_and_afterwards() -> None:
    burn = "import time\nwhile time.process_time() < 0.3: pass\nprint(1, flush=True)\ninput()"
    before = used(os.getpid())
    with subprocess.Popen([sys.executable, "-c", burn], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        child.stdout.readline()
        there = used(os.getpid()) - before
        child.communicate(b"\n")
    assert there > 0.25  # s; the system counts in hundredths
    assert used(os.getpid()) - before > 0.25
