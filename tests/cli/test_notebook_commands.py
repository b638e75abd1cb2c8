"""log, drawer, export, import: words in, entries out, and what is refused is refused before anything is written."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from polepiece.cli.commands import app
from polepiece.cli.drawer import size_of
from polepiece.cli.log import moment_of
from polepiece.errors import InputError
from polepiece.guitar import parse_guitar, read_guitar
from polepiece.notebook import open_notebook
from tests.cli.conftest import DEMO, strict
from tests.cli.test_surface import against


class Shop:
    """Runs commands against a notebook of its own."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def run(self, *arguments: "str | Path") -> Result:
        return CliRunner().invoke(app, [*map(str, arguments), "--notebook", str(self.path)])

    def says(self, *arguments: "str | Path") -> str:
        result = self.run(*arguments)
        assert result.exit_code == 0, result.output
        return " ".join(result.stdout.split())

    def object(self, *arguments: "str | Path") -> dict[str, Any]:
        result = self.run(*arguments, "--json")
        assert result.exit_code in (0, 1), result.output
        body = strict(result.stdout)
        assert {"schema", "version", "constants", "seed", "assumed"} <= set(body)
        return body

    def refuses(self, *arguments: "str | Path") -> str:
        result = self.run(*arguments)
        assert result.exit_code == 2, result.output
        assert result.stdout == ""
        assert "Traceback" not in result.stderr
        assert "\n" not in result.stderr.strip()
        return result.stderr


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path / "shop.sqlite")


@pytest.fixture
def lowered(tmp_path: Path) -> Path:
    """The demo guitar with the neck pickup's bass side lowered."""
    path = tmp_path / "lowered.guitar.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace("gap_bass_mm = 2.6", "gap_bass_mm = 3.1"), "utf-8")
    return path


def test_a_guitar_is_kept_changed_undone_and_looked_back_at(shop: Shop, lowered: Path) -> None:
    assert "Nothing is on record yet" in shop.says("log")
    assert "is in state 1: came in muddy" in shop.says("log", "--keep", DEMO, "--why", "came in muddy", "--name", "12")
    assert "is in state 2: bass side down" in shop.says("log", "12", "--keep", lowered, "--why", "bass side down")
    assert "is in state 3: back to state 1" in shop.says("log", "1", "--undo")
    assert "is in state 4: again as in state 2" in shop.says("log", "1", "--redo")
    history = shop.says("log", "12")
    assert "12 (guitar 1, now in state 4)" in history
    assert history.index("came in muddy") < history.index("bass side down") < history.index("undone")
    today = f"{datetime.now():%Y-%m-%d}"
    assert parse_guitar(shop.run("log", "1", "--as-on", today).stdout) == read_guitar(lowered)


def test_the_log_as_an_object(shop: Shop) -> None:
    kept = shop.object("log", "--keep", DEMO)
    assert kept["schema"] == "polepiece/log-state/1"
    assert parse_guitar(kept["state"]["text"]) == read_guitar(DEMO)
    shop.says("log", "1", "--note", "new strings, 10-46")
    body = shop.object("log")
    assert body["schema"] == "polepiece/log/1"
    assert [one["words"] for one in body["lines"]][1:] == ["new strings, 10-46"]
    assert [one["id"] for one in body["guitars"]] == [1]
    assert shop.object("log", "1", "--as-on", "2999-01-01")["state"]["id"] == 1


