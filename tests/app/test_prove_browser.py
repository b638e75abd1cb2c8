"""Prove in Chromium: recordings are given and compared, a blind trial is gone through, the ledger outlives a reload."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import numpy as np
import pytest

from polepiece.measure import BlindTrial
from polepiece.notebook import open_notebook
from polepiece.sound import write
from tests.app.conftest import Served, Tab
from tests.reference.plucked_session import OPEN, Sitting, session
from tests.unit.measure.test_record import RECORD

APART = """async () => {
  const player = document.querySelector('.pp-player').player;
  const [a, b, x] = await Promise.all(['A', 'B', 'X'].map(async (key) => (await player.voiceOf(key)).samples));
  return [a, b].map((one) => one.reduce((sum, sample, k) => sum + (sample - x[k]) ** 2, 0));
}"""


@pytest.fixture(scope="module")
def takes(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Two sittings on six strings, three plucks each; the second 3 dB softer."""
    folder, random = tmp_path_factory.mktemp("takes"), np.random.default_rng(4)
    sitting = Sitting(strings=tuple(OPEN), plucks=3)
    out = []
    for name, gain in (("before", 1.0), ("after", 10.0 ** (-3.0 / 20.0))):
        samples = np.asarray(session(sitting, random)[0])
        out.append(write(folder / f"{name}.wav", gain * samples, sitting.rate))
    return out


def test_a_change_is_proven(
    web: Tab, server: Served, fresh_guitar: Callable[[], int], takes: list[Path], tmp_path: Path,
    faults_of: Callable[[Any], list[str]],
) -> None:  # fmt: skip
    guitar = fresh_guitar()
    address = f"/prove?{urlencode({'guitar': guitar, 'pickup': 'neck', 'change': 'magnet=alnico-3'})}"
    page = web.goto(address)
    files = page.locator("input[type=file]")
    for k, side in enumerate(("before", "after")):
        files.nth(k).set_input_files(str(takes[k]))
        page.get_by_text(f"{side}: {takes[k].name}").wait_for(timeout=240_000)
    page.get_by_role("button", name="compare the plucks").click()
    page.get_by_role("cell", name="−3.").first.wait_for(timeout=240_000)
    record = tmp_path / "sweep.json"
    record.write_text(json.dumps(RECORD.to_dict()))
    files.nth(4).set_input_files(str(record))  # after the two that calibrate
    page.get_by_text("Sweep before, ").wait_for()

    page.get_by_role("textbox", name="trials").fill("8")
    page.get_by_role("textbox", name="trials").press("Enter")
    page.get_by_text("7 right or more").wait_for()  # 7 of 8: 9/256 = 3.5 %, 6 of 8 14.5 %: binomial tables
    page.get_by_role("button", name="begin by this rule").click()
    page.get_by_text("Trial 1 of 8").wait_for(timeout=240_000)
    assert faults_of(page) == []
    for number in range(1, 9):
        page.get_by_text(f"Trial {number} of 8").wait_for()
        near_a, near_b = page.evaluate(APART)
        page.get_by_role("button", name="X is A" if near_a < near_b else "X is B").click()
    page.get_by_text("It was heard: 8 of 8 right").wait_for()

    page.get_by_role("button", name="make the ledger").click()
    page.get_by_text("Over all ledgers of this notebook").wait_for(timeout=240_000)
    assert faults_of(page) == []
    page.reload()
    page.get_by_text("Over all ledgers of this notebook").wait_for(timeout=240_000)
    page.get_by_text("It was heard: 8 of 8 right").wait_for()
    with open_notebook(server.notebook) as book:
        (note,) = book.ledgers(guitar)
        trial = [one.body for one in book.notes(guitar) if one.body and one.body.get("entry") == "trial"][-1]
    lines = {(one["key"], one["of"]): one for one in (note.body or {})["entries"]}
    assert lines["level_db", "difference"]["measured"]["value"] == pytest.approx(-3.0, abs=1.5)
    assert lines["heard", "difference"]["heard"]["value"] == 1.0
    assert BlindTrial.from_dict(trial["value"]).outcome().right == 8
