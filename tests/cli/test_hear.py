"""``hear`` writes three files or none, equally loud, and says what that hides."""

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from polepiece.sound import integrated_loudness
from tests.cli.conftest import DEMO, ask
from tests.cli.test_surface import against

NAMES = ["after-true-level.wav", "after.wav", "before.wav"]


def test_a_phrase(tmp_path: Path) -> None:
    body = ask(
        "hear",
        DEMO,
        "-p",
        "neck",
        "-c",
        "lower=1mm",
        "--phrase",
        "single-notes-low",
        "--out",
        tmp_path / "new" / "folder",
    )
    against("hear", body)
    folder = Path(body["folder"])
    assert sorted(os.listdir(folder)) == NAMES
    assert body["alignment_gain_db"] == pytest.approx(-body["level_difference_db"])
    assert body["level_difference_db"] < 0.0  # further from the strings is quieter
    sounds = {}
    for key, name in body["files"].items():
        info = soundfile.info(folder / name)
        assert (info.samplerate, info.subtype) == (body["sample_rate_hz"], "PCM_24")
        sounds[key], _ = soundfile.read(folder / name)
    loud = {key: integrated_loudness(one, body["sample_rate_hz"]) for key, one in sounds.items()}
    # gating blocks may fall on either side of the relative gate after rounding to 24 bit: 0.05 LU
    assert loud["before"] == pytest.approx(loud["after"], abs=0.05)
    assert loud["after_true_level"] - loud["before"] == pytest.approx(body["level_difference_db"], abs=0.05)


def test_a_recording_keeps_rate_channels_and_length(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    source = tmp_path / "mine.flac"
    soundfile.write(source, 0.1 * rng.standard_normal((96000, 2)), 96000)
    body = ask("hear", DEMO, "-p", "neck", "-c", "tone=4", "--recording", source, "--out", tmp_path)
    assert body["source"] == "recording"
    assert body["phrase"] == "mine.flac"
    assert sorted(os.listdir(tmp_path)) == sorted([*NAMES, "mine.flac"])
    for name in NAMES:
        info = soundfile.info(tmp_path / name)
        assert (info.samplerate, info.channels, info.frames) == (96000, 2, 96000)


def test_driven_says_the_difference_in_front_of_the_drive_too(tmp_path: Path) -> None:
    body = ask("hear", DEMO, "-p", "neck", "-c", "lower=1mm", "--driven", "--out", tmp_path)
    assert body["driven"]
    assert body["clean_level_difference_db"] < body["level_difference_db"] < 0.0  # saturation squeezes levels together
