"""What a person reads: the answer first, the rest on demand, and the same to keep. The plan is a double's."""

import csv
import io
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.bench import State
from polepiece.bench.grades import GradeResult, Grades
from polepiece.cli import grades
from polepiece.cli.answer_lines import answer_lines
from polepiece.cli.commands import app
from polepiece.cli.envelope import assumed_of
from polepiece.guitar import read_guitar
from polepiece.planning import answer_of
from tests.cli.conftest import DEMO, REFERENCE, ask
from tests.cli.test_bad_input import refused
from tests.unit.planning.double_bench import DoubleBench, guitar
from tests.unit.planning.test_plan import plain

IMPEDANCE = ("impedance", REFERENCE, "--frequencies", "0", "--bare")
FIELD = ("field", REFERENCE, "--line", "x=0,y=0:20:10,z=17")


@pytest.fixture(autouse=True)
def muddy(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan of every command here is one that was made on the double."""
    monkeypatch.setattr("polepiece.cli.plan.planned", lambda *_, **__: plain(("neck: muddy",), ()))


def said(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, list(map(str, arguments)))
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_answer_is_all_that_is_printed() -> None:
    whole = read_guitar(DEMO)
    count = len(assumed_of(whole, [whole.pickup("neck")]))
    assert said("plan", DEMO).splitlines() == answer_lines(plain(("neck: muddy",), ()), assumed=count)


def test_why_prints_one_row_in_full() -> None:
    text = " ".join(said("plan", DEMO, "--why", "2").split())
    assert text.startswith("2 neck pickup, screws of the 5th and 6th string one maybe 10 min, free turn down")
    for part in (
        "interval wound against plain strings ",
        "way back ",
        "Risk: ",
        "heard from 1 dB",
        "typed screw5=",
    ):
        assert part in text
    assert "Start here" not in text


def test_a_row_that_is_not_there_is_refused_with_those_that_are() -> None:
    assert "rows are numbered 1 to " in refused("plan", DEMO, "--why", "9999")


def test_all_prints_the_answer_first_and_everything_behind_it() -> None:
    found = plain(("neck: muddy",), ())
    text = said("plan", DEMO, "--all")
    flat = " ".join(text.split())
    assert text.startswith("Neck pickup, muddy.")
    assert flat.index("Start here") < flat.index("dB, 90 %") < flat.index("Refused")
    assert all(row.done.split()[0] in text for row in found.rest)
    assert sum(line.lstrip().startswith(tuple(f"{row.rank} " for row in found.rest)) for line in text.splitlines()) >= (
        len(found.rest)
    )
    assert "Assumed (value, 90 % spread, what would settle it):" in text
    assert "pickups[0]" not in flat.partition("Assumed (value")[2], "what it is, not its key"


def test_json_has_the_answer_beside_what_it_had() -> None:
    body = ask("plan", DEMO)
    assert body["answer"]["start"] == answer_of(plain(("neck: muddy",), ())).start
    assert body["answer"]["rows"][0]["do"] == body["rows"][0]["done"]
    assert body["rows"][0]["likely_heard"] in ("yes", "maybe", "no")
    assert body["rows"][0]["change"] == ["lower_bass=1mm"]


@pytest.mark.parametrize("ending", ["html", "pdf", "csv"])
def test_a_plan_to_keep(ending: str, tmp_path: Path) -> None:
    out = tmp_path / f"plan.{ending}"
    assert str(out.name) in said("plan", DEMO, "--out", out)
    data = out.read_bytes()
    if ending == "pdf":
        assert data.startswith(b"%PDF-")
    elif ending == "csv":
        rows = list(csv.DictReader(io.StringIO(data.decode())))
        shown = [row for row in plain(("neck: muddy",), ()).rows if row.change]
        assert [one["what to do"] for one in rows] == [row.done for row in shown]
        assert [one["heard"] for one in rows] == [row.heard for row in shown]
    else:
        page = data.decode()
        assert '<meta name="generator" content="polepiece">' in page
        assert "Start here: bass side of the neck pickup down" in page
        assert "src=" not in page and "http" not in page.replace("http-equiv", ""), "no outside request"


def test_a_prediction_to_keep_has_every_figure_of_the_terminal_for_programs_to_read(tmp_path: Path) -> None:
    out, command = tmp_path / "lower.csv", ("predict", DEMO, "-p", "neck", "-c", "lower=1mm")
    said(*command, "--out", out)
    rows = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"))))
    through = {row["through"]: row for row in rows if row["through"]}
    assert list(through) == ["clean", "edge", "driven"]
    shown = said(*command)
    for chain, row in through.items():
        assert f"{chain} " in shown and f"{row['lows at once, dB']} dB" in shown and row["in words"] in shown
    (level,) = (row for row in rows if row["quantity"] == "level")
    assert level["unit"] == "dB"
    assert float(level["90 % interval from"]) <= float(level["difference"]) <= float(level["90 % interval to"])


@pytest.mark.parametrize(
    ("command", "name", "holds"),
    [(IMPEDANCE, "z.csv", "|Z| kohm"), (IMPEDANCE, "z.html", "A meter&#39;s inductance"), (FIELD, "b.csv", "|B| mT"),
     (FIELD, "b.html", "Magnet: mean B")],
    ids=lambda one: one if isinstance(one, str) else "",
)  # fmt: skip
def test_tables_to_keep_are_never_written_over_unasked(
    command: tuple[str, ...], name: str, holds: str, tmp_path: Path
) -> None:
    out = tmp_path / name
    out.write_text("mine", encoding="utf-8")
    assert "--replace" in refused(*command, "--out", out)
    assert out.read_text(encoding="utf-8") == "mine"
    said(*command, "--out", out, "--replace")
    assert holds in out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "command",
    [("plan", DEMO), ("predict", DEMO, "-p", "neck", "-c", "lower=1mm"), ("grades", DEMO), IMPEDANCE, FIELD],
    ids=lambda one: one[0],
)
def test_another_ending_is_refused_before_any_work(command: tuple[str, ...], tmp_path: Path) -> None:
    assert ".html, .pdf or .csv" in refused(*command, "--out", tmp_path / "out.docx")
    assert "the folder does not exist" in refused(*command, "--out", tmp_path / "no" / "out.csv")


def test_grades_begin_with_a_sentence() -> None:
    whole, bench = guitar(), DoubleBench()
    before = bench.state(whole, "neck")
    found = Grades(
        pickup="neck", present="alnico-2", charge="outside", before=before,
        results=tuple(_result(grade, level, top, before) for grade, level, top in (
            ("alnico-2", 0.0, 0.0), ("alnico-3", -1.5, 0.1), ("alnico-8", 3.0, 0.4), ("ceramic-8", 2.5, 1.2),
        )),
    )  # fmt: skip
    assert grades.told(found) == (
        "In the neck pickup at the same gap, against the Alnico 2 that is in: at the loud end Alnico 8, 3.0 dB louder "
        "(2.8 to 3.2); at the quiet end Alnico 3, 1.5 dB quieter (1.3 to 1.7). Beside the level the most is with "
        "Ceramic 8, 1.2 dB more presence: maybe heard, side by side."
    )


def _result(grade: str, level: float, top: float, state: State) -> GradeResult:
    moved = {"level_db": level, "bands_db.presence": top}
    return GradeResult(grade=grade, state=state, difference=moved, interval={"level_db": (level - 0.2, level + 0.2)})
