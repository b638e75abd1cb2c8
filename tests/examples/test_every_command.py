"""Every command over every example, in this process, on a rough mesh: it answers, or says why not in a sentence."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from polepiece.bench.grades import grade_slugs
from polepiece.cli.commands import app
from polepiece.guitar import Guitar, read_guitar

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(path.name for path in EXAMPLES.glob("*.guitar.toml"))
SOLVED_ALIKE = {  # of a kind that another example has, with another switch or fewer answers: no plan, grades or sound
    "demo.guitar.toml",
    "hardly-known.guitar.toml",
    "reference-humbucker.guitar.toml",
    "two-volumes.guitar.toml",
    "one-humbucker-no-tone.guitar.toml",
    "eight-strings.guitar.toml",
    "two-humbuckers.guitar.toml",
}
DRAWS = ("--draws", "8")  # the fewest that make an interval
LIMITS = ("--constraint", "do-not-open", "--constraint", "no-solder")  # heights and screws are left, and the bar beside


@pytest.fixture(autouse=True)
def here(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Do everything in this process; files go to a folder of their own."""
    for command in ("plan", "grades"):
        monkeypatch.setattr(f"polepiece.cli.{command}.second_process", no_second_process)
    monkeypatch.chdir(tmp_path)


def run(*arguments: "str | Path") -> Result:
    return CliRunner().invoke(app, [*map(str, arguments)])


def answered(*arguments: "str | Path") -> Result:
    result = run(*arguments)
    assert result.exit_code in (0, 1), (arguments, result.output, result.exception)
    assert result.output.strip()
    return result


def body(*arguments: "str | Path") -> dict[str, object]:
    found = json.loads(answered(*arguments, "--json").stdout)
    assert isinstance(found, dict) and found["schema"]
    return found


@contextmanager
def no_second_process(**_: bool) -> Iterator[None]:
    """Stand in for the second process: everything is done in this one."""
    yield None


def every_string(guitar: Guitar, folder: Path) -> Path:
    """Write a phrase that strikes each string once: a third of the seconds of those that come with the tool."""
    count = len(guitar.strings)
    rows = [f"{k + 1}|{'-' * k}{k % 5}{'-' * (count - 1 - k)}" for k in range(count)]
    path = folder / "every string.tab"
    path.write_text("\n".join(["tempo = 240", "step = 1/8", "", *rows, ""]), encoding="utf-8")
    return path


def last(guitar: Guitar) -> str:
    return guitar.pickups[-1].name


@pytest.mark.parametrize("name", NAMES)
def test_every_command_takes_every_example(name: str, tmp_path: Path) -> None:
    file, guitar = EXAMPLES / name, read_guitar(EXAMPLES / name)
    pickup = ("--pickup", last(guitar))
    lowered = (*pickup, "--change", "lower=0.3mm")
    body("check", file, "--quick")
    body("strings", file, *pickup)
    body("impedance", file, *pickup)
    body("field", file, *pickup, "--line", "x=-5:5:5,y=5,z=25")
    found = body("predict", file, *lowered, *DRAWS)
    assert found["difference"]["level_db"] < 0.0  # type: ignore[index]
    body("worksheet", file, *lowered)
    if name in SOLVED_ALIKE:
        return
    assert body("plan", file, "--complaint", f"{last(guitar)}: too loud", *LIMITS, *DRAWS)["rows"]
    told = body("grades", file, *pickup, *DRAWS)["grades"]
    assert {one["grade"] for one in told} >= set(grade_slugs())  # type: ignore[index, attr-defined]
    answered("hear", file, *lowered, "--phrase", every_string(guitar, tmp_path), "--out", tmp_path / "heard")
    assert (tmp_path / "heard" / "before.wav").stat().st_size > 1000
    body("prove", file, *lowered, "--dcr-before", "7.82k", "--dcr-after", "7.83k")
    answered("log", "--keep", file, "--why", "came in")
    assert guitar.name in answered("log").output
    answered("drawer", "--fit", file)
