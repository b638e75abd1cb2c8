"""What the numbers of a pickup hang on: names of everything that is drawn, shares, and what fixing one comes to."""

import json
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.bench import HangsOn, UncertainPickup, coarse_bench, hangs_on, known_hangs_on, measure_first_words
from polepiece.bench.unknowns import unknowns_of_draws
from polepiece.guitar import GivenDraw, Guitar, in_words, read_guitar, with_value

EXAMPLES = Path(__file__).parents[3] / "examples"
REFERENCE = EXAMPLES / "reference-humbucker.guitar.toml"


CHEAP = ("gap_", "distance_from", "controls.", "screw_raise", "temperature")


def few_assumed(guitar: Guitar) -> Guitar:
    """Without most of the assumed shapes, each of which is a geometry to solve."""
    return replace(guitar, assumed=tuple(one for one in guitar.assumed if any(word in one.path for word in CHEAP)))


@pytest.fixture(scope="module")
def uncertain() -> UncertainPickup:
    return UncertainPickup(few_assumed(read_guitar(REFERENCE)), "reference", coarse_bench())


@pytest.fixture(scope="module")
def found(uncertain: UncertainPickup) -> HangsOn:
    return uncertain.shares()


def test_nominal_shares_are_the_nominal_guitar(uncertain: UncertainPickup) -> None:
    """But for the string's steel: a draw's median is the middle of its range, the nominal string a stated value."""
    found = uncertain.sample(np.full((1, uncertain.inputs), 0.5))[0]
    strings = uncertain.of_draws(np.full((1, len(uncertain.names)), 0.5))[0]
    assert found == pytest.approx(strings, abs=1e-9)
    assert found[1:] == pytest.approx(uncertain.nominal[1:], abs=0.2)


def test_fixing_the_first_ranked_narrows_the_spread_most(uncertain: UncertainPickup, found: HangsOn) -> None:
    """By brute force: the same 256 guitars with one unknown at a time made known, variances in just heard steps."""
    shares = np.random.default_rng(4).random((256, uncertain.inputs))
    everything = uncertain.sample(shares)

    def spread(outputs: FloatArray) -> float:
        return float((outputs / uncertain.steps).var(axis=0).sum())

    left = {one.words: spread(uncertain.sample(shares, one)) for one in uncertain.drawn}
    called = [one.name for one in uncertain.guitar.pickups]
    for k, each in enumerate(uncertain.assumed):
        own = each.at(shares[:, len(uncertain.names) + k])
        left[in_words(each.one.path, called)] = spread(everything - own)
    order = sorted(left, key=lambda words: left[words])
    assert [one.words for one in found.shares[:2]] == order[:2]
    for one in found.shares[:3]:  # within the scatter of 128 points and of 256 guitars
        assert 1.0 - left[one.words] / spread(everything) == pytest.approx(one.share, abs=0.15)


def test_shares_are_of_one_whole(found: HangsOn) -> None:
    assert [one.share for one in found.shares] == sorted((one.share for one in found.shares), reverse=True)
    whole = sum(one.share for one in found.shares)
    assert 0.8 < whole < 1.3  # small ones are left out; what acts together counts twice
    assert set(found.spread) == {"level", "resonance", "presence"}
    assert all(low < 0.0 < high for low, high in found.spread.values())
    assert {one.words for one in found.stays} == {"steel of the strings"}
    assert measure_first_words(found).startswith(f"Measure this first: {found.first[0].words}, on which ")


def measured(guitar: Guitar, path: str, value: float) -> Guitar:
    there = with_value(guitar, path, value)
    assert there is not None
    return there


def test_what_is_measured_is_not_in_the_list(uncertain: UncertainPickup) -> None:
    assert uncertain.shares(16).shares[0].path == "controls.cable_pf"
    there = few_assumed(measured(read_guitar(REFERENCE), "controls.cable_pf", 500.0))
    known = UncertainPickup(there, "reference", uncertain.bench).shares(16)
    assert "controls.cable_pf" not in [one.path for one in known.shares]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.guitar.toml")), ids=lambda p: p.name.partition(".")[0])
def test_every_quantity_of_a_draw_has_words(path: Path) -> None:
    """What is drawn of any example is called something, by all pickups on: nothing is listed under its inner name."""
    from polepiece.bench.unknowns import _RULES

    guitar = read_guitar(path)
    name = guitar.pickups[0].name
    names = {f"bar {guitar.pickups[0].magnet.grade} None remanence", "steel reversible", "volume pot", "cable", "wire"}
    for one in unknowns_of_draws(guitar, name, names):
        assert one.words not in names
    assert len({pattern for pattern, *_ in _RULES}) == len(_RULES)


def test_no_quantity_that_is_drawn_lacks_words(uncertain: UncertainPickup) -> None:
    bench = coarse_bench()
    for example in ("hardly-known",):
        guitar = read_guitar(EXAMPLES / f"{example}.guitar.toml")
        asked = GivenDraw()
        bench.drawn(guitar, guitar.pickups[0].name, [asked])
        assert len(asked.asked) > 10
        found = unknowns_of_draws(guitar, guitar.pickups[0].name, asked.asked)
        assert sorted(name for one in found for name in one.names) == sorted(asked.asked)
        assert not {one.words for one in found} & asked.asked


def test_it_is_kept_for_this_very_guitar() -> None:
    guitar = replace(few_assumed(read_guitar(REFERENCE)), name="kept once")
    assert known_hangs_on(guitar, "reference", points=16) is None
    seen: list[tuple[int, int]] = []
    found = hangs_on(guitar, "reference", points=16, progress=lambda a, b: seen.append((a, b)))
    assert seen[-1][0] == seen[-1][1] - 1
    again = known_hangs_on(guitar, "reference", points=16)
    assert again is not None
    assert json.dumps(asdict(again), sort_keys=True) == json.dumps(asdict(found), sort_keys=True)
    assert known_hangs_on(replace(guitar, name="another"), "reference", points=16) is None
    assert known_hangs_on(guitar, "reference") is None  # of other points
