"""``polepiece prove``: records in, a ledger out, kept and exported; what is no record is named."""

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.guitar import read_guitar
from polepiece.measure import BlindTrial, Ledger, TrialPlan
from polepiece.notebook import export_guitar, import_guitar, open_notebook
from tests.cli.conftest import DEMO, ask
from tests.unit.measure.test_blind import played_through

ASK = ("prove", DEMO, "--pickup", "neck", "--change", "magnet=alnico-3", "--date", "2026-11-27")
PLUCKS = "polepiece/pluck-comparison/1"


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Records as other commands keep them; all figures are invented."""
    where = tmp_path_factory.mktemp("records")
    trial = BlindTrial(plan=TrialPlan(), seed=4, date="2026-11-27")
    over = played_through(trial, right=7)
    level = {"name": "level_db", "value": -0.6, "low": -0.9, "high": -0.3, "unit": "dB", "told": True, "least": 0.3}
    of = {"guitar": read_guitar(DEMO).name, "pickup": "neck", "changes": ["magnet=alnico-3"]}
    told = over.to_dict()
    bodies = {"trial": told | {"of": of}, "started": trial.answered("A").to_dict() | {"of": of}, "of nothing": told,
              "of another pickup": told | {"of": of | {"pickup": "bridge"}},
              "of another guitar": told | {"of": of | {"guitar": "another"}},
              "of another bar": told | {"of": of | {"changes": ["magnet=alnico-2"]}},
              "of other words": told | {"of": of | {"changes": ["as it is \u2192 Alnico 3"]}},
              "of other states": told | {"of": of | {"changes": ["as it is \u2192 x"], "before": "a", "after": "b"}},
              "of both pickups": told | {"of": of | {"position": "both"}},
              "plucks": {"schema": PLUCKS, "estimates": [level]}, "empty": {"schema": PLUCKS},
              "other": {"schema": "polepiece/pickup-transfer/1", "estimates": [level]}}  # fmt: skip
    for name, body in bodies.items():
        (where / f"{name}.json").write_text(json.dumps(body), encoding="utf-8")
    return {name: where / f"{name}.json" for name in bodies}


def test_a_ledger_from_records(records: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "ledger.csv"
    body = ask(*ASK, "--plucks", records["plucks"], "--heard", records["trial"], "--dcr-before", "7.9k",
               "--dcr-after", "7.88k", "--gauss-after", "1=-26mT", "--out", out)  # fmt: skip
    assert body["schema"] == "polepiece/prove/1"
    ledger = Ledger.from_dict(body["ledger"])
    assert ledger.date == "2026-11-27"
    assert ledger["level_db"].word == "agrees"
    assert ledger["dc_resistance_ohm"].word == "agrees"
    assert ledger["pole_field_mt@after"].measured is not None
    assert ledger["inductance_120hz_h"].word == "not measured"
    assert ledger["heard"].heard is not None
    assert set(ledger.provenance["files"]) == {"plucks.json", "trial.json"}
    with out.open(encoding="utf-8", newline="") as file:
        rows = {(one["key"], one["of"]): one for one in csv.DictReader(file)}
    level = rows["level_db", "difference"]
    assert (float(level["measured"]), level["word"]) == (-0.6, "agrees")
    assert float(level["computed_low"]) < float(level["computed"]) < float(level["computed_high"])


def test_for_people_and_as_a_page(records: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "ledger.html"
    asked = [*map(str, ASK), "--plucks", str(records["plucks"]), "--heard", str(records["trial"]), "-o", str(out)]
    result = CliRunner().invoke(app, asked)
    assert result.exit_code == 0, result.output
    assert "7 of 16 right" in result.stdout
    assert "12 right or more: heard" in result.stdout
    assert "Computed and not measured: lows" in result.stdout
    page = out.read_text(encoding="utf-8")
    assert "agrees" in page
    assert "7 of 16 right" in page
    assert "http" not in page.replace("http-equiv", "")  # nothing is asked of another machine
    assert "<script" not in page


def test_a_ledger_is_kept_and_travels(records: dict[str, Path], tmp_path: Path) -> None:
    book = tmp_path / "shop.sqlite"
    with open_notebook(book) as shop:
        entry = shop.add_guitar(read_guitar(DEMO))
    body = ask(*ASK, "--plucks", records["plucks"], "--keep", entry.name, "--notebook", book)
    assert "kept as entry" in body["kept"]
    assert "1 of 1 measured values" in body["kept"]
    with open_notebook(book) as shop, open_notebook(tmp_path / "other.sqlite") as other:
        (kept,) = shop.ledgers(entry.id)
        assert kept.sort == "swap"
        assert "agrees: 1" in kept.text
        assert kept.body == body["ledger"]
        export_guitar(shop, entry.id, tmp_path / "guitar.zip")
        there = import_guitar(other, tmp_path / "guitar.zip")
        (again,) = other.ledgers(there.id)
        assert again.body is not None
        assert Ledger.from_dict(again.body) == Ledger.from_dict(body["ledger"])


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--plucks", "empty"], "lacks 'estimates'"),
        (["--plucks", "other"], "polepiece/pickup-transfer/1"),
        (["--plucks", str(DEMO)], "no JSON record of plucks"),
        (["--heard", "plucks"], "polepiece/blind-trial/2"),
        (["--heard", "started"], "after the last"),
        (["--heard", "of nothing"], "does not say what was heard"),
        (["--heard", "of another pickup"], "of the pickup bridge, not of neck"),
        (["--heard", "of another guitar"], "on another, not of magnet=alnico-3"),
        (["--heard", "of another bar"], "is of magnet=alnico-2 on"),
        (["--heard", "of other words"], "not of magnet=alnico-3"),
        (["--heard", "of other states"], "not of magnet=alnico-3"),
        (["--heard", "of both pickups"], "judged in"),
        (["--before-impedance", "trial"], "polepiece/measured-pickup/1"),
        (["--before-impedance", "/no/such.json"], "there is no such file"),
        (["--dcr-before", "7,900"], "as thousands"),
        (["--out", "x.txt"], ".csv, .html or .json"),
        (["--notebook", "x.sqlite"], "belongs to --keep"),
        (["--gauss-before", "1=38"], "has no unit"),
    ],
)
def test_slips(records: dict[str, Path], options: list[str], words: str) -> None:
    given = [str(records.get(one, one)) for one in options]
    result = CliRunner().invoke(app, [*map(str, ASK), *given])
    assert result.exit_code == 2, result.output
    assert words in result.stderr


READINGS = """\
Zeitpunkt;Saite;Feld;Freq (Hz);Ls [H];DCR [kohm];Bemerkung
before;1;31,2;;;
before;2;-30,4;;;
before;;;120;{first};{ohms}
after;1;24,9;;;
after;2;-24,1;;;
after;;;120;{second};{ohms}
after;;;100;{second};
"""
SAID = ("--column", "Zeitpunkt=side", "--column", "Saite=pole", "--column", "Feld=flux density mT")


def test_readings_of_a_table_go_into_the_ledger(tmp_path: Path) -> None:
    """Another meter's words, another guitar than the demo: said once, known to the notebook from then on."""
    told = READINGS.format(first="4,30", second="4,35", ohms="7,88")
    table, book = tmp_path / "messwerte.csv", tmp_path / "book.sqlite"
    table.write_text(told, encoding="utf-8")
    first = ask(*ASK, "--table", table, "--notebook", book, *SAID)
    ledger = Ledger.from_dict(first["ledger"])
    line = ledger["inductance_120hz_h"]
    assert line.measured is not None
    assert line.measured.value == pytest.approx(0.05)  # 4.35 less 4.30 H, as typed
    assert ledger["dc_resistance_ohm"].measured is not None
    assert ledger["pole_field_mt@before"].measured is not None
    assert ledger["pole_field_mt@after"].measured is not None
    assert set(ledger.provenance["files"]) == {"messwerte.csv"}
    assert any("100 Hz" in one for one in ledger.notes)
    assert any("not used: Bemerkung" in one for one in ledger.notes)
    again = ask(*ASK, "--table", table, "--notebook", book)  # not said again
    assert [one["key"] for one in again["ledger"]["entries"]] == [one["key"] for one in first["ledger"]["entries"]]
    assert again["ledger"]["entries"] == first["ledger"]["entries"]


def test_what_a_table_cannot_say_is_refused_in_words(tmp_path: Path) -> None:
    both = tmp_path / "both.csv"
    both.write_text("side,DCR [kohm]\nbefore,7.9\nlater,7.9\n", encoding="utf-8")
    bare = tmp_path / "bare.csv"
    bare.write_text("DCR [kohm]\n7.9\n", encoding="utf-8")
    nothing = tmp_path / "nothing.csv"
    nothing.write_text("side,temperature [C]\nbefore,21\n", encoding="utf-8")
    for words, more in (
        ("the side is 'later'", ("--table", both)),
        ("--table-before or --table-after", ("--table", bare)),
        ("given twice", ("--table-after", bare, "--dcr-after", "7.9k")),
        ("nothing that a ledger compares", ("--table", nothing)),
        ("belong to --table", ("--column", "x=pole")),
    ):
        result = CliRunner().invoke(app, [*map(str, (*ASK, *more))])
        assert result.exit_code == 2, result.output
        assert words in " ".join(result.output.split()), result.output
