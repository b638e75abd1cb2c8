"""From a handle to the redrawn curve, in headless Chromium, on a server of its own; one JSON a run.

    python benchmarks/bench_page.py [--out FILE] [--times N]

Measured in the page itself: from the event of the key, the pointer or the button (capture phase) to the first
animation frame after the path of the curve has changed. So it holds the socket both ways, the state in the live
process, the drawing of the page. A drag is measured twice: one step at a time, and at its end, where a hand has
moved without a pause and what is shown must have caught up. Beside it the error of what is shown: the curve against
the bench asked directly.
"""

import argparse
import json
import os
import platform
import queue
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from functools import partial
from itertools import cycle
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).resolve().parent
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
]
CURVE = "path.curve.c-now"
WATCH = """
window.took = []; window.since = null;
for (const name of ['keydown', 'pointermove', 'click', 'change'])
  document.addEventListener(name, () => {
    if (window.armed) { window.since = performance.now(); window.armed = false; }
  }, true);
new MutationObserver(() => {
  if (window.since === null) return;
  const since = window.since; window.since = null;
  requestAnimationFrame(() => window.took.push(performance.now() - since));
}).observe(document.querySelector('svg.chart'), {subtree: true, attributes: true, attributeFilter: ['d']});
"""

DRAG = (50.0, 200.0)  # ms, median and 95 %: at a twentieth of a second a curve hangs on the hand
WATCH_ANY = WATCH.replace("attributeFilter: ['d']", "childList: true, attributeFilter: ['d']")
LAST = """
window.moved = 0; window.drawn = 0;
document.addEventListener('pointermove', () => { window.moved = performance.now(); }, true);
new MutationObserver(() => requestAnimationFrame(() => { window.drawn = performance.now(); }))
  .observe(document.querySelector('svg.chart'), {subtree: true, attributes: true, attributeFilter: ['d']});
"""


def invented(notebook: Path) -> None:
    """Put the invented guitar on record twice, first with the plan that tests keep; the pages show the second."""
    from polepiece.guitar import read_guitar
    from polepiece.notebook import open_notebook

    root = Path(__file__).parents[1]
    plan = json.loads((root / "tests" / "fixtures" / "json" / "plan.json").read_text(encoding="utf-8"))
    with open_notebook(notebook) as book:
        number = book.add_guitar(read_guitar(root / "examples" / "demo.guitar.toml")).id
        book.keep_plan(book.open_job(number, "neck: muddy, clear").id, plan)
        book.add_guitar(book.guitar(number))


def started(notebook: Path) -> "tuple[subprocess.Popen[str], str, float]":
    """Start the server; return it, its address, and the seconds until it said so."""
    variables = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "polepiece", "serve", "--port", "0", "--no-browser", "--notebook", str(notebook)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=variables, start_new_session=True,
    )  # fmt: skip
    lines: queue.Queue[str] = queue.Queue()
    threading.Thread(target=lambda: [lines.put(line) for line in process.stdout or ()], daemon=True).start()
    said = ""
    while not (found := re.search(r"http://\S+:\d+", said)):
        said += lines.get(timeout=120)
    return process, found[0], time.perf_counter() - begun


def longer_than(page: Page, name: str, count: int) -> None:
    """Wait by a timer of the page until a list of it is longer: looking at every frame is work beside ours."""
    page.evaluate(
        "([name, count]) => new Promise(done => { const look = () => window[name].length > count ? done()"
        " : setTimeout(look, 10); look(); })",
        [name, count],
    )


def one(page: Page, act: Callable[[], object]) -> float:
    """Do one thing; return the milliseconds until the curve was redrawn."""
    before = page.evaluate("window.took.length")
    page.evaluate("window.armed = true")
    act()
    longer_than(page, "took", before)
    took = float(page.evaluate("window.took.at(-1)"))
    page.wait_for_timeout(60)
    return took


