"""The first state of a geometry on disk: found again as it was, and never taken for another one."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.guitar import Guitar, Pickup, parse_guitar
from polepiece.pickup import engine, magnetised
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.magnetised import Magnetised, magnetise
from polepiece.pickup.model import PickupModel
from polepiece.pickup.stringing import string_layout

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
charge = "{}"
"""


@pytest.fixture(params=[("rod-single", "outside"), ("blade-single", "in-place")], ids=["rods", "blade"])
def guitar(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Guitar:
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path))
    return parse_guitar(TEXT.format(*request.param))


def model_of(guitar: Guitar) -> PickupModel:
    shape = anatomy(guitar.pickups[0])
    return engine.made_model(shape, string_layout(guitar, guitar.pickups[0], shape), engine.COARSE)


def numbers(one: Magnetised) -> dict[str, np.ndarray]:
    found = {"table": one.pickup_table, "coils": one.coil_table, "slope": one.slopes.pickup, "across": one.slopes.coils}
    found |= {"inductance": one.coils.grid, "field": one.state.field, "charge": one.state.charge}
    found |= {"potential": one.coils.fields.potential, "currents": one.coils.fields.currents}
    return found if one.state.bare is None else found | {"bare": one.state.bare}


def never(*_: object) -> None:
    raise AssertionError("solved")


def test_it_is_found_as_it_was_and_nothing_is_solved(guitar: Guitar, monkeypatch: pytest.MonkeyPatch) -> None:
    first = magnetise(model_of(guitar), guitar.pickups[0])
    with monkeypatch.context() as patch:
        patch.setattr(engine, "static_state", never)
        again = magnetise(model_of(guitar), guitar.pickups[0])
    for key, value in numbers(first).items():
        assert np.array_equal(numbers(again)[key], value), key


def others(pickup: Pickup) -> list[Pickup]:
    """Return pickups of the same shapes, each with another magnet or steel."""
    magnet, poles = pickup.magnet, pickup.poles
    steel = replace(poles.blade_steel, name="430")
    return [
        replace(pickup, magnet=replace(magnet, grade="alnico-2")), replace(pickup, magnet=replace(magnet, charge=0.8)),
        replace(pickup, poles=replace(poles, blade_steel=steel)),
    ]  # fmt: skip


def test_another_magnet_or_steel_has_its_own(guitar: Guitar, monkeypatch: pytest.MonkeyPatch) -> None:
    model, pickup = model_of(guitar), guitar.pickups[0]
    magnetise(model, pickup)
    monkeypatch.setattr(engine, "static_state", never)
    for other in others(pickup):
        with pytest.raises(AssertionError, match="solved"):
            magnetise(model, other)


def test_what_has_something_near_to_start_from_or_no_coils_is_not_kept(guitar: Guitar, tmp_path: Path) -> None:
    model, pickup = model_of(guitar), guitar.pickups[0]
    found = magnetise(model, pickup)
    before = sorted(tmp_path.iterdir())
    magnetise(model, replace(pickup, magnet=replace(pickup.magnet, grade="alnico-2")), start=found.state)
    magnetise(model, replace(pickup, magnet=replace(pickup.magnet, grade="alnico-2")), with_coils=False)
    assert sorted(tmp_path.iterdir()) == before


def test_a_damaged_one_is_solved_anew(guitar: Guitar, tmp_path: Path) -> None:
    model, pickup = model_of(guitar), guitar.pickups[0]
    first, before = None, set(tmp_path.iterdir())
    first = magnetise(model, pickup)
    (own,) = set(tmp_path.iterdir()) - before
    whole = own.read_bytes()
    for damaged in (whole[: len(whole) // 2], whole[:200] + b"\x00" * 64 + whole[264:]):
        own.write_bytes(damaged)
        again = magnetise(model, pickup)
        assert np.array_equal(again.pickup_table, first.pickup_table)
        assert own.stat().st_size == len(whole)


def test_a_geometry_that_is_not_on_disk_has_no_state_there(guitar: Guitar) -> None:
    model = replace(model_of(guitar), stored_as=None)
    assert magnetised.stored_state.name_of(model, None, {}, None) is None  # type: ignore[arg-type]
