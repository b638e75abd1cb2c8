"""The whole job on a guitar of one's own, a four-string bass, in Chromium and without a terminal.

Entered, complained of, planned, heard, its work sheet filled in and recorded, proven with plucks and sweeps that are
dropped on the page. What is measured is made here: sweeps of a circuit in closed form, plucks as much louder as the
plan's first row says.
"""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from polepiece.app.plan.rows import plan_of
from polepiece.notebook import open_notebook
from polepiece.sound import write
from tests.app.conftest import Served, Tab, open_folds
from tests.app.test_sweep_of_the_page import recorded
from tests.reference.plucked_session import BANDS, Sitting, flat, session

Faults = Callable[[Any], list[str]]
LONG = 240_000  # ms until a plan or a sheet is there on a busy machine
OPEN = (97.999, 73.416, 55.0, 41.203)  # Hz, G2 D2 A1 E1, equal temperament from A4 = 440 Hz
GAPS = {"bass": (4.0, "gap, bass side"), "treble": (3.5, "gap, treble side")}


def fill(place: Any, label: str, value: str) -> None:
    """Type into a field and leave it."""
    field = place.get_by_label(label, exact=True)
    field.fill(value)
    field.press("Tab")


def tab_to(page: Any, wanted: Any) -> None:
    """Reach something with the Tab key alone."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if wanted.evaluate("one => one === document.activeElement"):
            return
    raise AssertionError("the Tab key does not reach it")


def enter_a_bass(page: Any, faults_of: Faults = lambda _: []) -> int:
    """Enter one pickup of four rods; return the number of the guitar."""
    page.get_by_role("link", name="New guitar").click()
    page.wait_for_selector("fieldset.pictures")
    page.get_by_role("button", name="remove this pickup").last.click()
    card = page.locator("section.card", has=page.get_by_role("heading", name="Neck pickup"))
    open_folds(page)
    card.locator('input[type=radio][value="rod-single"]').check()
    card.get_by_label("grade of the magnet").select_option("Alnico 5")
    for label, value in (
        ("DC resistance, kohm", "7.9k"), ("gap at the thickest string, mm", "4"),
        ("gap at string 1, the thin one, mm", "3.5"),
    ):  # fmt: skip
        fill(card, label, value)
    for label, value in (
        ("name", "A bass of one's own"), ("scale length, mm", "864"),
        ("strings: a set, or gauges from string 1 on", "45-105"), ("tuning", "G2 D2 A1 E1"),
    ):  # fmt: skip
        fill(page, label, value)
    page.get_by_text("A bass of one's own: neck").wait_for()
    assert not faults_of(page)
    page.get_by_role("button", name="put it on record").click()
    page.wait_for_url("**/guitar?guitar=*")
    page.wait_for_selector("path.curve.c-now", timeout=LONG)
    return int(page.url.partition("guitar=")[2].partition("&")[0])


def plan_with_the_keyboard(page: Any) -> None:
    """Say that it is weak and come to its first row, heard, without touching the mouse."""
    tab_to(page, page.get_by_role("link", name="Plan", exact=True))
    page.keyboard.press("Enter")
    own = page.get_by_label("in your own words, such as", exact=False).first
    own.wait_for()
    tab_to(page, own)
    page.keyboard.type("too weak, but no soldering")
    page.keyboard.press("Enter")
    page.get_by_text("neck: too weak").wait_for()
    tab_to(page, page.get_by_role("button", name="make the plan"))
    page.keyboard.press("Enter")
    page.wait_for_selector("table.plan", timeout=LONG)
    tab_to(page, page.get_by_role("link", name="hear row 1"))
    page.keyboard.press("Enter")
    page.wait_for_function("document.querySelectorAll('.pp-states button:not([disabled])').length >= 2", timeout=LONG)
    for key in ("1", "Space", "2"):
        page.keyboard.press(key)
    page.wait_for_function("document.querySelector('.pp-player').player.run?.voices.size >= 2")
    page.keyboard.press("Space")
    tab_to(page, page.get_by_role("link", name="Listen"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/listen?*")
    page.wait_for_selector("main h1")


def takes(folder: Path, effect: Mapping[str, float]) -> list[Path]:
    """Two sittings on four strings, three plucks each; the second as the prediction has it, band by band."""
    random = np.random.default_rng(4)
    sitting = Sitting(strings=OPEN, plucks=3)

    def changed(frequency: np.ndarray) -> np.ndarray:
        own = np.zeros_like(frequency)
        for name, (low, high) in BANDS.items():
            own[(frequency >= low) & (frequency < high)] = effect.get(f"bands_db.{name}", 0.0)
        return np.asarray(10.0 ** ((effect["level_db"] + own) / 20.0))

    return [
        write(folder / f"{name}.wav", 0.5 * np.asarray(session(sitting, random, response)[0]), sitting.rate)
        for name, response in (("before", flat), ("after", changed))
    ]


def sweeps(folder: Path) -> list[Path]:
    """What calibrates, and the pickup twice."""
    made = [recorded("open.wav"), recorded("clip.wav", bridged=True), recorded("one.wav", coil=True)]
    made.append(recorded("two.wav", coil=True, seed=6))
    for name, data in made:
        (folder / name).write_bytes(data)
    return [folder / name for name, _ in made]


def sides_raised(move: str) -> dict[str, float]:
    """Return how far a move such as "raise=0.8mm" or "raise_treble=1mm" raises each side, mm."""
    lever, _, amount = move.partition("=")
    assert lever.startswith("raise")
    return {side: float(amount.removesuffix("mm")) for side in GAPS if lever in ("raise", f"raise_{side}")}


def choose_and_fill_the_sheet(page: Any, raised: Mapping[str, float]) -> None:
    """Choose row 1, type the gaps as found and after it, mm, record the change."""
    page.get_by_role("button", name="choose row 1").click()
    page.get_by_role("link", name="its work sheet").click()
    page.wait_for_selector(".readings", timeout=LONG)
    for side, (found, words) in GAPS.items():
        after = found - raised.get(side, 0.0)
        fill(page, f"{words}, as found, in mm", f"{found:.1f}")
        fill(page, f"{words}, after, in mm", f"{after:.1f}")
        read = re.compile(rf"\b{after:.1f}0? mm")
        page.locator("ul.small li").filter(has_text=read).first.wait_for()  # the page lists it: nothing moves then
    page.get_by_role("button", name="done: record this change").click()
    page.get_by_text("Recorded as a new state").wait_for()


def give(page: Any, button: str, file: Path, answer: str) -> None:
    """Choose a file behind a button, as a person does, and wait until the page has it."""
    with page.expect_file_chooser() as asked:
        page.get_by_role("button", name=button).click()
    asked.value.set_files(str(file))
    page.get_by_text(answer).first.wait_for(timeout=LONG)


def measure_and_prove(page: Any, folder: Path, effect: Mapping[str, float]) -> None:
    """Give what calibrates, sweeps and plucks to Prove; come to the ledger."""
    opened, bridged, one, two = sweeps(folder)
    page.wait_for_url("**/prove?*")
    page.get_by_text("Calibration", exact=True).click()
    give(page, "with nothing connected …", opened, "with nothing connected: open.wav")
    give(page, "with the resistor bridged …", bridged, "with the resistor bridged: clip.wav")
    page.reload()  # the recordings that calibrate are kept
    page.get_by_text("with nothing connected: open.wav").wait_for()
    for side, file in (("before", one), ("after", two)):
        give(page, f"sweep {side} …", file, f"Sweep {side}, ")
    for side, take in zip(("before", "after"), takes(folder, effect)):
        give(page, f"recordings {side} …", take, f"{side}: {take.name}")
    page.get_by_role("button", name="compare the plucks").click()
    page.get_by_role("cell", name="not shown").first.wait_for(timeout=LONG)
    page.get_by_role("button", name="make the ledger").click()
    page.get_by_text("Over all ledgers of this notebook").wait_for(timeout=LONG)


def test_from_an_own_bass_to_its_verdict(web: Tab, server: Served, tmp_path: Path, faults_of: Faults) -> None:
    page = web.goto("/")
    number = enter_a_bass(page, faults_of)
    plan_with_the_keyboard(page)
    assert not faults_of(page)  # of Listen, where the keyboard has come to
    with open_notebook(server.notebook) as book:
        job = book.jobs(number)[-1]
    assert job.constraints == "no soldering"
    plan = plan_of(job)
    assert plan is not None
    (move,), effect = plan.rows[0].change, plan.rows[0].effect
    assert sides_raised(move)
    assert effect["level_db"] > 0.5  # it was weak

    web.goto(f"/plan?guitar={number}")
    choose_and_fill_the_sheet(page, sides_raised(move))
    page.get_by_role("link", name="prove it", exact=False).first.click()
    measure_and_prove(page, tmp_path, effect)
    assert "It fits the prediction" in page.locator("[aria-label=Verdict]").inner_text()
    assert not faults_of(page)
    with open_notebook(server.notebook) as book:
        lines = {(one["key"], one["of"]): one for one in (book.ledgers(number)[-1].body or {})["entries"]}
    assert lines["level_db", "difference"]["measured"]["value"] == pytest.approx(effect["level_db"], abs=1.5)
    read = [one["measured"] for (key, _), one in lines.items() if "resistance" in key and one["measured"]]
    assert read, "what a meter and the sweeps said is in the ledger"
    page.reload()
    page.get_by_text("Over all ledgers of this notebook").wait_for()
    assert page.locator("nav[aria-label=Job] li.done").count() == 5