def test_a_note_of_the_shop_and_of_a_guitar(shop: Shop) -> None:
    shop.says("log", "--keep", DEMO)
    assert "closed in August" in shop.says("log", "--note", "closed in August")
    assert "phase checked" in shop.says("log", "1", "--note", "phase checked")
    with open_notebook(shop.path) as notebook:
        assert [(one.guitar_id, one.text) for one in notebook.notes()] == [
            (None, "closed in August"),
            (1, "phase checked"),
        ]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--undo",), "needs to know which guitar"),
        (("--as-on", "2026-03-03"), "needs to know which guitar"),
        (("1", "--undo", "--redo"), "one at a time"),
        (("1", "--why", "x"), "belong to --keep"),
        (("1", "--note", " "), "is empty"),
        (("9",), "there is no guitar '9'"),
        (("1", "--undo"), "nothing to undo"),
        (("1", "--as-on", "last spring"), "is not a date"),
        (("1", "--as-on", "1999-01-01"), "came on record at"),
        (("1", "--keep", str(DEMO)), "say what was done"),
        (("1", "--keep", str(DEMO), "--why", "x", "--name", "y"), "for a new guitar"),
        (("--keep", "none.toml"), "no such file"),
    ],
)
def test_what_log_refuses(shop: Shop, arguments: tuple[str, ...], words: str) -> None:
    shop.says("log", "--keep", DEMO)
    assert words in shop.refuses("log", *arguments)
    with open_notebook(shop.path) as notebook:
        assert len(notebook.log()) == 1


def test_a_date_means_its_last_moment_here() -> None:
    found = moment_of("2026-03-03")
    assert (found.hour, found.minute) == (23, 59)
    assert found.tzinfo is not None
    assert moment_of("2026-03-03T14:30").hour == 14
    assert moment_of("2026-03-03T14:30+00:00").isoformat() != ""
    assert moment_of("2026-03-03T14:30+00:00") == datetime.fromisoformat("2026-03-03T14:30+00:00")


def test_parts_come_and_go(shop: Shop) -> None:
    assert "The drawer is empty" in shop.says("drawer")
    added = shop.says(
        "drawer", "add", "bar", "--grade", "alnico-3", "--size", "63,5 x 12.7 x 3.2mm", "--gauss", "-310",
        "--at", "end face", "--price", "9 eur",
    )  # fmt: skip
    assert "bar, alnico-3, 63.5 x 12.7 x 3.2 mm, -310 gauss (end face), 9 EUR" in added
    shop.says("drawer", "add", "bar", "--grade", "alnico-5-rough-cast")
    assert "owned=alnico-3,alnico-5-rough-cast" in shop.says("drawer")
    shop.says("drawer", "retire", "1", "--why", "sold")
    assert [one["id"] for one in shop.object("drawer")["parts"]] == [2]
    gone, _ = shop.object("drawer", "--all")["parts"]
    assert (gone["why"], gone["price"], gone["length_mm"]) == ("sold", "9", 63.5)
    assert shop.object("drawer", "--all")["owned"] == ["alnico-5-rough-cast"]


def test_bars_are_held_against_a_guitar(shop: Shop, tmp_path: Path) -> None:
    file = tmp_path / "measured.guitar.toml"
    measured = "bar_length_mm = 63.5\nbar_width_mm = 12.7\nbar_thickness_mm = 3.2\n"
    file.write_text(
        DEMO.read_text(encoding="utf-8").replace('grade = "alnico-2"\n', f'grade = "alnico-2"\n{measured}'), "utf-8"
    )
    shop.says("drawer", "add", "bar", "--grade", "ceramic-8", "--size", "63.5 x 12.7 x 4")
    assert shop.run("drawer", "--fit", file, "--pickup", "neck").exit_code == 1  # nothing in it goes in
    shop.says("drawer", "add", "bar", "--grade", "alnico-3", "--size", "63.5 x 12.7 x 3.2")
    words = shop.says("drawer", "--fit", file, "--pickup", "neck")
    assert "too large (thickness)" in words
    assert "bobbins" in words
    shop.says("log", "--keep", file, "--name", "measured")
    bodies = shop.object("drawer", "--fit", "measured")["parts"]
    assert [[one["verdict"] for one in body["fit"]] for body in bodies] == [
        ["too large", "too large"],
        ["fits", "measure first"],  # the bar of the bridge pickup was not measured
    ]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("add",), "say what it is"),
        (("add", "blade"), "kind is 'blade'"),
        (("add", "bar", "--grade", "3"), "alnico-3"),
        (("add", "bar", "--size", "63.5"), "length x width x thickness"),
        (("add", "bar", "--size", "2.5 x 0.5 x 0.125"), "in inches"),
        (("add", "bar", "--price", "9"), "with its currency"),
        (("add", "bar", "--gauss", "300"), "gauss_at"),
        (("retire", "1"), "the number of the part and the reason"),
        (("retire", "1", "--why", "sold"), "no part 1"),
        (("list", "neck"), "was --fit neck meant"),
        (("empty",), "list, add and retire"),
        (("--fit", "nobody"), "there is no guitar 'nobody'"),
    ],
)
def test_what_drawer_refuses(shop: Shop, arguments: tuple[str, ...], words: str) -> None:
    assert words in shop.refuses("drawer", *arguments)


