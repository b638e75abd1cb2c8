"""Responses put together from a few that are alike: the same sound, whichever way a block goes."""

import numpy as np
import pytest

from polepiece.sound import PickupResponse
from polepiece.sound.convolve import ResponseFilter, put_together, response_taps

RATE = 48000.0


def coil(inductance, capacitance=600e-12):
    frequency = np.geomspace(20.0, 24e3, 240)
    s = 2j * np.pi * frequency
    value = 1.0 / (1.04 + s * (7600.0 * capacitance + inductance / 200e3) + s**2 * inductance * capacitance)
    return PickupResponse(frequency=frequency, value=value)


ALL_ALIKE = [coil(4.7 + 0.1 * k) for k in range(12)]


def test_alike_responses_are_few_and_none_loses_more_than_is_said():
    taps = response_taps(ALL_ALIKE, RATE)
    few, share = put_together(taps)
    assert few.shape[0] <= 8
    lost = np.linalg.norm(share.astype(float) @ few - taps, axis=1) / np.linalg.norm(taps, axis=1)
    assert np.max(lost) < 1.2e-5  # ALIKE, and shares that are kept in 32 bits


def test_unlike_responses_are_kept_as_they_are():
    taps = np.random.default_rng(0).standard_normal((5, 300)) * np.geomspace(1.0, 1e5, 5)[:, None]
    few, share = put_together(taps)
    assert few.shape[0] == 5
    lost = np.linalg.norm(share.astype(float) @ few - taps, axis=1) / np.linalg.norm(taps, axis=1)
    assert np.max(lost) < 1e-6  # 32 bits


@pytest.mark.parametrize("curved", [0, 3])
def test_rows_together_are_the_sum_of_each_alone(curved):
    # each alone goes through its own response, all together are mixed first
    drawn = np.random.default_rng(1)
    voltage = drawn.standard_normal((12, 6000)).astype(np.float32)
    flux = (1e-5 * drawn.standard_normal((max(curved, 1), 6000))).astype(np.float32)
    flux[curved:] = 0.0

    def made(kept):
        filter_ = ResponseFilter(ALL_ALIKE, ALL_ALIKE[:curved], RATE)
        rows = np.concatenate([voltage, flux]) * kept[:, None]
        return np.concatenate([
            filter_.push(rows[:12, a:b].astype(np.float32), rows[12:, a:b].astype(np.float32))
            for a, b in ((0, 2048), (2048, 6000))
        ])  # fmt: skip

    alone = sum(made(np.eye(12 + flux.shape[0])[k]) for k in range(12 + curved))
    together = made(np.ones(12 + flux.shape[0]))
    # 32 bits over fifteen sums, and what each response loses: -100 dB of its own part
    assert np.max(np.abs(together - alone)) < 10 ** (-100 / 20) * np.max(np.abs(alone))