EXACT = """
window.turned = []; window.begun = null; window.grey = false;
document.addEventListener('click', () => { window.begun = performance.now(); window.grey = false; }, true);
new MutationObserver(() => {
  const stale = document.querySelector('svg.chart').classList.contains('stale');
  if (window.begun === null) return;
  if (stale) window.grey = true;
  else if (window.grey) {
    const since = window.begun; window.begun = null;
    requestAnimationFrame(() => window.turned.push(performance.now() - since));
  }
}).observe(document.querySelector('svg.chart'), {attributes: true, attributeFilter: ['class']});
"""


def screws(page: Page) -> "list[dict[str, object]]":
    """Turn screws by their buttons: greyed, and then the exact curve."""
    page.evaluate(EXACT)

    first_answers: list[float] = []

    def turn(place: int, way: str) -> float:
        count = page.evaluate("window.turned.length")
        button = page.locator(".screws .screw", has_text=f"screw {place + 1}").get_by_text(f"{way} ⅛ turn")
        first_answers.append(one(page, button.click))
        longer_than(page, "turned", count)
        took = float(page.evaluate("window.turned.at(-1)"))
        page.wait_for_timeout(5000)  # its interval is found
        return took

    first = turn(1, "up")
    one_more = [turn(1, "up") for _ in range(5)]
    second = [turn(3, "up") for _ in range(4)]
    return [
        row("a screw turned: the first answer, dashed", first_answers, (50.0, 200.0)),
        row("first screw turned: the exact curve (prepares both parities)", [first], None),
        row("a screw turned: the exact curve", one_more, (600.0, 1000.0)),
        row("a second screw turned beside it: the exact curve", second, None),
    ]


def row(name: str, took: "list[float]", limit: "tuple[float, float] | None") -> dict[str, object]:
    """Return the row of one kind of handle."""
    ordered = sorted(took)
    p95 = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    print(f"{name}: median {statistics.median(took):.1f} ms of {len(took)}", file=sys.stderr, flush=True)
    return {
        "name": name, "n": len(took), "median_ms": round(statistics.median(took), 1), "p95_ms": round(p95, 1),
        "max_ms": round(ordered[-1], 1), "limit_ms": limit,
    }  # fmt: skip


def opened(page: Page, url: str) -> None:
    """Open the Guitar page with its steps, and watch its curve."""
    page.goto(url + "/guitar")
    page.wait_for_selector(CURVE, timeout=120_000)
    page.evaluate(WATCH)
    page.click("summary:has-text('by steps')")


