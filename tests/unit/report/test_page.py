"""A page without plan, sounds or grades, and one of a guitar with a hostile name."""

from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.bench import Bench, State
from polepiece.guitar import Guitar, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.planning import make_plan, parse_complaints, parse_constraints
from polepiece.report import Case, guitar_report

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def bench(guitar: Guitar) -> Bench:
    return Bench()


@pytest.fixture(scope="module")
def before(guitar: Guitar, bench: Bench) -> State:
    return bench.state(guitar, "neck")


def test_the_least_page(guitar: Guitar, before: State) -> None:
    page = guitar_report(guitar, "neck", before=before)
    assert '<h2 id="plan">' not in page
    assert "<audio" not in page
    assert page.rstrip().endswith("</html>")


def test_text_of_the_file_cannot_become_markup(guitar: Guitar, before: State) -> None:
    hostile = replace(guitar, name="<script>alert(1)</script>", note="<img src=https://example.org/x>")
    page = guitar_report(hostile, "neck", before=before)
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
    assert "<img" not in page


def test_only_an_invented_guitar_is_called_invented(guitar: Guitar, before: State) -> None:
    real = replace(guitar, invented=False, name="A guitar")
    assert 'class="badge"' in guitar_report(guitar, "neck", before=before)
    assert 'class="badge"' not in guitar_report(real, "neck", before=before)


def test_a_fault_stops_the_page_too(guitar: Guitar, bench: Bench, before: State) -> None:
    told = parse_complaints(["neck: thin and humming"], guitar)
    plan = make_plan(guitar, bench, told)
    page = guitar_report(guitar, "neck", before=before, plan=plan)
    assert "No voicing before these are mended" in page
    assert '<th scope="col">rank</th>' not in page


def test_a_row_says_what_it_does_both_on(guitar: Guitar, bench: Bench, before: State) -> None:
    told = parse_complaints(["neck: boomy"], guitar)
    limits = parse_constraints(["do not open", "no solder", "keep-strings", "budget=none"])
    plan = make_plan(guitar, bench, told, limits, shown=2, draws=8)
    page = guitar_report(guitar, "neck", before=before, plan=plan)
    (words,) = [one.words for one in plan.rows[0].other_positions]
    assert words.startswith("both on: level -")
    assert words.replace(" -", " \u2212") in page


def test_the_same_guitar_gives_the_same_page(guitar: Guitar, bench: Bench, before: State) -> None:
    state = bench.state(apply(guitar, "neck", parse_changes(["lower=0.5mm"])), "neck")
    cases = [Case(name="1: lower=0.5mm", state=state)]
    pages = {guitar_report(guitar, "neck", before=before, cases=cases) for _ in range(2)}
    assert len(pages) == 1
    assert "1: lower=0.5mm" in pages.pop()
