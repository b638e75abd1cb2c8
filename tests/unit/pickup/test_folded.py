"""A state of a pickup solved in its half x >= 0 is that of the whole pickup: all that is made of it, to rounding."""

from dataclasses import fields, replace

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.guitar import Guitar, parse_guitar
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.magnetised import Magnetised, magnetise
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
{}
[pickups.magnet]
grade = "alnico-5"
"""
STAGGER = "[pickups.rods]\nrod_lengths_mm = [16.5, 17.5, 18, 17, 17.5, 17]"
PICKUPS = {
    "rods": ("rod-single", ""),
    "staggered rods": ("rod-single", STAGGER),
    "bar": ("bar-single", ""),
    "two bars": ("two-bar-single", ""),
}
ASIDE = 0.4e-3  # m, strings beside their poles: nothing is zero because it is odd
ROUNDING = 1e-8  # of the largest: Newton ends there (steps by conjugate gradients); sums in another order make 1e-12


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", "")


def guitar(name: str) -> Guitar:
    found = parse_guitar(TEXT.format(*PICKUPS[name]))
    y, _ = string_places(found, found.pickups[0])
    strings = tuple(replace(one, y=float(at) + ASIDE) for one, at in zip(found.strings, y))
    return replace(found, strings=strings)


def agree(one: np.ndarray, other: np.ndarray, name: str) -> None:
    scale = np.abs(other).max()
    assert scale > 0.0, name
    np.testing.assert_allclose(one, other, rtol=0.0, atol=ROUNDING * scale, err_msg=name)


@pytest.mark.parametrize("name", PICKUPS)
def test_a_state_of_the_half_is_that_of_the_whole(name: str) -> None:
    one = guitar(name)
    unit = one.pickups[0]
    shape = anatomy(unit)
    layout = string_layout(one, unit, shape)
    models = [engine.made_model(shape, layout, COARSE, folded=folded) for folded in (True, False)]
    assert [model.mesh.folded for model in models] == [True, False]
    agree(models[0].factors.probe_reply, models[1].factors.probe_reply, "reply")
    agree(models[0].slopes.reply, models[1].slopes.reply, "slope of the reply")
    agree(models[0].slopes.direct, models[1].slopes.direct, "slope of what the coils alone make")
    agree(models[0].along.direct, models[1].along.direct, "what the coils alone make")
    half, whole = (magnetise(model, unit) for model in models)
    _same_tables(half, whole)
    bench = Bench(resolution=COARSE)
    sensed = [bench.sensed(one, unit, found) for found in (half, whole)]
    for each in fields(Sensed):
        agree(getattr(sensed[0], each.name), getattr(sensed[1], each.name), each.name)
    agree(*(bench.eddy(one, unit, m, s) for m, s in zip((half, whole), sensed)), "eddy currents")


def _same_tables(half: Magnetised, whole: Magnetised) -> None:
    agree(half.pickup_table, whole.pickup_table, "the pickup's potential")
    agree(half.coil_table, whole.coil_table, "the coils' potential")
    agree(half.slopes.pickup, whole.slopes.pickup, "slope of the pickup's potential")
    agree(half.slopes.coils, whole.slopes.coils, "slope of the coils' potential")
    agree(half.coils.fields.inductance, whole.coils.fields.inductance, "inductance")


@pytest.mark.parametrize("construction", ["two-screw-rows", "twin-blade"])
def test_the_field_of_two_rows_alike_is_read_over_the_same_row_at_every_string(construction: str) -> None:
    """Their fields are equal and opposite: which is the larger, string by string, is a matter of rounding."""
    found = parse_guitar(TEXT.format(construction, ""))
    pickup = found.pickups[0]
    shape = anatomy(pickup)
    model = engine.made_model(shape, string_layout(found, pickup, shape), COARSE)
    magnetised, rng = magnetise(model, pickup, with_coils=False), np.random.default_rng(1)
    table = magnetised.pickup_table * (1.0 + 1e-13 * rng.standard_normal(magnetised.pickup_table.shape))
    field = engine.vertical_field(model, table, *string_places(found, pickup))
    assert len(set(np.sign(field))) == 1
    assert np.min(np.abs(field)) > 1e-3  # T
