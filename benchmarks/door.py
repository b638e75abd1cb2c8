"""From the first page to the first plan: visitors in headless Chromium enter instruments of their own, nothing solved.

    python benchmarks/door.py [names ...]

Each has an empty notebook and an empty cache, and a server of its own on the mesh that people have. Said are the
inputs (limit 40), the seconds of the clock until what to rule out, a best free move and the rows are on the page
(limit 180 s), and the processor seconds of the server with its processes: on a busy machine only those can be
compared. The visitor types at once; a person takes some seconds an input, and the plan computes only after the last.
Beside the time stands its error: the largest difference of any figure of the plan that was kept from the same plan made
in this process.
"""

import json
import os
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import bench_page
import soon
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from tests.app.visitors import INSTRUMENTS, MOST_INPUTS, WAIT, Instrument, Visitor

MOST_SECONDS = 180.0
HEADS = {"Rule out first": "what to rule out", "Best free move so far": "a best free move"}
SHOWN = "[...document.querySelectorAll('p[role=status]')].some(one => one.textContent.startsWith(words))"


def processor_seconds(pid: int) -> float:
    """Return the processor seconds of a process and of all below it, those that ended and were waited for too."""
    ticks, waiting = 0, [pid]
    while waiting:
        one = waiting.pop()
        try:
            fields = Path(f"/proc/{one}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
            waiting += [int(k) for task in Path(f"/proc/{one}/task").iterdir()
                        for k in (task / "children").read_text(encoding="ascii").split()]  # fmt: skip
        except OSError:  # it has ended meanwhile
            continue
        ticks += sum(map(int, fields[11:15]))
    return ticks / os.sysconf("SC_CLK_TCK")


def visited(one: Instrument, page: object, url: str, pid: int) -> Iterator[tuple[str, float]]:
    """Yield what came onto the page, with the seconds since it was opened."""
    begun, spent = time.perf_counter(), processor_seconds(pid)
    page.goto(url)  # type: ignore[attr-defined]
    visitor = Visitor(page)
    visitor.enter(one)
    yield "on record", time.perf_counter() - begun
    visitor.ask(one)
    for head, what in HEADS.items():
        script = f"words => {SHOWN} || document.querySelector('table.plan tbody .whisker')"
        page.wait_for_function(script, arg=head, timeout=WAIT, polling=50)  # type: ignore[attr-defined]
        yield what, time.perf_counter() - begun
    visitor.see_rows()
    yield "rows", time.perf_counter() - begun
    yield "processor, s", processor_seconds(pid) - spent
    yield "inputs", float(visitor.inputs)


def error_of(notebook: Path) -> float:
    """Return the largest difference of the kept plan from one made here."""
    from polepiece.bench import Bench
    from polepiece.notebook import open_notebook
    from polepiece.planning import complaints_of, make_plan, plan_json, read_complaints

    with open_notebook(notebook) as book:
        (job,) = book.jobs(1)
        guitar = book.guitar(1)
    told = [one for reading in read_complaints([job.complaints], guitar) for one in complaints_of(reading)]
    here = json.loads(json.dumps(plan_json(make_plan(guitar, Bench(exact_screws=False), told), everything=True)))
    there = dict(job.plan or {})
    return soon.difference(there["rows"], here["rows"])


def main(names: list[str]) -> None:
    """Measure and print."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=bench_page.CHROMIUM, headless=True, args=bench_page.ARGS)
        for name in names or list(INSTRUMENTS):
            with tempfile.TemporaryDirectory() as folder:
                os.environ["POLEPIECE_CACHE"] = str(Path(folder) / "cache")
                notebook = Path(folder) / "notebook.sqlite"
                process, url, up = bench_page.started(notebook)
                try:
                    page = browser.new_page()
                    page.set_default_timeout(WAIT)
                    found = dict(visited(INSTRUMENTS[name], page, url, process.pid))
                    page.close()
                finally:
                    process.send_signal(signal.SIGINT)
                    process.wait(60)
                said = "; ".join(f"{what} {value:.1f}" for what, value in found.items())
                held = found["inputs"] <= MOST_INPUTS and found["rows"] <= MOST_SECONDS
                load = os.getloadavg()[0]
                error = error_of(notebook)
                print(f"{name}: server up {up:.1f}; {said}; load {load:.1f}; error {error:.1g}; "
                      f"{'held' if held else 'NOT held'}", flush=True)  # fmt: skip
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
