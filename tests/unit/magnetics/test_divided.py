"""A static state from a half of it, or from one magnet of each kind, is that of the whole solved at once."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Resolution, SteelRod, cut
from polepiece.geometry.shapes import Section
from polepiece.magnetics import Factors, MagnetLaw, MagnetState, charge, divided, factorise, solve_state
from polepiece.magnetics.charge import SteelCurve
from polepiece.materials import LangevinSteel, LinearSteel, catalogue

COARSE = Resolution(sectors=6, slice_height=4e-3, cap_rings=1, rod_layers=4, rod_rings=2, rod_sectors=6)
NEWTON = 1e-6  # share of the largest: Newton's method stops at 1e-8 of the charge that moves
SOFT, HARD = LangevinSteel.from_initial_permeability(300.0, saturation=2.1), LinearSteel(permeability=40.0)


def rod(x: float, y: float, sign: float, top: float = 15e-3) -> MagnetRod:
    return MagnetRod(part="magnet", x=x, y=y, radius=2.4e-3, bottom=0.0, top=top, sign=sign)


def slug(x: float, y: float, part: str = "slugs") -> SteelRod:
    return SteelRod(part=part, x=x, y=y, sections=(Section(bottom=0.0, top=12e-3, radius=2e-3),))


def bar(width: float) -> MagnetBox:
    return MagnetBox(part="magnet", x_min=-width, x_max=width, y_min=-14e-3, y_max=14e-3, z_min=0.0, z_max=3e-3, easy=0)


RODS = (rod(8e-3, 5e-3, 1.0), rod(8e-3, 11e-3, 1.0))
OTHERS = (rod(-8e-3, -5e-3, 1.0), rod(-8e-3, -11e-3, 1.0))
EXCHANGED = (rod(-8e-3, -5e-3, -1.0), rod(-8e-3, -11e-3, -1.0))
SLUGS = (slug(8e-3, 17e-3), slug(-8e-3, -17e-3))
ROWS = tuple(slug(8e-3, y) for y in (5e-3, -5e-3)) + tuple(slug(-8e-3, y, "others") for y in (5e-3, -5e-3))
ALIKE, UNLIKE = {"slugs": SOFT, "others": SOFT}, {"slugs": SOFT, "others": HARD}
EVEN_CELLS = "an even number of cells across the bar"  # none on the axis: edges run from a cell to its image
SHAPES = {
    "rods, poles exchanged": (Assembly(magnets=(*RODS, *EXCHANGED)), {}, -1.0),
    "rods, poles alike": (Assembly(magnets=(*RODS, *OTHERS)), {}, 1.0),
    "rods beside steel": (Assembly(magnets=(*RODS, *EXCHANGED), rods=SLUGS), {"slugs": SOFT}, -1.0),
    "a bar between two rows": (Assembly(magnets=(bar(5e-3),), rods=ROWS), ALIKE, -1.0),
    EVEN_CELLS: (Assembly(magnets=(bar(4e-3),), rods=ROWS), ALIKE, -1.0),
}
WHOLE = {
    "rods of either sense on one side": (
        Assembly(magnets=(RODS[0], rod(8e-3, 11e-3, -1.0), *EXCHANGED[:1], rod(-8e-3, -11e-3, -1.0))), {},
    ),
    "a rod on the axis": (Assembly(magnets=(*RODS, *OTHERS, rod(0.0, 0.0, 1.0, top=9e-3))), {}),
    "rows of unlike steel": (Assembly(magnets=(bar(5e-3),), rods=ROWS), UNLIKE),
}  # fmt: skip
CHARGES = [1.0, 0.6, "in-place"]


def state_of(factors: Factors, steels: Mapping[str, SteelCurve], charged: object) -> MagnetState:
    curve = catalogue.magnet("alnico-5").curve
    return solve_state(factors, {"magnet": MagnetLaw(curve=curve, recoil_permeability=3.7, charge=charged)}, steels)


def apart(found: np.ndarray, known: np.ndarray) -> float:
    assert found.shape == known.shape and np.abs(known).max() > 0.0
    return float(np.abs(found - known).max() / np.abs(known).max())


@pytest.mark.parametrize("charged", CHARGES)
@pytest.mark.parametrize("name", SHAPES)
def test_a_half_is_the_whole(name: str, charged: object, monkeypatch: pytest.MonkeyPatch) -> None:
    shapes, steels, sign = SHAPES[name]
    factors = factorise(cut(shapes, replace(COARSE, magnet_across=4) if name == EVEN_CELLS else COARSE))
    half = divided.half(factors)
    assert half is not None and half.sign == sign and len(half.near) < 0.51 * factors.mesh.nodes
    if name == EVEN_CELLS:
        assert factors.turn is not None and not len(factors.turn.nodes.own)
    found = state_of(factors, steels, charged)
    monkeypatch.setattr(charge, "half", lambda _: None)
    known = state_of(factors, steels, charged)
    for one in ("potential", "field", "magnetization"):
        assert apart(getattr(found, one), getattr(known, one)) < NEWTON, one


@pytest.mark.parametrize("name", WHOLE)
def test_what_is_not_alike_is_solved_whole(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a half it would be another state: of magnets that are neither way alike, or of the steel of one row."""
    shapes, steels = WHOLE[name]
    factors = factorise(cut(shapes, COARSE))
    assert factors.turn is not None
    found = state_of(factors, steels, 1.0)
    monkeypatch.setattr(charge, "half", lambda _: None)
    np.testing.assert_array_equal(found.potential, state_of(factors, steels, 1.0).potential)


def test_magnets_of_either_sense_are_charged_alone_once(monkeypatch: pytest.MonkeyPatch) -> None:
    factors = factorise(cut(Assembly(magnets=(*RODS, *EXCHANGED, rod(20e-3, 0.0, -1.0, top=12e-3))), COARSE))
    kinds = divided.alone(factors)
    assert [[sense for _, sense in kind] for kind in kinds] == [[1.0, 1.0, -1.0, -1.0], [1.0]]
    found = state_of(factors, {}, 1.0)
    monkeypatch.setattr(charge, "alone", lambda of: [[(one, 1.0)] for kind in kinds for one, _ in kind])
    known = state_of(factors, {}, 1.0)
    assert found.bare is not None and known.bare is not None
    assert apart(found.bare, known.bare) < NEWTON
    assert apart(found.potential, known.potential) < NEWTON
