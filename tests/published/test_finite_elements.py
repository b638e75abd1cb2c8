"""Every judged figure of the studies that compare the engine with finite elements, at the default resolution.

Source: tests/reference/fem/README.md (independent, converged). Tolerances: the project's stated accuracy; each stands
beside its figure in verification/ and docs/accuracy.md.
"""

import math
from pathlib import Path

import pytest

from polepiece.geometry import Assembly, Resolution, cut
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.magnetics import factorise, solve_state
from verification import (
    cases,
    coils,
    construction_cases,
    constructions,
    convergence,
    long_parts,
    one_pole,
    run,
    sizes,
    statics,
    strings,
)
from verification.registry import STUDIES, Row, study
from verification.run import lines_of, summary

EXPECTED = {  # how many figures are judged: a study that lost its rows must not pass
    "humbucker-field": 30, "rod-single-field": 18, "humbucker-coils": 40, "rod-single-coil": 9, "round-coil": 41,
    "humbucker-string": 12, "long-parts": 54, "one-pole-covered": 8,
}  # fmt: skip
ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", EXPECTED)
def test_every_figure_is_within_its_tolerance(name: str) -> None:
    assert {statics, coils, strings, convergence, long_parts, one_pole}  # imported: their studies are registered
    rows = list(STUDIES[name].compute())
    judged = [row for row in rows if row.verdict != "-"]
    assert len(judged) == EXPECTED[name]
    assert [f"{row.case}: {row.quantity}: {row.error:.4f}" for row in judged if row.verdict == "FAIL"] == []


@pytest.mark.parametrize(("pickup", "figures"), [("reference", 20), ("two-bar-single", 5), ("short-rods", 9)])
def test_other_grades_and_constructions_are_within_the_same_tolerance(pickup: str, figures: int) -> None:
    rows = list(sizes.field_of(pickup))
    assert len(rows) == figures
    assert [f"{row.case}: {row.quantity}: {row.error:.4f}" for row in rows if row.verdict == "FAIL"] == []


HELD = (
    "twin-blade", "two-bar-slugs", "plate-rod-single", "blade-single", "small-twin-blade", "split-rods",
    "humbucker-steel-plate",
    *sorted({row["pickup"] for row in cases.table("construction_field") if row["pickup"].endswith("-second")}),
)  # fmt: skip


@pytest.mark.parametrize("case", HELD)
def test_constructions_are_within_their_tolerance(case: str) -> None:
    """Two percent of field and inductance, three of a string's flux, and the finite elements' own: their README."""
    rows, shape = list(constructions.rows_of(case)), construction_cases.case(case)
    lines = len({y for _, y, _ in shape.points})
    magnets = {row["magnet"] for row in cases.chosen("construction_field", pickup=case)}
    assert sum(row.quantity.startswith("Bz, line") for row in rows) == lines * len(magnets)
    assert sum(row.quantity.startswith("Bz per A") for row in rows) == lines * len(shape.coils)
    assert sum("flux" in row.quantity for row in rows) == len(shape.coils)
    assert [f"{row.case}: {row.quantity}: {row.error:.4f}" for row in rows if row.verdict != "PASS"] == []


def test_a_construction_is_called_checked_where_a_solution_is_kept() -> None:
    held = {row["pickup"] for name in ("construction_field", "construction_string") for row in cases.table(name)}
    shapes = {one.pickup.construction for one in map(construction_cases.case, held)}
    earlier = {"humbucker", "rod-single", "bar-single", "two-bar-single"}  # studies of this page
    assert {one.slug for one in CONSTRUCTIONS if one.beside_finite_elements} == shapes | earlier


def test_bars_under_poles_miss_the_tolerance_by_no_more_than_is_stated() -> None:
    """The finite elements behind them are up to 1 % high themselves: tests/reference/fem/README.md."""
    errors = [abs(row.error or 0.0) for row in sizes.field_of("bar-single") if "Bz" in row.quantity]
    assert errors and max(errors) < 0.028


