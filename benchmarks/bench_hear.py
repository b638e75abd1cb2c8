"""From a wish to its sound on the Hear page, in headless Chromium, on a server of its own; one JSON a run.

    python benchmarks/bench_hear.py [--out FILE]

Measured in the page, while it plays: from the click or key (capture phase) until a voice of what was wished for runs
and is the one that is chosen; a new state is chosen by its key as soon as it can be. So it holds the socket both ways,
the computing, loudness, coding, fetching and decoding. Beside it the error of what came: the samples in the browser
against the same state played by the bench directly.
"""

import argparse
import json
import os
import platform
import signal
import statistics
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from bench_page import ARGS, CHROMIUM, HERE, started
from playwright.sync_api import Page, sync_playwright

PLAYER = "document.querySelector('.pp-player').player"
WATCH = f"""
window.since = null; window.took = null;
for (const name of ['click', 'change', 'keydown'])
  document.addEventListener(name, () => {{
    if (window.armed) {{ window.since = performance.now(); window.armed = false; }}
  }}, true);
window.arm = (state, tone) => {{
  window.armed = true; window.took = null; window.since = null;
  const look = () => {{
    const player = {PLAYER};
    const one = player.states.find((s) => s.key === state);
    const sound = one && one.sounds[tone];
    if (sound && window.since !== null) {{
      if (player.current !== state) player.choose(state);
      const voice = player.run && player.run.voices.get(sound.url);
      if (voice && player.run.chosen === sound.url) {{ window.took = performance.now() - window.since; return; }}
    }}
    setTimeout(look, 2);
  }};
  look();
}};
"""


def took(page: Page, state: str, tone: str, act: object) -> float:
    """Do one thing; return ms until ``state`` is heard in ``tone``."""
    page.evaluate("([state, tone]) => window.arm(state, tone)", [state, tone])
    act()  # type: ignore[operator]
    page.wait_for_function("window.took !== null", timeout=120_000)
    page.wait_for_timeout(300)
    return float(page.evaluate("window.took"))


def measure(page: Page, url: str) -> "list[dict[str, object]]":
    """Wish for tones, grades, heights and phrases, each for the first time."""
    page.goto(f"{url}/hear?pickup=neck&state=now&phrase=open-chord")
    page.wait_for_function(
        "document.querySelectorAll('.pp-states button:not([disabled])').length === 1", timeout=120_000
    )
    page.evaluate(WATCH)
    page.keyboard.press("Space")
    page.wait_for_function(f"{PLAYER}.run?.voices.size === 1")
    page.wait_for_timeout(1000)
    rows = []

    def row(name: str, times: "list[float]") -> None:
        rows.append({"name": name, "n": len(times), "median_ms": round(statistics.median(times), 1),
                     "worst_ms": round(max(times), 1), "limit_ms": 400.0})  # fmt: skip

    typed = page.get_by_label("or moves", exact=False)

    def move(words: str) -> None:
        typed.fill(words)
        typed.press("Enter")

    first = [
        took(page, words, "cable", lambda words=words: move(words))
        for words in ("lower=0.3mm", "lower=0.6mm", "tone=4")
    ]
    row("another height or tone control, typed: its sound heard", first)
    grades = ["alnico-3", "ceramic-8", "alnico-8"]
    row("another bar, typed: its sound heard", [
        took(page, f"magnet={one}", "cable", lambda one=one: move(f"magnet={one}")) for one in grades
    ])  # fmt: skip
    row("another tone, chosen: the state that plays is heard in it", [
        took(page, "magnet=alnico-8", name.lower(), page.get_by_role("radio", name=name, exact=True).click)
        for name in ("Clean", "Edge", "Driven")
    ])  # fmt: skip
    page.wait_for_function(
        f"{PLAYER}.states.every((one) => one.sounds.driven)", timeout=120_000
    )  # fmt: skip
    phrases = ["bends", "arpeggio", "power-chords"]
    source = page.get_by_label("phrase or recording")
    times = []
    for one in phrases:
        old = page.evaluate(f"{PLAYER}.stateOf({PLAYER}.current).sounds.driven.url")
        page.evaluate("window.armed = true; window.since = null")
        source.select_option(one)
        times.append(float(page.evaluate(
            f"""(old) => new Promise((done) => {{ const look = () => {{
              const player = {PLAYER}; const sound = player.stateOf(player.current).sounds.driven;
              if (sound && sound.url !== old && player.run?.chosen === sound.url)
                done(performance.now() - window.since);
              else setTimeout(look, 2); }}; look(); }})""", old)))  # fmt: skip
        page.wait_for_function(f"{PLAYER}.states.every((one) => one.sounds.driven)", timeout=120_000)
        page.wait_for_timeout(500)
    row("another phrase, chosen, driven: the state that plays is heard", times)
    return rows


def error(page: Page) -> float:
    """Return the largest difference of the samples in the browser from the bench's own, full scale."""
    from polepiece.auditioning.playing import play
    from polepiece.bench import Bench
    from polepiece.guitar import read_guitar
    from polepiece.sound import phrase

    page.get_by_role("radio", name="Cable", exact=True).click()
    page.wait_for_function(f"{PLAYER}.states[0].sounds.cable && {PLAYER}.duration > 0", timeout=120_000)
    samples = np.array(page.evaluate(f"{PLAYER}.voiceOf('now').then((v) => Array.from(v.samples))"))
    name = str(page.get_by_label("phrase or recording").input_value())
    made = play(read_guitar(HERE.parent / "examples" / "demo.guitar.toml"), "neck", phrase(name), bench=Bench())
    inside = slice(0, made.size - 480)  # the seam of the loop is blended
    gain = float(samples[inside] @ made[inside] / (made[inside] @ made[inside]))
    return float(np.max(np.abs(samples[inside] - gain * made[inside])))


def main() -> None:
    """Measure and write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    name = f"{platform.machine()}-{os.cpu_count()}-cores-hear.json"
    parser.add_argument("--out", type=Path, default=HERE / "results" / name)
    wanted = parser.parse_args()
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        os.environ["POLEPIECE_CACHE"] = str(Path(folder) / "cache")
        process, url, _ = started(Path(folder) / "notebook.sqlite")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=[
            *ARGS, "--autoplay-policy=no-user-gesture-required", "--mute-audio",
        ])  # fmt: skip
        try:
            page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
            rows = measure(page, url)
            off = error(page)
        finally:
            browser.close()
            process.send_signal(signal.SIGINT)
            process.wait(30)
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    body = {
        "commit": commit.stdout.strip(), "machine": platform.machine(), "cores": os.cpu_count(),
        "python": platform.python_version(), "load_before": round(load, 2), "load_after": round(os.getloadavg()[0], 2),
        "error": off, "error_of": "samples in the browser against the bench's own, full scale 1", "rows": rows,
    }  # fmt: skip
    wanted.out.parent.mkdir(parents=True, exist_ok=True)
    wanted.out.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(body, indent=1))


if __name__ == "__main__":
    main()
