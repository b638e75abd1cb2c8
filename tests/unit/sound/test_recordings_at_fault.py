"""Faults of a recording at several degrees, on phrases that were rendered; and clean ones, on which nothing is said."""

from functools import cache

import numpy as np
import pytest
from scipy import signal

from polepiece.sound import LIVELY, PHRASES, Condition, condition_of
from polepiece.sound.condition import SQUASHED_DB, third_harmonic
from polepiece.strings import Spread
from tests.reference.plucked import RATE, driven, taken
from tests.reference.random_pickup import pickup
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import render

DRAWN = 200


@cache
def played() -> tuple[np.ndarray, ...]:
    """Every phrase through a pickup of its own; peak 1."""
    out = []
    for k, name in enumerate(sorted(PHRASES)):
        rng = np.random.default_rng([61, k])
        record, responses = pickup(rng, 1 + k % 2)
        sound = render(
            PHRASES[name], tuned_set(), [record] * 6, [responses] * 6, seed=k, spread=Spread(), realism=LIVELY
        )
        out.append(sound / np.max(np.abs(sound)))
    return tuple(out)


def recorded(k: int, fault: "object" = None, *, floor_db: float = -85.0) -> Condition:
    """One drawn part of a phrase, at a drawn level, into a recorder of 16 or 24 bits."""
    rng = np.random.default_rng([64, k])
    sound = played()[k % len(PHRASES)]
    count = min(sound.size, round(rng.uniform(2.5, 6.0) * RATE))
    first = int(rng.integers(0, sound.size - count + 1))
    part = sound[first : first + count]
    part = part / np.max(np.abs(part))
    if callable(fault):
        part = fault(part)
    return condition_of(taken(rng, part, peak=rng.uniform(0.1, 0.9), bits=16 if k % 2 else 24, floor_db=floor_db), RATE)


def test_hardly_anything_is_said_of_clean_ones() -> None:
    """Hiss 65 dB and more under full scale's peak, offset none, peaks 1 to 20 dB under full scale.

    One in a hundred may look mildly driven, no more: a riff of muted single notes and ringing fourths, the peakier ones
    the softer, is taken for one that a limiter bent.
    """
    alarms = {k: said for k in range(DRAWN) if (said := recorded(k).words)}
    assert len(alarms) <= DRAWN // 100, f"{len(alarms)} of {DRAWN}"
    assert all("mildly driven" in line for said in alarms.values() for line in said)


@pytest.mark.parametrize(("drive", "least"), [(2.0, 0.1), (3.0, 0.4), (5.0, 0.5), (10.0, 0.8)])
def test_overdrive_is_said_by_degrees(drive: float, least: float) -> None:
    found = [recorded(k, lambda sound: driven(sound, drive)) for k in range(48)]
    assert np.mean([one.squashed or one.driven or one.clipped_dbfs is not None for one in found]) >= least
    said = [line for one in found for line in one.words if "mildly driven" in line]
    assert all(f"limit {-SQUASHED_DB:.1f} dB" in line and "third harmonic" in line for line in said)


@pytest.mark.parametrize(("floor_db", "least", "most"), [(-80.0, 0.0, 0.0), (-40.0, 0.9, 1.0), (-30.0, 1.0, 1.0)])
def test_noise_is_said_by_degrees(floor_db: float, least: float, most: float) -> None:
    """dB of full scale; the drawn parts peak 1 to 20 dB under it."""
    found = [recorded(k, floor_db=floor_db) for k in range(32)]
    assert least <= np.mean([one.noisy for one in found]) <= most


def test_hiss_is_measured_as_it_is() -> None:
    """White noise between 2 and 8 kHz is a quarter of all at 48 kHz: within 1.5 dB beside ringing strings."""
    for k in (3, 8):
        sound = 0.5 * played()[k]
        noise = 1e-3 * np.random.default_rng(k).standard_normal(sound.size)
        found = condition_of(sound + noise, RATE)
        assert found.spectrum is not None
        assert 10.0 * np.log10(found.spectrum.hiss / (1e-6 / 4.0)) == pytest.approx(0.0, abs=1.5)


@pytest.mark.parametrize("offset", [0.003, 0.03, -0.1])
def test_an_offset_is_said_at_every_degree(offset: float) -> None:
    found = [recorded(k, lambda sound: 0.8 * sound + offset) for k in range(8)]
    assert all(one.moved for one in found)


@pytest.mark.parametrize(("over_db", "least"), [(3.0, 0.6), (6.0, 0.8), (12.0, 0.95)])
def test_clipping_is_said_by_degrees(over_db: float, least: float) -> None:
    """Tops of one or two samples look like any other; a sound cut deep looks driven as well."""
    cut = 10.0 ** (-over_db / 20.0)
    found = [recorded(k, lambda sound: np.clip(sound, -cut, cut)) for k in range(24)]
    assert np.mean([one.clipped_dbfs is not None or one.driven or one.squashed for one in found]) >= least


def test_the_third_harmonic_of_a_soft_limit() -> None:
    """Counted in the spectrum of a sine through x - a x^3, whose peak it holds down by 1.5 dB."""
    a = 1.0 - 10.0 ** (-1.5 / 20.0)
    x = np.sin(2.0 * np.pi * 8.0 * np.arange(4096) / 4096.0)
    line = np.abs(np.fft.rfft(x - a * x**3))
    assert third_harmonic(-1.5) == pytest.approx(line[24] / line[8], rel=1e-9)
    assert third_harmonic(0.0) == 0.0


def test_a_loudspeaker_or_filter_alone_is_no_drive() -> None:
    """Linear things in between change the spectrum, not how peaks grow with loudness."""
    low = signal.butter(2, 3000.0, fs=RATE, output="sos")
    found = [recorded(k, lambda sound: signal.sosfilt(low, sound)) for k in range(24)]
    assert not any(one.squashed or one.driven for one in found)
