"""Slopes across the strings through the chain: against strings put aside, solved anew, mirrored, and drawn."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.geometry import cut
from polepiece.guitar import Guitar, Pickup, parse_guitar
from polepiece.guitar.spread import NOMINAL, SIGMAS, draws
from polepiece.magnetics import Elements
from polepiece.moves import apply, parse_changes
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.magnetised import magnetise
from polepiece.pickup.offsets import CENTRING, OWN, READ, SPACING, _shares, string_offsets
from polepiece.pickup.stringing import string_layout, string_places
from polepiece.strings import Sensed
from tests.reference.small_pickup import COARSE

TEXT = """
name = "test"
[[pickups]]
name = "neck"
position = "neck"
construction = "{}"
gap_bass_mm = 2.5
gap_treble_mm = 2.5
[pickups.magnet]
grade = "alnico-5"
"""
CONSTRUCTIONS = ("humbucker", "rod-single", "two-bar-single")


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", "")


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(resolution=COARSE)


def guitar(construction: str, aside: float = 0.0) -> Guitar:
    """Six like strings at one height, ``aside`` from their poles, m."""
    found = parse_guitar(TEXT.format(construction))
    y, height = string_places(found, found.pickups[0])
    like = replace(found.strings[2], height=float(height.mean()))
    return replace(found, strings=tuple(replace(like, y=float(one) + aside) for one in y))


def sensed(bench: Bench, construction: str, aside: float = 0.0) -> Sensed:
    one = guitar(construction, aside)
    return bench.sensed(one, one.pickups[0], bench.magnetised(one, one.pickups[0]))


@pytest.mark.parametrize("mirrored", [True, False])
@pytest.mark.parametrize("construction", ["humbucker", "rod-single"])
def test_slopes_of_elements_are_those_of_their_potentials(construction: str, mirrored: bool) -> None:
    shape = anatomy(guitar(construction).pickups[0])
    elements = Elements.of(cut(shape.assembly, COARSE, mirror=mirrored))
    z = shape.top
    points = np.array(
        [[x, y, z + h] for x in (-9.3e-3, 0.2e-3, 25e-3) for y in (4.1e-3, 25.7e-3) for h in (1e-3, 6e-3)]
    )
    step = np.array([0.0, 1e-6, 0.0])
    expected = (elements.potentials(points + step) - elements.potentials(points - step)) / 2e-6
    found = elements.slopes_across(points)
    # 1e-7 of the largest: 1e-16 of 1/r over the step; the few pairs are left out for which a rule changes in between
    wrong = np.abs(found - expected) > 1e-7 * np.abs(expected).max()
    assert wrong.mean() < 5e-3
    assert np.abs(found).max() > 1.0


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
@pytest.mark.parametrize("aside", [0.0, 0.6e-3])
def test_motion_across_is_the_difference_of_two_pickups_solved_apart(
    bench: Bench, construction: str, aside: float
) -> None:
    step = 0.2e-3
    low, here, high = (sensed(bench, construction, aside + k * step) for k in (-1, 0, 1))
    towards = np.abs(here.sensitivity).max()
    # 0.5 % of the sensitivity towards the poles (46 dB below it): the reply's slope between the heights of its table
    across = (high.linkage - low.linkage) / (2.0 * step)
    np.testing.assert_allclose(here.across, across, rtol=0.02, atol=0.005 * towards)
    # 5 %: the second derivative of the reply is left out, and the poles are 0.8 mm slices wide
    bent = (high.across - low.across) / (2.0 * step)
    np.testing.assert_allclose(here.sideways, bent, rtol=0.05, atol=0.02 * np.abs(bent).max())
    mixed = (high.sensitivity - low.sensitivity) / (2.0 * step)
    # a half millimetre aside: within 0.5 % of the sensitivity
    np.testing.assert_allclose(here.across_slope * 0.5e-3, mixed * 0.5e-3, atol=0.005 * towards)


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_the_mirrored_string_senses_the_opposite(bench: Bench, construction: str) -> None:
    """The poles are their own image: what is odd in y turns over, nothing else does."""
    here = sensed(bench, construction)
    for name, sign in (("across", -1.0), ("across_slope", -1.0), ("profile_across", -1.0), ("sideways", 1.0)):
        found = getattr(here, name)
        np.testing.assert_allclose(found[::-1], sign * found, rtol=1e-9, atol=1e-9 * np.abs(found).max(), err_msg=name)
    left, right = (sensed(bench, construction, s * 0.5e-3) for s in (-1, 1))
    np.testing.assert_allclose(left.across[::-1], -right.across, rtol=1e-6)
    np.testing.assert_allclose(left.sensitivity[::-1], right.sensitivity, rtol=1e-6)


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_no_step_between_the_middle_strings(bench: Bench, construction: str) -> None:
    """Over its pole a string has what its neighbours leave: next to nothing in the middle, most at the ends."""
    here = sensed(bench, construction)
    share = (here.across / here.sensitivity)[:, 0]
    assert abs(share[2]) < 0.03  # -30 dB
    assert abs(share[0]) > 2.0 * abs(share[2]) > 0.0
    moved = sensed(bench, construction, 0.5e-3)
    ratio = (moved.across / moved.sensitivity)[1:5, 0]
    assert (np.sign(ratio) == np.sign(ratio[0])).all()  # all to one side of their poles
    for values in (share[1:5], ratio):
        steps = np.abs(np.diff(values))
        assert steps[1] < steps[[0, 2]].max()  # between strings 3 and 4 no more than between their neighbours


@pytest.mark.parametrize("construction", ["humbucker", "two-bar-single"])  # the second is solved in halves
def test_slopes_by_exchange_are_those_of_the_pickup_solved_anew(bench: Bench, construction: str) -> None:
    before = guitar(construction, 0.3e-3)
    bench.magnetised(before, before.pickup("neck"))
    after = apply(before, "neck", parse_changes(["screw3=up 1 turn"]))
    pickup = after.pickup("neck")
    found = bench.magnetised(after, pickup)
    assert found.model.kin is not None
    known = magnetise(engine.made_model(found.model.anatomy, found.model.layout, COARSE), pickup)
    for ours, theirs in ((found.slopes.pickup, known.slopes.pickup), (found.slopes.coils, known.slopes.coils)):
        # 2e-4: the cut basis of the coils' fields (test_turning), Newton's tolerance of the magnet's
        np.testing.assert_allclose(ours, theirs, atol=2e-4 * np.abs(theirs).max())
    one, two = (bench.sensed(after, pickup, m) for m in (found, known))
    # 0.5 % of the sensitivity towards the poles (46 dB below it): the slope of the reply is that of the kin
    np.testing.assert_allclose(one.across, two.across, atol=0.005 * np.abs(two.sensitivity).max())


def test_stored_slopes_are_those_that_were_made(tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path))
    one = guitar("humbucker")
    shape = anatomy(one.pickups[0])
    layout = string_layout(one, one.pickups[0], shape)
    made, read = (engine.made_model(shape, layout, COARSE) for _ in range(2))
    for name in ("nodes", "direct", "reply"):
        np.testing.assert_array_equal(getattr(read.slopes, name), getattr(made.slopes, name))


def offset_deviation(one: Guitar, pickup: Pickup) -> np.ndarray:
    """Return the standard deviation (k,), m, that `string_offsets` should have: three independent parts."""
    return np.sqrt(np.sum(np.square(_shares(one, pickup)), axis=0)) / SIGMAS


def test_offsets_are_drawn_about_the_stated_places() -> None:
    assumed, stated = parse_guitar(TEXT.format("humbucker")), guitar("humbucker")
    unit = assumed.pickups[0]
    np.testing.assert_array_equal(string_offsets(assumed, unit, NOMINAL), np.zeros(6))
    sample = np.array([string_offsets(assumed, unit, one) for one in draws(2000, 3)])
    deviation = offset_deviation(assumed, unit)
    # 5 %: three standard errors of a standard deviation of 2000 draws; clipping at 2.5 takes 1 to 2 %
    np.testing.assert_allclose(sample.std(axis=0), deviation, rtol=0.05)
    np.testing.assert_allclose(deviation[[0, -1]] * SIGMAS, np.sqrt(CENTRING**2 + SPACING**2 + OWN**2), rtol=1e-9)
    assert np.corrcoef(sample[:, 2], sample[:, 3])[0, 1] > 0.7  # centring is common to all strings
    np.testing.assert_allclose(offset_deviation(stated, unit) * SIGMAS, READ, rtol=1e-9)
    np.testing.assert_array_equal(
        string_offsets(assumed, unit, draws(8, 3)[4]), string_offsets(assumed, unit, draws(8, 3)[4])
    )
