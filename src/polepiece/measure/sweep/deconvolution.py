"""From a recording of sweeps to impulse responses: Farina's inverse filter, where each sweep lies, and clock drift."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import MeasurementError
from polepiece.measure.sweep.excitation import SweepSignal, one_sweep

SEEN = 25.0  # a peak is a sweep when it is this many robust standard deviations high; noise alone reaches 6
STEADY = 5e-8  # a clock drift below this moves the end of a 60 s sweep by 3 microseconds: left alone
MOST_DRIFT = 500e-6  # crystals of audio hardware: within 100 parts in a million each (common practice, no source)
WRONG_RATES = (44.1 / 48.0, 48.0 / 44.1, 0.5, 2.0, 88.2 / 96.0, 96.0 / 88.2, 44.1 / 96.0, 96.0 / 44.1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Responses:
    """A deconvolved recording.

    Attributes
    ----------
    responses : (c, t); a sweep that begins at sample s leaves its linear impulse response at s, harmonic n of it
        earlier by ``growth * ln n``.
    starts : (k,) samples, where each complete sweep begins.
    drift : recorded over played duration, less 1.
    others : sweeps in the recording beside those that lie one period apart from one another.
    usable : samples from which a whole sweep's length still lies inside the recording.
    """

    responses: FloatArray
    starts: tuple[int, ...]
    drift: float
    usable: int
    others: int = 0


def inverse_filter(signal: SweepSignal, *, stretch: float = 1.0, sample_rate: int | None = None) -> FloatArray:
    """Return the inverse of one sweep of unit amplitude: reversed in time, falling 6 dB an octave towards low.

    Notes
    -----
    A sweep has the spectrum |X(f)| = sqrt(L / f) / 2 (stationary phase); reversed in time and weighted with
    4 f / (L fs^2), the product of their discrete spectra is 1 from ``low`` to ``high``.

    References
    ----------
    .. [1] Farina 2000, 108th AES Convention, preprint 5093 (from memory).
    """
    rate = signal.sample_rate if sample_rate is None else sample_rate
    sweep = one_sweep(signal, stretch=stretch, sample_rate=rate)
    growth = signal.growth * stretch
    frequency = signal.low / stretch * np.exp(np.arange(len(sweep)) / (rate * growth))
    return np.asarray((sweep * frequency * 4.0 / (growth * rate**2))[::-1])


def deconvolve(samples: FloatArray, inverse: FloatArray) -> FloatArray:
    """Return ``samples`` (c, t) convolved with ``inverse``, moved so that a response lies where its sweep began."""
    count = samples.shape[-1]
    size = next_fast_len(count + len(inverse) - 1, real=True)
    return _filtered(rfft(samples, size, axis=-1), inverse, size, count)


def _filtered(spectra: ComplexArray, inverse: FloatArray, size: int, count: int) -> FloatArray:
    whole = irfft(spectra * rfft(inverse, size), size, axis=-1)
    return np.asarray(whole[:, len(inverse) - 1 : len(inverse) - 1 + count])


def responses_of(samples: FloatArray, signal: SweepSignal, *, sample_rate: int, where: str) -> Responses:
    """Deconvolve a recording, find its sweeps on the source channel, and follow the clock.

    Parameters
    ----------
    samples : shape (c, t); channel 0 is the source.
    signal : what was played; a recording at another rate is read as long as the sweep fits under it.
    sample_rate : Hz, of the recording.
    where : name of the recording for messages.

    Raises
    ------
    MeasurementError
        When there is no sweep, fewer than two whole ones, or the clocks differ by more than 500 ppm.

    Notes
    -----
    Farina 2000, the inverse filter of an exponential sweep (from memory).
    """
    _fits(samples, signal, sample_rate, where)
    inverse = inverse_filter(signal, sample_rate=sample_rate)
    count = samples.shape[-1]
    size = next_fast_len(count + len(inverse) + sample_rate // 100, real=True)
    spectra = rfft(samples, size, axis=-1)
    made = _filtered(spectra, inverse, size, count)
    starts, others = _starts(made[0], signal, sample_rate)
    if not starts:
        raise MeasurementError(f"{where}: {_why_none(samples, signal, sample_rate)}")
    usable = samples.shape[-1] - round(signal.duration * sample_rate)
    whole = [s for s in starts if s <= usable + sample_rate // 1000]
    if len(whole) < 2:
        stretched = _other_speed(samples, signal, sample_rate, float(np.abs(made[0]).max()))
        if stretched:
            raise MeasurementError(f"{where}: {stretched}")
        if others:
            raise MeasurementError(
                f"{where}: {others + len(starts)} sweeps are there, but not {signal.period:g} s apart as they were "
                "written. Were samples lost while recording (larger buffer, other programs closed), was the take cut "
                "or put together, or another signal played than that of --signal?"
            )
        raise MeasurementError(
            f"{where}: {len(whole)} whole sweep of {signal.repeats} is in the recording; bounds need two. "
            "Start recording before playing, stop after the last sweep has ended."
        )
    places = [_fine_peak(made[0], s) for s in whole]
    steps = np.round((np.array(places) - places[0]) / (signal.period * sample_rate))
    drift = float((places[-1] - places[0]) / (steps[-1] * signal.period * sample_rate) - 1.0)
    if abs(drift) > MOST_DRIFT:
        raise MeasurementError(
            f"{where}: the sweeps lie {1e6 * drift:+.0f} parts in a million from where they were played; up to "
            f"{1e6 * MOST_DRIFT:.0f} is a clock. Was another silence or length chosen when the signal was written?"
        )
    if abs(drift) > STEADY:
        inverse = inverse_filter(signal, stretch=1.0 + drift, sample_rate=sample_rate)
        made = _filtered(spectra, inverse, size, count)
    return Responses(responses=made, starts=tuple(whole), drift=drift, usable=max(usable, 0), others=others)


def _fits(samples: FloatArray, signal: SweepSignal, sample_rate: int, where: str) -> None:
    seconds = samples.shape[-1] / sample_rate
    needed = signal.duration + signal.period
    if seconds < needed:
        raise MeasurementError(
            f"{where}: the recording lasts {seconds:.1f} s; two sweeps take {needed:.1f} s (all {signal.repeats}: "
            f"{signal.length:.1f} s). Was it cut, or another signal played?"
        )
    if signal.high > 0.5 * sample_rate:
        raise MeasurementError(
            f"{where}: the recording is at {sample_rate} Hz and the sweep goes up to {signal.high:g} Hz. Record at "
            f"{signal.sample_rate} Hz, or write the signal for {sample_rate} Hz."
        )


def _starts(response: FloatArray, signal: SweepSignal, sample_rate: int) -> tuple[list[int], int]:
    """Return where the sweeps begin, earliest first, and how many more lie elsewhere; none found: an empty list."""
    size = np.abs(response)
    top = int(np.argmax(size))
    if size[top] < SEEN * _floor(size, round(signal.duration * sample_rate)) or size[top] <= 0.0:
        return [], 0
    period = signal.period * sample_rate
    found = [top]
    for way in (-1, 1):
        here = top
        while True:
            centre = here + way * period
            reach = round(1e-3 * period)
            low, high = round(centre) - reach, round(centre) + reach + 1
            if high <= 0 or low >= len(size):
                break
            part = size[max(low, 0) : high]
            if part.max(initial=0.0) < 0.25 * size[top]:
                break
            here = max(low, 0) + int(np.argmax(part))
            found.append(here)
    others = _apart(size, found, 0.5 * signal.duration * sample_rate, 0.25 * float(size[top]))
    return sorted(found)[: signal.repeats], others + max(len(found) - signal.repeats, 0)


def _floor(size: FloatArray, sweep: int) -> float:
    """Return a robust standard deviation of what lies under the peaks, where a whole sweep fits into the recording."""
    inside = size[: max(len(size) - sweep, sweep // 2, 1)]
    return 1.4826 * float(np.median(inside[:: max(1, len(inside) // 200000)]))


def _apart(size: FloatArray, found: "list[int]", near: float, least: float) -> int:
    """Return how many peaks of ``least`` or more lie further than ``near`` samples from those found and one another."""
    known = np.array(found, dtype=float)
    count = 0
    for place in np.flatnonzero(size >= least):
        if np.min(np.abs(known - place)) > near:
            known = np.append(known, place)
            count += 1
    return count


def _fine_peak(response: FloatArray, place: int) -> float:
    """Return the place of a peak between samples, by the parabola through three."""
    if not 1 <= place < len(response) - 1:
        return float(place)
    a, b, c = np.abs(response[place - 1 : place + 2])
    bend = a - 2.0 * b + c
    return place + (0.5 * float((a - c) / bend) if bend != 0.0 else 0.0)


def _why_none(samples: FloatArray, signal: SweepSignal, sample_rate: int) -> str:
    """Say why no sweep was found: on the other channel, at another speed, or not there."""
    for channel in range(1, len(samples)):
        if _starts(deconvolve(samples[channel : channel + 1], inverse_filter(signal, sample_rate=sample_rate))[0],
                   signal, sample_rate)[0]:  # fmt: skip
            return (
                "the sweep is on the second channel only; the first must carry the source (before the resistor). "
                "Is its lead plugged in?"
            )
    stretched = _other_speed(samples, signal, sample_rate, 0.0)
    if stretched:
        return stretched
    return (
        "no sweep was found. Was the signal of this --signal file played, the right input recorded, and the level up?"
    )


def _other_speed(samples: FloatArray, signal: SweepSignal, sample_rate: int, seen: float) -> str:
    """Say at which other speed the sweep is there, with a higher peak than ``seen``; empty: at none."""
    for ratio in WRONG_RATES:
        top = min(signal.high, 0.45 * sample_rate * ratio)  # what is higher the recorder has cut off
        part = replace(signal, high=top, duration=signal.growth * float(np.log(top / signal.low)))
        inverse = inverse_filter(part, stretch=ratio, sample_rate=sample_rate)
        if len(inverse) < samples.shape[-1]:
            size = np.abs(deconvolve(samples[:1], inverse)[0])
            if size.max() > max(SEEN * _floor(size, len(inverse)), 3.0 * seen):
                return (
                    f"the sweep is there, but lasts {ratio:.3f} times what it should: it was played or the file is "
                    f"labelled at another sample rate. Set player and recorder to {signal.sample_rate} Hz."
                )
    return ""
