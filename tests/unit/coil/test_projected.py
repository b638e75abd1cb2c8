"""A network of many unknowns in a few directions is the network: against all unknowns solved at each frequency."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.arrays import ComplexArray
from polepiece.coil import projected as few
from polepiece.coil import solution
from polepiece.constants import MU_0
from polepiece.errors import ConvergenceError
from polepiece.guitar import parse_guitar
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy, steel_parts
from polepiece.pickup.steel_edges import sheet_impedances, steel_permeabilities
from polepiece.pickup.stringing import string_layout

TEXT = """
name = "test"
[[pickups]]
name = "neck"
position = "neck"
construction = "{}"
base_plate = "{}"
cover = "steel"
[pickups.magnet]
grade = "alnico-5"
"""
INDUCTANCE, POTENTIAL = 1e-7, 1e-4  # shares; the second is five times what is left over, since it is of one place
HERTZ = engine.SAMPLES


@pytest.fixture(scope="module", params=[("humbucker", "steel"), ("blade-single", "brass")], ids=lambda one: one[0])
def network(request: pytest.FixtureRequest) -> few.Network:
    """The network of a pickup under steel on the coarse mesh, its steel without bias."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("POLEPIECE_CACHE", "")
        guitar = parse_guitar(TEXT.format(*request.param))
        unit = guitar.pickups[0]
        shape = anatomy(unit)
        model = engine.made_model(shape, string_layout(guitar, unit, shape), engine.COARSE)
    steels, still = steel_parts(unit), np.zeros(len(model.mesh.edge_a))
    steel = steel_permeabilities(model.mesh, model.system.edges, still, steels, HERTZ)
    magnet = np.full(len(HERTZ), 3.7 + 0j)
    sheets = sheet_impedances(model.mesh, shape.plates, still, steels, HERTZ)
    return few.Network.of(model.system, HERTZ, steel, magnet, magnet, sheets)


def inductance(network: few.Network, found: tuple[ComplexArray, ComplexArray]) -> ComplexArray:
    system, coils = network.system, network.coils
    full = (system.windings.air + system.factor * MU_0 * system.direct)[:coils]
    back = system.drive[:, :coils].T @ found[0]
    return np.asarray(full[:, :coils] - system.factor * MU_0 * back + full[:, coils:] @ found[1])


@pytest.mark.parametrize("share", [0.05, 1.0, 2.0])
def test_a_few_directions_answer_as_all_unknowns_do(network: few.Network, share: float) -> None:
    """At every frequency, permeabilities of 10 to 500 (the spread of what is assumed) and the loss with them."""
    one = replace(network, weight=share * network.weight)
    found, all_of_them = few.projected(one), solution.directly(one)
    here, there = (inductance(one, each) for each in (found, all_of_them))
    assert (np.abs(here - there) < INDUCTANCE * np.abs(there)).all()
    assert (np.abs((here - there).imag[1:]) < 1e-5 * np.abs(there.imag[1:])).all()
    for mine, theirs in zip(found, all_of_them):
        assert np.abs(theirs).max() > 0.0
        assert np.abs(mine - theirs).max() < POTENTIAL * np.abs(theirs).max()


def test_the_lowest_frequency_alone(network: few.Network) -> None:
    """The factor is then the network itself: one round."""
    one = replace(
        network, weight=network.weight[:, :1], flat=network.flat[:1], up=network.up[:1], omega=network.omega[:1],
        impedance=network.impedance[:1],
    )  # fmt: skip
    found, all_of_them = few.projected(one), solution.directly(one)
    np.testing.assert_allclose(found[0], all_of_them[0], rtol=0.0, atol=1e-9 * np.abs(all_of_them[0]).max())
    assert not found[1].any()


def test_what_is_left_over_is_said(network: few.Network, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(few, "ROUNDS", 2)
    with pytest.raises(ConvergenceError, match=r"after 2 rounds .* of a coil's drive is left over"):
        few.projected(network)


def test_a_closer_tolerance_comes_closer(network: few.Network, monkeypatch: pytest.MonkeyPatch) -> None:
    def error(tolerance: float) -> float:
        monkeypatch.setattr(few, "TOLERANCE", tolerance)
        return float(np.abs(few.projected(network)[0] - truth).max() / np.abs(truth).max())

    truth = solution.directly(network)[0]
    loose, close = error(1e-2), error(1e-6)
    assert close < 0.01 * loose
