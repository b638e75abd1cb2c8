"""The player in a real browser: switching is gapless, the loudspeaker really hears the chosen state, keys work.

Reference: the samples of the files themselves. Tolerance 1e-6 of full scale between equal states: single-precision
gains that add up to one, at samples below 0.6.
"""

import contextlib
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.app.conftest import ARGS, AS_TEXT, WAIT, samples_of
from tests.app.player_page import RATE, sound


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """Serve the page of the player alone."""
    port = free_port()
    here = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST_", "NICEGUI_"))}
    root = Path(__file__).parents[2]
    page = Path(__file__).with_name("player_page.py")
    process = subprocess.Popen(
        [sys.executable, str(page), str(port)], env=here | {"PYTHONPATH": f"{root / 'src'}{os.pathsep}{root}"}, cwd=root
    )
    address = f"http://127.0.0.1:{port}"
    for _ in range(2400):  # four minutes: it imports the whole of the page
        with contextlib.suppress(OSError):
            urllib.request.urlopen(address, timeout=60).close()
            break
        time.sleep(0.1)
    yield address
    process.terminate()
    process.wait(120)


@pytest.fixture(scope="module")
def page(server: str) -> Iterator[Any]:
    """Open the page; no error may come up in it."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"),
            headless=True,
            args=ARGS,
            timeout=WAIT,
        )
        tab = browser.new_page(viewport={"width": 1000, "height": 800})
        tab.set_default_timeout(WAIT)
        errors: list[str] = []
        tab.on("pageerror", lambda error: errors.append(str(error)))
        tab.goto(server)
        tab.wait_for_selector(".pp-states button")
        yield tab
        assert not errors
        browser.close()


PLAYER = "document.querySelector('.pp-player').player"
OFFLINE = f"async (switches) => {{ {AS_TEXT} return asText(await {PLAYER}.offline(switches, 2)); }}"
LIVE = (
    f"""async () => {{
  {AS_TEXT}"""
    + """
  const player = document.querySelector('.pp-player').player;
  return {live: asText(player.snapshot()), playback: player.playbackGain(), current: player.current};
}"""
)


def heard(live: np.ndarray, name: str) -> float:
    """Return how well a captured block is explained by one sound at any place: 1 fully, about 0 not at all."""
    whole = np.concatenate([sound(name), sound(name)])
    size = 1 << int(np.ceil(np.log2(len(whole) + len(live))))
    match = np.fft.irfft(np.fft.rfft(whole, size) * np.conj(np.fft.rfft(live, size)), size)[: len(sound(name))]
    at = int(np.argmax(match))
    part = whole[at : at + len(live)]
    return float(part @ live / np.sqrt((part @ part) * (live @ live)))


def test_equal_states_switch_without_a_trace(page: Any) -> None:
    times = [0.1, 0.1003, 0.35, 0.351, 0.6, 0.9, 0.903, 1.4, 1.77]  # some inside a crossfade that still runs
    switches = [[0, "1"]] + [[t, "21"[n % 2]] for n, t in enumerate(times)]
    switched, still = (samples_of(page.evaluate(OFFLINE, one)) for one in (switches, [[0, "1"]]))
    assert np.max(np.abs(still)) > 0.5
    assert np.max(np.abs(switched - still)) <= 1e-6
    raw = sound("one")
    inside = slice(0, len(raw) - round(0.008 * RATE))  # the seam of the loop is blended
    assert np.max(np.abs(still[inside] - raw[inside])) < 2.0**-22  # 24 bit of the file: half a step is 2**-24


def test_switching_to_another_state_is_seen_by_the_same_measure(page: Any) -> None:
    switched = samples_of(page.evaluate(OFFLINE, [[0, "1"], [0.5, "3"]]))
    after = slice(round(0.52 * RATE), round(1.9 * RATE))
    assert np.max(np.abs(switched[after] - sound("other")[after])) < 2.0**-22
    assert np.max(np.abs(switched[after] - sound("one")[after])) > 0.1
    middle = round(0.504 * RATE)  # half way through 8 ms both are there
    assert switched[middle] == pytest.approx(0.5 * (sound("one") + sound("other"))[middle], abs=0.01)


def test_the_loudspeaker_hears_what_was_chosen(page: Any) -> None:
    page.keyboard.press("1")
    page.keyboard.press("Space")
    page.wait_for_function("document.querySelector('.pp-player').player.run?.voices.size === 3")
    for key, name, other in (("1", "one", "other"), ("3", "other", "one"), ("2", "same", "other")):
        page.keyboard.press(key)
        for _ in range(60):  # a busy machine drops blocks of sound: one capture without a gap is enough
            page.wait_for_timeout(350)
            live = samples_of(page.evaluate(LIVE)["live"])
            if heard(live, name) > 0.999:
                break
        assert heard(live, name) > 0.999
        assert abs(heard(live, other)) < 0.2  # two noises of 8192 samples
    assert page.get_by_text("chosen 2").is_visible()


def test_true_level_and_playback_scale_what_is_heard(page: Any) -> None:
    def rms(wanted: float) -> float:
        for _ in range(60):  # a busy machine drops blocks of sound: one capture without a gap is enough
            page.wait_for_timeout(400)
            got = page.evaluate(LIVE)
            found = float(np.sqrt(np.mean(np.square(samples_of(got["live"])))) / got["playback"])
            if found == pytest.approx(wanted, rel=0.05):
                break
        return found

    page.keyboard.press("3")
    full = float(np.sqrt(np.mean(np.square(sound("other")))))
    assert rms(full) == pytest.approx(full, rel=0.05)  # of a stretch of noise
    page.get_by_role("radio", name="True level").click()
    assert rms(full / 2) == pytest.approx(full / 2, rel=0.05)
    page.get_by_role("radio", name="Equally loud").click()


def test_keys_are_left_alone_while_typing(page: Any) -> None:
    page.keyboard.press("3")
    page.get_by_label("name").fill("")
    page.get_by_label("name").type("1 2")
    assert page.get_by_label("name").input_value() == "1 2"
    assert page.evaluate("document.querySelector('.pp-player').player.current") == "3"
    page.locator(".pp-states button").nth(2).focus()


def test_a_late_state_joins_while_playing(page: Any) -> None:
    assert page.locator(".pp-states button").nth(3).is_disabled()
    page.get_by_role("button", name="late").click()
    page.wait_for_function("document.querySelector('.pp-player').player.run?.voices.size === 4")
    page.locator(".pp-states button").nth(3).click()
    for _ in range(60):  # as above
        page.wait_for_timeout(350)
        live = page.evaluate(LIVE)
        if heard(samples_of(live["live"]), "late") > 0.999:
            break
    assert live["current"] == "4"
    assert heard(samples_of(live["live"]), "late") > 0.999


REGION_SET = f"{PLAYER}.region.join() === '0.5,1'"
INSIDE = f"(at => at >= 0.5 && at < 1)({PLAYER}.position())"


def test_what_is_typed_in_a_loop_field_stays_while_a_sound_plays(page: Any) -> None:
    page.get_by_label("to s").fill("1.3")
    page.wait_for_timeout(400)

    assert page.get_by_label("to s").input_value() == "1.3"

    page.get_by_label("to s").press("Escape")


def test_loop_by_number_keeps_inside_and_driven_takes_over(page: Any) -> None:
    page.get_by_label("Loop from").fill("0.5")
    page.get_by_label("Loop from").press("Enter")
    page.get_by_label("to s").fill("1.0")
    page.get_by_label("to s").press("Enter")
    page.wait_for_function(REGION_SET)
    page.wait_for_function(INSIDE)
    for _ in range(8):  # over more than one turn of the loop
        page.wait_for_timeout(150)
        assert page.evaluate(f"{REGION_SET} && {INSIDE}")
    page.get_by_role("radio", name="Driven").click()
    assert page.locator(".pp-states button").nth(1).is_disabled()  # it has no driven sound


def test_space_pauses(page: Any) -> None:
    page.locator(".pp-states button").nth(0).focus()
    page.keyboard.press("Space")
    assert page.evaluate("document.querySelector('.pp-player').player.playing") is False
