"""``polepiece measure gauss``: a charge from readings, handed over into a copy of the file; slips are named."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.guitar import read_guitar
from tests.cli.conftest import DEMO, ask

BRIDGE = ("measure", "gauss", DEMO, "--pickup", "bridge", "--probe-height-mm", "0,5")


def test_readings_in_both_units_and_both_commas() -> None:
    body = ask(*BRIDGE, "--reading", "1=-30mT", "--reading", "2=-300G", "--reading", "slug3 = 30,0 mT")
    assert body["schema"] == "polepiece/measure-gauss/1"
    assert [one["read_t"] for one in body["poles"]] == pytest.approx([-0.03, -0.03, 0.03])
    assert body["polarity"] == "as in the file"
    value, low, high = body["fraction"]
    assert low < value < high <= 1.0
    assert body["learnt"] is None
    assert body["probe"] == pytest.approx({"height_m": 5e-4, "low_m": 4e-4, "high_m": 6e-4, "size_m": 2e-3})


def test_the_charge_goes_into_a_copy(tmp_path: Path) -> None:
    out = tmp_path / "read.guitar.toml"
    body = ask(*BRIDGE, "-r", "1=-22mT", "-r", "2=-20mT", "--out", out, "--date", "2026-11-27",
               "--change", "magnet=alnico-2")  # fmt: skip
    copy = read_guitar(out)
    assert copy.pickup("bridge").magnet.charge == pytest.approx(body["fraction"][0], abs=1e-3)
    assert {one.date for one in copy.measured} == {"2026-11-27"}
    assert "weak" in body["flags"]
    level = next(one for one in body["learnt"] if one["key"] == "level_db")
    (a, b), (c, d) = level["interval_before"], level["interval_after"]
    assert d - c < 0.95 * (b - a)  # two poles only; where the strings run beside their poles stays open
    assert c > b  # the old bar was weaker than anybody assumed
    again = CliRunner().invoke(app, [*map(str, BRIDGE), "-r", "1=-22mT", "-o", str(tmp_path / "2.toml")])
    assert "width left" in again.stdout
    assert "Charge: 0.6" in again.stdout


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["-r", "1=38"], "has no unit"),
        (["-r", "9=38mT"], "no pole 9"),
        (["-r", "1=38mT", "-r", "1=380G"], "given twice"),
        (["-r", "1=38mT", "--accuracy", "x"], "Write a plain number"),
        (["-r", "1=38mT", "--date", "27.11.2026"], "write 2026-11-25"),
        (["-r", "1=38mT", "--change", "magnet=alnico-2"], "belongs to --out"),
        (["-r", "1=38mT", "--out", str(DEMO)], "is an input"),
        (["-r", "1=38mT", "--out", "/no/such/folder/x.toml"], "does not exist"),
        (["-r", "1=80mT", "--out", "/tmp/never-written.toml"], "too strong"),
    ],
)
def test_slips(options: list[str], words: str) -> None:
    result = CliRunner().invoke(app, [*map(str, BRIDGE), *options])
    assert result.exit_code == 2, result.output
    assert words in result.stderr
    assert not Path("/tmp/never-written.toml").exists()
