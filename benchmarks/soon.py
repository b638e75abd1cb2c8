"""When a plan on a warm cache says its first words, its first moves and the whole, imports included; used by run.py.

    python benchmarks/soon.py [times] [--page]

With --page also what a turned screw takes on the Guitar page (`bench_page.screws`, in Chromium). What a plan loads
before its first word is in processor seconds, which other work on the machine hardly moves. Beside the time of the
whole stands its error: the largest difference of any figure from the same plan made in one process, where no other
judges the bars.
"""

import json
import math
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
ASKED = {  # example: complaint
    "demo": "neck: muddy", "two-bar-single": "piercing", "seven-strings": "bridge: loose", "bass": "boomy",
    "two-volumes": "bridge: harsh", "small-two-row": "dull",
}  # fmt: skip
SOON, WHOLE = 1.0, 6.0  # s: what is asked of the demo guitar
SAME = 1e-6  # of a figure, at least 1: solutions of a magnet from another start agree within their tolerance
HEADS = {"Rule out first": "gate and advice", "A bench's first": "first moves", "Best free move": "best free move"}


def rows(times: int) -> Iterator[dict[str, object]]:
    """Yield the rows of every example; the first run of each warms the cache."""
    for name, complaint in ASKED.items():
        arguments = [sys.executable, "-m", "polepiece", "plan", str(EXAMPLES / f"{name}.guitar.toml"), "-c", complaint]
        found: dict[str, list[float]] = {}
        for number in range(times + 1):
            for what, seconds in spoken_at(arguments).items():
                found.setdefault(what, []).extend([seconds] if number else [])
        printed = subprocess.run([*arguments, "--json"], check=True, capture_output=True, text=True).stdout
        error = difference(json.loads(printed), alone(name, complaint))
        for what, seconds_ in found.items():
            limit = None if name != "demo" else WHOLE if what == "the whole" else SOON
            row: dict[str, object] = {
                "name": f"polepiece plan {name}, warm cache: {what}", "seconds": statistics.median(seconds_),
                "limit": limit,
            }  # fmt: skip
            if what == "the whole":
                row |= {"error": error, "error_of": "largest figure beside one process", "error_limit": SAME}
            yield row


def loading(times: int) -> Iterator[dict[str, object]]:
    """Yield the processor seconds of what a plan loads before it says anything."""
    code = (
        "import time, polepiece.cli.commands, polepiece.bench, polepiece.planning; "
        "import sys; print(time.process_time(), *(n for n in ('scipy', 'numba') if n in sys.modules))"
    )
    said = [
        subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout.split()
        for _ in range(times + 1)
    ]
    yield {
        "name": f"what a plan loads, processor seconds{''.join(f', {one} too' for one in said[-1][1:])}",
        "seconds": statistics.median(float(one[0]) for one in said[1:]), "limit": None,
    }  # fmt: skip


def turned_screws() -> Iterator[dict[str, object]]:
    """Yield the rows of screws turned on the Guitar page."""
    import signal
    import tempfile

    import bench_page
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        notebook = Path(folder) / "notebook.sqlite"
        bench_page.invented(notebook)
        process, url, _ = bench_page.started(notebook)
        browser = playwright.chromium.launch(executable_path=bench_page.CHROMIUM, headless=True, args=bench_page.ARGS)
        try:
            page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
            bench_page.opened(page, url)
            page.wait_for_selector(".at-once", timeout=120_000)
            for row in bench_page.screws(page):
                limit = row["limit_ms"]
                yield {
                    "name": f"page: {row['name']}", "seconds": 1e-3 * float(str(row["median_ms"])),
                    "limit": None if not isinstance(limit, tuple) else 1e-3 * limit[0],
                }  # fmt: skip
        finally:
            browser.close()
            process.send_signal(signal.SIGINT)
            process.wait(30)


def spoken_at(arguments: list[str]) -> dict[str, float]:
    """Return when a command says each of its first lines, and when it ends, s."""
    begun = time.perf_counter()
    out: dict[str, float] = {}
    with subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        for line in running.stderr:
            for head, what in HEADS.items():
                if line.startswith(head):
                    out.setdefault(what, time.perf_counter() - begun)
    return out | {"the whole": time.perf_counter() - begun}


def alone(name: str, complaint: str) -> object:
    """Return the JSON values of the same plan, made in this process."""
    from polepiece.bench import Bench
    from polepiece.cli.plan import as_body, planned
    from polepiece.guitar import read_guitar

    guitar = read_guitar(EXAMPLES / f"{name}.guitar.toml")
    found = planned(guitar, [complaint], None, draws=64, bench=Bench(exact_screws=False))
    return json.loads(json.dumps(as_body(found)))


def difference(there: object, here: object) -> float:
    """Return the largest difference of a number, as a share of it or of 1; infinite where anything else differs."""
    if isinstance(here, dict) and isinstance(there, dict):
        return max((difference(there.get(key, math.nan), value) for key, value in here.items()), default=0.0)
    if isinstance(here, list) and isinstance(there, list):
        pairs = [difference(a, b) for a, b in zip(there, here)]
        return max(pairs, default=0.0) if len(there) == len(here) else math.inf
    if isinstance(here, float) and isinstance(there, float | int):
        return abs(there - here) / max(1.0, abs(here))
    return 0.0 if there == here else math.inf


if __name__ == "__main__":
    counted = [int(one) for one in sys.argv[1:] if one.isdigit()]
    count = counted[0] if counted else 3
    for one in chain(loading(count), rows(count), turned_screws() if "--page" in sys.argv else ()):
        error = f"   error {one['error']:.2g}" if "error" in one else ""
        limit = f" ({one['limit']:g})" if one["limit"] is not None else ""
        print(f"{one['name']:<60} {one['seconds']:7.3f} s{limit}{error}", flush=True)
