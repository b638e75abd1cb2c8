"""The catalogue: complete, chosen by its own rule, feasible, and helpful about wrong names."""

import statistics
import tomllib
from importlib import resources

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.materials import catalogue, constants_hash
from tests.tables import every

SLUGS = {
    "alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-5-7", "alnico-6", "alnico-8", "alnico-9",
    "alnico-5-unoriented", "ceramic-5", "ceramic-8",
}  # fmt: skip
GRADES = catalogue.magnets()
ROWS = {
    row["slug"]: row
    for row in tomllib.loads(
        resources.files("polepiece.materials").joinpath("data", "magnets.toml").read_text("utf-8")
    )["grade"]
}


def test_every_grade_is_there():
    assert {grade.slug for grade in GRADES} == SLUGS


@every((grade, quantity) for grade in GRADES for quantity in ("remanence", "coercivity", "energy_product"))
def test_constants_follow_the_rule(grade, quantity):
    """The rule printed at the top of the data file, applied here again to the rows in it."""
    rows = [row for row in ROWS[grade.slug]["row"] if quantity in row]
    if grade.slug == "alnico-5-unoriented":
        assert not rows
        assert grade.status == "assumption"
        low, high = grade.spread[quantity]
        assert getattr(grade, quantity) == pytest.approx((low + high) / 2)
        return
    read = [row[quantity] for row in rows if row["status"] == "read"]
    every = [row[quantity] for row in rows]

    assert getattr(grade, quantity) == pytest.approx(statistics.median(read or every), rel=1e-4)
    assert grade.spread[quantity] == pytest.approx((min(every), max(every)), rel=1e-4)
    assert grade.statuses[quantity] == ("read" if read else "memory")


@pytest.mark.parametrize("grade", GRADES, ids=lambda grade: grade.slug)
def test_every_number_has_a_source_and_a_status(grade):
    assert grade.sources
    assert all(source.id and source.note for source in grade.sources)
    needed = {"remanence", "coercivity", "energy_product", "recoil_permeability", "density"}
    assert needed <= set(grade.statuses)
    assert set(grade.statuses.values()) <= {"read", "memory", "assumption"}
    for quantity, (low, high) in grade.spread.items():
        assert low <= getattr(grade, quantity) <= high


@pytest.mark.parametrize("grade", GRADES, ids=lambda grade: grade.slug)
def test_the_triple_is_physically_possible(grade):
    assert grade.energy_product < grade.remanence * grade.coercivity
    assert grade.energy_product <= grade.remanence**2 / (4 * MU_0)
    assert (grade.resistivity is None) == (grade.family == "ferrite")


@pytest.mark.parametrize("grade", GRADES, ids=lambda grade: grade.slug)
@given(draw=st.tuples(*[st.floats(0.0, 1.0)] * 3))
@settings(max_examples=15)
def test_any_draw_inside_the_spread_gives_a_magnet(grade, draw):
    def at(quantity, share):
        low, high = grade.spread[quantity]
        return low + share * (high - low)

    names = ("remanence", "coercivity", "energy_product")
    constants = {name: at(name, share) for name, share in zip(names, draw)}
    sampled = grade.with_constants(**constants, limit=True)

    assert sampled.remanence == constants["remanence"]
    assert np.all(sampled.curve.magnetization([-0.9 * sampled.coercivity, 0.0])[1] > 0.0)


def test_rough_cast_is_a_finish_of_alnico_5():
    assert catalogue.magnet("alnico-5-rough-cast") == catalogue.magnet("alnico-5")
    finish = catalogue.finish("alnico-5-rough-cast")
    assert finish is catalogue.finish("rough-cast")
    assert finish.status == "assumption"
    assert finish.gap_a_side == (0.05e-3, 0.2e-3)
    assert catalogue.finish("alnico-5") is None


def test_wrong_names_are_answered_with_the_nearest():
    with pytest.raises(InputError, match="Did you mean 'alnico-5'"):
        catalogue.magnet("Alnico5")
    with pytest.raises(InputError, match="Did you mean 'ceramic-8'"):
        catalogue.magnet("ceramic8")
    with pytest.raises(InputError, match="12L14"):
        catalogue.steel("12l14")
    with pytest.raises(InputError, match="nickel-silver"):
        catalogue.conductor("nickel silver")
    with pytest.raises(InputError, match="gauge"):
        catalogue.wire(0.0635)


def test_steels_and_their_spreads():
    names = {steel.name for steel in catalogue.steels()}
    assert {"1006", "1010", "1018", "1020", "1117", "12L14", "416", "430", "music-wire"} <= names
    for steel in catalogue.steels():
        assert steel.sources
        low, high = steel.spread["reversible_permeability"]
        assert (low, steel.reversible_permeability, high) == (10.0, 280.0, 500.0)
        low, high = steel.spread["resistivity"]
        assert low <= steel.resistivity <= high
    wire = catalogue.steel("music-wire")
    assert wire.status == "assumption"
    assert wire.spread["initial_permeability"] == (60.0, 1000.0)
    assert wire.spread["saturation"] == (1.6, 2.0)
    assert wire.law.initial_permeability == pytest.approx(245.0)


def test_records_can_be_keys_of_a_cache():
    for record in (GRADES[0], catalogue.steel("1010"), catalogue.conductor("brass"), catalogue.wire(42)):
        assert hash(record) == hash(record)


def test_constants_hash_is_stable():
    assert constants_hash() == constants_hash()
    assert constants_hash().startswith("sha256:")
    assert len(constants_hash()) == len("sha256:") + 16
