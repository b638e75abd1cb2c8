"""Tables in, curves and circuits out, on the command line."""

import csv
import hashlib
import json
import zipfile
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.notebook import photos_folder
from tests.cli.conftest import ROOT, ask
from tests.reference.spice import FOUND
from tests.unit.circuit.test_two_terminal import simulated

SINGLE = ROOT / "examples" / "hardly-known.guitar.toml"


def columns_of(path: Path) -> dict[str, np.ndarray]:
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    return dict(zip(head, np.array(rows, dtype=float).T, strict=True))


@pytest.mark.skipif(FOUND is None, reason="ngspice is not installed (Debian: apt-get install ngspice)")
def test_ngspice_has_the_impedance_that_is_computed(tmp_path: Path) -> None:
    """1e-3 of |Z| and rad from 50 Hz to 20 kHz: a tenth of what a good meter tells."""
    curve, net = tmp_path / "z.csv", tmp_path / "z.cir"
    ask("impedance", SINGLE, "--pickup", "bridge", "--curve", curve, "--spice", net)
    found = columns_of(curve)
    z = found["magnitude_ohm"] * np.exp(1j * np.radians(found["phase_deg"]))
    assert np.allclose(z, found["resistance_ohm"] + 1j * found["reactance_ohm"], rtol=1e-7)  # nine digits are written
    hertz, simulation = simulated(net.read_text(encoding="utf-8"), tmp_path)
    log_z = np.log(found["magnitude_ohm"]) + 1j * np.unwrap(np.radians(found["phase_deg"]))
    computed = np.exp(CubicSpline(np.log(found["frequency_hz"]), log_z)(np.log(hertz)))  # 24 an octave: exact to 1e-5
    assert np.max(np.abs(np.abs(simulation / computed) - 1.0)) < 1e-3
    assert np.max(np.abs(np.angle(simulation / computed))) < 1e-3


def test_predict_writes_the_curve_of_every_state(tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    body = ask("predict", SINGLE, "-p", "bridge", "-c", "volume_pot=250k", "--draws", "8", "--curve", path)
    found = columns_of(path)
    before, after = (found[f"{name} (dB re 1 V s/m)"] for name in ("before", "after"))
    hertz = found["frequency_hz"]
    moved = np.interp(body["before"]["resonance_hz"], hertz, after - before)
    assert moved < -0.5  # a smaller pot damps the peak; by more than half a dB whatever the pickup


def test_a_curve_has_to_be_csv_and_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    path.write_text("mine", encoding="utf-8")
    for name, words in ((path, "is there"), (tmp_path / "curve.xlsx", ".csv")):
        result = CliRunner().invoke(app, ["impedance", str(SINGLE), "-p", "bridge", "--curve", str(name)])
        assert result.exit_code == 2 and words in result.output
    assert path.read_text(encoding="utf-8") == "mine"


def test_columns_said_once_are_known_from_then_on(tmp_path: Path) -> None:
    book, table = tmp_path / "book.sqlite", tmp_path / "gauss.csv"
    table.write_text("Saite;Feld\n1;38,1\n2;40\n", encoding="utf-8")
    first = CliRunner().invoke(app, ["measure", "table", str(table), "--notebook", str(book)])
    assert first.exit_code == 2 and "--column" in first.output
    said = ("--column", "Feld=flux density mT", "--column", "Saite=pole")
    body = ask("measure", "table", table, *said, "--notebook", book)
    again = ask("measure", "table", table, "--notebook", book)
    assert again["poles"] == body["poles"] and [one["pole"] for one in again["poles"]] == [1, 2]
    lines = ask("log", "--notebook", book)["lines"]
    assert len(lines) == 1 and "feld is flux density mT" in lines[0]["words"]


def test_meters_of_a_table_are_those_typed(tmp_path: Path) -> None:
    table = tmp_path / "lcr.csv"
    table.write_text("Hz;L [H];Q;DCR [kohm]\n120;4,41;0,41;7,8\n1000;4,02;2,1;7,8\n", encoding="utf-8")
    typed = ask("measure", "meter", "--dcr", "7.8k", "--reading", "120,4.41,0.41", "--reading", "1000,4.02,2.1")
    read = ask("measure", "meter", "--table", table, "--notebook", tmp_path / "book.sqlite")
    assert read["estimates"] == typed["estimates"]
    assert not (tmp_path / "book.sqlite").exists()  # only looked for


def test_a_photo_is_kept_with_its_guitar_and_carried_by_its_archive(tmp_path: Path) -> None:
    book, photo = tmp_path / "book.sqlite", tmp_path / "bar.png"
    photo.write_bytes(b"\x89PNG\r\n\x1a\n1")
    ask("log", "--keep", SINGLE, "--notebook", book)
    kept = ask("log", "1", "--photo", photo, "--note", "the bar", "--notebook", book)
    assert Path(kept["file"]).read_bytes() == photo.read_bytes() and kept["label"] == "the bar"
    assert ask("export", "1", "--out", tmp_path / "one.zip", "--notebook", book)["photos_left_out"] == []
    other = tmp_path / "other.sqlite"
    ask("import", tmp_path / "one.zip", "--notebook", other)
    assert [one.read_bytes() for one in photos_folder(other).iterdir()] == [photo.read_bytes()]
    assert ask("notebook", "check", "--notebook", other)["faults"] == []
    Path(kept["file"]).unlink()
    assert len(ask("notebook", "check", "--notebook", book)["faults"]) == 1
    again = ask("export", "1", "--out", tmp_path / "two.zip", "--notebook", book)
    assert again["photos_left_out"] == [kept["file"]]
    ask("import", tmp_path / "two.zip", "--notebook", tmp_path / "third.sqlite")  # its line without its file


@pytest.mark.parametrize("change", ["bytes", "name", "kind", "stray"])
def test_an_archive_with_a_wrong_photo_is_refused(tmp_path: Path, change: str) -> None:
    book, photo = tmp_path / "book.sqlite", tmp_path / "bar.png"
    photo.write_bytes(b"\x89PNG\r\n\x1a\n1")
    ask("log", "--keep", SINGLE, "--notebook", book)
    ask("log", "1", "--photo", photo, "--notebook", book)
    ask("export", "1", "--out", tmp_path / "one.zip", "--notebook", book)
    with zipfile.ZipFile(tmp_path / "one.zip") as packed:
        members = {one: packed.read(one) for one in packed.namelist()}
    (name,) = (one for one in members if one.startswith("photos/"))
    data = members.pop(name)
    if change == "bytes":
        data += b"2"
    elif change == "name":
        name = "photos/" + "0" * 64 + ".png"
    elif change == "kind":
        name = name.replace(".png", ".jpg")
    else:
        members[name], name, data = data, "photos/" + hashlib.sha256(data + b"2").hexdigest() + ".png", data + b"2"
    members[name] = data
    head = json.loads(members.pop("manifest.json"))
    head["members"] = {
        one: {"sha256": hashlib.sha256(body).hexdigest(), "bytes": len(body)} for one, body in members.items()
    }
    with zipfile.ZipFile(tmp_path / "two.zip", "w") as packed:
        for one, body in {**members, "manifest.json": json.dumps(head).encode()}.items():
            packed.writestr(one, body)
    other = tmp_path / "other.sqlite"
    result = CliRunner().invoke(app, ["import", str(tmp_path / "two.zip"), "--notebook", str(other)])
    assert result.exit_code == 2 and "photos/" in result.output and "Nothing was imported" in result.output
    assert not photos_folder(other).exists()
