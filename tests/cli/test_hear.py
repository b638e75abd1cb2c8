"""``hear`` writes three files or none, equally loud, and says what that hides."""

import contextlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.sound.loudness import integrated_loudness
from tests.cli.conftest import DEMO, ask, strict
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
    for one in body["sounds"]:  # the words of the trade that the text has, three quantities through three chains
        assert {said["chain"] for said in one["trade_words"]} == {"clean", "edge", "driven"}
        assert len(one["trade_words"]) == 9
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


def test_several_takes_and_states_at_once(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    for name, channels in (("one.wav", 2), ("two.flac", 1)):
        soundfile.write(tmp_path / name, 0.1 * rng.standard_normal((72000, channels)), 48000)
    body = ask(
        "hear", DEMO, "-p", "neck", "-c", "lower=0.5mm", "--also", "tone=3; lower=0.2mm", "-r", tmp_path / "one.wav",
        "-r", tmp_path / "two.flac", "--out", tmp_path / "out",
    )  # fmt: skip
    against("hear", body)
    assert [(one["phrase"], one["change"]) for one in body["sounds"]] == [
        ("one.wav", ["lower=0.5mm"]), ("one.wav", ["tone=3", "lower=0.2mm"]),
        ("two.flac", ["lower=0.5mm"]), ("two.flac", ["tone=3", "lower=0.2mm"]),
    ]  # fmt: skip
    named = {name for one in body["sounds"] for name in one["files"].values()}
    assert set(os.listdir(tmp_path / "out")) == named
    assert len(named) == 10
    for one in body["sounds"]:
        loud = {
            key: integrated_loudness(*soundfile.read(tmp_path / "out" / name)) for key, name in one["files"].items()
        }
        assert loud["before"] == pytest.approx(loud["after"], abs=0.05)  # as above
        assert loud["after_true_level"] - loud["before"] == pytest.approx(one["level_difference_db"], abs=0.05)


def test_numbers_stand_beside_the_change(tmp_path: Path) -> None:
    """The same rows in the table and in JSON; a phrase an octave of tone control darker."""
    start = ("hear", DEMO, "-p", "neck", "-c", "tone=2", "--phrase", "single-notes-low", "--out", tmp_path)
    body = ask(*start, "--listening-db", "80")
    assert body["listening_db_spl"] == 80.0
    rows = body["sounds"][0]["described"]
    assert list(rows) == ["loudness_sone", "loudness_level_phon", "sharpness_acum", "centroid_hz", "low_attack_db"]
    assert rows["centroid_hz"]["difference"] < -5.0
    assert rows["centroid_hz"]["difference_unit"] == "%"
    text = CliRunner().invoke(app, [*map(str, start), "--listening-db", "80"]).output
    assert "before at 80 dB SPL (assumed)" in text
    assert f"{rows['centroid_hz']['before']:.0f} Hz" in text


def test_one_bad_recording_does_not_lose_the_others(tmp_path: Path, started: Callable[..., Any]) -> None:
    rng = np.random.default_rng(3)
    for name in ("one.wav", "two.wav", "three.wav"):
        soundfile.write(tmp_path / name, 0.1 * rng.standard_normal(48000), 48000)
    whole = (tmp_path / "two.wav").read_bytes()
    (tmp_path / "two.wav").write_bytes(whole[: len(whole) // 2])
    takes = [one for name in ("one.wav", "two.wav", "gone.wav", "three.wav") for one in ("-r", tmp_path / name)]
    out = tmp_path / "out"
    done = started("hear", DEMO, "-p", "neck", "-c", "tone=5", *takes, "--out", out, "--json")
    assert done.returncode == 2
    assert "2 of 4 recordings could not be used" in done.stderr
    assert "two.wav" in done.stderr
    assert "gone.wav" in done.stderr
    assert "Traceback" not in done.stderr
    body = strict(done.stdout)
    assert [one["phrase"] for one in body["sounds"]] == ["one.wav", "three.wav"]
    assert [Path(one["recording"]).name for one in body["failed"]] == ["two.wav", "gone.wav"]
    named = {name for one in body["sounds"] for name in one["files"].values()}
    assert set(os.listdir(out)) == named
    assert len(named) == 6
    none = ("hear", DEMO, "-p", "neck", "-c", "tone=5", *takes[2:6], "--out", tmp_path / "none", "--json")
    only = CliRunner().invoke(app, [*map(str, none)])
    assert (only.exit_code, only.stdout) == (2, "")
    assert not (tmp_path / "none").exists()


def test_a_chain_with_ones_own_loudspeaker(tmp_path: Path) -> None:
    """A loudspeaker that falls by 6 dB an octave from 38 Hz on: of white noise, what is above 6 kHz is nearly gone."""
    n = np.arange(2400)
    soundfile.write(tmp_path / "thump.wav", 0.02 * np.exp(-n / 200.0), 48000, subtype="FLOAT")
    rng = np.random.default_rng(3)
    soundfile.write(tmp_path / "take.wav", 0.1 * rng.standard_normal(96000), 48000)
    start = ("hear", DEMO, "-p", "neck", "-c", "lower=0.5mm", "-r", tmp_path / "take.wav", "--chain", "edge")
    plain = ask(*start, "--loudspeaker", "none", "--out", tmp_path / "plain")
    mine = ask(*start, "--loudspeaker", tmp_path / "thump.wav", "--out", tmp_path / "mine")
    assert (plain["chain"], plain["loudspeaker"], plain["driven"]) == ("edge", "none", False)
    assert mine["loudspeaker"] == str(tmp_path / "thump.wav")

    def share_above(folder: str) -> float:
        spectrum = np.abs(np.fft.rfft(soundfile.read(tmp_path / folder / "after.wav")[0])) ** 2
        return float(spectrum[spectrum.size // 4 :].sum() / spectrum.sum())  # above 6 kHz

    assert share_above("mine") < 0.05 * share_above("plain")


def test_a_long_recording_is_taken_whole_and_ctrl_c_leaves_nothing(tmp_path: Path) -> None:
    """40 minutes, more than are held in memory; stopped while it works."""
    import signal
    import subprocess
    import sys
    import time

    rate, minutes = 44100, 40
    block = (3000 * np.random.default_rng(1).standard_normal(rate * 60)).astype(np.int16)
    source, out = tmp_path / "long.wav", tmp_path / "out"
    with soundfile.SoundFile(source, "w", rate, 1, "PCM_16") as file:
        for _ in range(minutes):
            file.write(block)
    command = ["hear", DEMO, "-p", "neck", "-c", "tone=5", "-r", source, "--chain", "driven", "-o", out]
    work = subprocess.Popen(
        [sys.executable, "-m", "polepiece", *map(str, command)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )

    def writes() -> bool:
        with contextlib.suppress(OSError):
            return any(one.stat().st_size for one in out.iterdir())
        return False

    for _ in range(2400):  # four minutes; the first file that lies there is in the middle of being made
        if writes() or work.poll() is not None:
            break
        time.sleep(0.1)
    work.send_signal(signal.SIGINT)
    _, said = work.communicate(timeout=240)
    assert work.returncode == 130, said
    assert b"Traceback" not in said
    assert not out.exists()
    assert sorted(os.listdir(tmp_path)) == ["long.wav"]


def test_a_room_is_behind_the_loudspeaker_and_switches_are_named(tmp_path: Path) -> None:
    asked = ["hear", str(DEMO), "-p", "neck", "-c", "lower=1mm", "--phrase", "muted-riff", "-o", str(tmp_path)]
    for more, said in ((["--room"], "Add --chain clean"), (["--without", "reverb"], "glide, noise, sympathetic")):
        refused = CliRunner().invoke(app, [*asked, *more])
        assert refused.exit_code != 0
        assert said in " ".join(f"{refused.output} {refused.stderr}".split())
    assert not os.listdir(tmp_path)
    body = ask(*asked, "--chain", "clean", "--room", "--without", "all")
    assert body["loudspeaker"] == "closed-box in a small room"
