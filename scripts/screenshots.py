"""Pictures of the pages: those that the documentation shows, or every page in every size and both looks.

    python scripts/screenshots.py                                    # docs/screenshots: first screens that are shown
    python scripts/screenshots.py --out FOLDER [--only guitar,plan] [--first]   # all, to look at

Starts a server of its own on a notebook of its own with the invented guitar, a little changed so that there is
something to compare. ``--first`` takes the first screen alone; without it a page is taken as long as it is.
"""

import argparse
import os
import queue
import re
import signal
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from polepiece.app.pages import PAGES
from polepiece.bench import Bench
from polepiece.evidence import Evidence, prove
from polepiece.guitar import Guitar, read_guitar
from polepiece.measure import Estimate, direct_resistance
from polepiece.moves import apply, parse_changes
from polepiece.notebook import Notebook, Part, open_notebook
from polepiece.planning import make_plan, parse_complaints, plan_json

ROOT = Path(__file__).parents[1]
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
SIZES = {"wide": (1440, 900), "tablet": (1024, 768), "narrow": (390, 844)}
LOOKS = ("light", "dark")
SHOWN = {name: ("wide", "light") for name in ("plan", "hear", "worksheet", "prove", "new_guitar", "overview", "listen")}
SHOWN |= {"guitar": ("tablet", "dark"), "grades": ("wide", "dark")}  # of each page one picture in the documentation
CHANGE = "guitar=1&pickup=neck&change=magnet%3Dalnico-3"
ADDRESSES = {
    "new_guitar": "/new?guitar=1",
    "worksheet": f"/worksheet?{CHANGE}",
    "prove": f"/prove?{CHANGE}",
}  # where the page has more to show
AT_REST = "![...document.querySelectorAll('.working')].some((one) => one.offsetParent)"  # no job is running
LONGEST_WAIT = 300_000  # ms: a machine may be busy
LONGEST = 1800  # pixels of a picture's height; the rest of a page is like it


def prepared(folder: Path) -> Path:
    """Return a notebook with the invented guitar, its pickup lowered on the bass side and a softer magnet tried."""
    notebook = folder / "notebook.sqlite"
    guitar = read_guitar(ROOT / "examples" / "demo.guitar.toml")
    with open_notebook(notebook) as book:
        number = book.add_guitar(guitar).id
        for moves in (["lower_bass=0.6mm"], ["magnet=alnico-5"], ["lower_treble=0.2mm"]):
            guitar = apply(guitar, "neck", parse_changes(moves))
            book.record(number, guitar, why=f"neck: {', '.join(moves)}")
        words = ["neck: muddy, clear"]
        found = make_plan(guitar, Bench(exact_screws=False), parse_complaints(words, guitar))
        book.keep_plan(book.open_job(number, words[0]).id, plan_json(found, everything=True))
        size = {"length_mm": 63.5, "width_mm": 12.7}
        gauss = {"gauss": -450.0, "gauss_at": "long edge, middle"}
        book.add_part(Part(kind="bar", grade="alnico-3", finish="polished", thickness_mm=3.2, **size, **gauss))
        book.add_part(Part(kind="bar", grade="ceramic-8", thickness_mm=4.8, note="from an invented donor", **size))
        book.add_part(Part(kind="pot", label="500 kΩ marked", resistance_kohm=487.0))
        _proven(book, number, guitar)
    return notebook


def _proven(book: Notebook, number: int, guitar: Guitar) -> None:
    """Keep a ledger of a bar, all that is measured in it invented."""
    invented = {"level_db": (-0.8, 0.5), "bands_db.lows": (0.1, 0.3), "bands_db.highs": (-0.1, 0.3)}
    plucks = [
        Estimate(name=name, value=value, low=value - half, high=value + half, unit="dB")
        for name, (value, half) in invented.items()
    ]
    evidence = Evidence(
        plucks=plucks, dcr_before=direct_resistance(7.9e3, temperature=21.0),
        dcr_after=direct_resistance(7.88e3, temperature=20.0), notes=("Measured values here are invented.",),
    )  # fmt: skip
    change = parse_changes(["magnet=alnico-3"])
    ledger = prove(guitar, "neck", change, evidence, date="2026-11-28")
    book.keep_ledger(number, ledger.to_dict(), state_id=book.states(number)[-1].id)


def served(notebook: Path) -> "tuple[subprocess.Popen[str], str]":
    """Start the server."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "polepiece", "serve", "--port", "0", "--no-browser", "--notebook", str(notebook)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
    )  # fmt: skip
    lines: queue.Queue[str] = queue.Queue()
    threading.Thread(target=lambda: [lines.put(line) for line in process.stdout or ()], daemon=True).start()
    said = ""
    while not (found := re.search(r"http://\S+:\d+", said)):
        said += lines.get(timeout=120)
    return process, found[0]


def picture(page: Page, place: Path, *, first: bool) -> None:
    """Take one when the page has come to rest: the first screen, or all of it."""
    page.wait_for_selector("main h1")
    page.wait_for_timeout(4000)
    page.wait_for_function(AT_REST, timeout=LONGEST_WAIT)
    start = page.query_selector("button:has-text('make the plan'):visible")
    if start and not page.query_selector("table.plan"):  # one is kept already
        start.click()
    for _ in range(90):  # until nothing is being worked out
        page.wait_for_timeout(1000)
        if not page.query_selector(".working:visible"):
            break
    if not first:
        width = page.viewport_size["width"] if page.viewport_size else 1440
        height = min(int(page.evaluate("document.documentElement.scrollHeight")), LONGEST)
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(400)
    page.screenshot(path=place)
    with Image.open(place) as picture:  # flat areas and few colours: a palette makes it a third of the size
        picture.convert("RGB").quantize(256, method=Image.Quantize.FASTOCTREE).save(place, optimize=True)


def main() -> None:
    """Take all of them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", type=Path, help="folder for all sizes and looks")
    parser.add_argument("--only", default="", help="names of pages, with commas")
    parser.add_argument("--first", action="store_true", help="the first screen of each")
    wanted = parser.parse_args()
    out = wanted.out or ROOT / "docs" / "screenshots"
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        process, url = served(prepared(Path(folder)))
        browser = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=["--no-sandbox"])
        try:
            for one in PAGES:
                name = one.__name__.rsplit(".", 1)[-1]
                if (wanted.only and name not in wanted.only.split(",")) or (not wanted.out and name not in SHOWN):
                    continue
                for size, look in [(s, k) for s in SIZES for k in LOOKS] if wanted.out else [SHOWN[name]]:
                    width, height = SIZES[size]
                    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=look)
                    page = context.new_page()
                    page.set_default_timeout(LONGEST_WAIT)
                    page.goto(f"{url}{ADDRESSES.get(name, one.PAGE.path)}")
                    picture(page, out / f"{name}-{size}-{look}.png", first=wanted.first or not wanted.out)
                    context.close()
                    print(f"{name}-{size}-{look}.png", flush=True)
        finally:
            browser.close()
            process.send_signal(signal.SIGINT)
            process.wait(30)


if __name__ == "__main__":
    main()
