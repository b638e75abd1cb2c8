"""Steels, copper and wire against published figures."""

import numpy as np
import pytest

from polepiece.constants import MU_0
from polepiece.materials import catalogue

# ohm per 1000 ft at 20 degC, NBS Handbook 100 / ASTM B258 (from memory)
HANDBOOK = {40: 1079, 41: 1323, 42: 1659, 43: 2143, 44: 2593, 45: 3348, 46: 4207}


@pytest.mark.parametrize("awg", HANDBOOK)
@pytest.mark.parametrize("build", ["single", "heavy"])
def test_wire_resistance(awg, build):
    """Tolerance 0.5 %: the handbook rounds the diameter to 0.1 mil or 0.01 mil."""
    published = HANDBOOK[awg] / (1000 * 0.3048)

    assert catalogue.wire(awg, build).resistance_per_metre() == pytest.approx(published, rel=0.005)


def test_wire_resistance_rises_with_temperature():
    """IEC 60028: 8.00 kohm at 20 degC is 8314.4 ohm at 30 degC (0.00393 per K, from memory)."""
    wire = catalogue.wire(42)
    ratio = wire.resistance_per_metre(30.0) / wire.resistance_per_metre(20.0)

    assert 8000 * ratio == pytest.approx(8314.4, abs=0.05)


def test_bare_tolerance_of_42_gauge():
    """0.0024 to 0.0026 inch bare (NEMA MW 1000, read): 5.03 to 5.91 ohm/m; tolerance half the last digit."""
    assert catalogue.wire(42).resistance_spread == pytest.approx((5.03, 5.91), abs=0.005)


@pytest.mark.parametrize("awg", HANDBOOK)
def test_bare_diameter_follows_the_gauge_formula(awg):
    """ASTM B258: d = 0.005 * 92^((36 - n)/39) inch. Tolerance 2 %: tables round to 0.1 mil."""
    exact = 0.005 * 92 ** ((36 - awg) / 39) * 0.0254

    assert catalogue.wire(awg).bare[1] == pytest.approx(exact, rel=0.02)


def test_builds_get_thicker():
    for awg in HANDBOOK:
        single, heavy = catalogue.wire(awg, "single"), catalogue.wire(awg, "heavy")
        assert all(a < b for a, b in zip(single.overall, heavy.overall))
        assert single.bare == heavy.bare


def test_copper_conductivity():
    """IEC 60028 (read): 58 MS/m; tolerance 1e-4, the rounding of 1.7241e-8."""
    assert 1 / catalogue.conductor("copper").resistivity == pytest.approx(58e6, rel=1e-4)


# J at a high field (A/m, T), and B-H points (A/m, T) of github cenit/FEMM bin/matlib.dat @7d9e8ed90772 (read)
STEEL_POINTS = {
    "1006": [(5020.999, 1.740), (316803.0, 2.4995)],
    "1010": [(5020.999, 1.680), (316803.0, 2.4712)],
    "1018": [(7957.75, 1.71), (318310.0, 2.43)],
    "1020": [(5020.999, 1.712)],
    "1117": [(238.73, 0.7004), (7957.75, 1.77), (318310.0, 2.46)],
    "416": [(795.775, 0.761), (7957.75, 1.46), (31831.0, 1.69)],
    "430": [(636.62, 0.6008), (7957.75, 1.465), (318310.0, 2.08)],
    "nickel": [(301.095, 0.3337), (7767.1, 0.5464), (320300.0, 1.0095)],
}


@pytest.mark.parametrize("name", STEEL_POINTS)
def test_steel_follows_published_points(name):
    """Tolerance: the largest error stated for the fit, which must itself stay below 0.12 T."""
    steel = catalogue.steel(name)
    field, level = np.array(STEEL_POINTS[name]).T

    found = MU_0 * (field + steel.law.magnetization(field)[0])

    assert steel.fit_error[0] <= 0.12
    np.testing.assert_allclose(found, level, atol=steel.fit_error[0])


@pytest.mark.parametrize(
    ("name", "saturation", "tolerance"),
    [
        ("1010", 2.10, 0.06),  # low-carbon steel 2.1 T (Bozorth, from memory)
        ("1018", 2.10, 0.06),
        ("nickel", 0.61, 0.015),  # alloy supplier, about 0.61 T (read)
        ("430", 1.68, 0.05),  # largest J of the read curve
    ],
)
def test_saturation(name, saturation, tolerance):
    """Tolerance: two units of the last figure given for the alloy, 3 % for a class of steels."""
    assert catalogue.steel(name).law.saturation == pytest.approx(saturation, abs=tolerance)


def test_no_steel_is_stronger_than_iron():
    """Pure iron saturates at 2.16 T (Bozorth, from memory)."""
    assert all(steel.law.saturation <= 2.165 for steel in catalogue.steels())
