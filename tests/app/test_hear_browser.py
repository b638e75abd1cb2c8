"""Hear in a browser: one's own recording comes back as it was, a loop by hand, nine states, and the rules of access."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from polepiece.sound import to_bytes
from tests.app.conftest import AS_TEXT, Tab, samples_of

LONG = 240_000  # ms until sounds are there, on a busy machine
RATE = 44_100
PLAYER = "document.querySelector('.pp-player').player"
READY = "(n) => document.querySelectorAll('.pp-states button:not([disabled])').length === n"
SAMPLES = f"async (key) => {{ {AS_TEXT} const v = await {PLAYER}.voiceOf(key); return [v.level, asText(v.samples)]; }}"


@pytest.fixture(scope="module")
def take() -> np.ndarray:
    """Three seconds of noise that dies away, in the place of playing."""
    decay = np.exp(-np.arange(3 * RATE) / RATE)
    return 0.2 * decay * np.random.default_rng(7).standard_normal(3 * RATE).clip(-3, 3)


@pytest.fixture
def number(fresh_guitar: Callable[[], int]) -> int:
    return fresh_guitar()


def voice(page: Any, key: str) -> tuple[float, np.ndarray]:
    """Return the gain and the samples with which a state is played."""
    level, samples = page.evaluate(SAMPLES, key)
    return level, samples_of(samples)


def treble(sound: np.ndarray) -> float:
    """Return the energy of 2 to 5 kHz over that below 500 Hz."""
    hertz, energy = np.fft.rfftfreq(len(sound), 1 / RATE), np.abs(np.fft.rfft(sound)) ** 2
    return float(np.sum(energy[(hertz > 2000.0) & (hertz < 5000.0)]) / np.sum(energy[hertz < 500.0]))


def test_a_recording_comes_back_as_it_was(web: Tab, number: int, take: np.ndarray, tmp_path: Path) -> None:
    file = tmp_path / "take one.flac"
    file.write_bytes(to_bytes(take, RATE))
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&state=tone=2")
    page.set_input_files("input[type=file]", str(file))
    page.wait_for_function("location.search.includes('take=')")
    page.wait_for_function(READY, arg=2, timeout=LONG)
    page.wait_for_function(f"{PLAYER}.rate === {RATE}")
    page.keyboard.press("Space")
    page.wait_for_function(f"{PLAYER}.run?.voices.size === 2")
    level, samples = voice(page, "now")
    heard, inside = (
        samples * level,
        slice(0, 3 * RATE - round(0.01 * RATE)),
    )  # the seam of the loop is blended
    gain = float(heard[inside] @ take[inside] / (take[inside] @ take[inside]))
    assert np.max(np.abs(heard[inside] - gain * take[inside])) < 2e-6  # two files of 24 bit
    level, samples = voice(page, "tone=2")
    dull = samples[inside] * level
    assert treble(dull) < 0.05 * treble(heard[inside])  # a tone control at 2 takes the top, whatever the level
    page.reload()
    page.wait_for_function(READY, arg=2, timeout=LONG)
    assert "recording: take one" in page.get_by_label("phrase or recording").inner_text()


def test_a_loop_drawn_by_hand(web: Tab, number: int) -> None:
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&phrase=single-notes-low")
    page.wait_for_function(READY, arg=1, timeout=LONG)
    box = page.locator(".pp-player canvas").bounding_box()
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 0.2 * box["width"], middle)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.4 * box["width"], middle, steps=4)
    page.mouse.up()
    assert page.get_by_label("Loop from").input_value() == "1.0"  # the phrase lasts 5 s
    assert page.get_by_label("to s").input_value() == "2.0"
    page.keyboard.press("Space")
    page.wait_for_timeout(1500)
    assert 1.0 <= page.evaluate(f"{PLAYER}.position()") <= 2.0
    page.locator(".pp-player canvas").focus()
    page.keyboard.press("ArrowRight")  # where a run begins does not move on while it plays, as the position does
    assert page.evaluate(f"{PLAYER}.placed") > 1.0
    page.keyboard.press("Home")
    assert page.evaluate(f"{PLAYER}.placed") == pytest.approx(1.0)
    page.get_by_role("button", name="Whole").click()
    assert page.get_by_label("to s").input_value() == "5.0"


def test_loop_and_playback_survive_a_reload(web: Tab, number: int) -> None:
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&phrase=single-notes-low")
    page.wait_for_function(READY, arg=1, timeout=LONG)
    page.get_by_label("Loop from").fill("1.5")
    page.get_by_label("Loop from").press("Enter")
    page.get_by_label("to s").fill("2.5")
    page.get_by_label("to s").press("Enter")
    page.get_by_label("Playback level in dB").fill("-31")
    page.wait_for_function("location.search.includes('loop=1.500-2.500') && location.search.includes('playback=-31')")
    page.reload()
    page.wait_for_function(READY, arg=1, timeout=LONG)
    page.wait_for_function(f"{PLAYER}.region[0] === 1.5 && {PLAYER}.region[1] === 2.5")
    assert page.evaluate(f"{PLAYER}.playbackGain()") == pytest.approx(10.0 ** (-31.0 / 20.0))
    page.get_by_label("phrase or recording").select_option("bends")  # other music, as long: all of it
    page.wait_for_function("!location.search.includes('loop=')", timeout=LONG)


def test_another_tone_joins_what_plays(web: Tab, number: int) -> None:
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&state=tone=5&phrase=single-notes-low")
    page.wait_for_function(READY, arg=2, timeout=LONG)
    page.keyboard.press("Space")
    page.wait_for_function(f"{PLAYER}.run?.voices.size === 2")
    cable = voice(page, "now")[1]
    page.evaluate(f"window.before = {PLAYER}.run")
    page.get_by_role("radio", name="drive half").click()
    page.wait_for_function(
        f"{PLAYER}.run.chosen.endsWith('/edge.flac') && {PLAYER}.run.voices.size === 2", timeout=LONG
    )
    assert page.evaluate(f"{PLAYER}.run === window.before")  # the same clock from the same start: nothing was cut
    page.wait_for_function(f"[...{PLAYER}.run.voices.keys()].every((id) => id.endsWith('/edge.flac'))")
    edge = voice(page, "now")[1]
    assert edge.size == cable.size
    swell, other = (np.log(np.std(one[: one.size // 48 * 48].reshape(-1, 48), axis=1) + 1e-4) for one in (edge, cable))
    rise, first = (np.maximum(np.diff(one), 0.0) for one in (swell, other))  # strokes, to 1 ms
    at = [float(rise[20:-20] @ np.roll(first, k)[20:-20]) for k in range(-15, 16)]
    assert abs(int(np.argmax(at)) - 15) <= 1  # the same strokes at the same time
    assert np.max(np.abs(edge / np.std(edge) - cable / np.std(cable))) > 0.1  # and not the same sound
    page.get_by_text("In front of the saturation", exact=False).wait_for()
    page.reload()
    page.wait_for_function(READY, arg=2, timeout=LONG)
    assert page.get_by_role("radio", name="drive half").get_attribute("aria-checked") == "true"


def test_ones_own_loudspeaker(web: Tab, number: int, tmp_path: Path) -> None:
    """A loudspeaker that says everything again after 50 ms, half as loud: both states are heard through it."""
    response = np.zeros(4800)
    response[0], response[2400] = 0.5, 0.25
    file = tmp_path / "echoing box.wav"
    file.write_bytes(to_bytes(response, 48_000, container="WAV"))
    start = f"/hear?guitar={number}&pickup=neck&state=now&phrase=single-notes-low&tone=clean"
    page = web.goto(f"{start}&speaker=none")
    page.wait_for_function(READY, arg=1, timeout=LONG)
    plain = voice(page, "now")[1]
    page.set_input_files("input[type=file] >> nth=1", str(file))
    page.wait_for_function("/speaker=[0-9a-f]{64}/.test(location.search)", timeout=LONG)
    page.wait_for_function(READY, arg=1, timeout=LONG)
    page.wait_for_function(f"(old) => {PLAYER}.states[0].sounds.clean.url !== old", arg="", timeout=LONG)
    page.reload()
    page.wait_for_function(READY, arg=1, timeout=LONG)
    assert "echoing box" in page.get_by_label("loudspeaker of the drives").inner_text()
    own = voice(page, "now")[1]
    wanted = 0.5 * plain
    wanted[2400:] += 0.25 * plain[:-2400]
    inside = slice(0, plain.size - 480)
    gain = float(own[inside] @ wanted[inside] / (wanted[inside] @ wanted[inside]))
    assert np.max(np.abs(own[inside] - gain * wanted[inside])) < 1e-5  # two files of 24 bit, at gains of their own


def test_nine_states_and_not_ten(web: Tab, number: int) -> None:
    states = "".join(f"&state=tone={k}" for k in range(1, 10))
    page = web.goto(f"/hear?guitar={number}&pickup=neck{states}&phrase=single-notes-high")
    page.wait_for_function(READY, arg=9, timeout=LONG)
    page.get_by_label("or moves", exact=False).fill("volume=5")
    page.keyboard.press("Enter")
    page.get_by_text("9 states are the most").wait_for()
    page.locator(".pp-states button").first.focus()
    page.keyboard.press("9")
    page.wait_for_function(f"{PLAYER}.current === 'tone=9'")
    page.keyboard.press("ArrowRight")  # round to the first
    page.wait_for_function(f"{PLAYER}.current === 'tone=1'")
    assert page.evaluate(f"{PLAYER}.bytes()") == 0  # nothing is decoded before it is played


def test_a_silent_state_is_said(web: Tab, number: int) -> None:
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=volume=0&state=tone=5")
    page.get_by_text("silent", exact=False).first.wait_for(timeout=LONG)
    page.wait_for_function(READY, arg=1, timeout=LONG)


@pytest.mark.parametrize("width", [390, 1600])
def test_nothing_runs_over_the_edge(web: Tab, number: int, width: int) -> None:
    web.page.set_viewport_size({"width": width, "height": 900})
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&phrase=single-notes-low")
    page.wait_for_function(READY, arg=1, timeout=LONG)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_rules_of_access(web: Tab, number: int, faults_of: Any, look: str) -> None:
    web.page.emulate_media(color_scheme=look)
    page = web.goto(f"/hear?guitar={number}&pickup=neck&state=now&phrase=single-notes-low")
    page.wait_for_function(READY, arg=1, timeout=LONG)
    assert not faults_of(page)
