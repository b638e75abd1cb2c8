"""Readings of a gauss meter: units, signs, slips; the mean over the probe against another program."""

import magpylib
import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.measure import GaussMeter, PoleReading, Probe, disc_average, parse_gauss_reading, parse_gauss_readings


@pytest.mark.parametrize(
    ("text", "row", "pole", "tesla", "signed"),
    [
        ("1=38mT", "", 1, 38e-3, False),
        ("2=380G", "", 2, 38e-3, False),
        ("slug 3 = -41,5 mT", "slugs", 3, -41.5e-3, True),
        ("screw6=+250 gauss", "screws", 6, 25e-3, True),
        ("rods 1 = .9kG", "rods", 1, 90e-3, False),
        ("4=\u2212300 Gs", "", 4, -30e-3, True),
        ("5=0.03T", "", 5, 30e-3, False),
    ],
)
def test_readings(text: str, row: str, pole: int, tesla: float, signed: bool) -> None:
    found = parse_gauss_reading(text)
    assert (found.row, found.pole, found.signed) == (row, pole, signed)
    assert found.flux_density == pytest.approx(tesla, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1=38", "has no unit"),
        ("1=38 mm", "has the unit 'mm'"),
        ("38mT", "is not understood"),
        ("bar 1=38mT", "no row 'bar'"),
        ("1=38T", "tesla typed as mT"),
        ("1=0,5G", "slipped point"),
        ("1=1,234G", "as a decimal comma or as thousands"),
        ("1=1,23.5G", "is not a number"),
    ],
)
def test_slips_are_named(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        parse_gauss_reading(text)


def test_all_faults_come_together() -> None:
    with pytest.raises(InputError) as caught:
        parse_gauss_readings(["1=38", "2=380G", "2=39mT", "x"])
    assert len(str(caught.value).split("\n")) == 3
    with pytest.raises(InputError, match="there is no reading"):
        parse_gauss_readings([])


def test_one_sign_makes_all_signed() -> None:
    assert all(one.signed for one in parse_gauss_readings(["1=38mT", "2=-39mT"]))
    assert not any(one.signed for one in parse_gauss_readings(["1=38mT", "2=39mT"]))


def test_records_refuse_what_cannot_be_meant() -> None:
    with pytest.raises(InputError, match="0 to 10"):
        Probe(height=0.05, low=0.0, high=0.1)
    with pytest.raises(InputError, match=r"3 % is 0\.03"):
        GaussMeter(scale_tolerance=3.0)
    with pytest.raises(InputError, match="gauss"):
        PoleReading(pole=1, flux_density=float("nan"))


@pytest.mark.parametrize("size", [1e-3, 2e-3, 4e-3])
def test_mean_over_the_probe_is_that_of_another_program(size: float) -> None:
    """A block magnet of 5 x 5 x 10 mm, its field 1 mm above the face averaged over a disc.

    magpylib's closed form summed over 200 rings of 90 points is the reference; the seven-point rule may miss what is
    beyond the fifth degree: within 0.2 % for a disc of 2 mm, 1 % for one of 4 mm.
    """
    block = magpylib.magnet.Cuboid(dimension=(5e-3, 5e-3, 10e-3), polarization=(0.0, 0.0, 1.2))
    above = 6e-3
    points, weights = disc_average(size)
    found = weights @ block.getB(np.column_stack([points, np.full(len(points), above)]))[:, 2]
    radius = 0.5 * size * np.sqrt((np.arange(200) + 0.5) / 200)  # rings of equal area
    angle = 2.0 * np.pi * (np.arange(90) + 0.5) / 90
    ring = np.stack([np.outer(radius, np.cos(angle)), np.outer(radius, np.sin(angle)), np.full((200, 90), above)], -1)
    dense = block.getB(ring.reshape(-1, 3))[:, 2].mean()
    assert found == pytest.approx(dense, rel=0.002 if size <= 2e-3 else 0.01)
    at_middle = block.getB((0.0, 0.0, above))[2]
    if size == 4e-3:
        assert abs(dense / at_middle - 1.0) > 0.01  # so that averaging is not nothing
    assert disc_average(0.0)[0].shape == (1, 2)


def test_disc_weights() -> None:
    """The mean of x^2 over a disc of radius r is r^2 / 4, of x^4 r^4 / 8, of x^2 y^2 r^4 / 24."""
    (x, y), w = disc_average(2.0)[0].T, disc_average(2.0)[1]
    assert w.sum() == 1.0
    moments = [w @ x**2, w @ y**2, w @ x**4, w @ (x * y) ** 2, w @ x**3]
    assert moments == pytest.approx([1 / 4, 1 / 4, 1 / 8, 1 / 24, 0.0], abs=1e-15)
