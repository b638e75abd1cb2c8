"""Stiff and plucked strings against printed numbers."""

import math

import numpy as np
import pytest

from polepiece.strings import Pluck, SpeakingString, modal_amplitudes
from polepiece.strings.modes import stiff_partials
from tests.reference.tuned_strings import tuned_set

LENGTH = 0.6477


def cents(ratio):
    return 1200.0 * np.log2(ratio)


def test_fletchers_coefficient_of_a_plain_string():
    # Fletcher, JASA 36 (1964): B = pi^3 E d^4/(64 T L^2); 1.3267e-5 from a reference table
    # (memory); tolerance 0.1 %: its inputs are rounded (by hand the formula gives 1.32690e-5)
    rho, diameter, pitch = 7850.0, 0.254e-3, 329.628
    string = SpeakingString(
        diameter=diameter,
        core_diameter=diameter,
        unit_mass=rho * math.pi / 4.0 * diameter**2,
        pitch=pitch,
        length=LENGTH,
        young_modulus=2.002e11,
    )
    assert string.inharmonicity == pytest.approx(1.3267e-5, rel=1e-3)


def test_youngs_constant_of_plain_steel_wire():
    # Young, JASA 24 (1952): cents = 3.4e13 n^2 d^2/(f0^2 l^4), cm and Hz; printed to two digits,
    # recomputed 3.404e13
    rho, diameter, pitch, length = 7850.0, 1.0e-3, 261.6, 0.62
    string = SpeakingString(
        diameter=diameter,
        core_diameter=diameter,
        unit_mass=rho * math.pi / 4.0 * diameter**2,
        pitch=pitch,
        length=length,
        young_modulus=25.5e10 * 1e-4 * rho,  # Q/rho in (cm/s)^2
    )
    n = 4.0
    found = cents(stiff_partials(n, fundamental=pitch, inharmonicity=string.inharmonicity) / (n * pitch))
    expected = 3.4e13 * n**2 * (diameter * 100.0) ** 2 / (pitch**2 * (length * 100.0) ** 4)
    # 0.5 %: the print's two digits (0.12 %) and the quadratic limit of the root (B n^2 < 1e-2: 0.4 %)
    assert found == pytest.approx(expected, rel=5e-3)


def test_partial_forty_at_b_1e_4_is_128_cents_sharp():
    # Murray and Whitfield 2022, as reported; printed to the cent
    found = cents(stiff_partials(40.0, fundamental=100.0, inharmonicity=1e-4) / 4000.0)
    assert found == pytest.approx(128.0, abs=1.0)


def test_coefficients_of_the_outer_strings_lie_where_they_were_measured():
    # the same paper: about 1e-5 for a first string, about 1e-4 for a low wound one
    strings = tuned_set("10-46", scale_length=LENGTH)
    assert 0.8e-5 < strings[0].inharmonicity < 2e-5
    assert 0.7e-4 < strings[5].inharmonicity < 2e-4


@pytest.mark.parametrize(
    ("fraction", "ratios", "tolerance"),
    [
        # a_n = 8A/(pi^2 n^2), n odd (question-and-answer text)
        (0.5, [1.0, 0.0, -1 / 9, 0.0, 1 / 25], 1e-12),
        # problem collection: 1, 1/4, 0, -1/16
        (1 / 3, [1.0, 1 / 4, 0.0, -1 / 16], 1e-12),
        # plucked-string page, printed to six digits
        (0.2, [1.0, 0.404508, 0.179782, 0.0625, 0.0, -0.0277778], 1e-6),
    ],
)
def test_harmonics_of_an_ideal_pluck(fraction, ratios, tolerance):
    pluck = Pluck(position=fraction * LENGTH, width=0.0, displacement=1e-3, angle=0.0)
    found = modal_amplitudes(np.arange(1.0, len(ratios) + 1.0), length=LENGTH, pluck=pluck)[0]
    assert found / found[0] == pytest.approx(ratios, abs=tolerance)


def test_first_harmonic_of_a_pluck_at_a_third():
    # 3^(5/2)/(2 pi^2) of the height (problem collection)
    pluck = Pluck(position=LENGTH / 3.0, width=0.0, displacement=1e-3, angle=0.0)
    found = modal_amplitudes([1.0], length=LENGTH, pluck=pluck)[0, 0]
    assert found == pytest.approx(0.7897204707819555e-3, rel=1e-9)


@pytest.mark.parametrize(("position", "weak"), [(0.110, 6), (0.170, 4)])
def test_the_weak_partial_of_two_places_seen_in_recordings(position, weak):
    # notches at partials 6 and 4 for 110 and 170 mm on a 647.7 mm scale (published analysis of recordings)
    pluck = Pluck(position=position, width=0.0, displacement=1e-3, angle=0.0)
    n = np.arange(1.0, 9.0)
    velocity = np.abs(modal_amplitudes(n, length=LENGTH, pluck=pluck)[0]) * n
    assert int(n[np.argmin(velocity[:7])]) == weak
