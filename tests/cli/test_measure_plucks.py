"""``polepiece measure plucks`` and ``measure transfer``: from files to the object, and what is refused."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.measure import one_sweep, read_signal
from polepiece.sound import write
from tests.cli.conftest import DEMO, ask
from tests.cli.test_surface import against
from tests.reference.plucked_session import OPEN, Sitting, session

SITTING = Sitting(strings=(OPEN[1], OPEN[5]), plucks=3, gap=1.2, lead=0.6)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("plucks")
    for name, seed, loudness in (("before", 1, 1.0), ("after", 2, 1.6)):
        samples, _ = session(SITTING, np.random.default_rng(seed), lambda f, by=loudness: np.full_like(f, by))
        write(where / f"{name}.wav", samples, SITTING.rate)
    return where


@pytest.fixture(scope="module")
def body(folder: Path) -> dict:
    return ask("measure", "plucks", "--before", folder / "before.wav", "--after", folder / "after.wav", "--seed", "3")


def test_plucks(body: dict) -> None:
    against("measure-plucks", body)
    assert body["seed"] == 3
    level = next(one for one in body["estimates"] if one["name"] == "level_db")
    assert level["low"] < 20.0 * np.log10(1.6) < level["high"]
    assert [one["name"] for one in body["files"]] == ["before.wav", "after.wav"]
    assert [one["note"] for one in body["strings"]] == ["string 2", "string 6"]


def test_the_tuning_of_a_guitar_file_or_of_an_option_is_taken(folder: Path) -> None:
    both = ("--before", folder / "before.wav", "--after", folder / "after.wav")
    assert [one["string"] for one in ask("measure", "plucks", *both, "--guitar", DEMO)["strings"]] == [2, 6]
    assert [one["string"] for one in ask("measure", "plucks", *both, "--tuning", "B3,E2")["strings"]] == [1, 2]


def test_tables_for_people(folder: Path) -> None:
    result = CliRunner().invoke(
        app, ["measure", "plucks", "--before", str(folder / "before.wav"), "--after", str(folder / "after.wav")]
    )
    assert result.exit_code == 0
    words = " ".join(result.stdout.split())
    assert "sensitivity, about 1 kHz" in words and "level, about" not in words
    assert "changed" in words and "least to show" in words and "Caution" in words


def refused(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, ["measure", *map(str, arguments)])
    assert result.exit_code == 2, result.output
    assert result.stdout == "" and "Traceback" not in result.stderr
    return result.stderr


def test_garbage(folder: Path, tmp_path: Path) -> None:
    good = folder / "before.wav"
    (tmp_path / "text.wav").write_text("this is no sound", encoding="utf-8")
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "half.wav").write_bytes(good.read_bytes()[:30])
    soundfile.write(tmp_path / "silence.wav", np.zeros(96000), 48000)
    soundfile.write(tmp_path / "nan.wav", np.full(96000, np.nan), 48000, subtype="FLOAT")
    soundfile.write(tmp_path / "noise.wav", np.random.default_rng(1).uniform(-0.5, 0.5, 96000), 48000)
    for name in ("text.wav", "empty.wav", "half.wav", "silence.wav", "nan.wav", "noise.wav", "none.wav"):
        assert name in refused("plucks", "--before", good, "--after", tmp_path / name)
    assert "directory" in refused("plucks", "--before", tmp_path, "--after", good)
    assert "is not a note" in refused("plucks", "--before", good, "--after", good, "--tuning", "E4,H3")
    assert "give one" in refused("plucks", "--before", good, "--after", good, "--tuning", "E4", "--guitar", DEMO)
    assert "3 plucks" not in refused("transfer", good)


@pytest.fixture(scope="module")
def sweep(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sweep by the command, and its recording: channel 2 rises with frequency as an even pickup's voltage does."""
    where = tmp_path_factory.mktemp("transfer")
    ask("measure", "sweep-signal", where / "sweep.wav", "--rate", "48000", "--seconds", "2", "--silence", "0.5")
    signal = read_signal(where / "sweep.wav")
    played = np.zeros(round(signal.length * 48000))
    for k in range(signal.repeats):
        begin = round((signal.silence + k * signal.period) * 48000)
        played[begin : begin + round(signal.duration * 48000)] = 0.2 * one_sweep(signal)
    slope = np.fft.irfft(np.fft.rfft(played) * 1j * np.fft.rfftfreq(played.size, 1 / 48000) / 2e4, played.size)
    noise = 1e-6 * np.random.default_rng(1).standard_normal((played.size, 2))
    write(where / "taken.wav", np.column_stack([played, slope]) + noise, 48000)
    return where


def test_transfer(sweep: Path) -> None:
    body = ask("measure", "transfer", sweep / "taken.wav", "--signal", sweep / "sweep.wav")
    against("measure-transfer", body)
    hertz, level = np.array(body["frequency_hz"]), np.array(body["level_db"])
    assert np.max(np.abs(level[(hertz > 200.0) & (hertz < 15e3)])) < 0.05
    assert body["estimates"] == []  # even: no peak
    result = CliRunner().invoke(
        app, ["measure", "transfer", str(sweep / "taken.wav"), "--signal", str(sweep / "sweep.wav")]
    )
    assert result.exit_code == 0 and "dB re 1 kHz" in result.stdout and "Caution" in result.stdout


def test_a_transfer_needs_two_channels_and_its_sweep(sweep: Path, folder: Path) -> None:
    assert "one channel" in refused("transfer", folder / "before.wav", "--signal", sweep / "sweep.wav")
    assert "sweep-signal" in refused("transfer", sweep / "taken.wav", "--signal", folder / "before.wav")


@pytest.mark.parametrize("name", ["plucks", "transfer"])
def test_help_has_an_example_and_json(name: str) -> None:
    result = CliRunner().invoke(app, ["measure", name, "--help"])
    assert f"Example: polepiece measure {name}" in " ".join(result.stdout.split())
    assert "--json" in result.stdout
