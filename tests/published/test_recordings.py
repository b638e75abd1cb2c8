"""Rendered notes beside free recordings (CC0, Debian's sonic-pi-samples), where these are installed.

Guitar, strings, pickup, amplifier and the echo on them are unknown, so only what none of these can hide is held: notes
ring down on both, low partials at rates within a factor of 2.5 of each other, and partials are sharp, not flat.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from polepiece.auditioning.playing import SAMPLE_RATE
from polepiece.bench import Bench
from polepiece.sound import read
from verification.recordings import FOLDER, TAKES, decay_db_a_second, mono, partials_cents, rendered

HERE = Path(os.environ.get("POLEPIECE_RECORDINGS", FOLDER))
pytestmark = pytest.mark.skipif(
    not all((HERE / take.file).exists() for take in TAKES),
    reason=f"no recordings in {HERE}: install Debian's sonic-pi-samples, or name a folder in POLEPIECE_RECORDINGS",
)


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.file)
def test_low_partials_die_at_the_rate_of_the_recording(take):
    samples, rate = mono(read(HERE / take.file))
    recorded = np.array(decay_db_a_second(samples, rate, take.ringing)[:3])
    made = np.array(decay_db_a_second(rendered(take, Bench()), float(SAMPLE_RATE), take.ringing)[:3])
    assert np.all(recorded > 0.0) and np.all(made > 0.0)
    assert np.all(np.abs(np.log(made / recorded)) < np.log(2.5))


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.file)
def test_partials_of_the_recording_are_sharp_as_those_of_a_stiff_string_are(take):
    samples, rate = mono(read(HERE / take.file))
    found = partials_cents(samples, rate, take)
    assert all(cents > 0.0 for _, _, cents, _ in found)
    assert all(abs(cents - said) < 12.0 for _, _, cents, said in found)
