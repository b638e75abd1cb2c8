"""Nothing that is there is written over unasked; what is written is there whole or not at all."""

import json
import os
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from polepiece.cli import demo
from polepiece.cli.commands import app
from polepiece.cli.output import made_here, staged, writable, write_whole
from polepiece.errors import InputError
from polepiece.sound import write
from tests.cli.conftest import DEMO, ask
from tests.cli.test_bad_input import refused

SWEEP = ("measure", "sweep-signal")
SHORT = ("--seconds", "1", "--repeats", "2")
GAUSS = ("measure", "gauss", DEMO, "-p", "bridge", "-r", "1=38mT", "--probe-height-mm", "0.5")
SHEET = ("worksheet", DEMO, "-p", "neck", "-c", "lower=0.5mm", "--draws", "8")
PROVE = ("prove", DEMO, "-p", "neck", "-c", "lower=0.5mm", "--dcr-before", "7.9k", "--draws", "8")
HEAR = ("hear", DEMO, "-p", "neck", "-c", "tone=5", "--phrase", "single-notes-high")


@pytest.mark.parametrize(
    ("command", "name"),
    [(GAUSS, "new.guitar.toml"), (SHEET, "sheet.html"), (PROVE, "ledger.csv"), (("export", "--all"), "all.zip")],
    ids=lambda one: one[0] if isinstance(one, tuple) else "",
)
def test_a_file_in_the_way_stays_and_the_way_out_is_named(
    command: tuple[str, ...], name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(tmp_path / "notebook.db"))
    out = tmp_path / name
    out.write_text("mine", encoding="utf-8")
    assert "--replace" in refused(*command, "--out", out)
    assert out.read_text(encoding="utf-8") == "mine"
    result = CliRunner().invoke(app, [*map(str, command), "--out", str(out), "--replace"])
    assert result.exit_code == 0, result.output
    assert out.read_bytes() != b"mine"
    assert not [one for one in os.listdir(tmp_path) if one.startswith(".polepiece")]


def test_the_sweep_and_its_description_stay_together(tmp_path: Path) -> None:
    out = tmp_path / "sweep.wav"
    body = ask(*SWEEP, out, *SHORT)
    beside = Path(body["description"])
    assert sorted(os.listdir(tmp_path)) == sorted([out.name, beside.name])
    assert "OUT.wav" not in refused(*SWEEP, out, *SHORT)  # it says the path
    out.unlink()
    assert beside.name in refused(*SWEEP, out, *SHORT)  # the description alone is in the way, too
    assert not out.exists()
    ask(*SWEEP, out, *SHORT, "--replace")
    assert out.exists()


def test_hear_writes_its_own_again_and_nothing_else(tmp_path: Path) -> None:
    first = ask(*HEAR, "--out", tmp_path)
    assert first["written_again"] == []
    again = ask(*HEAR, "--out", tmp_path)
    assert again["written_again"] == ["after-true-level.wav", "after.wav", "before.wav"]
    soundfile.write(tmp_path / "before.wav", 0.1 * np.ones(100), 48000)  # a recording of the user's
    held = (tmp_path / "before.wav").read_bytes()
    text = refused(*HEAR, "--out", tmp_path)
    assert "before.wav is there already" in text
    assert "--replace" in text
    assert (tmp_path / "before.wav").read_bytes() == held
    result = CliRunner().invoke(app, [*map(str, HEAR), "--out", str(tmp_path), "--replace"])
    assert result.exit_code == 0, result.output
    assert "(written again)" in result.stdout
    assert "turn the playback level down" in result.stdout


def test_a_changed_guitar_of_the_demo_is_not_lost(tmp_path: Path) -> None:
    (tmp_path / demo.COPY).write_text("[controls]\n", encoding="utf-8")
    assert demo.COPY in refused("demo", "--out", tmp_path)
    assert os.listdir(tmp_path) == [demo.COPY]


def test_sounds_and_pages_bear_the_name(tmp_path: Path) -> None:
    write(tmp_path / "a.wav", 0.1 * np.ones(100), 48000)
    write(tmp_path / "a.flac", 0.1 * np.ones(100), 48000)
    soundfile.write(tmp_path / "b.wav", 0.1 * np.ones(100), 48000)
    (tmp_path / "c.wav").write_bytes(b"RIFF")
    (tmp_path / "c.html").write_text("<html>", encoding="utf-8")
    ask(*SHEET, "--out", tmp_path / "a.html")
    found = {one: made_here(tmp_path / one) for one in os.listdir(tmp_path)}
    assert found == {"a.wav": True, "a.flac": True, "a.html": True, "b.wav": False, "c.wav": False, "c.html": False}


def test_an_input_is_not_written_over_even_when_asked(tmp_path: Path) -> None:
    guitar = tmp_path / "g.toml"
    guitar.write_bytes(DEMO.read_bytes())
    command = [guitar if one == DEMO else one for one in GAUSS]
    assert "is an input" in refused(*command, "--out", guitar, "--replace")
    assert guitar.read_bytes() == DEMO.read_bytes()


def test_the_guitar_file_and_the_record_are_two_files(tmp_path: Path) -> None:
    one = tmp_path / "x.toml"
    asked = ("measure", "impedance", "none.wav", "--resistor", "100k", "--guitar", DEMO, "--out", one, "--save", one)
    assert "two files" in refused(*asked)


def test_what_stops_halfway_leaves_the_old_file(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    write_whole(target, "old")
    with pytest.raises(RuntimeError), staged(tmp_path, ["a.txt"], inputs=[], replace=True) as staging:
        staging.path("a.txt").write_text("half", encoding="utf-8")
        raise RuntimeError
    assert target.read_text(encoding="utf-8") == "old"
    assert os.listdir(tmp_path) == ["a.txt"]


def test_places_that_cannot_be_written_to(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    for path, words in ((tmp_path / "folder", "is a folder"), (tmp_path / "no" / "a", "does not exist")):
        with pytest.raises(InputError, match=words):
            writable("--out", str(path), inputs=(), replace=True)


def test_readings_with_a_decimal_comma(tmp_path: Path) -> None:
    found = ask("measure", "dcr", "7,62k")
    assert found["read"]["value"] == 7620.0
    assert found["temperature_c"] == 20.0
    body = ask("measure", "meter", "--dcr", "7,8k", "--reading", "120;4,41;0,41", "--reading", "1000,4.02,2.1")
    assert json.dumps(body)
    text = refused("measure", "dcr", "7,820")
    assert "thousands" in text
    text = refused("measure", "dcr", "nan")
    assert "OHM is 'nan'" in text
    assert "--reading" not in text
