"""Renderings of several constructions, phrases and chains stay as they are, but where somebody meant to move them.

Tolerances, all of figures and none of samples: what is rendered has a rounding of its own (sums in 32 bits), -105 dB
under the sound (tests/unit/sound/test_render.py). In a band 40 dB under the loudest that is 0.005 dB, so 0.02 dB lets
other processors and libraries be four times as far apart, and lies far under what is promised of a difference (0.1 dB).
"""

import json
from typing import Any

import numpy as np
import pytest

from polepiece.auditioning.playing import SAMPLE_RATE
from tests.reference import rendered_figures as those

ALLOWED = {
    "third_octaves_db": 0.02,  # see above
    "loudness_lufs": 0.01,  # half of it: the loudest bands alone are in it
    "centroid_hz": 1.0,  # a tenth of a per cent of 1 kHz: 0.02 dB of half the spectrum moves it by 0.2 %
    "attack_ms": 0.1,  # five samples; a stroke of the hand takes 10 ms
    "attack_to_sustain_db": 0.02,
    "added_db": 0.05,  # a difference 47 dB under the sound, -105 dB + 47 dB: 0.01 dB
}
KEPT: dict[str, dict[str, Any]] = json.loads(those.KEPT.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def made() -> dict[str, dict[str, Any]]:
    return dict(those.rendered_figures())


@pytest.mark.parametrize("name", KEPT)
def test_a_rendering_is_as_it_was(made: dict[str, dict[str, Any]], name: str) -> None:
    for what, kept in KEPT[name].items():
        new, allowed = made[name][what], ALLOWED[what]
        if isinstance(kept, dict):  # a band at the edge of what is heard may come or go
            edge = max(kept.values()) - those.WITHIN + 2.0 * allowed
            assert {f for f, db in kept.items() if db > edge} <= set(new), (name, what)
            moved = {f: new[f] - db for f, db in kept.items() if f in new and abs(new[f] - db) > allowed}
            assert not moved, f"{name}: {moved}; if it was meant, run scripts/write_renderings.py"
        else:
            assert new == pytest.approx(kept, abs=allowed), f"{name} {what}: if meant, run scripts/write_renderings.py"


def test_every_case_is_kept(made: dict[str, dict[str, Any]]) -> None:
    assert set(made) == set(KEPT)
    assert KEPT["noise alone"]["added_db"] < -20.0 < KEPT["glide alone"]["added_db"]  # each switch does something


def test_figures_are_those_of_a_sound_that_is_known() -> None:
    """A tone of 1 kHz that rises over 10 ms: its level, its centre, nine tenths less a tenth of the way up."""
    t = np.arange(2 * SAMPLE_RATE) / SAMPLE_RATE
    sound = 0.1 * np.sin(2 * np.pi * 1000.0 * t) * np.clip((t - 0.5) / 0.010, 0.0, 1.0)
    found = those.figures_of(sound)
    assert found["centroid_hz"] == pytest.approx(1000.0, abs=1.0)
    assert max(found["third_octaves_db"], key=lambda f: found["third_octaves_db"][f]) == "1000"
    assert found["third_octaves_db"]["1000"] == pytest.approx(
        20 * np.log10(0.1 / np.sqrt(2)) + 10 * np.log10(0.75), abs=0.1
    )
    assert found["attack_ms"] == pytest.approx(8.0, abs=2.0)  # the 5 ms of the running level widen it
