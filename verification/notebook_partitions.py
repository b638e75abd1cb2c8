"""Two benches with one notebook on a server while the ways to it are cut and mended and benches are killed, at random.

    python -m verification.notebook_partitions [--schedules 50]

Each bench comes through a wire of its own that can swallow what goes up, what comes down, or both, and close nothing.
What a bench was not told is kept it looks for when the server answers again, as a person is told to, and writes it once
more where it is not there. In the end everything that was acknowledged has to be there, once, and no state of the
guitar may have been recorded over one that its bench had not seen.
"""

import argparse
import multiprocessing
import multiprocessing.process
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from contextlib import ExitStack
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from polepiece.errors import ChangedMeanwhileError, NotebookError
from polepiece.guitar import read_guitar
from polepiece.notebook import Notebook, Server, check_notebook, notebook_path, open_notebook
from polepiece.notebook import postgres as servers
from tests import postgres
from tests.unit.notebook.wire import Wire, wire

DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
SHORT = {"PATIENCE": 0.8, "ALIVE": 0.4, "CONNECT_S": 1}  # s, so that a trial takes seconds
START = multiprocessing.get_context("forkserver")  # a bench begins at once, its imports done
START.set_forkserver_preload(["polepiece.notebook.postgres", "polepiece.guitar"])


def work(address: str, name: str, told: str) -> None:
    """Be a bench for ever: write notes and states, and note in the file ``told`` each that is said to be kept."""
    for key, value in SHORT.items():
        setattr(servers, key, value)
    book, drawn = None, random.Random(name)
    with Path(told).open("a", buffering=1, encoding="utf-8") as kept:
        for k in range(10**6):
            words, unsure = f"{name} {k}", False
            while True:
                try:
                    book = open_notebook(address) if book is None else book
                    if not (unsure and words in everything(book)):
                        unsure = True
                        write(book, words, state=k % 3 == 0)
                    break
                except ChangedMeanwhileError:
                    continue
                except NotebookError:
                    time.sleep(0.05)
            kept.write(f"{words}\n")
            time.sleep(drawn.uniform(0.0, 0.04))


def write(book: Notebook, words: str, *, state: bool) -> None:
    """Write a note, or record a state of the guitar over the one that is seen."""
    if not state:
        book.write_note(None, words)
        return
    last = book.states(1)[-1]
    book.record(1, replace(book.state_guitar(last.id), note=words), why=words, expect=last.id)


def everything(book: Notebook) -> list[str]:
    """Return what benches have written."""
    return [one.text for one in book.notes() if one.guitar_id is None] + [one.why for one in book.states(1)[1:]]


@dataclass(slots=True)
class Bench:
    """One bench behind its wire; ``told`` is the file of what it was told is kept."""

    name: str
    way: Wire
    address: str
    told: Path
    lives: int = 0
    process: multiprocessing.process.BaseProcess | None = None

    def begin(self) -> None:
        """Start it, under a name that no bench had before."""
        self.lives += 1
        named = (self.address, f"{self.name}{self.lives}", str(self.told))
        self.process = START.Process(target=work, args=named, daemon=True)
        self.process.start()

    def kill(self) -> None:
        """End it in the middle of whatever it does."""
        assert self.process is not None
        self.process.kill()
        self.process.join()

    @property
    def said(self) -> list[str]:
        """What it was told is kept; of a line that was cut off by its end nobody was told."""
        return self.told.read_text("utf-8").rpartition("\n")[0].splitlines() if self.told.exists() else []


def schedule(seed: int, cluster: postgres.Cluster, seconds: float = 5.0) -> Counter[str]:
    """Draw what happens to two benches over ``seconds``, let it happen, and count what came of it."""
    draw, found = random.Random(seed), Counter[str]()
    with cluster.database() as address, ExitStack() as ways, tempfile.TemporaryDirectory() as folder:
        with open_notebook(address) as book:
            book.add_guitar(read_guitar(DEMO))
        benches = []
        for name in "ab":
            way = ways.enter_context(wire(f"{cluster.folder}/.s.PGSQL.5432"))
            there = f"postgresql://{postgres.ROLE}@127.0.0.1:{way.port}/{Server(url=address).database}"
            benches.append(Bench(name, way, there, Path(folder) / name))
        for one in benches:
            one.begin()
        for _ in range(2400):  # two minutes at most
            if all(one.said for one in benches):
                break
            time.sleep(0.05)
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            time.sleep(draw.uniform(0.05, 0.8))
            one, act = draw.choice(benches), draw.choice(("up", "down", "both", "mend", "mend", "kill"))
            found[act] += 1
            if act == "kill":
                one.kill()
                one.begin()
            elif act == "mend":
                one.way.mend()
            else:
                one.way.cut(up=act != "down", down=act != "up")
        for one in benches:
            one.way.mend()
        time.sleep(2.0)  # they find the server again
        for one in benches:
            one.kill()
        return found + judged(address, benches)


def judged(address: str, benches: list[Bench]) -> Counter[str]:
    """Hold what is in the notebook against what the benches were told."""
    with open_notebook(address) as book:
        states = book.states(1)
        there = everything(book)
        guitar = book.state_guitar(states[-1].id)
    said = [line for one in benches for line in one.said]
    straight = all(later.parent_id == one.id for one, later in pairwise(states))
    return Counter({
        "acknowledged": len(said), "kept and not yet told": len(set(there) - set(said)),
        "lost": len(set(said) - set(there)), "doubled": len(there) - len(set(there)),
        "recorded over what was not seen": int(not straight or (len(states) > 1 and guitar.note != states[-1].why)),
        "faults of the check": len(check_notebook(notebook_path(address)).faults),
    })  # fmt: skip


BAD = ("lost", "doubled", "recorded over what was not seen", "faults of the check")


def main() -> int:
    """Run the schedules; exit code 1 when one of them is bad."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--schedules", type=int, default=50)
    asked = parser.parse_args()
    cluster, whole = postgres.made(), Counter[str]()
    try:
        for seed in range(asked.schedules):
            found = schedule(seed, cluster)
            whole.update(found)
            if any(found[one] for one in BAD) or not found["acknowledged"]:
                print(seed, dict(found), flush=True)
    finally:
        cluster.stop()
        shutil.rmtree(cluster.folder, ignore_errors=True)
    print({"schedules": asked.schedules, **whole})
    return int(any(whole[one] for one in BAD))


if __name__ == "__main__":
    sys.exit(main())
