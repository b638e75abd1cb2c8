"""``polepiece worksheet``: files that are named, refusals before the work, and JSON."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from tests.cli.conftest import DEMO, ask

JOB = ("worksheet", str(DEMO), "--pickup", "neck", "--change", "lower=0.3mm", "--draws", "8")


def test_help_has_an_example() -> None:
    result = CliRunner().invoke(app, ["worksheet", "--help"])
    assert result.exit_code == 0
    assert "Example: polepiece worksheet" in " ".join(result.stdout.split())


def test_html_and_json_say_the_same(tmp_path: Path) -> None:
    target = tmp_path / "sheets" / "neck.html"
    body = ask(*JOB, "--customer", "A. Player", "--job", "17", "--out", target)
    assert body["schema"] == "polepiece/worksheet/1"
    assert body["files"] == [str(target)]
    assert body["customer"] == "A. Player"
    assert "A. Player" in target.read_text(encoding="utf-8")
    assert [one.name for one in target.parent.iterdir()] == ["neck.html"]


def test_pdf(tmp_path: Path) -> None:
    pytest.importorskip("weasyprint")
    result = CliRunner().invoke(app, [*JOB, "--out", str(tmp_path / "neck.pdf"), "--paper", "letter"])
    assert result.exit_code == 0, result.output
    assert (tmp_path / "neck.pdf").read_bytes().startswith(b"%PDF-")


def test_without_a_file_the_bench_part_is_shown() -> None:
    result = CliRunner().invoke(app, list(JOB))
    assert result.exit_code == 0
    assert "Baseline, before anything is loosened" in result.stdout
    assert "gap, bass side: 2.6 mm (2.5 to 2.7)" in result.stdout


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--out", "sheet.docx"), "ends in .docx"),
        (("--paper", "a5"), "allowed are a4 and letter"),
        (("--bars", "alnico-4"), "no bar goes in"),
        (("--bar-size", "63x12"), "length x width x thickness"),
        (("--bar-size", "2.5x0.5x0.125mm"), "inches given as mm"),
    ],
)
def test_slips_are_refused_with_the_way_out(more: tuple[str, ...], words: str) -> None:
    result = CliRunner().invoke(app, [*JOB, *more])
    assert result.exit_code == 2
    assert words in result.stderr


def test_it_is_of_the_position_that_is_named() -> None:
    body = ask(*JOB, "--position", "both")
    assert body["position"] == "both" and body["position_words"].startswith("Heard in the position both; ")
    shown = CliRunner().invoke(app, [*JOB, "--position", "both"])
    assert "Heard in the position both;" in shown.stdout
    refused = CliRunner().invoke(app, [*JOB, "--position", "bridge"])
    assert refused.exit_code == 2 and "not on in the position bridge" in refused.stderr


def test_a_gap_that_nobody_read_is_said_to_be_assumed(tmp_path: Path) -> None:
    """A bare figure beside measured ones with their range looked the surer of the two."""
    said = [one for one in DEMO.read_text(encoding="utf-8").splitlines() if not one.startswith("gap_treble")]
    unread = tmp_path / "unread.guitar.toml"
    unread.write_text("\n".join(said), encoding="utf-8")
    result = CliRunner().invoke(app, ["worksheet", str(unread), *JOB[2:]])
    assert result.exit_code == 0, result.output
    gaps = [line for line in result.stdout.splitlines() if "gap, treble side" in line]
    assert gaps[0].endswith("mm (assumed)")
    assert not any("(assumed)" in line for line in result.stdout.splitlines() if "gap, bass side" in line)
