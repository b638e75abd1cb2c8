"""The season of the demonstration: as its generator makes it, true where the pages look, and said to be invented."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from polepiece.cli.season import FILE, fill_season
from polepiece.guitar import write_guitar
from polepiece.measure import Ledger
from polepiece.notebook import check_notebook, open_notebook, photos
from scripts import write_season
from tests.cli.conftest import ask


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    path = tmp_path_factory.mktemp("season") / "season.sqlite"
    fill_season(path)
    yield path


def alike(found: Any, kept: Any, path: str = "") -> None:
    """Hold two records against one another; numbers to a share of 1e-3: six digits are kept, solvers end at 1e-6."""
    if isinstance(kept, dict):
        assert found.keys() == kept.keys(), path
        for key in kept:
            if key not in ("version", "constants"):
                alike(found[key], kept[key], f"{path}.{key}")
    elif isinstance(kept, list):
        assert len(found) == len(kept), path
        for k, (a, b) in enumerate(zip(found, kept)):
            alike(a, b, f"{path}[{k}]")
    elif isinstance(kept, float) and not isinstance(found, bool):
        assert found == pytest.approx(kept, rel=1e-3, abs=1e-3), path
    else:
        assert found == kept, path


def test_the_file_is_what_its_generator_makes() -> None:
    """The ledger of one job anew, and the guitars of all; the rest by running the script."""
    kept = json.loads(FILE.read_text(encoding="utf-8"))
    assert [one["guitar"] for one in kept["jobs"]] == [one.guitar for one in write_season.JOBS]
    for number, one in enumerate(kept["jobs"]):
        assert one["before"] == write_guitar(write_season.guitar_before(number))
    at = 10  # the demo guitar lowered, by plucks and by ear: the cheapest
    alike(write_season.ledger_of(at), kept["jobs"][at]["ledger"])


def test_every_ledger_says_that_it_is_invented_and_follows_from_its_lines() -> None:
    kept = json.loads(FILE.read_text(encoding="utf-8"))
    ledgers = [one["ledger"] for one in kept["jobs"] if one["ledger"] is not None]
    assert len(kept["jobs"]) == 12 and len(ledgers) == 9
    for one in ledgers:
        assert one["notes"][0].startswith("Invented")
        assert all("judged" in line for line in one["entries"])
        again = Ledger.from_dict(one).to_dict()
        assert [line["judged"]["word"] for line in again["entries"]] == [
            line["judged"]["word"] for line in one["entries"]
        ]


def test_the_notebook_is_whole_and_has_something_true_for_every_page(season: Path) -> None:
    assert check_notebook(season).faults == ()
    with open_notebook(season) as book:
        jobs = book.jobs()
        assert len(jobs) == 12 and sum(one.status == "closed" for one in jobs) == 11
        (open_one,) = [one for one in jobs if one.status == "on the bench"]
        assert open_one.plan is not None and open_one.promised is not None and open_one.quote is not None
        assert book.customers_of_jobs()[open_one.id].endswith("(invented)")
        assert len(photos(book, open_one.guitar_id)) == 1
        (trial,) = book.notes(open_one.guitar_id, sort="trial")
        assert trial.body is not None and trial.body["answers"]
        assert len([one for one in book.notes(open_one.guitar_id) if (one.body or {}).get("entry")]) >= 3
        assert all("invented" in (one.customer or "") for one in jobs)
        assert any(state.act == "undo" for one in book.guitars() for state in book.states(one.id))
        assert len(book.parts()) >= 6
    unproven = ask("learned", "unproven", "--notebook", season)
    assert [one["grade_after"] for one in unproven["swaps"]] == ["alnico-3"]
    told = ask("learned", "predictions", "--notebook", season)
    assert told["of"] > 50
    shares = {round(one["level"], 1): one for one in told["shares"]}
    assert shares[0.9]["interval_95"][1] >= 0.9  # readings are drawn from what intervals are made of: not too narrow
    grade = ask("learned", "grade", "alnico-3", "--place", "neck", "--notebook", season)
    assert {one["of"] for one in grade["lines"]} == {"before", "after", "difference"}


def test_its_ledgers_are_pooled_and_every_answer_says_so(
    season: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the invented season to constants in use, and back to the published ones."""
    from typer.testing import CliRunner

    from polepiece.cli.commands import app
    from polepiece.materials import catalogue
    from polepiece.which_constants import VARIABLE

    out = tmp_path / "pooled.json"
    body = ask("pool", "--notebook", season, "--out", out, "--date", "2026-04-01")
    assert body["grades"].keys() >= {"alnico-2", "alnico-3", "alnico-5"} and body["constants_are"] == "published"
    published = catalogue.magnet("alnico-2").coercivity
    monkeypatch.setenv(VARIABLE, "published")
    result = CliRunner().invoke(
        app, ["--constants", str(out), "log", "--notebook", str(season), "--last", "1", "--json"]
    )
    said = json.loads(result.stdout)
    assert said["constants_are"].startswith("pooled, 2026-04-01") and said["constants"] != body["constants"]
    monkeypatch.setenv(VARIABLE, str(out))
    pooled = catalogue.magnet("alnico-2")
    assert pooled.coercivity == pytest.approx(
        body["constants_pooled"]["grades"]["alnico-2"]["constants"]["coercivity"][0]
    )
    assert pooled.coercivity != published and len(pooled.together) == 4
    monkeypatch.setenv(VARIABLE, "published")
    assert catalogue.magnet("alnico-2").coercivity == published and catalogue.magnet("alnico-2").together == ()
