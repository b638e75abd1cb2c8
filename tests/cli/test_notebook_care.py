"""Looking after the notebook on the command line: check, backup, restore, rescue, merge; a damaged one is shown."""

import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.cli.log import local_words, moment_of
from polepiece.errors import InputError
from polepiece.notebook import backup_to
from tests.cli.conftest import DEMO
from tests.cli.test_notebook_commands import Shop
from tests.unit.notebook.test_chain import without_triggers


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with a guitar in two states and a note."""
    made = Shop(tmp_path / "shop.sqlite")
    made.says("log", "--keep", DEMO, "--name", "117")
    made.says("log", "117", "--keep", DEMO, "--why", "strings")
    made.says("log", "117", "--note", "a line")
    return made


def test_a_whole_notebook(shop: Shop) -> None:
    assert "3 of 3 entries are whole" in shop.says("notebook", "check")
    body = shop.object("notebook", "check")
    assert (body["good"], body["faults"], body["whole"]) == (True, [], 3)


def test_a_damaged_notebook_is_said_shown_and_saved(shop: Shop, tmp_path: Path) -> None:
    without_triggers(shop.path, "UPDATE notes SET text = 'another'")
    result = shop.run("notebook", "check")
    assert result.exit_code == 1
    assert "2 of 3 entries are whole" in result.stdout
    assert "Damage: entry 3: it does not say what was sealed" in result.stdout
    assert shop.object("notebook", "check")["good"] is False

    result = shop.run("log", "117")
    assert result.exit_code == 0
    assert "strings" in result.stdout
    assert "another" not in result.stdout
    assert "is damaged" in result.stderr
    assert "open for reading only" in result.stderr
    assert "is damaged" in shop.refuses("log", "117", "--note", "x")
    assert shop.run("export", "117", "--out", tmp_path / "kept.zip").exit_code == 0

    result = shop.run("notebook", "rescue", "--out", tmp_path / "new.sqlite")
    assert result.exit_code == 1
    assert "2 entries kept, 1 lost" in result.stdout
    assert "Lost: entry 3" in result.stdout
    assert "2 of 2 entries are whole" in Shop(tmp_path / "new.sqlite").says("notebook", "check")
    body = shop.object("notebook", "rescue", "--out", tmp_path / "again.sqlite")
    assert body["lost"] == [{"entry": 3, "words": "it does not say what was sealed", "whole": False}]


def test_a_copy_and_putting_it_back(shop: Shop, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    assert "is a whole notebook" in shop.says("notebook", "backup", "--out", copy)
    assert "is there already" in shop.refuses("notebook", "backup", "--out", copy)
    assert "0 backups. Kept are those of the last 7 days of use" in shop.says("notebook", "backup")
    shop.says("log", "117", "--note", "later")
    assert "is a copy of" in shop.says("notebook", "restore", copy)
    assert "later" not in shop.says("log", "117")
    assert (tmp_path / "shop.sqlite-replaced-1").is_file()
    assert "no such file" in shop.refuses("notebook", "restore", tmp_path / "none.sqlite")
    assert "there is no notebook yet" in Shop(tmp_path / "none.sqlite").refuses("notebook", "backup")


def test_an_older_copy_that_is_meant(shop: Shop, tmp_path: Path) -> None:
    backup_to(shop.path, tmp_path / "copy.sqlite")
    shop.says("log", "117", "--note", "later")
    (tmp_path / "copy.sqlite").replace(shop.path)
    assert "ends at entry 3, and entry 4 was acknowledged" in shop.run("log", "117").stderr
    result = shop.run("notebook", "check", "--accept-end")
    assert result.exit_code == 0
    assert "entries lost at the end would not be seen" in result.stdout
    shop.says("log", "117", "--note", "and on")


def test_a_guitar_that_went_on_in_two_notebooks(shop: Shop, tmp_path: Path) -> None:
    away = Shop(backup_to(shop.path, tmp_path / "away.sqlite"))
    shop.says("log", "117", "--keep", DEMO, "--why", "done here")
    away.says("log", "117", "--keep", DEMO, "--why", "done away")
    away.says("export", "117", "--out", tmp_path / "117.zip")
    assert "--merge adds what is new" in shop.refuses("import", tmp_path / "117.zip")
    words = shop.says("import", tmp_path / "117.zip", "--merge")
    assert "1 entries added, 3 were here already" in words
    assert "It is in state 4 (done here); the other branch ends in state 5 (done away)" in words
    assert "polepiece log 1 --branch 5" in shop.says("log", "117")
    assert "no end of a branch" in shop.refuses("log", "117", "--branch", "1")
    assert "one at a time" in shop.refuses("log", "117", "--branch", "5", "--undo")
    assert "is in state 5: done away" in shop.says("log", "117", "--branch", "5", "--why", "it sounds better")
    assert "gone on from state 5: it sounds better" in shop.says("log", "117")
    again = shop.object("import", tmp_path / "117.zip", "--merge")
    assert (again["added"], again["known"]) == (0, 4)


@pytest.mark.parametrize("zone", ["Etc/GMT+12", "Pacific/Kiritimati"])
@pytest.mark.parametrize("date", ["0001-01-01", "9999-12-31"])
def test_dates_at_the_ends_of_the_calendar(shop: Shop, monkeypatch: pytest.MonkeyPatch, zone: str, date: str) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        assert ":" in local_words(datetime.fromisoformat(date).replace(tzinfo=UTC))
        for asked in (date, f"{date}T12:00"):
            try:
                assert moment_of(asked).tzinfo is not None
            except InputError as error:
                assert "too far from today" in str(error)
            result = shop.run("log", "117", "--as-on", asked)  # after all that is kept, or before it
            assert "Traceback" not in result.output
            assert result.exit_code in (0, 2)
            assert result.exit_code == 2 or date.startswith("9")
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("name", ["check", "backup", "restore", "rescue"])
def test_help_has_an_example_json_and_the_notebook(name: str) -> None:
    result = CliRunner().invoke(app, ["notebook", name, "--help"])
    words = " ".join(result.stdout.split())
    assert result.exit_code == 0
    assert f"Example: polepiece notebook {name}" in words
    assert "--json" in words
    assert "--notebook" in words
