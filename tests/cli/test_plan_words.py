"""What a plan on the command line says of the words that were typed, and of which pickup a row is."""

import json
from pathlib import Path

from rich.console import Console
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.cli.plan import show
from polepiece.planning import answer_of, complaints_of, make_plan, read_complaint
from tests.unit.planning.double_bench import DoubleBench, guitar

DEMO = Path(__file__).parents[2] / "examples" / "demo.guitar.toml"


def shown(*arguments: str) -> str:
    result = CliRunner().invoke(app, ["plan", str(DEMO), *arguments], env={"COLUMNS": "300"})
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    return " ".join(result.output.split())


def test_pickups_out_of_phase_are_shown_although_a_flip_has_no_level() -> None:
    text = shown("--complaint", "hollow with both on")
    assert "Repair first" in text
    assert "pickup opened, its" in text
    assert "turned end for end" in text
    assert "flip=yes" not in text


def test_what_was_understood_and_what_not_is_printed() -> None:
    text = shown("--complaint", "brigde hums like a zebra")
    assert '"brigde" read as "bridge"' in text
    assert "not used: zebra" in text
    assert "By: a bench with an ohmmeter." in text


def test_a_caution_is_printed() -> None:
    assert "Caution: danger to life" in shown("--complaint", "I get a shock from the strings")


def test_rows_on_several_pickups_name_theirs() -> None:
    here = guitar()
    told = complaints_of(read_complaint("neck muddy and bridge piercing", here))
    found = make_plan(here, DoubleBench(), told, draws=8)
    screen = Console(width=300)
    with screen.capture() as held:
        show(screen, found)
    assert "Neck pickup, muddy; bridge pickup, piercing." in held.get()
    rows = answer_of(found).rows
    assert rows
    assert all("pickup" in one.do for one in rows)  # whose it is, or all pickups


def test_what_was_understood_is_told_as_data_without_a_plan() -> None:
    arguments = ["-c", "neck muddy and weak high E, bridge crackles! zebra", "--constraint", "leave the bridge alone"]
    result = CliRunner().invoke(app, ["plan", str(DEMO), *arguments, "--understood", "--json"])
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert [(one["pickup"], one["word"], one["strings"]) for one in found["complaints"]] == [
        ("neck", "muddy", []), ("neck", "string 1 weak", [1]),
    ]  # fmt: skip
    assert found["faults"] == [{"pickup": "bridge", "fault": "crackle"}]
    assert len(found["constraints"]) == 1
    assert "zebra" in found["not_used"]
    assert "rows" not in found


def test_groups_of_strings_and_what_came_suddenly_are_told() -> None:
    said = ["neck bass strings too loud", "suddenly the bridge is thin"]
    arguments = [word for one in said for word in ("-c", one)]
    found = json.loads(CliRunner().invoke(app, ["plan", str(DEMO), *arguments, "--understood", "--json"]).stdout)
    assert [one["strings"] for one in found["complaints"]] == [[4, 5, 6]]
    assert [one["pickup"] for one in found["faults"]] == ["bridge"]
