"""A notebook on a server under kills: of a bench beside another one, and of the server itself.

Part of `python -m verification.notebook_trials`; the server is one of its own, in memory.
"""

import shutil
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from polepiece.notebook import check_notebook, notebook_path, open_notebook
from tests import postgres

Killed = Callable[[int, str], Counter[str]]
"""Kills a bench so many times on the notebook with this address, and counts."""
CRASHES = 20
BENCH = """
import sys
from polepiece.errors import NotebookError
from polepiece.notebook import open_notebook
try:
    with open_notebook(sys.argv[1]) as notebook:
        for k in range(10**6):
            words = f"{sys.argv[2]} {k}"
            notebook.write_note(None, words)
            print(words, flush=True)
except NotebookError:
    pass
"""


def killed_on_a_server(count: int, killed: Killed) -> tuple[Counter[str], Counter[str]]:
    """Kill a bench again and again, beside another that goes on; then the server itself, in the middle of writes."""
    cluster = postgres.made()
    try:
        for name in ("kills", "crashes"):
            cluster.ask(f"CREATE DATABASE {name}".encode())
        with _another_bench(cluster.address("kills")) as notes:
            benches = killed(count, cluster.address("kills"))
        with open_notebook(cluster.address("kills")) as notebook:
            there = {one.text for one in notebook.notes() if one.guitar_id is None}
        benches["lost"] += len(set(notes) - there)
        benches["acknowledged to the other"] = len(notes)
        return benches, crashed(CRASHES, cluster)
    finally:
        cluster.stop()
        shutil.rmtree(cluster.folder, ignore_errors=True)


@contextmanager
def _another_bench(address: str) -> Iterator[list[str]]:
    """Write beside, from a thread, as fast as it goes; what was acknowledged is in the list."""
    over, kept = threading.Event(), list[str]()

    def write() -> None:
        with open_notebook(address) as notebook:
            while not over.is_set():
                notebook.write_note(None, words := f"the other bench {len(kept)}")
                kept.append(words)
                time.sleep(0.02)  # s; the bench that is killed has its turns

    thread = threading.Thread(target=write)
    thread.start()
    try:
        yield kept
    finally:
        over.set()
        thread.join()


def crashed(count: int, cluster: postgres.Cluster) -> Counter[str]:
    """Crash the server under two benches again and again; what they were told is kept has to be there."""
    found: Counter[str] = Counter()
    address = cluster.address("crashes")
    open_notebook(address).close()
    for place in range(count):
        benches = [
            subprocess.Popen(
                [sys.executable, "-c", BENCH, address, f"{name} {place}"], stdout=subprocess.PIPE, text=True
            )
            for name in ("a", "b")
        ]
        for one in benches:
            assert one.stdout is not None
            one.stdout.readline()
        time.sleep(0.2)  # s; some dozen writes of each
        cluster.stop("immediate")
        said = [line for one in benches for line in one.communicate()[0].splitlines()]
        cluster.start()
        with open_notebook(address) as notebook:
            there = [one.text for one in notebook.notes()]
        found["crashes"] += 1
        found["acknowledged"] += len(said) + len(benches)
        found["lost"] += len(set(said) - set(there)) + (len(there) != len(set(there)))
    found["faults of the last check"] = len(check_notebook(notebook_path(address)).faults)
    return found


def on_a_server(count: int, killed: Killed) -> tuple[str, int]:
    """Return what came of kills and crashes on a server, in words, and how much was lost or damaged."""
    if why := postgres.missing():
        return f"Not tried on a server on this machine: {why}.", 0
    benches, crashes = killed_on_a_server(count, killed)
    faults = benches["faults of the last check"] + crashes["faults of the last check"]
    words = (
        f"On a PostgreSQL server a bench was killed {benches['kills']} times while another one wrote: "
        f"{benches['acknowledged']} entries of the killed bench and {benches['acknowledged to the other']} of the "
        f"other had been acknowledged, {benches['lost']} of them were lost, {benches['kept and not yet told']} more "
        f"were kept that had not been acknowledged yet. The server itself was stopped as by a crash "
        f"{crashes['crashes']} times under two writing benches: {crashes['acknowledged']} entries had been "
        f"acknowledged, {crashes['lost']} were lost. Faults that the checks found afterwards: {faults}."
    )
    keys = ("lost", "faults of the last check")
    return words, sum(one[key] for one in (benches, crashes) for key in keys)
