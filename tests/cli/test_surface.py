"""The stable surface: every object has the keys that others script against, as strict JSON."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.cli.envelope import plain
from polepiece.planning import Plan
from tests.cli.conftest import DEMO, REFERENCE, ROOT, ask, strict

FIXTURES = ROOT / "tests" / "fixtures" / "json"
COMMANDS = ("demo", "new", "check", "plan", "predict", "grades", "hear", "field", "impedance", "strings")
LINE = "x=-25:25:10,y=5,z=17"


def shape(value: Any) -> Any:
    """Keys of objects and the kind of everything else; of a list, its first item stands for all."""
    if isinstance(value, dict):
        return {key: shape(one) for key, one in value.items()}
    if isinstance(value, list):
        return [shape(value[0])] if value else []
    return type(value).__name__ if value is not None else None


def lacks(wanted: Any, found: Any, path: str = "") -> list[str]:
    """What of the shape ``wanted`` is not in ``found``: keys may be added, none may go or change its kind."""
    if isinstance(wanted, dict):
        if not isinstance(found, dict):
            return [f"{path}: not an object"]
        return [
            fault
            for key, one in wanted.items()
            for fault in ([f"{path}.{key} is missing"] if key not in found else lacks(one, found[key], f"{path}.{key}"))
        ]
    if isinstance(wanted, list):
        if not isinstance(found, list):
            return [f"{path}: not a list"]
        return lacks(wanted[0], found[0], f"{path}[0]") if wanted and found else []
    numbers = {"int", "float"}
    same = found == wanted or {found, wanted} <= numbers or None in (found, wanted)
    return [] if same else [f"{path}: {found} instead of {wanted}"]


def against(name: str, body: dict[str, Any]) -> None:
    """Hold an object against the fixture that was written before the work began."""
    fixture = strict((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))
    faults = lacks(shape(fixture), shape(body))
    assert not faults, "\n".join(faults)
    assert body["constants"].startswith("sha256:")
    assert body["schema"] == fixture["schema"]


@pytest.fixture(scope="module")
def magnet() -> dict[str, Any]:
    return ask("field", REFERENCE, "--pickup", "reference", "--line", LINE)


def test_field_of_the_magnet(magnet: dict[str, Any]) -> None:
    against("field", magnet)
    assert [point[0] for point in magnet["points_mm"]] == [-25.0, -15.0, -5.0, 5.0, 15.0, 25.0]
    assert len(magnet["b_mt"]) == 6
    assert magnet["magnet"]["mean_b_mt"] > 0.0 > magnet["magnet"]["mean_h_ka_per_m"]  # along the easy axis; opposed


def test_field_inside_a_magnet_is_null() -> None:
    body = ask("field", REFERENCE, "--pickup", "reference", "--line", "x=0,y=0,z=1:17:16")
    assert body["b_mt"][0] == [None, None, None]
    assert all(isinstance(one, float) for one in body["b_mt"][1])


def test_field_of_the_coils_in_series_is_slug_minus_screw() -> None:
    body = ask("field", REFERENCE, "--pickup", "reference", "--line", LINE, "--source", "coil")
    against("field-coil", body)
    slug, screw = np.array(body["b_mt_per_a"]["coils"])
    assert np.allclose(body["b_mt_per_a"]["series"], slug - screw)
    assert np.allclose(body["b_mt"], [slug, screw])


def test_impedance() -> None:
    body = ask("impedance", REFERENCE, "--frequencies", "0,100,1000", "--bare")
    against("impedance", body)
    assert body["frequency_hz"] == [0.0, 100.0, 1000.0]
    assert body["reactance_ohm"][0] == 0.0
    for k, f in enumerate(body["frequency_hz"][1:], start=1):  # X = w L, by definition
        assert body["reactance_ohm"][k] == pytest.approx(2 * math.pi * f * body["inductance_h"][k], rel=1e-9)
    slug, screw, mutual = *(row[0] for row in body["coils"]["self_h"]), body["coils"]["mutual_h"][0]
    assert body["inductance_h"][0] == pytest.approx(slug + screw - 2.0 * mutual, rel=1e-9)  # one coil is reversed


def test_strings() -> None:
    body = ask("strings", DEMO, "--pickup", "neck")
    against("strings", body)
    assert [one["number"] for one in body["strings"]] == [1, 2, 3, 4, 5, 6]
    assert all(one["force_n"] < 0.0 for one in body["strings"])  # a magnet pulls steel


def test_grades() -> None:
    body = ask("grades", DEMO, "--pickup", "neck", "--draws", "8")
    against("grades", body)
    present = next(one for one in body["grades"] if one["grade"] == body["in_place_of"])
    assert present["level_db"] == pytest.approx(0.0, abs=1e-9)  # no change, no difference
    for one in body["grades"]:
        for low, high in one["interval"].values():
            assert low <= high
    assert {"alnico-2", "alnico-5-rough-cast", "ceramic-8"} <= {one["grade"] for one in body["grades"]}


def test_grades_of_rods_are_computed_and_not_offered(tmp_path: Path) -> None:
    file = tmp_path / "rods.guitar.toml"
    file.write_text(
        '[[pickups]]\nname = "bridge"\nposition = "bridge"\nconstruction = "rod-single"\n'
        '[pickups.magnet]\ngrade = "alnico-5"\n'
    )
    body = ask("grades", file, "--draws", "8")
    assert "not offered" in body["note"]
    assert {"alnico-2", "alnico-5"} <= {one["grade"] for one in body["grades"]}


@pytest.fixture(scope="module")
def swap() -> dict[str, Any]:
    return ask("predict", DEMO, "-p", "neck", "-c", "magnet=alnico-8", "--draws", "8")


def test_predict(swap: dict[str, Any]) -> None:
    against("predict", swap)
    difference = swap["after"]["level_db"] - swap["before"]["level_db"]
    assert swap["difference"]["level_db"] == pytest.approx(difference, abs=1e-9)
    assert swap["change"] == ["magnet=alnico-8"]
    assert swap["difference_at_old_level"]["level_db"] == pytest.approx(0.0, abs=0.02)  # a gap re-set to 0.005 dB
    assert swap["regap"]["direction"] == ("lower" if difference > 0.0 else "raise")


def test_predict_states_balance_with_the_other_pickup(swap: dict[str, Any]) -> None:
    before, after = swap["before"]["balance_with_db"]["bridge"], swap["after"]["balance_with_db"]["bridge"]
    assert after - before == pytest.approx(swap["difference"]["level_db"], abs=1e-9)  # the bridge pickup stays
    both = swap["both_on"]["bridge"]
    assert both["before"]["in_phase"] == both["after"]["in_phase"]  # a swap turns nothing over
    assert swap["interval"]["balance_with_db.bridge"] == swap["interval"]["level_db"]


def test_no_change_of_a_magnet_is_exactly_no_difference() -> None:
    body = ask("predict", DEMO, "-p", "neck", "-c", "magnet=alnico-2", "--draws", "8")
    assert body["difference"]["level_db"] == 0.0
    assert body["regap"] is None
    assert body["difference_at_old_level"] is None


def test_plan_of_a_fault_is_repair_first() -> None:
    body = ask("plan", DEMO, "--complaint", "neck: thin and humming")
    assert body["verdict"] == "repair-first"
    assert body["rows"] == []
    assert body["repair_first"]


def test_a_plan_in_which_nothing_helps_is_exit_code_one(monkeypatch: pytest.MonkeyPatch) -> None:
    nothing = Plan(
        verdict="plan", complaints=(), repair_first=(), cheap_causes=(), advice=(), constraints=(), rows=(), rest=(),
        refused=(), bars_to_have=(), considered=0,
    )  # fmt: skip
    monkeypatch.setattr("polepiece.cli.plan.planned", lambda *_, **__: nothing)
    result = CliRunner().invoke(app, ["plan", str(DEMO), "--json"])
    assert result.exit_code == 1
    assert strict(result.stdout)["rows"] == []


def test_seed_is_carried(magnet: dict[str, Any]) -> None:
    assert magnet["seed"] == 0
    assert ask("strings", REFERENCE, "--seed", "7")["seed"] == 7


def test_assumed_of_the_pickup_concerned_only() -> None:
    paths = [one["path"] for one in ask("strings", DEMO, "--pickup", "neck")["assumed"]]
    assert any(path.startswith("pickups[0]") for path in paths)
    assert not any(path.startswith("pickups[1]") for path in paths)
    assert any(path.startswith("controls") for path in paths)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_has_an_example_and_json(name: str) -> None:
    result = CliRunner().invoke(app, [name, "--help"])
    assert result.exit_code == 0
    assert f"Example: polepiece {name}" in " ".join(result.stdout.split())
    assert "--json" in result.stdout


def test_every_command_is_walked() -> None:
    result = CliRunner().invoke(app, ["--help"])
    listed = {line.split()[0] for line in result.stdout.split("Commands:")[1].splitlines() if line.startswith("  ")}
    assert set(COMMANDS) <= listed


def test_json_has_no_nan() -> None:
    body = plain(
        {"a": float("nan"), "b": np.array([1.0, np.inf]), "c": np.float64("nan"), "d": (True, None, np.int64(3))}
    )
    assert body == {"a": None, "b": [1.0, None], "c": None, "d": [True, None, 3]}


def test_tables_for_people_show_units_and_no_second_decimal_of_decibels() -> None:
    result = CliRunner().invoke(app, ["predict", str(DEMO), "-p", "neck", "-c", "lower=0.5mm", "--draws", "8"])
    assert result.exit_code == 0
    row = next(line for line in result.stdout.splitlines() if "level, dB" in line)
    assert all(len(word.rpartition(".")[2]) == 1 for word in row.split() if "." in word)
    assert "more assumed values; --assumed lists them" in result.stdout


def test_assumed_lists_everything() -> None:
    result = CliRunner().invoke(app, ["strings", str(DEMO), "-p", "neck", "--assumed"])
    assert "more assumed values" not in result.stdout
    assert "keeper.keeper_length" in result.stdout


def test_loading_the_command_line_loads_no_heavy_library(started: Callable[..., Any], tmp_path: Path) -> None:
    import subprocess
    import sys

    code = (
        "import sys, polepiece.cli.commands; "
        "print([n for n in ('numpy', 'scipy', 'numba', 'rich', 'jinja2', 'soundfile') if n in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
