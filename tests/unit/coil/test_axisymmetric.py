"""The round coil with coaxial rods and discs: closed forms, limits, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.constants import MU_0
from polepiece.errors import InputError
from tests.reference.axisymmetric import CoreRod, Disc, inductance
from tests.reference.circles import RoundWinding, circle_mutual, circle_potential, inductance_of_winding

COIL = RoundWinding(inner_radius=3.2e-3, outer_radius=8e-3, bottom=10.5e-3, top=17e-3, turns=5000)
CORE = CoreRod(radius=1.5e-3, bottom=0.0, top=18.5e-3, permeability=800.0, resistivity=1.43e-7)
DISC = Disc(outer_radius=20e-3, thickness=0.5e-3, z=9.25e-3, resistivity=2.9e-7)
HERTZ = np.array([0.0, 100.0, 1000.0, 10e3, 20e3])


def test_a_circles_potential_on_its_axis() -> None:
    z = np.array([-3.0, -0.2, 0.1, 2.0])
    # Omega = 2 pi (1 - z / sqrt(a^2 + z^2)) above, odd in z; any textbook
    expected = np.sign(z) * 0.5 * (1.0 - abs(z) / np.sqrt(1.0 + z * z))
    np.testing.assert_allclose(circle_potential(1.0, 0.0, z), expected, rtol=1e-12)


def test_a_circles_potential_beside_it() -> None:
    # on the cylinder over the circle the closed form changes branch: both sides must meet there
    near = circle_potential(1.0, [1.0 - 1e-9, 1.0, 1.0 + 1e-9], 0.3)
    np.testing.assert_allclose(near, near[1], rtol=1e-8)
    above, below = circle_potential(1.0, 0.5, [1e-9, -1e-9])
    assert above - below == pytest.approx(1.0, abs=1e-8)  # one ampere through the circle's disc
    assert circle_potential(1.0, 2.0, 1e-9) == pytest.approx(0.0, abs=1e-8)  # and none beside it


def test_nothing_in_the_coil_is_air_at_every_frequency() -> None:
    np.testing.assert_array_equal(
        inductance(COIL, (), (), HERTZ), np.full(5, inductance_of_winding(COIL), dtype=complex)
    )


def test_a_long_core_multiplies_the_middle_of_a_long_coil() -> None:
    # flux of an endless solenoid: mu0 n^2 (A_coil + (mu - 1) A_core) a length; ends cost a few per cent at 60 diameters
    coil = RoundWinding(inner_radius=2.0e-3, outer_radius=2.02e-3, bottom=-0.1, top=0.1, turns=2000)
    core = CoreRod(radius=1e-3, bottom=-0.15, top=0.15, permeability=20.0)
    air, filled = inductance(coil, (), (), [0.0])[0].real, inductance(coil, (core,), (), [0.0])[0].real
    expected = MU_0 * 2000**2 / 0.2 * 19.0 * math.pi * 1e-6
    assert filled - air == pytest.approx(expected, rel=0.05)


def test_a_core_in_two_pieces_that_touch_is_one_core() -> None:
    pieces = (replace(CORE, top=7e-3), replace(CORE, bottom=7e-3))
    one, two = inductance(COIL, (CORE,), (), HERTZ), inductance(COIL, pieces, (), HERTZ)
    np.testing.assert_allclose(two, one, rtol=2e-3)  # the slices lie elsewhere, nothing else changes
    apart = (replace(CORE, top=6.5e-3), replace(CORE, bottom=7.5e-3))
    assert inductance(COIL, apart, (), [0.0])[0].real < one[0].real * 0.98  # an air gap is not nothing


def test_a_head_is_steel_too() -> None:
    head = CoreRod(radius=2.5e-3, bottom=18.5e-3, top=20e-3, permeability=800.0)
    assert inductance(COIL, (CORE, head), (), [0.0])[0].real > inductance(COIL, (CORE,), (), [0.0])[0].real * 1.005


def test_order_does_not_matter() -> None:
    top = replace(CORE, bottom=8e-3)
    bottom = replace(CORE, top=5e-3)
    first, second = (inductance(COIL, rods, (DISC_WITH_HOLE,), HERTZ) for rods in ((top, bottom), (bottom, top)))
    np.testing.assert_allclose(first, second, rtol=1e-12)


DISC_WITH_HOLE = replace(DISC, inner_radius=2e-3)


def test_a_perfect_disc_is_a_mirror() -> None:
    """Far below its skin depth's reach a wide, good conductor doubles the coil in its plane with opposite current."""
    good = Disc(outer_radius=60e-3, thickness=1e-6, z=9.499e-3, resistivity=1e-13)
    found = inductance(COIL, (), (good,), [20e3])[0]
    image = replace(COIL, bottom=2 * 9.5e-3 - COIL.top, top=2 * 9.5e-3 - COIL.bottom)
    mutual = mutual_of(COIL, image)
    own = inductance_of_winding(COIL)
    # the disc ends at 60 mm, seven coil radii away, and the twin's filaments are 12 x 12: 1 % of the mutual
    assert found.real == pytest.approx(own - mutual, abs=0.01 * mutual)
    assert abs(found.imag) < 1e-3 * own


