"""What was acknowledged is there: after kill -9 at any moment, and when several programs write at once.

A killed process is not a power cut: that the disk has what SQLite has flushed is SQLite's and the system's word
(synchronous=FULL), and is not tested here.
"""

import random
import signal
import subprocess
import sys
from pathlib import Path
from threading import Thread

from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, Place, Server, check_notebook, open_notebook
from verification.notebook_trials import damaged

WRITER = """
import sys
from polepiece.notebook import open_notebook
with open_notebook(sys.argv[1]) as notebook:
    for k in range(int(sys.argv[3]), 10**6):
        notebook.write_note(1, f"{sys.argv[2]} {k}")
        sys.stdout.write(f"{k}\\n")
        sys.stdout.flush()
"""
WRITES, KILLS = 300, 6


def address(place: Place) -> str:
    """Return a place as it is written on a command line."""
    return place.url if isinstance(place, Server) else str(place)


def writer(path: Place, name: str, start: int) -> "subprocess.Popen[str]":
    """Start a program that writes notes and says which it has been told are kept."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, address(path), name, str(start)], stdout=subprocess.PIPE, text=True
    )


def test_nothing_acknowledged_is_lost_when_the_writer_is_killed(place: Place, guitar: Guitar) -> None:
    """Six kills at drawn moments; 300 acknowledged writes and more have to be there, in order, each once."""
    path = place
    with open_notebook(path) as notebook:
        notebook.add_guitar(guitar)
    draw = random.Random(20261125)
    acknowledged: list[int] = []
    start = 0
    for _ in range(KILLS):
        process = writer(path, "note", start)
        assert process.stdout is not None
        wanted = WRITES // KILLS + draw.randrange(10)
        for _ in range(wanted):
            acknowledged.append(int(process.stdout.readline()))
        process.send_signal(signal.SIGKILL)  # in the middle of whatever write comes next
        rest, _ = process.communicate()
        acknowledged += [int(line) for line in rest.splitlines() if line]
        with open_notebook(path) as notebook:
            there = [int(one.text.split()[1]) for one in notebook.notes(1)]
        assert there[: len(acknowledged)] == acknowledged
        assert len(there) <= len(acknowledged) + 1  # at most the one that was kept but not yet told
        acknowledged, start = there, len(there)
    assert len(acknowledged) >= WRITES
    assert check_notebook(path).faults == ()


def test_two_programs_may_write_at_once(place: Place, guitar: Guitar) -> None:
    path = place
    with open_notebook(path) as notebook:
        notebook.add_guitar(guitar)
        programs = {name: writer(path, name, 0) for name in ("a", "b")}
        for process in programs.values():
            assert process.stdout is not None
            for k in range(50):
                assert int(process.stdout.readline()) == k
            process.kill()
        for process in programs.values():
            process.communicate()
        for name in programs:
            mine = [one.text for one in notebook.notes(1) if one.text.startswith(name)]
            assert mine == [f"{name} {k}" for k in range(len(mine))]
            assert len(mine) >= 50
    assert check_notebook(path).faults == ()


def test_of_two_records_from_the_same_state_one_is_refused(notebook: Notebook, guitar: Guitar) -> None:
    """Eight threads record from the state they all saw, over and over: the chain has no branch and no gap."""
    entry = notebook.add_guitar(guitar)
    won: list[int] = []
    lost: list[str] = []

    def window(name: str) -> None:
        from polepiece.errors import ChangedMeanwhileError

        with open_notebook(notebook.path) as mine:
            for k in range(5):
                seen = mine.guitar_entry(entry.id).state_id
                try:
                    won.append(mine.record(entry.id, guitar, why=f"{name} {k}", expect=seen).id)
                except ChangedMeanwhileError as error:
                    lost.append(str(error))

    windows = [Thread(target=window, args=(str(n),)) for n in range(8)]
    for one in windows:
        one.start()
    for one in windows:
        one.join()
    assert len(won) + len(lost) == 40
    states = notebook.states(entry.id)
    assert [one.id for one in states[1:]] == sorted(won)
    assert [one.parent_id for one in states[1:]] == [one.id for one in states[:-1]]


def test_one_notebook_serves_many_threads(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)

    def window() -> None:
        for _ in range(10):
            notebook.write_note(entry.id, "x")
            notebook.log(entry.id)

    windows = [Thread(target=window) for _ in range(8)]
    for one in windows:
        one.start()
    for one in windows:
        one.join()
    assert len(notebook.notes(entry.id)) == 80


def test_damaged_notebooks_and_nothing_passes_in_silence(tmp_path: Path) -> None:
    """Each opens whole and right, or the damage is said; `python -m verification.notebook_trials` draws 300."""
    trials = damaged(18, tmp_path, rounds=3)
    assert {one.end for one in trials} <= {"whole", "said", "said when read"}
    assert {one.end for one in trials} >= {"whole", "said"}
    assert sum(one.kept > 0 for one in trials) > 0
