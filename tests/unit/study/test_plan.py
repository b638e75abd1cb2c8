"""Designs and their order: every candidate once, what is dear moves seldom, and equal studies have equal digests."""

import random
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar import read_guitar
from polepiece.study import StudyPlan, parse_axis, plan_study

EXAMPLES = Path(__file__).parents[3] / "examples"
DEMO = read_guitar(EXAMPLES / "demo.guitar.toml")
MIXED = ("cable=300pF/500pF/700pF", "lower=0..0.6mm:4", "magnet=alnico-2/alnico-5", "poles.pole_spacing=10.2/10.4")


def planned(*texts: str, rows: int = 7, **more: object) -> StudyPlan:
    axes = [parse_axis(one, DEMO, 0) for one in texts]
    return plan_study(DEMO, "neck", axes, chunk_rows=rows, **more)  # type: ignore[arg-type]


def changes(plan: StudyPlan, column: int) -> int:
    """How often the value of an axis changes in the order of work."""
    values = [one[column] for chunk in range(plan.chunks) for one in plan.candidates(chunk)[1]]
    return sum(a != b for a, b in pairwise(values))


def test_what_is_dear_is_found_by_trying_and_moves_seldom() -> None:
    plan = planned(*MIXED)
    assert plan.dear == ("geometry", "magnet", "strings and coil", "circuit")
    assert [axis.key.rpartition(".")[2] for axis in plan.setup.axes] == ["pole_spacing", "magnet", "lower", "cable"]
    assert [changes(plan, k) for k in range(4)] == [1, 3, 15, 47]  # of 2 x 2 x 4 x 3 candidates


@pytest.mark.parametrize(
    ("text", "dear"),
    [
        ("cover=on/off", "geometry"), ("screws=up 0.5 turn/up 1 turn", "geometry"), ("charge=0.7/0.9", "magnet"),
        ("finish=polished/rough-cast", "geometry"),  # a rough bar stands further from the poles
        ("magnet=alnico-2/ceramic-8", "magnet"), ("strings=9-42/11-49", "strings and coil"),
        ("resistance_kohm=7.4/8.2", "strings and coil"), ("wiring=parallel/as-is", "strings and coil"),
        ("distance_from_bridge_mm=140/150", "strings and coil"), ("tone_tap=after/before", "circuit"),
        ("selector=neck/both", "circuit"), ("input=500k/1M", "circuit"),
    ],
)  # fmt: skip
def test_kinds_of_levers(text: str, dear: str) -> None:
    assert planned(text).dear == (dear,)


def test_turns_that_a_resistance_makes_are_no_axis() -> None:
    with pytest.raises(InputError, match=r"7\.9 kohm, and the turns are those that make it.*Vary resistance_kohm"):
        planned("coil.turns=4900/5100")
    bare = replace(DEMO, pickups=tuple(replace(one, resistance=None) for one in DEMO.pickups))
    assert plan_study(bare, "neck", [parse_axis("coil.turns=4900/5100", bare, 0)]).dear == ("strings and coil",)


@pytest.mark.parametrize("design", ["grid", "latin-hypercube", "sobol"])
def test_every_candidate_is_in_one_chunk(design: str) -> None:
    plan = planned(*MIXED, design=design, count=None if design == "grid" else 50)
    places = [place for chunk in range(plan.chunks) for place in plan.candidates(chunk)[0]]
    assert sorted(places) == list(range(plan.count))
    assert plan.count == (48 if design == "grid" else 50)
    assert max(plan.rows(chunk) for chunk in range(plan.chunks)) <= 7
    assert sum(plan.rows(chunk) for chunk in range(plan.chunks)) == plan.count


def test_chunks_end_with_a_magnet_where_one_is_near() -> None:
    """A magnet has 12 candidates here: chunks of 30 hold two of them whole, chunks of 7 have to cut one."""
    assert planned(*MIXED, rows=30).starts == (0, 24, 48)
    assert planned(*MIXED, rows=7).starts[:4] == (0, 7, 12, 19)


def test_drawn_points_fill_every_axis_evenly() -> None:
    """A Latin hypercube of n points has one in each n-th of every axis; steps then have equal numbers."""
    plan = planned("lower=0..1mm", "magnet=alnico-2/alnico-3/alnico-5/alnico-8", design="latin-hypercube", count=40)
    values = [one for chunk in range(plan.chunks) for one in plan.candidates(chunk)[1]]
    assert sorted(int(float(lower) * 40) for _, lower in values) == list(range(40))
    assert [sum(grade == one for grade, _ in values) for one in plan.setup.axes[0].values] == [10] * 4


def test_the_digest_tells_studies_apart() -> None:
    same = planned(*MIXED).digest
    assert planned(*MIXED).digest == same == planned(*reversed(MIXED)).digest
    assert planned(*MIXED, commit="abc").digest == same  # a commit of the same version goes on
    others = [
        planned(*MIXED, seed=1), planned(*MIXED[:3]), planned(*MIXED, coarse=True), planned(*MIXED, draws=8),
        planned(*MIXED, rows=8), planned(*MIXED, design="sobol", count=48), planned(*MIXED, position="neck+bridge"),
    ]  # fmt: skip
    assert len({same, *(one.digest for one in others)}) == 1 + len(others)
    other = replace(DEMO, name="another")
    assert plan_study(other, "neck", planned(*MIXED).setup.axes, chunk_rows=7).digest != same


@pytest.mark.parametrize(
    ("texts", "more", "words"),
    [
        ((), {}, "nothing is varied"),
        (("lower=0..1mm",), {}, "a grid needs steps"),
        (("lower=0..1mm:3", "lower=0.2mm/0.4mm"), {}, "varied twice"),
        (("lower=0..1mm:3",), {"count": 5}, "leave --count out"),
        (("lower=0..1mm",), {"design": "sobol"}, "needs --count"),
        (("lower=0..1mm",), {"design": "random", "count": 5}, "is one of grid"),
        (("lower=0..1mm",), {"design": "sobol", "count": 0}, "it is 1 to"),
        (("lower=0..1mm:3",), {"draws": 3000}, "0 to 2000"),
    ],
)
def test_what_cannot_be_planned_is_said(texts: tuple[str, ...], more: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        planned(*texts, **more)


def test_a_grid_of_a_hundred_million_takes_no_memory() -> None:
    """By place alone: the last candidate is told at once."""
    axes = [f"{key}=200..900pF:100" if key == "cable" else f"{key}=1..9:100" for key in ("cable", "volume", "tone")]
    plan = planned(*axes, "input=100k..1000k:100")
    assert plan.count == 10**8
    place = random.Random(3).randrange(plan.count)
    assert plan.design.values(place) != plan.design.values(plan.count - 1)
    assert plan.design.values(plan.count - 1)[-1] == plan.setup.axes[-1].values[-1]
