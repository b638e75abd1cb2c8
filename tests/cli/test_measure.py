"""``polepiece measure``: the signal, a whole measurement from files, meters, and what is refused."""

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.guitar import read_guitar
from polepiece.measure import MeasuredPickup, read_signal
from polepiece.sound import read, write
from tests.cli.conftest import DEMO, ask
from tests.reference.measured_bench import FOUND, Device, Interface, record, transfers

NEEDS_SPICE = pytest.mark.skipif(FOUND is None, reason="ngspice is not installed (Debian: apt-get install ngspice)")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A signal written by the command, and recordings of it."""
    where = tmp_path_factory.mktemp("bench")
    ask("measure", "sweep-signal", where / "sweep.wav", "--rate", "48000", "--seconds", "2.5", "--silence", "0.6")
    signal, interface = read_signal(where / "sweep.wav"), Interface()
    solved, random = transfers(Device(), interface), np.random.default_rng(8)
    for what in ("pickup", "open", "bridged", "known"):
        write(where / f"{what}.wav", record(what, signal, interface, solved, random), 48000)
    return where


def options(folder: Path) -> list[str]:
    return [
        "measure", "impedance", str(folder / "pickup.wav"), "--signal", str(folder / "sweep.wav"), "--resistor", "100k",
        "--open", str(folder / "open.wav"), "--bridged", str(folder / "bridged.wav"),
    ]  # fmt: skip


def refused(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == 2, result.output
    assert "polepiece: " in result.stderr
    assert "Traceback" not in result.stderr
    return result.stderr


def test_the_signal_is_what_was_asked_for_and_warns(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["measure", "sweep-signal", str(tmp_path / "s.wav"), "--level", "-20"])
    assert result.exit_code == 0, result.output
    assert "Caution:" in result.stdout
    assert "Phantom power" in result.stdout
    sound = read(tmp_path / "s.wav")
    assert (sound.sample_rate, sound.subtype, sound.channels) == (96000, "PCM_24", 1)
    assert sound.duration == pytest.approx(28.0)
    assert sound.peak == pytest.approx(0.1, rel=1e-3)
    assert read_signal(tmp_path / "s.wav").level_db == -20.0


@NEEDS_SPICE
def test_a_whole_measurement(folder: Path, tmp_path: Path) -> None:
    new, kept = tmp_path / "new.guitar.toml", tmp_path / "neck.json"
    body = ask(*options(folder), "--dcr", "7.8k", "--date", "2026-11-25", "--save", kept, "--guitar", DEMO, "-p",
               "neck", "-o", new)  # fmt: skip
    assert body["schema"] == "polepiece/measure-impedance/1"
    found = {one["name"]: one for one in body["estimates"]}
    device = Device()
    for name, true in (
        ("resistance", device.resistance), ("inductance", device.inductance), ("capacitance", device.capacitance)
    ):  # fmt: skip
        assert found[name]["low"] <= true <= found[name]["high"]
    pickup = read_guitar(new).pickup("neck")
    assert pickup.capacitance == pytest.approx(body["guitar_keys"]["capacitance_pf"] * 1e-12)
    record_ = MeasuredPickup.from_dict(json.loads(kept.read_text()))
    assert record_.date == "2026-11-25"
    assert [one.role for one in record_.files] == ["pickup", "open", "bridged"]
    assert all(len(one.sha256) == 64 for one in record_.files)


@NEEDS_SPICE
def test_the_table_for_people_has_units_and_says_what_is_not_known(folder: Path) -> None:
    result = CliRunner().invoke(app, options(folder))
    assert result.exit_code == 0, result.output
    for words in ("kohm", "90 %", "resonance, nothing connected", "told together only", "capacitance_pf ="):
        assert words in result.stdout


@NEEDS_SPICE
def test_a_known_resistor_serves_instead_of_the_clip(folder: Path) -> None:
    asked = options(folder)[:-2]
    body = ask(*asked, "--known", folder / "known.wav", "--known-resistor", "22k")
    assert body["method"] == "open and known"


@NEEDS_SPICE
def test_the_computed_pickup_is_fitted_and_does_not_guess(folder: Path) -> None:
    body = ask(*options(folder), "--guitar", DEMO, "-p", "neck", "--engine")["engine_fit"]
    told = {one["name"]: one["told"] for one in body["parameters"]}
    assert not told["turns"]
    assert not told["steel_permeability"]
    assert any("cannot be told apart" in line for line in body["untold"])


@NEEDS_SPICE
def test_refusals(folder: Path, tmp_path: Path) -> None:
    usual = options(folder)
    assert "two sweeps take" in refused(*usual[:3], "--resistor", "100k")  # without --signal the usual, longer one
    assert "do not suffice" in refused(*usual[:-2])
    assert "as a decimal comma or as thousands" in refused(*usual, "--dcr", "7,800")
    assert "--engine needs --guitar" in refused(*usual, "--engine")
    assert "go together" in refused(*usual, "--guitar", DEMO)
    assert "is an input of this command" in refused(*usual, "--guitar", DEMO, "-p", "neck", "-o", DEMO)
    assert "is an input of this command" in refused(*usual, "--save", folder / "pickup.wav")
    assert "the folder does not exist" in refused(*usual, "--save", tmp_path / "no" / "x.json")
    assert "no such file" in refused(*usual[:2], tmp_path / "no.wav", "--resistor", "100k")
    assert "write the signal again" in _damaged(folder, tmp_path, usual)


def _damaged(folder: Path, tmp_path: Path, usual: list[str]) -> str:
    bad = tmp_path / "bad.wav"
    bad.with_name("bad.wav.json").write_text("{}")
    return refused(*usual[:3], "--signal", bad, "--resistor", "100k")


def test_direct_resistance() -> None:
    body = ask("measure", "dcr", "7.62k", "--temperature", "14")
    assert body["at_20"]["value"] == pytest.approx(7804.0, abs=1.0)
    assert "more than 2 %" in CliRunner().invoke(app, ["measure", "dcr", "8k", "--before", "7.5k"]).stdout
    assert "7.8 kohm is 7.8k here" in refused("measure", "dcr", "7.8")
    assert "7.8k, 1M, 150p" in refused("measure", "dcr", "seven")
    warm = [ask("measure", "dcr", "7.96k", "--temperature", one)["at_20"] for one in ("25.5", "25,5")]
    assert warm[0] == warm[1]
    slip = CliRunner().invoke(app, ["measure", "dcr", "7.96k", "--temperature", "warm"])
    assert slip.exit_code == 2
    assert "'warm': it is not a number" in slip.stderr


def test_readings_of_an_lcr_meter() -> None:
    body = ask("measure", "meter", "--dcr", "7.8k", "--reading", "120,4.41,0.42", "--reading", "1000,4.02,2.1")
    found = {one["name"]: one for one in body["estimates"]}
    assert found["inductance_120_hz"]["told"]
    assert not found["capacitance"]["told"]
    assert "no Q" in refused("measure", "meter", "--dcr", "7.8k", "--reading", "120,4.41")
    assert "write Hz, H, Q" in refused("measure", "meter", "--dcr", "7.8k", "--reading", "120")


def test_meters_reach_the_guitar_file(tmp_path: Path) -> None:
    """L = 4.41 H in series at 120 Hz with 2 %: the coil's own differs from it by less than that, see the fit."""
    out = tmp_path / "measured.guitar.toml"
    usual = ["measure", "meter", "--dcr", "7.8k", "--reading", "120,4.41,0.42", "--reading", "1000,4.02,2.1"]
    body = ask(*usual, "--guitar", DEMO, "-p", "neck", "-o", out)
    learnt = read_guitar(out)
    told = {one.path.rpartition(".")[2]: one for one in learnt.measured}
    assert set(told) == {"resistance_kohm", "inductance_h"}  # the capacitance is not told by two low readings
    assert told["inductance_h"].value == pytest.approx(4.41, rel=0.03)
    assert told["inductance_h"].low < told["inductance_h"].value < told["inductance_h"].high
    assert {one["key"] for one in body["learnt"]} >= {"inductance_120hz_h"}
    assert "go together" in refused(*usual, "--guitar", DEMO)
    assert "is an input of this command" in refused(*usual, "--guitar", DEMO, "-p", "neck", "-o", DEMO)


@pytest.mark.parametrize("name", ["sweep-signal", "impedance", "dcr", "meter"])
def test_help_has_an_example(name: str) -> None:
    result = CliRunner().invoke(app, ["measure", name, "--help"])
    assert result.exit_code == 0
    assert f"Example: polepiece measure {name}" in " ".join(result.stdout.split())
