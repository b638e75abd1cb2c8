"""How a saying of the trade is judged: the logic, on numbers made by hand."""

import pytest

from polepiece.trade.judged import (
    QUANTITY,
    Compared,
    figure,
    holds,
    judge_cell,
    judge_claim,
    judge_table,
    share_of_draws,
)
from polepiece.trade.judged import Figure as F
from polepiece.trade.table import CELLS, COLUMNS, STATEMENTS, Cell, Claim
from polepiece.trade.verdicts import trade_body

GRADES = (
    "alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8", "ceramic-8", "alnico-5-unoriented",
    "alnico-5-rough-cast",
)  # fmt: skip


def numbers(level: float, top: float = 0.0) -> dict[str, float]:
    bands = {"lows": -0.1 * top, "mids": 0.0, "highs": top, "presence": top}
    own = {f"bands_own_db.{k}": level + v for k, v in bands.items()}
    return {"level_db": level, **{f"bands_db.{k}": v for k, v in bands.items()}, **own}


def compared(level: float, half: float, top: float = 0.0) -> Compared:
    found = numbers(level, top)
    return Compared(difference=found, interval={k: (v - half, v + half) for k, v in found.items()})


@pytest.mark.parametrize(
    ("relation", "value", "low", "high", "verdict"),
    [
        ("above", 1.0, 0.4, 1.6, "agrees"),
        ("above", 0.2, -0.4, 0.8, "not distinguishable"),
        ("above", -1.0, -1.6, -0.4, "disagrees"),
        ("below", -1.0, -1.6, -0.4, "agrees"),
        ("below", 1.0, 0.4, 1.6, "disagrees"),
        ("below", 0.1, 0.0, 0.2, "not distinguishable"),
        ("not below", 0.2, -0.4, 0.8, "agrees"),
        ("not below", -0.2, -0.8, 0.4, "not distinguishable"),
        ("not below", -1.0, -1.6, -0.4, "disagrees"),
    ],
)
def test_a_claim_is_judged_by_its_whole_interval(relation, value, low, high, verdict):
    claim = Claim(quantity="level", relation=relation, other="alnico-2")
    assert judge_claim(claim, F(value=value, low=low, high=high)) == verdict


@pytest.mark.parametrize(
    ("value", "low", "high", "verdict"),
    [
        (0.3, -0.4, 1.0, "agrees"),
        (1.7, 1.2, 2.2, "not distinguishable"),
        (2.4, 1.8, 3.0, "disagrees"),
        (-2.4, -3.0, -1.8, "disagrees"),
    ],
)
def test_about_the_same_has_a_stated_range(value, low, high, verdict):
    claim = Claim(quantity="level", relation="about", other="alnico-2", within=1.5)
    assert judge_claim(claim, F(value=value, low=low, high=high)) == verdict


def test_a_paired_interval_is_taken_where_there_is_one_and_turned_round():
    results = {"alnico-2": {"alnico-5": compared(2.0, 0.5), "alnico-3": compared(-1.0, 0.5)}}
    paired = figure(results, "alnico-5", "alnico-2", "level")
    assert (paired.value, paired.low, paired.high) == (2.0, 1.5, 2.5)
    turned = figure(results, "alnico-2", "alnico-5", "level")
    assert (turned.value, turned.low, turned.high) == (-2.0, -2.5, -1.5)
    through = figure(results, "alnico-5", "alnico-3", "level")
    assert through.value == 3.0
    assert through.high - through.low == pytest.approx(2**0.5)
    assert figure(results, "alnico-5", "alnico-9", "level") is None
    assert figure(results, "alnico-5", "alnico-5", "level") == F(value=0.0, low=0.0, high=0.0)


def test_a_weighted_quantity_adds_its_parts():
    results = {"alnico-2": {"alnico-5": compared(2.0, 0.3, top=1.0)}}
    found = figure(results, "alnico-5", "alnico-2", "treble over lows")
    assert found.value == pytest.approx(1.1)
    assert found.low < found.value < found.high


