"""Time of the notebook: a commit, an opening, an archive; each beside a check that nothing was lost.

    python benchmarks/bench_notebook.py [--small] [--folder FOLDER] [--learned]

What was learned is asked of a file and, where PostgreSQL is installed, of a server of its own; ``--learned`` measures
that alone. A commit waits for the disk (synchronous=FULL): the figures are those of a disk and of what else uses it;
medians, with the 95th percentile beside them. ``--small`` is a smoke test.
"""

import argparse
import json
import os
import platform
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from polepiece.guitar import read_guitar, write_guitar
from polepiece.notebook import (
    counted_lines,
    export_guitar,
    grade_lines,
    grade_means,
    grades_proven,
    import_guitar,
    open_notebook,
    unproven_swaps,
)
from polepiece.notebook.schema import NoteRow, StateRow
from tests import postgres
from tests.unit.notebook.ledgers import GRADES, drawn_ledger, plain_count, with_bar

LIMIT_MS = 200.0  # of any page of what was learned
WITHIN = (0.41, 1.0)
DEMO = Path(__file__).resolve().parent.parent / "examples" / "demo.guitar.toml"


def processor_s(folder: str | None = None) -> float:
    """Return the processor time of this process so far, and of the server whose data lie in a folder."""
    there = 0.0
    if folder is not None:
        server = Path(folder, "data", "postmaster.pid").read_text(encoding="ascii").split()[0]
        for place in Path("/proc").glob("[0-9]*/stat"):
            with suppress(OSError):
                said = place.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
                if said[1] == server:  # its parent is the server: it serves one connection
                    there += (int(said[11]) + int(said[12])) / os.sysconf("SC_CLK_TCK")
    return time.process_time() + there


def spread(work: Callable[[int], object], times: int, server: str | None = None) -> dict[str, float]:
    """Return median and 95th percentile of ``work(k)``, ms, and its mean processor time, the server's included."""
    out, before = [], processor_s(server)
    for k in range(times):
        start = time.perf_counter()
        work(k)
        out.append(1e3 * (time.perf_counter() - start))
    busy = 1e3 * (processor_s(server) - before) / times
    ranked = sorted(out)
    return {
        "median_ms": round(statistics.median(out), 2), "p95_ms": round(ranked[int(0.95 * (len(out) - 1))], 2),
        "processor_ms": round(busy, 2),
    }  # fmt: skip


def learned(place: Path | str, entries: int, server: str | None = None) -> dict[str, Any]:
    """Return the times of what was learned of a new notebook of that many entries, beside a plain count of its ledgers.

    A tenth are states, every one a swap; a tenth are ledgers; the rest are notes. The first question looks through all
    of them once; after that only new entries are looked at.
    """
    draw = random.Random(1)
    guitar = read_guitar(DEMO)
    texts = [write_guitar(with_bar(guitar, "neck", grade)) for grade in GRADES]
    with open_notebook(place) as book:
        entry = book.add_guitar(guitar)
        at, parent, bar, last = book._head(entry.id)["at"], entry.state_id, -1, {}
        number = parent
        for _ in range(entries // 1000):
            rows: dict[Any, list[dict[str, Any]]] = {StateRow: [], NoteRow: []}
            for k in range(1000):
                number += 1
                head = {"id": number, "uuid": str(uuid.uuid4()), "at": at, "guitar_id": entry.id}
                if k % 10 == 0:
                    bar = (bar + draw.randint(1, len(GRADES) - 1)) % len(GRADES)
                    swap = {"act": "record", "restores_id": None, "why": "swap", "provenance": {}, "branch": 0}
                    rows[StateRow].append(head | swap | {"parent_id": parent, "text": texts[bar]})
                    parent = number
                elif k % 10 == 1 and draw.random() < 0.9:
                    body = drawn_ledger(draw, "neck", (f"magnet={GRADES[bar]}",)).to_dict()
                    last[parent] = body
                    rows[NoteRow].append(head | {"state_id": parent, "sort": "swap", "text": "proof", "body": body})
                else:
                    rows[NoteRow].append(head | {"state_id": None, "sort": "note", "text": "a line", "body": None})
            with book._write() as session:
                for table, ones in rows.items():
                    session.execute(insert(table), ones)
        begun = time.perf_counter()
        counted_lines(book, WITHIN)
        found: dict[str, Any] = {"entries": number, "first_look_s": round(time.perf_counter() - begun, 1)}
        for name, work in (
            ("unproven_swaps", lambda k: unproven_swaps(book, first=50 * k)),
            ("how_good_were_predictions", lambda _: counted_lines(book, WITHIN)),
            ("what_did_a_grade_do", lambda _: grade_means(book, GRADES[0], "neck")),
            ("its_lines_page_by_page", lambda k: grade_lines(book, GRADES[0], "neck", first=50 * k)),
            ("grades_that_are_proven", lambda _: grades_proven(book)),
        ):
            found[name] = spread(work, 10, server)
        counts = {(one.key, one.of): [one.total, one.below, *one.within] for one in counted_lines(book, WITHIN)}
        found["miscounted"] = counts != plain_count(last.values(), WITHIN)
        found["limit_ms"] = LIMIT_MS
        found["slowest_ms"] = max(one["p95_ms"] for one in found.values() if isinstance(one, dict))
    return found


def learned_everywhere(folder: str | None, entries: int) -> dict[str, dict[str, Any]]:
    """Return `learned` of a file, and of a server where there can be one."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        found = {"file": learned(Path(place) / "large.sqlite", entries)}
    if not postgres.missing():
        cluster = postgres.made()
        try:
            with cluster.database() as address:
                found["server"] = learned(address, entries, cluster.folder)
        finally:
            cluster.stop()
            shutil.rmtree(cluster.folder, ignore_errors=True)
    return found


def main() -> None:
    """Measure, and print one JSON object."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--folder", help="on the disk to measure")
    parser.add_argument("--learned", action="store_true", help="only what was learned")
    parser.add_argument("--entries", type=int, help="of what was learned")
    asked = parser.parse_args()
    entries = asked.entries or (2_000 if asked.small else 100_000)
    if asked.learned:
        _ended({"learned": learned_everywhere(asked.folder, entries)}, 0)
        return
    times = 20 if asked.small else 300
    guitar = read_guitar(DEMO)
    found: dict[str, Any] = {"machine": platform.machine(), "python": platform.python_version(), "times": times}
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
    found["learned"] = learned_everywhere(asked.folder, entries)
    _ended(found, lost)


def _ended(found: dict[str, Any], lost: int) -> None:
    """Print it; exit code 1 when an entry is lost, a ledger miscounted, or a page of what was learned too slow."""
    print(json.dumps(found, indent=1))
    told = found["learned"].values()
    if lost or any(one["miscounted"] or one["slowest_ms"] > LIMIT_MS for one in told):
        raise SystemExit(1)


if __name__ == "__main__":
    main()
