"""Up and down in blocks against SciPy's general filter over the whole; what is left out of the taps is nothing."""

from itertools import pairwise

import numpy as np
import pytest
from scipy import signal

from polepiece.sound.oversampling import PASS, STOP_DB, Down, Up, ladder, low_pass

CUTS = (0, 1, 700, 701, 4000)  # blocks of 1 to some thousand samples


@pytest.mark.parametrize("factor", [2, 3, 4])
@pytest.mark.parametrize("channels", [1, 2])
def test_steps_are_those_of_a_general_filter(factor: int, channels: int) -> None:
    taps = low_pass(factor, 0.3)
    sound = np.random.default_rng(8).standard_normal((channels, CUTS[-1]))
    up, down = Up(taps, factor, channels), Down(taps, factor, channels)
    fine = np.concatenate([up.process(sound[:, a:b]) for a, b in pairwise(CUTS)], axis=1)
    assert fine == pytest.approx(
        signal.upfirdn(factor * taps, sound, up=factor, axis=-1)[:, : fine.shape[1]], abs=1e-13
    )  # rounding of some eighty products
    coarse = np.concatenate([down.process(fine[:, factor * a : factor * b]) for a, b in pairwise(CUTS)], axis=1)
    assert coarse == pytest.approx(signal.upfirdn(taps, fine, down=factor, axis=-1)[:, : coarse.shape[1]], abs=1e-13)


def test_the_branch_that_only_waits_has_no_taps() -> None:
    for factor in (2, 3, 4, 5):
        taps = low_pass(factor, 0.3)
        middle = taps.size // 2
        left_out = np.delete(taps[middle % factor :: factor], middle // factor)
        assert np.max(np.abs(left_out)) < 1e-15


@pytest.mark.parametrize("rate", [44_100.0, 48_000.0, 96_000.0, 192_000.0])
def test_there_and_back_is_the_sound_itself_up_to_the_pass_band(rate: float) -> None:
    steps = ladder(rate, 1)
    time = np.arange(6000)
    for share in (0.02, 0.2, PASS):
        sound = np.sin(2.0 * np.pi * share * time)[None]
        back = steps.descend(steps.climb(sound))
        inside = slice(1000, 6000)  # a new sound begins: what came before has left the taps
        wanted = np.sin(2.0 * np.pi * share * (time - steps.delay))[None]
        # four filters, each flat within the ripple of its stop band
        assert np.max(np.abs(back - wanted)[:, inside]) < 6.0 * 10.0 ** (-STOP_DB / 20.0)
        steps = ladder(rate, 1)
