"""Listening blind in Chromium: who looks at everything but the sound guesses, who measures the sound is right.

Keyboard alone. The listener that looks sees addresses, their order, headers, lengths, hashes, times, the page and what
its script holds; the one that measures compares the samples that the player has decoded.
"""

import hashlib
import time
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from scipy.stats import binomtest

from polepiece.measure import BlindTrial
from polepiece.notebook import open_notebook
from tests.app.conftest import Served, clean_tab

LONG = 240_000  # ms: the first sounds need a solved pickup
TRIALS = 16
SURE = 1e-4  # only 0 or 16 of 16 fail: all that is seen together fails by chance in 2 of 10,000 runs
MEASURED = """async () => {
  const player = document.querySelector('.pp-player').player;
  const all = {};
  for (const key of ['A', 'B', 'X']) all[key] = await player.voiceOf(key);
  const apart = (a, b) => Math.sqrt(a.samples.reduce((sum, one, k) => sum + (one - b.samples[k]) ** 2, 0));
  return {
    levels: Object.values(all).map((one) => one.level), lengths: Object.values(all).map((one) => one.samples.length),
    a: apart(all.X, all.A), b: apart(all.X, all.B),
  };
}"""
SEEN = """() => {
  const player = document.querySelector('.pp-player').player;
  const buttons = [...document.querySelectorAll('.pp-states button')].map((one) => one.outerHTML.replace(/[ABX]/g, ''));
  const entries = performance.getEntriesByType('resource');
  return player.states.map((one, k) => {
    const url = one.sounds.cable.url;
    const loaded = entries.filter((each) => each.name.endsWith(url)).pop();
    return {
      key: one.key, url, state: JSON.stringify(one).length, button: buttons[k].length,
      order: entries.indexOf(loaded), wait: loaded.responseStart - loaded.requestStart,
      took: loaded.responseEnd - loaded.responseStart, size: loaded.transferSize,
    };
  });
}"""


def number_of(words: str) -> int:
    return int(hashlib.sha256(words.encode()).hexdigest()[:12], 16)


def test_only_the_sound_tells_what_x_is(
    browser: Any, server: Served, fresh_guitar: Callable[[], int], faults_of: Callable[[Any], list[str]]
) -> None:
    guitar = fresh_guitar()
    query = [("guitar", guitar), ("pickup", "neck"), ("state", "now"), ("state", "tone=4")]
    script = "performance.setResourceTimingBufferSize(2000)"
    with clean_tab(browser, server.url, script=script) as web:
        page = web.goto(f"/listen?{urlencode(query)}")
        answers = {}
        page.on("response", lambda one: answers.__setitem__(one.url.removeprefix(server.url), one))
        page.get_by_label("phrase").select_option("single-notes-low")
        page.get_by_text("12 right or more").wait_for()  # 12 of 16: 3.8 %, 11: 10.5 %: binomial tables
        assert faults_of(page) == []
        page.get_by_role("button", name="begin by this rule").focus()
        page.keyboard.press("Enter")
        page.get_by_text(f"Trial 1 of {TRIALS}").wait_for(timeout=LONG)
        assert faults_of(page) == []
        began, told, addresses = time.monotonic(), {}, set()
        page.keyboard.press(" ")
        for number in range(1, TRIALS + 1):
            page.get_by_text(f"Trial {number} of {TRIALS}").wait_for(timeout=LONG)
            heard = page.evaluate(MEASURED)
            assert heard["levels"] == [1.0, 1.0, 1.0]
            assert len(set(heard["lengths"])) == 1
            near, far = sorted((heard["a"], heard["b"]))
            assert near < 0.01 * far  # dither against a tone control
            what = "a" if heard["a"] < heard["b"] else "b"
            seen = {one.pop("key"): one for one in page.evaluate(SEEN)}
            for key, one in seen.items():
                got = answers[one["url"]]
                assert got.headers["cache-control"] == "no-store"
                body = got.body()
                one |= {"length": len(body), "hash": number_of(body.hex()), "address": number_of(one.pop("url"))}
                one["headers"] = number_of(str(sorted((k, v) for k, v in got.headers.items() if k != "date")))
                assert key in ("A", "B", "X")
            addresses |= {one["address"] for one in seen.values()}
            for name in seen["X"]:
                guess = min("AB", key=lambda key: abs(seen[key][name] - seen["X"][name])).lower()
                told.setdefault(name, []).append(guess == what)
            page.keyboard.press(what)
        page.get_by_text(f"It was heard: {TRIALS} of {TRIALS} right").first.wait_for()
        assert time.monotonic() - began < 300.0  # five minutes
        for name, right in told.items():
            assert binomtest(sum(right), TRIALS).pvalue > SURE, (name, right)
        assert len(addresses) == 3 * TRIALS  # none comes twice
        assert faults_of(page) == []
        with page.expect_download() as csv:
            page.get_by_role("button", name="answers as CSV").click()
        assert csv.value.path().read_text().count("\n") == TRIALS + 1
    with open_notebook(server.notebook) as book:
        notes = book.notes(guitar, sort="trial")
    assert [one.text.rpartition(": ")[2] for one in notes][:2] == ["begun", "answer 1"]
    assert BlindTrial.from_dict(notes[-1].body or {}).outcome().right == TRIALS


@pytest.mark.parametrize("size", [(1440, 900), (1024, 768), (390, 844)])
def test_a_trial_is_on_one_screen(browser: Any, server: Served, fresh_guitar: Callable[[], int], size: Any) -> None:
    guitar = fresh_guitar()
    with clean_tab(browser, server.url) as web:
        web.page.set_viewport_size({"width": size[0], "height": size[1]})
        page = web.goto(f"/listen?guitar={guitar}&pickup=neck&question=least")
        page.get_by_label("phrase").select_option("single-notes-low")
        page.get_by_role("button", name="begin by this rule").click()
        page.get_by_text("Trial 1. Nothing is told").wait_for(timeout=LONG)
        answers = [page.locator(".answers button").nth(k).bounding_box() for k in range(3)]
        assert all(one["y"] + one["height"] <= size[1] for one in answers), answers
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