def test_the_field_between_the_rows_of_a_small_bar_is_within_two_percent() -> None:
    """Alnico against finite elements of the higher order, themselves within 0.5 %: tests/reference/fem/README.md."""
    rows = [row for row in sizes.field_of("small-bar") if "A" in row.case.split()[1] and "Bz" in row.quantity]
    assert len(rows) == 12
    assert [f"{row.case}: {row.error}" for row in rows if abs(row.error or 0.0) > 0.02] == []


def test_the_accuracy_page_holds_these_figures() -> None:
    text = (ROOT / "docs" / "accuracy.md").read_text(encoding="utf-8")
    for name in EXPECTED:
        assert f"## {STUDIES[name].title}" in text
    assert text.count("| PASS |") + text.count("| FAIL |") >= sum(EXPECTED.values())


def test_halving_all_cells_of_a_bare_bar_brings_it_to_finite_elements() -> None:
    """2 and 4 even layers: 1.7 and 0.1 %; first order would leave 0.9 %."""
    reference = float(cases.chosen("humbucker_working_point", charge="bare")[0]["mean_b_t"])
    errors = []
    for count in (2, 4):
        size = Resolution(magnet_layers=count, magnet_across=2 * count, magnet_along=count, grading=0.0)
        factors = factorise(cut(Assembly(magnets=(cases.bar(),)), size))
        state = solve_state(factors, {"magnet": cases.magnet_law("A5", "in-place")}, {})
        errors.append(abs(state.mean_in_magnet(factors.mesh)[0] / reference - 1.0))
    assert errors[0] < 0.03
    assert errors[1] < 0.5 * errors[0]


def test_the_order_of_a_known_sequence_is_found() -> None:
    values = [1.0 + 0.3 * h**1.5 for h in (1.0, 0.5, 0.25)]
    assert convergence.order(values) == pytest.approx(1.5)
    assert convergence.extrapolated(values) == pytest.approx(1.0)
    assert math.isnan(convergence.order([1.0, 0.9, 1.0]))  # a sequence that swings has none


def test_a_row_judges_only_with_a_tolerance() -> None:
    row = Row(case="c", quantity="q", found="1", reference="2", error=-0.5, tolerance=0.4)
    assert row.verdict == "FAIL"
    assert Row(case="c", quantity="q", found="1", reference="2", error=-0.5).verdict == "-"
    assert Row(case="c", quantity="q", found="1", reference="2", error=0.3, tolerance=0.4).verdict == "PASS"
    assert Row(case="c", quantity="q", found="1", reference="2", error=math.nan, tolerance=0.4).verdict == "FAIL"
    page = "\n".join([*summary({"round-coil": [row]}), *lines_of(STUDIES["round-coil"], [row])])
    assert "-50.00 %" in page and "| FAIL |" in page


def test_two_studies_cannot_share_a_name() -> None:
    with pytest.raises(ValueError, match="round-coil"):
        study("round-coil", "t", "a")(lambda: iter(()))


def test_a_renewed_page_keeps_what_was_not_run_and_says_so() -> None:
    page = f"# Head\n\n## One\n\nabout\n\n| a |\n\n## Two\n\n{run.EARLIER}\n\nmore\n"
    assert run.kept("One", page) == ["## One", "", run.EARLIER, "", "about\n\n| a |", ""]
    assert run.kept("Two", page) == ["## Two", "", run.EARLIER, "", "more", ""]  # marked once
    assert run.kept("Three", page) == []


def test_what_was_not_run_anew_stays_in_the_summary() -> None:
    """Rows are read back as they were written, bars of |L| and empty cells as well."""
    rows = [
        Row(case="c", quantity="|L| at 1 kHz", found="1", reference="2", error=-0.0116, tolerance=0.01),
        Row(case="c", quantity="stated", found="1", reference=""),
        Row(case="c", quantity="q", found="1 H", reference="2 H", error=0.0, tolerance=0.0),
    ]
    item = STUDIES["round-coil"]
    page = "\n".join(["# Head", "", *lines_of(item, rows), "## Other"])
    assert run.rows_of(run.body_of(item.title, page)) == rows
    assert run.rows_of("no table") == []