def test_one_claim_that_disagrees_decides_a_cell():
    cell = Cell(
        grade="alnico-5", column="level", says="", strength="agreed",
        claims=tuple(Claim(quantity="level", relation="above", other=o) for o in ("alnico-2", "alnico-3")),
    )  # fmt: skip
    results = {
        "alnico-2": {"alnico-5": compared(-2.0, 0.5)},
        "alnico-3": {"alnico-5": compared(2.0, 0.5)},
    }
    assert judge_cell(cell, results).verdict == "disagrees"
    results["alnico-2"] = {"alnico-5": compared(0.1, 0.5)}
    assert judge_cell(cell, results).verdict == "not distinguishable"
    results["alnico-2"] = {"alnico-5": compared(1.0, 0.5)}
    assert judge_cell(cell, results).verdict == "agrees"
    assert judge_cell(cell, {}).verdict == "not computed"


def test_the_unoriented_bar_follows_from_the_assumption():
    cells = [c for c in CELLS if c.grade == "alnico-5-unoriented" and c.claims]
    results = {
        other: {"alnico-5-unoriented": compared(value, 0.1, top=value)}
        for other, value in (("alnico-2", 1.0), ("alnico-5", -1.0))
    }
    assert cells
    assert {judge_cell(c, results).verdict for c in cells} == {"follows from the assumption"}


def test_the_table_is_whole_and_speaks_of_known_things():
    assert {cell.grade for cell in CELLS} == set(GRADES)
    places = [(cell.grade, cell.column) for cell in CELLS]
    assert len(places) == len(set(places))
    for cell in CELLS:
        assert cell.column in COLUMNS
        assert cell.strength in ("agreed", "leaning", "disputed")
        assert cell.claims or cell.why_not, (cell.grade, cell.column)
        for claim in cell.claims:
            assert claim.quantity in QUANTITY
            assert claim.other in GRADES
            assert claim.other != cell.grade
    disputed = {(c.grade, c.column) for c in CELLS if c.strength == "disputed"}
    assert {("alnico-3", "highs"), ("alnico-4", "where"), ("alnico-5-rough-cast", "highs")} == disputed


def test_a_table_of_identical_bars_agrees_with_nothing_but_sameness():
    """Bars that are all the same can neither agree nor disagree with an order."""
    same = {one: {other: compared(0.0, 0.4) for other in GRADES if other != one} for one in GRADES}
    for judged in judge_table(same):
        relations = {claim.relation for claim in judged.cell.claims}
        if judged.cell.claims and judged.cell.grade != "alnico-5-unoriented" and "about" not in relations:
            assert judged.verdict == "not distinguishable", judged.cell
        if relations == {"about"}:
            assert judged.verdict == "agrees"


USUAL = {"alnico-3": -1.5, "alnico-2": 0.0, "alnico-4": 0.3, "alnico-5": 1.5, "alnico-8": 2.0, "ceramic-8": 2.5}


def test_statements_hold_or_not_draw_by_draw():
    good = {grade: numbers(level, top=max(level, 0.0)) for grade, level in USUAL.items()}
    bad = good | {"alnico-5": numbers(-0.5), "ceramic-8": numbers(-0.1, -1.0)}
    shares = share_of_draws([good, good, good, bad])
    assert shares["3 has the least level"] == 1.0
    assert shares["5 is louder than 2"] == 0.75
    assert shares["ferrite is louder than 2"] == 0.75
    assert shares["ferrite has more treble against lows than 2"] == 0.75
    assert share_of_draws([]) == {}
    assert all(holds(one, good) for one in STATEMENTS)


def test_what_stands_beside_a_grade_carries_its_basis():
    beside = trade_body("ceramic-5", ())
    assert beside["basis"] == "common practice, no source"
    assert "onfounded" in beside["note"]
    assert beside["strengths"]["highs"] == "agreed"
    assert beside["verdicts"]["lows"] == "not computed"
    assert trade_body("alnico-9", ()) is None