def measure(page: Page, url: str, times: int) -> "list[dict[str, object]]":
    """Move everything that has a handle."""
    begun = time.perf_counter()
    page.goto(url + "/guitar")
    page.wait_for_selector("main h1")
    frame = time.perf_counter() - begun
    page.wait_for_selector(CURVE, timeout=120_000)
    first = time.perf_counter() - begun
    begun = time.perf_counter()
    opened(page, url)
    again = time.perf_counter() - begun
    rows: list[dict[str, object]] = [
        {"name": "first page: frame, drawing and fields", "seconds": round(frame, 2), "limit": 2.0},
        {"name": "first page: first curve, the live process starting", "seconds": round(first, 2)},
        {"name": "page again: first curve", "seconds": round(again, 2), "limit": 2.0},
    ]  # fmt: skip
    limit = (100.0, 200.0)
    press, choose = page.keyboard.press, "label:has-text('bar') select"
    page.focus("[data-handle=bass]")
    one(page, partial(press, "ArrowDown"))
    keys = cycle(["ArrowUp", "ArrowDown"])
    rows.append(
        row("body handle, one press of a key", [one(page, partial(press, next(keys))) for _ in range(times)], limit)
    )
    page.wait_for_timeout(1500)
    rows.append(row("body handle, dragged, one step", dragged(page, times), DRAG))
    page.wait_for_timeout(1500)
    rows.append(row("body handle, dragged without a pause: from the last move on", caught_up(page, 12), DRAG))
    page.wait_for_timeout(1500)
    buttons = cycle([page.locator(f"text={words} 0.1 mm").first for words in ("lower", "raise")])
    took = [one(page, next(buttons).click) for _ in range(times // 2)]
    rows.append(row("button of the height, recorded in the notebook", took, limit))
    grades = cycle(["alnico-5", "alnico-3", "ceramic-8", "alnico-2"])
    took = [one(page, partial(page.select_option, choose, next(grades))) for _ in range(12)]
    rows.append(row("another grade chosen, recorded in the notebook", took, limit))
    page.wait_for_timeout(4000)
    return rows + screws(page)


def ticked(page: Page, url: str) -> "list[dict[str, object]]":
    """Tick and untick a row of a plan: its curve comes and goes beside the rows."""
    page.goto(url + "/plan?guitar=1")
    page.wait_for_selector("path.curve.c-1", timeout=120_000)
    page.wait_for_timeout(4000)
    page.evaluate(WATCH_ANY)
    ticks = cycle([page.locator("table.plan tbody input[type=checkbox]").first])
    took = [one(page, next(ticks).click) for _ in range(12)]
    return [row("plan: a row ticked or not, its curve beside the rows", took, DRAG)]


def dragged(page: Page, times: int) -> "list[float]":
    """Drag the bass side up and down, a few pixels a step."""
    box = page.locator("[data-handle=bass]").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    out = [one(page, partial(page.mouse.move, x, y + 2 + 2 * ((k + 1) % 8))) for k in range(times)]
    page.mouse.up()
    return out


def caught_up(page: Page, times: int) -> "list[float]":
    """Drag the bass side with a move every 16 ms; return from the last move of each drag to its last redraw, ms."""
    page.evaluate(LAST)
    out = []
    for _ in range(times):
        box = page.locator("[data-handle=bass]").bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        for k in range(25):
            page.mouse.move(x, y + 2 + k % 12)
            page.wait_for_timeout(16)
        page.wait_for_timeout(600)
        out.append(float(page.evaluate("window.drawn - window.moved")))
        page.mouse.up()
        page.wait_for_timeout(1200)
    return out


def shown_error(page: Page, notebook: Path) -> float:
    """Return the largest difference of the curve that is shown to the bench asked directly, dB."""
    import numpy as np

    from polepiece.bench import Bench
    from polepiece.notebook import open_notebook

    page.wait_for_timeout(1500)
    with page.expect_download() as coming:
        page.click("text=data as CSV")
    text = Path(str(coming.value.path())).read_text(encoding="utf-8").splitlines()
    now = text[0].split(",").index("now (dB)")
    shown = np.array([float(line.split(",")[now]) for line in text[1:]])
    with open_notebook(notebook) as book:
        state = Bench().state(book.guitar(2), "neck")
    return float(np.abs(shown - state.response_db).max())


def main() -> None:
    """Measure and write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    name = f"{platform.machine()}-{os.cpu_count()}-cores-page.json"
    parser.add_argument("--out", type=Path, default=HERE / "results" / name)
    parser.add_argument("--times", type=int, default=60)
    wanted = parser.parse_args()
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        notebook = Path(folder) / "notebook.sqlite"
        invented(notebook)
        process, url, up = started(notebook)
        browser = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=ARGS)
        try:
            page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
            rows = measure(page, url, wanted.times)
            error = shown_error(page, notebook)
            rows += ticked(page, url)
        finally:
            browser.close()
            process.send_signal(signal.SIGINT)
            process.wait(30)
    rows.insert(0, {"name": "polepiece serve: until it says where it is", "seconds": round(up, 2)})
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    body = {
        "commit": commit.stdout.strip(), "machine": platform.machine(), "cores": os.cpu_count(),
        "python": platform.python_version(), "load_before": round(load, 2), "load_after": round(os.getloadavg()[0], 2),
        "error_db": error, "error_of": "largest difference of the curve shown to the bench asked directly",
        "rows": rows,
    }  # fmt: skip
    wanted.out.parent.mkdir(parents=True, exist_ok=True)
    wanted.out.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(body, indent=1))


if __name__ == "__main__":
    main()