def test_sizes_as_people_write_them() -> None:
    assert size_of("63.5 x 12.7 x 3.2") == (63.5, 12.7, 3.2)
    assert size_of("63,5×12,7×3,2 mm") == (63.5, 12.7, 3.2)
    assert size_of("60 x ? x 3.2") == (60.0, None, 3.2)
    with pytest.raises(InputError, match=r"not a number.*Write mm"):
        size_of("a x b x c")


def test_a_guitar_goes_out_and_comes_in(shop: Shop, lowered: Path, tmp_path: Path) -> None:
    shop.says("log", "--keep", DEMO)
    shop.says("log", "1", "--keep", lowered, "--why", "bass side down")
    archive = tmp_path / "one.zip"
    assert f"written to {archive}" in shop.says("export", "1", "--out", archive)
    assert "is there already" in shop.refuses("export", "1", "--out", archive)
    assert shop.object("export", "1", "--out", archive, "--replace")["bytes"] == archive.stat().st_size
    assert "is here already" in shop.refuses("import", archive)
    other = Shop(tmp_path / "other.sqlite")
    assert "2 states, now in state 2" in other.says("import", archive)
    assert [one["words"] for one in other.object("log")["lines"]] == [
        one["words"] for one in shop.object("log")["lines"]
    ]


def test_everything_goes_out_and_comes_in(shop: Shop, tmp_path: Path) -> None:
    shop.says("drawer", "add", "pot", "--kohm", "480")
    shop.says("export", "--all", "--out", tmp_path / "all.zip")
    other = Shop(tmp_path / "other.sqlite")
    assert "no guitar in it" in other.says("import", tmp_path / "all.zip")
    assert "pot, 480 kohm" in other.says("drawer")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("export",), "name one guitar"),
        (("export", "1", "--all", "--out", "x.zip"), "name one guitar"),
        (("export", "1"), "say where to"),
        (("export", "1", "--out", "x.zip"), "there is no guitar '1'"),
        (("import", "none.zip"), "no such file"),
        (("import", str(DEMO)), "is not a zip archive"),
    ],
)
def test_what_export_and_import_refuse(shop: Shop, arguments: tuple[str, ...], words: str) -> None:
    assert words in shop.refuses(*arguments)


def test_a_notebook_that_is_none(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear customer, " * 100, "utf-8")
    assert "is not a notebook" in Shop(path).refuses("log")


@pytest.mark.parametrize("name", ["log", "drawer", "export", "import"])
def test_help_has_an_example_json_and_the_notebook(name: str) -> None:
    result = CliRunner().invoke(app, [name, "--help"])
    words = " ".join(result.stdout.split())
    assert result.exit_code == 0
    assert f"Example: polepiece {name}" in words
    assert "--json" in words
    assert "--notebook" in words


def test_the_environment_chooses_a_notebook(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(shop.path))
    result = CliRunner().invoke(app, ["log", "--note", "in the shop"])
    assert result.exit_code == 0, result.output
    with open_notebook(shop.path) as notebook:
        assert [one.words for one in notebook.log()] == ["in the shop"]


def test_the_objects_have_the_keys_that_others_script_against(shop: Shop, tmp_path: Path) -> None:
    against("log-state", shop.object("log", "--keep", DEMO, "--name", "12"))
    against("log", shop.object("log"))
    shop.says("drawer", "add", "bar", "--grade", "alnico-3", "--size", "63.5 x 12.7 x 3.2", "--price", "9 EUR")
    against("drawer", shop.object("drawer", "--fit", DEMO))
    against("export", shop.object("export", "12", "--out", tmp_path / "12.zip"))
    against("import", Shop(tmp_path / "other.sqlite").object("import", tmp_path / "12.zip"))
