"""Levels of several states: against the pair rule, and against loudness measured again on what comes out."""

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.sound import align, level_states, loudness_as_given, peak_dbfs
from polepiece.sound.loudness import integrated_loudness

RATE = 48_000


def sounds() -> list[np.ndarray]:
    generator = np.random.default_rng(3)
    decay = np.exp(-np.arange(2 * RATE) / RATE)
    return [gain * decay * generator.standard_normal(2 * RATE) for gain in (0.02, 0.3, 0.005)]


def measured(all_of: list[np.ndarray]) -> tuple[list[float], list[float]]:
    return [loudness_as_given(one, RATE, "one") for one in all_of], [peak_dbfs(one, RATE) for one in all_of]


def test_two_states_get_what_the_pair_rule_gives() -> None:
    one, two, _ = sounds()
    pair, found = align(one, two, RATE), level_states(*measured([one, two]))
    gains = [10 ** (gain / 20) for gain in (*found.aligned_gain_db, found.true_gain_db)]
    assert gains == pytest.approx([pair.gain_before, pair.gain_after, pair.common_gain], rel=1e-12)
    assert found.difference_db[1] == pytest.approx(pair.level_difference_db, abs=1e-12)
    assert found.lowered_db == pytest.approx(pair.lowered_db, abs=1e-12)


def test_aligned_states_are_equally_loud_and_true_ones_keep_their_distance() -> None:
    """The recommendation's own meter on the result; 0.01 LU because its gate works on blocks."""
    made = sounds()
    found = level_states(*measured(made), reference=1)
    aligned = [integrated_loudness(s * 10 ** (g / 20), RATE) for s, g in zip(made, found.aligned_gain_db)]
    assert np.ptp(aligned) < 0.01
    true = [integrated_loudness(s * 10 ** (found.true_gain_db / 20), RATE) for s in made]
    assert true[1] == pytest.approx(aligned[1], abs=0.01)
    assert true[0] - true[1] == pytest.approx(found.difference_db[0], abs=0.01)
    for gain in (*found.aligned_gain_db, found.true_gain_db):
        assert all(peak_dbfs(s * 10 ** (g / 20), RATE) < -0.99 for s, g in zip(made, found.aligned_gain_db)), gain


def test_a_peaky_state_lowers_all_alike() -> None:
    found = level_states([-40.0, -40.0], [-38.0, -2.0])
    assert found.lowered_db == pytest.approx(16.0)  # -2 + 17 dB would pass -1 dBFS by 16
    assert found.aligned_gain_db == pytest.approx((1.0, 1.0))


@pytest.mark.parametrize(
    ("loudness", "peak", "reference"),
    [([], [], 0), ([-20.0], [-3.0, -4.0], 0), ([-20.0, -np.inf], [-3.0, -4.0], 0), ([-20.0], [-3.0], 1)],
)
def test_what_cannot_be_compared_is_refused(loudness: list[float], peak: list[float], reference: int) -> None:
    with pytest.raises(InputError):
        level_states(loudness, peak, reference=reference)
