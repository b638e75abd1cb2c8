"""Plucked strings drawn at random, and what may be wrong with their recording; no engine of the tool's own."""

import numpy as np
import soxr

from polepiece.arrays import FloatArray

RATE = 48000


def plucks(random: np.random.Generator, *, seconds: float = 3.0, bright: float | None = None) -> FloatArray:
    """Chords or single notes of one to four strokes: stiff partials of a pluck at some place, each with its decay."""
    time = np.arange(round(seconds * RATE)) / RATE
    out = np.zeros(len(time))
    bright = float(random.uniform(0.5, 2.0)) if bright is None else bright
    place, pickup = random.uniform(0.05, 0.35), random.uniform(0.05, 0.25)
    for stroke in range(int(random.integers(1, 5))):
        begin = stroke * seconds / 4.0 + random.uniform(0.0, 0.1)
        for _ in range(int(random.choice([1, 1, 2, 3, 6]))):
            base = 82.4 * 2.0 ** (random.integers(0, 30) / 12.0)
            number = np.arange(1, int(min(60.0, 12e3 / base)) + 1)
            partial = base * number * np.sqrt(1.0 + 10.0 ** random.uniform(-5.0, -4.0) * number**2)
            size = np.abs(np.sin(number * np.pi * place) * np.sin(number * np.pi * pickup)) / number**bright
            decay = random.uniform(0.6, 4.0) / (1.0 + partial / 1500.0)
            phase = random.uniform(-0.3, 0.3, len(number))
            since = np.maximum(time - begin - random.uniform(0.0, 0.02), 0.0)
            heard = since > 0.0
            for f, a, d, p in zip(partial, size, decay, phase):
                s = since[heard]
                out[heard] += a * np.exp(-s / d) * np.sin(2.0 * np.pi * f * s + p) * np.minimum(s / 0.002, 1.0)
    return np.asarray(out / np.max(np.abs(out)))


def taken(
    random: np.random.Generator, sound: FloatArray, *, peak: float, bits: int, floor_db: float = -80.0
) -> FloatArray:
    """Put a sound into a recorder: level, noise, bits."""
    noisy = peak * sound + 10.0 ** (floor_db / 20.0) * random.standard_normal(len(sound))
    step = 2.0 ** (1 - bits)
    return np.asarray(np.clip(np.rint(noisy / step) * step, -1.0, 1.0 - step))


def clipped(sound: FloatArray, over_db: float) -> FloatArray:
    """Cut a sound ``over_db`` under its top; full scale 1.0."""
    return np.asarray(np.clip(sound / np.max(np.abs(sound)) * 10.0 ** (over_db / 20.0), -1.0, 1.0))


def driven(sound: FloatArray, drive: float) -> FloatArray:
    """Saturate: tanh of ``drive`` times the sound, whose top is 1."""
    return np.asarray(np.tanh(drive * sound) / np.tanh(drive))


def resampled(sound: FloatArray, rate: int = 44100) -> FloatArray:
    """Go to another rate and back."""
    there = soxr.resample(sound, RATE, rate, quality="VHQ")
    return np.asarray(soxr.resample(there, rate, RATE, quality="VHQ"))
