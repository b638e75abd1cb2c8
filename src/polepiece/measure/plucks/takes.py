"""Plucks heard in recordings: where each is, which string or note, and what lies beneath it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.signal import lfilter

from polepiece.arrays import FloatArray
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.files import FileFact, Taken
from polepiece.measure.plucks.onsets import find_onsets, quiet_part, ringing
from polepiece.measure.plucks.pitch import Partial, partials_of, pitch_of
from polepiece.measure.sweep.clipping import clips
from polepiece.sound import band_power, power_spectrum, third_octave_edges, third_octaves
from polepiece.strings import STANDARD_TUNING, note_frequency

THIRDS = third_octaves(80.0, 10e3)  # Hz, middle frequencies of everything here
FRETS = 24
SHORTEST = 0.4  # s; a shorter sound is no pluck that was left to ring
ATTACK_CUT = 0.02  # s from the beginning of a file: an attack here may be cut, or the file begin in a ringing string
BEFORE_NEXT = 0.06  # s that a pluck ends before the next, or the file: the hand is on the string by then
LEAD = 0.005  # s before the stroke that `HeardPluck.samples` begin, for fading in
WEAK_DB = 30.0  # below the loudest: touches, squeaks
SILENT_DB = -90.0  # dBFS, mean square of a whole recording
OTHER_CHANNEL_DB = -40.0  # the difference of two channels re the louder: below, they carry the same
OFFSET_BELOW = 5.0  # Hz; what is slower is no sound
OPEN_CENTS = 45.0  # a pitch within this of an open string is that string
STANDARD: tuple[float, ...] = tuple(note_frequency(name) for name in STANDARD_TUNING)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardPluck:
    """One pluck.

    Attributes
    ----------
    file : name of the recording.
    onset, duration : s; until the next pluck, a hand on the string, or the end.
    pitch : Hz.
    string : number, 1 the first of the tuning; None for a note that is no open string.
    samples : (t,) of the pluck alone, from `LEAD` before its onset.
    sample_rate : Hz.
    noise : (b,) mean square of the recording's quietest part in `THIRDS`.
    partials : with amplitudes and decay times.
    """

    file: str
    onset: float
    duration: float
    pitch: float
    string: int | None
    samples: FloatArray = field(repr=False)
    sample_rate: int
    noise: FloatArray = field(repr=False)
    partials: tuple[Partial, ...] = ()

    @property
    def level_db(self) -> float:
        """Mean square of the first `SHORTEST` s, dB re full scale squared. Definition."""
        part = self.part(0.0, SHORTEST)
        return float(10.0 * np.log10(np.mean(part**2) + 1e-30))

    def part(self, begin: float, end: float) -> FloatArray:
        """Return the samples from ``begin`` to ``end``, s after the onset; `LEAD` before it at the earliest."""
        first, last = (round((LEAD + one) * self.sample_rate) for one in (begin, end))
        return self.samples[max(first, 0) : last]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PluckTake:
    """What was heard in the recordings of one side, before or after.

    Attributes
    ----------
    plucks : in the order of the files and of time.
    files : with their hashes.
    rates : Hz, of each file.
    noise_db : dB re full scale squared, of the quietest part of each file; -300 is digital silence.
    notes : sentences worth reading.
    """

    plucks: tuple[HeardPluck, ...]
    files: tuple[FileFact, ...]
    rates: tuple[int, ...]
    noise_db: tuple[float, ...]
    notes: tuple[str, ...]


def plucks_of(taken: Iterable[Taken], *, tuning: Sequence[float] = STANDARD) -> PluckTake:
    """Find the plucks of one side in any number of recordings.

    Parameters
    ----------
    taken : the recordings, one after the other; of two channels the louder is used.
    tuning : Hz of the open strings, string 1 first.

    Raises
    ------
    InputError
        For no recording, or a tuning that is none.
    MeasurementError
        For a recording that is silent, clips, holds NaN, or has no pluck in it.
    """
    strings = np.asarray(tuning, dtype=float)
    if strings.ndim != 1 or not strings.size or not np.all((strings > 20.0) & (strings < 1500.0)):
        raise InputError(f"tuning is {list(tuning)}; needed are the open strings in Hz, 20 to 1500, string 1 first.")
    found: list[HeardPluck] = []
    notes: list[str] = []
    levels: list[float] = []
    files: list[FileFact] = []
    rates: list[int] = []
    for one in taken:
        samples, said = _channel(one)
        notes += said
        plucks, quiet, said = _heard(samples, one.sample_rate, one.fact.name, strings)
        notes += said
        levels.append(quiet)
        found += plucks
        files.append(one.fact)
        rates.append(one.sample_rate)
    if not files:
        raise InputError("there is no recording; name at least one for before and one for after.")
    return PluckTake(
        plucks=tuple(found), files=tuple(files), rates=tuple(rates), noise_db=tuple(levels), notes=tuple(notes)
    )


def _channel(taken: Taken) -> tuple[FloatArray, list[str]]:
    """Return the channel that carries the guitar."""
    name, samples = taken.fact.name, np.asarray(taken.samples, dtype=float)
    if not np.all(np.isfinite(samples)):
        raise MeasurementError(f"{name}: there are samples that are no finite numbers. Export the take again.")
    whole, samples = samples, _without_offset(samples, taken.sample_rate)
    power = np.mean(samples**2, axis=0)
    loud = int(np.argmax(power))
    if 10.0 * np.log10(power[loud] + 1e-30) < SILENT_DB:
        raise MeasurementError(f"{name}: the recording is silent. Was the right input armed, the volume pot up?")
    row = np.ascontiguousarray(samples[:, loud])
    if clips(whole[:, loud]):
        raise MeasurementError(
            f"{name}: the recording clips (flat tops: samples in a row at one largest value), which changes level and "
            "spectrum. Lower the gain until the hardest pluck peaks under -6 dBFS, and record both sides again with it."
        )
    other = power[1 - loud] if samples.shape[1] == 2 else power[loud]
    alike = np.mean((samples[:, 0] - samples[:, -1]) ** 2) < power[loud] * 10.0 ** (OTHER_CHANNEL_DB / 10.0)
    if alike or other < power[loud] * 10.0 ** (OTHER_CHANNEL_DB / 10.0):
        return row, []
    return row, [
        f"{name}: the two channels differ; the louder one ({'left' if loud == 0 else 'right'}) was used. One guitar "
        "on one input is what is needed."
    ]


def _without_offset(samples: FloatArray, rate: int) -> FloatArray:
    """Return samples (t, c) without an input's own direct current: a first-order high-pass, 0.02 dB at 80 Hz."""
    keep = np.exp(-2.0 * np.pi * OFFSET_BELOW / rate)
    out, _ = lfilter([1.0, -1.0], [1.0, -keep], samples, axis=0, zi=-samples[:1])
    return np.asarray(out)


