"""Inductances of coils and circles against published values.

Sources: H. Nagaoka (1909) as tabulated in F. W. Grover, Inductance Calculations (1946), table 36 (four figures, from
memory; they agree with Lorenz's closed form); E. B. Rosa and F. W. Grover, Bull. Bur. Stand. 8, 1 (1912), example of
coaxial circles (from memory; agrees with DLMF 19.34); H. B. Brooks, J. Res. NBS 7, 289 (1931), coil of square
section (constant read); H. A. Wheeler, Proc. IRE 16, 1398 (1928) (formula read, 1 %); Grover, ch. 8: square loop of
rectangular wire, and ch. 7: straight strip (from memory).
"""

import math

import numpy as np
import pytest
from scipy import integrate

from polepiece.coil import Racetrack, inductance_in_air, winding
from polepiece.constants import MU_0
from tests.reference import circles
from tests.reference.circles import RoundWinding, circle_mutual, inductance_of_winding

NAGAOKA = [(0.1, 0.9588), (0.2, 0.9201), (0.5, 0.8181), (1.0, 0.6884), (2.0, 0.5255), (5.0, 0.3198), (10.0, 0.2033)]


@pytest.mark.parametrize(("ratio", "coefficient"), NAGAOKA)
def test_a_current_sheet_has_nagaokas_inductance(ratio: float, coefficient: float) -> None:
    diameter, turns, thin = 20e-3, 100.0, 1e-6
    length = diameter / ratio
    coil = RoundWinding(
        inner_radius=0.5 * (diameter - thin), outer_radius=0.5 * (diameter + thin), bottom=0.0, top=length, turns=turns
    )
    endless = MU_0 * turns**2 * math.pi * (0.5 * diameter) ** 2 / length
    # 200 filaments stand for the sheet: 0.1 %, beside half a unit of the table's last digit
    assert inductance_of_winding(coil) / endless == pytest.approx(coefficient, rel=1e-3)


def test_coaxial_circles() -> None:
    assert circle_mutual(0.25, 0.20, 0.10) == pytest.approx(248.7875e-9, rel=1e-5)  # nH; the printed figures


def test_a_coil_of_square_section() -> None:
    coil = RoundWinding(inner_radius=1e-2, outer_radius=2e-2, bottom=0.0, top=1e-2, turns=1000)
    assert inductance_of_winding(coil) == pytest.approx(25.491e-3, rel=1e-3)  # filaments against Brooks's constant


def test_a_multilayer_coil_by_wheelers_formula() -> None:
    inch = 25.4e-3
    a, b, c, n = 0.6, 0.7, 0.5, 2000.0  # mean radius, length, depth in inches: the formula's three terms alike
    coil = RoundWinding(
        inner_radius=(a - c / 2) * inch, outer_radius=(a + c / 2) * inch, bottom=0.0, top=b * inch, turns=n
    )
    assert inductance_of_winding(coil) == pytest.approx(0.8e-6 * a**2 * n**2 / (6 * a + 9 * b + 10 * c), rel=0.015)


@pytest.mark.parametrize("section", [0.5e-3, 1e-3])
def test_a_square_loop_of_square_wire(section: float) -> None:
    # L = 0.008 s (ln(s / (b + c)) + 0.2235 (b + c) / s + 0.726) uH, lengths in cm; corners are its 0.5 %
    side = 40e-3
    coil = Racetrack(
        inner_half_x=0.5 * (side - section), inner_half_y=0.5 * (side - section), outer_half_x=0.5 * (side + section),
        outer_half_y=0.5 * (side + section), bottom=0.0, top=section, turns=1,
    )  # fmt: skip
    s, p = 100.0 * side, 200.0 * section
    expected = 0.008e-6 * s * (math.log(s / p) + 0.2235 * p / s + 0.726)
    assert inductance_in_air([coil])[0, 0] == pytest.approx(expected, rel=5e-3)


def test_a_racetrack_and_a_round_coil_of_one_area_are_near() -> None:
    """A square coil against a round one of the same area: the perimeter is 1.128 of it, L between 1.0 and 1.13."""
    square = Racetrack(
        inner_half_x=8e-3, inner_half_y=8e-3, outer_half_x=12e-3, outer_half_y=12e-3, bottom=0.0, top=5e-3, turns=1000
    )
    factor = 2.0 / math.sqrt(math.pi)
    circle = RoundWinding(inner_radius=8e-3 * factor, outer_radius=12e-3 * factor, bottom=0.0, top=5e-3, turns=1000)
    ratio = inductance_in_air([square])[0, 0] / inductance_of_winding(circle)
    assert 1.0 < ratio < 1.128


def test_one_minus_nagaoka_is_a_cylinders_demagnetising_factor() -> None:
    # Chen, Brug and Goldfarb 1991 take the same road: 0.3116 at length = diameter
    thin = 1e-6
    coil = RoundWinding(inner_radius=10e-3 - thin, outer_radius=10e-3 + thin, bottom=0.0, top=20e-3, turns=1)
    endless = MU_0 * np.pi * (10e-3) ** 2 / 20e-3
    assert 1.0 - inductance_of_winding(coil) / endless == pytest.approx(0.3116, abs=7e-4)


def test_a_square_sees_itself_at_its_geometric_mean_distance() -> None:
    """ln R = mean of ln |P - Q| over a unit square; the differences of coordinates have density 4 (1 - u)(1 - v)."""
    value, _ = integrate.dblquad(
        lambda u, v: 4.0 * (1.0 - u) * (1.0 - v) * 0.5 * math.log(u * u + v * v), 0.0, 1.0, 0.0, 1.0, epsabs=1e-9
    )
    # 0.2235 (width + height) is a rule for all rectangles, good to its last digit for the square
    assert pytest.approx(math.exp(value), rel=3e-4) == 2.0 * winding.SQUARE_GMD
    assert pytest.approx(math.exp(value), rel=3e-4) == 2.0 * circles.SQUARE_GMD
