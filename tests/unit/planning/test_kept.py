"""A plan as JSON comes back as the record that it was, whole; what is not of its kind is left out."""

import json
from dataclasses import replace

import pytest

from polepiece import make_plan, parse_complaints, plan_json
from polepiece.planning import read_plan
from tests.unit.planning.double_bench import DoubleBench, guitar


@pytest.mark.parametrize("words", ["neck: muddy", "bridge: piercing", "both: thin", "neck: hums"])
def test_a_plan_comes_back_whole(words: str) -> None:
    here = guitar()
    plan = make_plan(here, DoubleBench(), parse_complaints([words], here))
    kept = json.loads(json.dumps(plan_json(plan, everything=True)))
    back = read_plan(kept)
    assert plan_json(back, everything=True) == kept
    for row, was in zip(back.rows + back.rest, plan.rows + plan.rest, strict=True):
        assert row == replace(was, interval=dict(was.interval), other_positions=row.other_positions)
        assert row.moves == (*was.change, *([was.then] if was.then else []))


@pytest.mark.parametrize(
    "body", [{}, {"rows": 7}, {"rows": [7, {"change": 3, "pickup": None, "rank": "x", "effect": [1]}]}, {"few": None},
             {"rows": [{"also": "x", "interval": {"level_db": "wide"}, "other_positions": [{"difference": 2}]}]}]
)  # fmt: skip
def test_what_is_not_a_plan_breaks_nothing(body: dict[str, object]) -> None:
    plan = read_plan(body)
    assert all(row.change == () and row.rank == 0 for row in plan.rows)
    assert plan.verdict == "plan" and plan.considered == 0
