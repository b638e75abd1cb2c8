"""Which bars to keep: the greedy rule by a plain search, owned first, prices, the end at one threshold."""

import random
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from polepiece.bench import QUANTITIES, threshold_of
from polepiece.errors import InputError
from polepiece.planning import drawer_set
from polepiece.planning.drawer_set import APART, KEYS

NAMES = [f"grade-{k}" for k in range(8)]


def grades(points: dict[str, dict[str, float]], present: str) -> Any:
    results = []
    for name, point in points.items():
        moved = {QUANTITIES[key].number: value for key, value in point.items()}
        results.append(SimpleNamespace(grade=name, difference=moved, at_level=None))
    return SimpleNamespace(present=present, results=results)


def drawn(draw: random.Random) -> dict[str, dict[str, float]]:
    points = {name: {key: draw.gauss(0.0, 1.5) for key in KEYS} for name in NAMES}
    points[NAMES[0]] = dict.fromkeys(KEYS, 0.0)  # the bar that is in
    return points


def apart(a: dict[str, float], b: dict[str, float]) -> float:
    return max(abs(a[key] - b[key]) / threshold_of(key) for key in KEYS)


def test_voices_are_apart_and_nothing_else_would_be() -> None:
    for seed in range(100):
        draw = random.Random(seed)
        points = drawn(draw)
        owned = draw.sample(NAMES[1:], 2)
        prices = {name: Decimal(draw.randint(2, 20)) for name in draw.sample(NAMES, 5)}
        found = drawer_set(grades(points, NAMES[0]), owned=owned, prices=prices, most=20)
        kept = [NAMES[0], *(one.grade for one in found.voices)]
        for k, one in enumerate(found.voices, start=1):
            nearest = min(apart(points[one.grade], points[other]) for other in kept[:k])
            assert one.apart == pytest.approx(nearest) and one.apart >= APART
        rest = [name for name in NAMES if name not in kept]
        assert {name for name, _, _ in found.same} == set(rest)
        assert all(min(apart(points[name], points[other]) for other in kept) < APART for name in rest)
        mine = [one.owned for one in found.voices]
        assert mine == sorted(mine, reverse=True)  # what is owned comes first: it costs nothing
        assert found.cost == sum(prices.get(one.grade, Decimal(0)) for one in found.voices if not one.owned)


def test_a_dearer_bar_waits_for_one_that_gives_more_for_its_price() -> None:
    points = {NAMES[0]: dict.fromkeys(KEYS, 0.0), "a": dict.fromkeys(KEYS, 0.0) | {"level": 4.0},
              "b": dict.fromkeys(KEYS, 0.0) | {"level": -3.0}}  # fmt: skip
    first = drawer_set(grades(points, NAMES[0]), prices={"a": Decimal(20), "b": Decimal(5)}).voices[0].grade
    alike = drawer_set(grades(points, NAMES[0]), prices={"a": Decimal(5), "b": Decimal(5)}).voices[0].grade
    assert (first, alike) == ("b", "a")


def test_levels_that_were_not_computed_are_asked_for() -> None:
    points = drawn(random.Random(1))
    with pytest.raises(InputError, match="at_level"):
        drawer_set(grades(points, NAMES[0]), at_level=True)
    with pytest.raises(InputError, match="0 bars"):
        drawer_set(grades(points, NAMES[0]), most=0)