def _heard(samples: FloatArray, rate: int, name: str, tuning: FloatArray) -> tuple[list[HeardPluck], float, list[str]]:
    noise, quiet = _noise(samples, rate)
    onsets = find_onsets(samples, rate)
    ends = np.append(onsets[1:], samples.size / rate) - BEFORE_NEXT
    spans = []
    cut = short = weak = 0
    for onset, end in zip(onsets.tolist(), ends.tolist()):
        part = samples[round(onset * rate) : round(end * rate)]
        lasts = ringing(part, rate) if part.size else 0.0
        if onset < ATTACK_CUT:
            cut += 1
        elif lasts < SHORTEST:
            short += 1
        else:
            spans.append((onset, lasts, float(np.mean(part[: round(SHORTEST * rate)] ** 2))))
    loudest = max((power for *_, power in spans), default=0.0)
    plucks = []
    for onset, lasts, power in spans:
        if power < loudest * 10.0 ** (-WEAK_DB / 10.0):
            weak += 1
            continue
        pitch = pitch_of(samples, rate, onset, onset + lasts, low=0.9 * float(tuning.min()),
                         high=min(1500.0, 1.03 * float(tuning.max()) * 2.0 ** (FRETS / 12.0)))  # fmt: skip
        if pitch is None:
            weak += 1
            continue
        begin, end = (round(one * rate) for one in (onset, onset + lasts))
        plucks.append(
            HeardPluck(
                file=name, onset=onset, duration=lasts, pitch=pitch, string=string_of(pitch, tuning),
                samples=samples[max(0, begin - round(LEAD * rate)) : end],
                sample_rate=rate, noise=noise, partials=partials_of(samples[begin:end], rate, pitch),
            )
        )  # fmt: skip
    if not plucks:
        raise MeasurementError(
            f"{name}: no pluck was found that rings for {SHORTEST:g} s or longer"
            + (f" ({short} shorter ones)" if short else "")
            + ". Pluck single open strings and let each ring for two seconds before the next."
        )
    left_out = [
        (cut, "begins with the file, its attack may be cut", "begin with the file"),
        (short, f"rings for less than {SHORTEST:g} s", f"ring for less than {SHORTEST:g} s"),
        (weak, "is very weak or has no pitch", "are very weak or have no pitch"),
    ]
    said = [
        f"{name}: {count} sound{'' if count == 1 else 's'} that {one if count == 1 else many} left out."
        for count, one, many in left_out
        if count
    ]
    return plucks, quiet, said


def _noise(samples: FloatArray, rate: int) -> tuple[FloatArray, float]:
    """Return the mean square of the quietest part in each third octave, and its level over all, dB."""
    frames = quiet_part(samples, rate)
    if not frames.size:
        return np.zeros(THIRDS.size), -300.0
    taper = np.hanning(frames.shape[1])
    taper /= np.sqrt(np.mean(taper**2))
    spectra = [power_spectrum(one * taper, rate) for one in frames]
    mean = np.mean([power for _, power in spectra], axis=0)
    return band_power(spectra[0][0], mean, *third_octave_edges(THIRDS)), float(
        10.0 * np.log10(np.mean(frames**2) + 1e-30)
    )


def string_of(pitch: float, tuning: FloatArray) -> int | None:
    """Return the number of the open string that has ``pitch``; None when it is another note.

    Definition of the cent; the tolerance is an assumption.
    """
    cents = np.abs(1200.0 * np.log2(pitch / tuning))
    nearest = int(np.argmin(cents))
    return nearest + 1 if cents[nearest] <= OPEN_CENTS else None
