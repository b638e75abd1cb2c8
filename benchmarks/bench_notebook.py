"""Time of the notebook: a commit, an opening, an archive; each beside a check that nothing was lost.

    python benchmarks/bench_notebook.py [--small] [--folder FOLDER]

A commit waits for the disk (synchronous=FULL): the figures are those of a disk and of what else uses it; medians,
with the 95th percentile beside them. ``--small`` is a smoke test.
"""

import argparse
import json
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from polepiece.guitar import read_guitar
from polepiece.notebook import export_guitar, import_guitar, open_notebook

DEMO = Path(__file__).resolve().parent.parent / "examples" / "demo.guitar.toml"


def spread(work: Callable[[int], object], times: int) -> dict[str, float]:
    """Return median and 95th percentile of ``work(k)``, ms."""
    out = []
    for k in range(times):
        start = time.perf_counter()
        work(k)
        out.append(1e3 * (time.perf_counter() - start))
    ranked = sorted(out)
    return {"median_ms": round(statistics.median(out), 2), "p95_ms": round(ranked[int(0.95 * (len(out) - 1))], 2)}


def main() -> None:
    """Measure, and print one JSON object."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--folder", help="on the disk to measure")
    asked = parser.parse_args()
    times = 20 if asked.small else 300
    guitar = read_guitar(DEMO)
    found: dict[str, object] = {"machine": platform.machine(), "python": platform.python_version(), "times": times}
    with tempfile.TemporaryDirectory(dir=asked.folder) as folder:
        path = Path(folder) / "notebook.sqlite"

        def make(k: int) -> None:
            open_notebook(Path(folder) / f"new-{k}.sqlite").close()

        found["make_a_new_notebook"] = spread(make, 5)
        with open_notebook(path) as notebook:
            entry = notebook.add_guitar(guitar)
            found["commit_a_note"] = spread(lambda _: notebook.write_note(entry.id, "a line"), times)
            states = [replace(guitar, note=str(k)) for k in range(times)]
            found["commit_a_state"] = spread(lambda k: notebook.record(entry.id, states[k], why="x"), times)
            found["log_of_all"] = spread(lambda _: notebook.log(), 10)
            found["read_a_guitar"] = spread(lambda _: notebook.guitar(entry.id), 10)
            archive = Path(folder) / "one.zip"
            found["export"] = spread(lambda _: export_guitar(notebook, entry.id, archive, replace=True), 3)
            lost = 2 * times + 1 - len(notebook.log())
        found["entries"] = 2 * times + 1
        found["file_kib"] = path.stat().st_size // 1024
        found["open"] = spread(lambda _: open_notebook(path).close(), 20)

        def take_in(k: int) -> None:
            with open_notebook(Path(folder) / f"in-{k}.sqlite") as other:
                import_guitar(other, archive)

        found["import_into_a_new_one"] = spread(take_in, 3)
        with open_notebook(path) as notebook:
            for k in range(2 if asked.small else 20):
                notebook.keep_sound(b"fLaC" + bytes([k]) * 5_000_000, label="x", kind="flac", guitar_id=entry.id)
        found["file_with_sounds_kib"] = path.stat().st_size // 1024
        found["open_with_sounds"] = spread(lambda _: open_notebook(path).close(), 20)
        command = [sys.executable, "-m", "polepiece", "log", "--notebook", str(path)]
        found["polepiece_log"] = spread(lambda _: subprocess.run(command, check=True, capture_output=True), 5)
    found["entries_lost"] = lost
    print(json.dumps(found, indent=1))
    if lost:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