def mutual_of(first: RoundWinding, second: RoundWinding) -> float:
    """Mutual inductance by the circles' sum."""

    u = (np.arange(12) + 0.5) / 12
    circles = []
    for w in (first, second):
        a, z = np.meshgrid(
            w.inner_radius + (w.outer_radius - w.inner_radius) * u, w.bottom + (w.top - w.bottom) * u, indexing="ij"
        )
        circles.append((a.ravel(), z.ravel()))
    (a, za), (b, zb) = circles
    return float(first.turns * second.turns * circle_mutual(a[:, None], b[None], za[:, None] - zb[None]).mean())


def test_a_thin_disc_at_low_frequency_loses_as_the_square_of_frequency() -> None:
    low = inductance(COIL, (), (DISC,), [50.0, 100.0])
    assert low[1].imag / low[0].imag == pytest.approx(2.0, rel=1e-3)  # Im L ~ f, so the loss w Im L ~ f^2
    thick = inductance(COIL, (), (replace(DISC, resistivity=DISC.resistivity / 2.0),), [50.0])
    assert thick[0].imag / low[0].imag == pytest.approx(2.0, rel=1e-3)  # conductance alone counts there


@settings(max_examples=20)
@given(
    mu=st.floats(1.5, 3000.0), rho=st.floats(1e-8, 1e-6), radius=st.floats(0.5e-3, 3e-3), z=st.floats(2e-3, 9e-3),
    hertz=st.floats(1.0, 20e3),
)  # fmt: skip
def test_parts_add_flux_and_only_lose(mu: float, rho: float, radius: float, z: float, hertz: float) -> None:
    core = CoreRod(radius=radius, bottom=0.0, top=18.5e-3, permeability=mu, resistivity=rho)
    disc = Disc(outer_radius=20e-3, inner_radius=3.1e-3, thickness=0.5e-3, z=z, resistivity=rho)
    static, moving = inductance(COIL, (core,), (disc,), [0.0, hertz])
    assert static.imag == 0.0
    assert static.real >= inductance_of_winding(COIL)
    assert moving.imag <= 0.0  # Re Z = -w Im L: nothing here gives power
    assert moving.real <= static.real * (1.0 + 1e-12)


@pytest.mark.parametrize(
    ("rods", "sheets", "words"),
    [
        ((replace(CORE, radius=4e-3),), (), "rod 0 and the winding overlap"),
        ((CORE, replace(CORE, bottom=10e-3, top=30e-3)), (), "rod 1 and rod 0 overlap"),
        ((CORE,), (DISC,), "disc 0 and rod 0 overlap"),
        ((), (replace(DISC, z=12e-3),), "disc 0 and the winding overlap"),
    ],
)
def test_parts_in_one_place_are_refused(rods: tuple[CoreRod, ...], sheets: tuple[Disc, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        inductance(COIL, rods, sheets, [1000.0])


@pytest.mark.parametrize("hertz", [[-1.0], [math.nan], [math.inf], [[1.0, 2.0]]])
def test_frequencies_are_finite_and_not_negative(hertz: list[float]) -> None:
    with pytest.raises(InputError, match="frequencies"):
        inductance(COIL, (), (), hertz)


@pytest.mark.parametrize(
    "make",
    [
        lambda: replace(COIL, inner_radius=9e-3),
        lambda: replace(COIL, top=0.0),
        lambda: replace(COIL, turns=0.0),
        lambda: replace(CORE, permeability=0.5),
        lambda: replace(CORE, resistivity=0.0),
        lambda: replace(CORE, radius=-1.0),
        lambda: replace(DISC, inner_radius=30e-3),
        lambda: replace(DISC, thickness=0.0),
        lambda: replace(DISC, resistivity=math.inf),
    ],
)
def test_parts_that_cannot_be_are_refused(make: object) -> None:
    with pytest.raises(InputError):
        make()  # type: ignore[operator]
