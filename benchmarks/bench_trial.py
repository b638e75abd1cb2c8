"""How long a blind trial of 16 takes a listener in headless Chromium, keyboard alone; one JSON a run.

    python benchmarks/bench_trial.py [--listen S] [--decide S] [--phrase NAME] [--out FILE]

The listener hears A, B and X for ``--listen`` seconds each (the sound plays, by the wall clock) and takes ``--decide``
seconds to answer; which answer is drawn. What is counted apart is the waiting: from the key of an answer until the
next three sounds are decoded and play. The trial begins where the button is pressed, so solving the pickup is in it.
"""

import argparse
import json
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_page import ARGS, CHROMIUM, invented, started

TRIALS, LIMIT = 16, 300.0  # s: five minutes
PLAYS = """() => {
  const player = document.querySelector('.pp-player').player;
  const there = player.ready.filter((one) => player.decoded.has(player.idOf(one)));
  return player.playing && there.length === 3;
}"""


def sat_through(page: Page, listen: float, decide: float) -> dict[str, object]:
    """Go through one trial; return the seconds of it."""
    began = time.perf_counter()
    page.get_by_role("button", name="begin by this rule").press("Enter")
    waits, since = [], began
    for number in range(1, TRIALS + 1):
        page.get_by_text(f"Trial {number} of {TRIALS}").wait_for(timeout=300_000)
        if number == 1:
            page.keyboard.press(" ")
        page.wait_for_function(PLAYS, timeout=60_000)
        waits.append(time.perf_counter() - since)
        for key in "123":
            page.keyboard.press(key)
            page.wait_for_timeout(1000.0 * listen)
        page.wait_for_timeout(1000.0 * decide)
        since = time.perf_counter()
        page.keyboard.press(random.choice("ab"))
    page.get_by_text(f"of {TRIALS} right").first.wait_for()
    whole = time.perf_counter() - began
    return {
        "seconds": round(whole, 1), "limit": LIMIT, "within": whole <= LIMIT, "listening": 3 * TRIALS * listen,
        "deciding": TRIALS * decide, "first wait": round(waits[0], 2),
        "other waits, mean": round(sum(waits[1:]) / len(waits[1:]), 2), "other waits, most": round(max(waits[1:]), 2),
    }  # fmt: skip


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--listen", type=float, default=4.0)
    parser.add_argument("--decide", type=float, default=2.0)
    parser.add_argument("--phrase", default="open-chord")
    parser.add_argument("--out", type=Path)
    wanted = parser.parse_args()
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        notebook = Path(folder) / "notebook.sqlite"
        invented(notebook)
        process, url, _ = started(notebook)
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, headless=True,
            args=[*ARGS, "--mute-audio", "--autoplay-policy=no-user-gesture-required"],
        )  # fmt: skip
        try:
            page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
            page.goto(f"{url}/listen?guitar=2&pickup=neck&state=now&state=magnet%3Dalnico-3", timeout=120_000)
            page.get_by_label("phrase").select_option(wanted.phrase)
            page.get_by_text("12 right or more").wait_for()
            row = sat_through(page, wanted.listen, wanted.decide)
        finally:
            browser.close()
            process.send_signal(signal.SIGINT)
            process.wait(30)
    row |= {"phrase": wanted.phrase, "load_before": round(load, 2), "load_after": round(os.getloadavg()[0], 2)}
    print(json.dumps(row, indent=1))
    if wanted.out:
        wanted.out.write_text(json.dumps(row, indent=1) + "\n", encoding="utf-8")
    sys.exit(0 if row["within"] else 1)


if __name__ == "__main__":
    main()
