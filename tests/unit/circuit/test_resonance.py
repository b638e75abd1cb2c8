"""Peak finder against the closed form of a second-order low-pass."""

import math

import numpy as np
import pytest

from polepiece.circuit import resonance
from polepiece.errors import InputError

HERTZ = np.geomspace(20, 20e3, 400)


def low_pass(natural: float, q: float, hertz: np.ndarray = HERTZ) -> np.ndarray:
    x = 1j * hertz / natural
    return 1.0 / (1.0 + x / q + x**2)


@pytest.mark.parametrize("q", [1.0, 1.5, 3.0, 6.0])
def test_peak_and_height_of_a_second_order_low_pass(q: float) -> None:
    found = resonance(HERTZ, low_pass(3000.0, q))
    # peak at f0 sqrt(1 - 1/(2 Q^2)), height Q / sqrt(1 - 1/(4 Q^2)): any text on second-order filters.
    # tolerances: 133 values a decade lie 1.7 % apart; the parabola errs by far less than a tenth of a step
    assert found.frequency == pytest.approx(3000.0 * math.sqrt(1 - 1 / (2 * q**2)), rel=1e-3)
    assert found.height_db == pytest.approx(20 * math.log10(q / math.sqrt(1 - 1 / (4 * q**2))), abs=0.02)


def test_quality_of_a_sharp_band_pass_is_its_q() -> None:
    x = 1j * (HERTZ / 3000.0 - 3000.0 / HERTZ)
    for q in (2.0, 8.0):
        found = resonance(HERTZ, 1.0 / (1.0 + q * x))  # the -3 dB width of this one is exactly f0 / Q
        # 1 %: linear interpolation between values 1.7 % apart
        assert found.quality == pytest.approx(q, rel=0.01)


def test_a_low_peak_has_a_height_and_no_width() -> None:
    found = resonance(HERTZ, low_pass(3000.0, 1.0))
    assert found.height_db is not None
    assert 0.0 < found.height_db < 3.0
    assert found.quality is None


@pytest.mark.parametrize("response", [low_pass(3000.0, 0.7), np.zeros(400), np.ones(400), HERTZ])
def test_no_peak_is_none_and_never_a_nan(response: np.ndarray) -> None:
    found = resonance(HERTZ, response)
    assert (found.frequency, found.height_db, found.quality) == (None, None, None)


def test_heights_count_from_the_reference_that_was_asked_for() -> None:
    response = low_pass(3000.0, 3.0)
    at_1khz = 20 * math.log10(abs(low_pass(3000.0, 3.0, np.array([1000.0]))[0]))
    plateau, kilo = resonance(HERTZ, response), resonance(HERTZ, response, reference="1 kHz")
    assert (plateau.reference, kilo.reference) == ("plateau", "1 kHz")
    assert plateau.height_db is not None
    assert kilo.height_db == pytest.approx(plateau.height_db - at_1khz, abs=0.01)  # grid interpolation at 1 kHz


def test_the_unit_and_the_sign_of_the_response_do_not_matter() -> None:
    first, second = resonance(HERTZ, low_pass(3000.0, 3.0)), resonance(HERTZ, -4e3j * low_pass(3000.0, 3.0))
    assert second.frequency == pytest.approx(first.frequency)
    assert second.height_db == pytest.approx(first.height_db)


@pytest.mark.parametrize(
    ("hertz", "reference", "words"),
    [
        (HERTZ[::-1], "plateau", "must rise"),
        (HERTZ - 20.0, "plateau", "above 0 Hz"),
        (HERTZ[:10], "plateau", "equal lists"),
        (HERTZ + 2000.0, "1 kHz", "lies outside"),
    ],
)
def test_frequencies_that_cannot_serve_are_refused(hertz: np.ndarray, reference: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        resonance(hertz, low_pass(3000.0, 3.0), reference=reference)  # type: ignore[arg-type]
