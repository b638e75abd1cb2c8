"""Source over pickup voltage at each frequency, with what noise, hum and repetition say of its uncertainty."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray, frozen
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.sweep.clipping import clips
from polepiece.measure.sweep.deconvolution import Responses, responses_of
from polepiece.measure.sweep.excitation import SweepSignal

SILENT_DB = -90.0  # rms of a channel during the sweep, dBFS
HARMONICS = 8  # of the sweep that are kept out of the noise
PER_OCTAVE = 24
LOWEST, HIGHEST = 20.0, 20e3  # Hz
PERIODS = 6.0  # of the lowest frequency that the window before a response must hold; fewer cut its beginning off
METHOD = 1e-4  # share of the ratio: what window and inverse filter themselves err by; the noise-free test holds it
LEAST = 1e-9  # share of the ratio: a recording without any noise is a computed one
EXCHANGED = 2.0  # a divider without gain gives the pickup channel less than the source; gains may differ by 6 dB
LINE = 2.0  # a band this many times noisier than its neighbours holds a line; chance reaches 1.9 with 18 windows
UNSTEADY = 2.0  # sweeps that differ by this many times the noise widen every bound
HUM_SHARE = 0.5  # of the pickup channel's rms


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RatioSpectrum:
    """Source channel over pickup channel.

    Attributes
    ----------
    frequency : (f,) Hz.
    ratio : (f,) complex, mean of the sweeps, made positive where the leads were exchanged.
    deviation : (f,) standard deviation of the real and of the imaginary part of that mean.
    sweeps : how many were averaged.
    drift : of the recorder's clock against the player's.
    reversed_polarity : whether the pickup channel was turned over.
    scatter : how many times more the sweeps differ among themselves than noise explains (variance; about 1).
    hum_db, noise_db : dBFS, of the pickup channel between sweeps.
    notes : sentences worth reading.
    """

    frequency: FloatArray
    ratio: ComplexArray
    deviation: FloatArray
    sweeps: int
    drift: float
    reversed_polarity: bool
    scatter: float
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "frequency", frozen(self.frequency))
        object.__setattr__(self, "deviation", frozen(self.deviation))
        ratio = np.array(self.ratio, dtype=complex)
        ratio.flags.writeable = False
        object.__setattr__(self, "ratio", ratio)


def ratio_of(
    samples: FloatArray, signal: SweepSignal, *, sample_rate: int, where: str = "recording", through: bool = False
) -> RatioSpectrum:
    """Return the ratio of the two channels over frequency.

    Linear and time-invariant between the channels is assumed; distortion of the interface falls outside the window,
    clock drift and the response of the output act on both channels alike and cancel.

    Parameters
    ----------
    samples : shape (t, 2); first the source (before the resistor), then the pickup. Full scale 1.0.
    signal : what was played.
    sample_rate : Hz.
    where : name for messages.
    through : the resistor is bridged: both channels carry the source, none is the larger.

    Raises
    ------
    MeasurementError
        For one channel, two that are the same, clipping, a silent channel, exchanged channels, hum as large as the
        sweep, and what `responses_of` refuses.

    Notes
    -----
    Each sweep is windowed around its linear response on both channels alike and transformed; the ratio is smoothed
    by a parabola within 1/24 octave. Windows of the same length from between the responses, transformed and
    smoothed in the same way, are samples of the error: noise, hum and quantisation at once, during the sweep itself.
    Windows of an exponential sweep: Farina 2000 (from memory); the samples of the error are derived here.
    """
    rows = _channels(samples, where)
    _levels(samples.T, rows, where)
    made = responses_of(rows, signal, sample_rate=sample_rate, where=where)
    before, after = _window(signal, sample_rate)
    taper = _taper(before, after)
    spectra = _windows(made.responses, [s - before for s in made.starts], taper)
    quiet = _quiet(made, signal, sample_rate, before, len(taper))
    if len(quiet) < 2:
        raise MeasurementError(f"{where}: nothing lies between the sweeps to take the noise from; write longer sweeps.")
    noise = _windows(made.responses, quiet, taper)
    hertz: FloatArray = np.fft.rfftfreq(len(taper), 1.0 / sample_rate).astype(np.float64)
    bands = _bands(
        hertz, max(LOWEST, 3.0 * signal.low, PERIODS * sample_rate / before), min(HIGHEST, signal.high / 1.1)
    )
    raw = spectra[:, 0] / spectra[:, 1]
    mean = raw.mean(axis=0)
    errors = (noise[:, 0] - mean * noise[:, 1]) / spectra[:, 1].mean(axis=0)
    frequency, ratios = _smooth(hertz, raw, bands)
    _, wrong = _smooth(hertz, errors, bands)
    found = ratios.mean(axis=0)
    turned = float(np.median(found.real)) < 0.0
    if turned:
        found, ratios = -found, -ratios
    if not through and float(np.median(np.abs(found))) < 1.0 / EXCHANGED:
        raise MeasurementError(
            f"{where}: the second channel carries more than the first, which no resistor does. Exchange the leads: "
            "channel 1 is the source, channel 2 the pickup's side of the resistor."
        )
    least = (LEAST * np.abs(found)) ** 2
    typical, lines = _variances(np.maximum(np.mean(np.abs(wrong) ** 2, axis=0) / 2.0, least))
    variance = typical + lines
    spread = np.sum(np.abs(ratios - found) ** 2, axis=0) / (2.0 * (len(ratios) - 1))
    scatter = float(np.mean(spread / variance))
    notes = _notes(made, turned, scatter, signal, len(ratios), sample_rate)
    notes += _hum(rows, made, signal, sample_rate, where)
    widened = (typical / len(ratios) + lines) * (scatter if scatter > UNSTEADY else 1.0)
    widened += (METHOD * np.abs(found)) ** 2 / 2.0
    return RatioSpectrum(
        frequency=frequency, ratio=found, deviation=np.sqrt(widened), sweeps=len(ratios), drift=made.drift,
        reversed_polarity=turned, scatter=scatter, notes=tuple(notes),
    )  # fmt: skip


def _channels(samples: FloatArray, where: str) -> FloatArray:
    if samples.ndim != 2 or samples.shape[1] != 2:
        raise MeasurementError(
            f"{where}: the recording has one channel; two are needed: source, and pickup side of the resistor. "
            "Record in stereo and export without mixing down."
        )
    if np.array_equal(samples[:, 0], samples[:, 1]):
        raise MeasurementError(
            f"{where}: both channels are the same to the last digit: one input was recorded twice, or the take was "
            "mixed down. Record input 1 and input 2 as the two sides of a stereo track."
        )
    return np.ascontiguousarray((samples - samples.mean(axis=0)).T)  # an input's own offset is no sound


def _levels(taken: FloatArray, rows: FloatArray, where: str) -> None:
    """Refuse channels (2, t) that are silent or clip; ``taken`` with the inputs' offsets, ``rows`` without."""
    for number, (whole, row) in enumerate(zip(taken, rows), start=1):
        if np.sqrt(np.mean(row**2)) < 10.0 ** (SILENT_DB / 20.0):
            raise MeasurementError(
                f"{where}: channel {number} is silent. Is its lead plugged in, the resistor's far end connected?"
            )
        if clips(whole):
            raise MeasurementError(
                f"{where}: channel {number} clips (flat tops: samples in a row at one largest value). Lower the "
                "input's gain or the playback level until its peak stays under -3 dBFS, and record again."
            )


def _window(signal: SweepSignal, rate: int) -> tuple[int, int]:
    """Return samples before and after a response: short enough to keep its harmonics out."""
    second = signal.growth * np.log(2.0)
    return round(min(0.4, 0.45 * second) * rate), round(min(0.5, 0.6 * signal.silence + 0.1) * rate)


def _taper(before: int, after: int) -> FloatArray:
    def rise(count: int) -> FloatArray:
        return np.asarray(0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / count))

    out = np.ones(before + after)
    out[: before // 2] = rise(before // 2)
    out[len(out) - after // 5 :] = rise(after // 5)[::-1]
    return out


def _windows(responses: FloatArray, begins: "list[int]", taper: FloatArray) -> ComplexArray:
    """Return spectra (windows, 2, f); what lies before the recording is silence."""
    out = []
    for begin in begins:
        part = responses[:, max(begin, 0) : begin + len(taper)]
        lead = min(max(-begin, 0), len(taper))
        padded = np.pad(part, ((0, 0), (lead, len(taper) - lead - part.shape[1])))
        out.append(np.fft.rfft(padded * taper, axis=1))
    return np.array(out)


def _quiet(made: Responses, signal: SweepSignal, rate: int, before: int, width: int) -> "list[int]":
    """Return where windows of noise begin: after a response, before the harmonics of the next."""
    zone = round(signal.growth * np.log(HARMONICS) * rate) + before
    period = round(signal.period * rate)
    out: list[int] = []
    for start in made.starts:
        here, end = start + width, min(start + period - zone, made.usable)
        while here + width <= end:
            out.append(here)
            here += width
    return out


def _bands(hertz: FloatArray, low: float, high: float) -> "list[tuple[int, int]]":
    """Return the bins (first, last + 1) of each band: 1/24 octave, one bin at least."""
    edges = low * 2.0 ** (np.arange(int(np.log2(high / low) * PER_OCTAVE) + 1) / PER_OCTAVE)
    places = np.unique(np.searchsorted(hertz, edges))
    return [(int(a), int(b)) for a, b in pairwise(places)]


def _smooth(
    hertz: FloatArray, values: ComplexArray, bands: "list[tuple[int, int]]"
) -> "tuple[FloatArray, ComplexArray]":
    """Return the parabola's value at the middle of each band: (f,) and (k, f)."""
    frequency = np.empty(len(bands))
    out = np.empty((len(values), len(bands)), dtype=complex)
    for at, (a, b) in enumerate(bands):
        frequency[at] = hertz[a:b].mean()
        if b - a < 5:
            out[:, at] = values[:, a:b].mean(axis=1)
            continue
        x = np.linspace(-1.0, 1.0, b - a)
        legendre = 1.5 * x**2 - 0.5
        legendre -= legendre.mean()
        curve = (values[:, a:b] @ legendre) / (legendre @ legendre)
        out[:, at] = values[:, a:b].mean(axis=1) + curve * (
            legendre[(b - a) // 2] if (b - a) % 2 else _middle(legendre)
        )
    return frequency, out


def _middle(values: FloatArray) -> float:
    half = len(values) // 2
    return float(0.5 * (values[half - 1] + values[half]))


def _variances(variance: FloatArray, *, reach: int = 4) -> tuple[FloatArray, FloatArray]:
    """Return the noise of each band, the chance of few windows evened out, and what hum lines add to it.

    Noise falls with the number of sweeps; hum may stand still from sweep to sweep and does not.
    """
    typical = np.empty(len(variance))
    for at in range(len(variance)):
        near = variance[max(0, at - reach) : at + reach + 1]
        typical[at] = float(np.median(near)) * 1.05  # the median of a mean of some ten squares lies 3 to 7 % below it
    return typical, np.where(variance > LINE * typical, variance, 0.0)


def _notes(made: Responses, turned: bool, scatter: float, signal: SweepSignal, sweeps: int, rate: int) -> "list[str]":
    notes = []
    if turned:
        notes.append("The pickup channel is turned over against the source; it was turned back.")
    if abs(made.drift) > 1e-6:
        notes.append(
            f"The recorder's clock runs {1e6 * made.drift:+.1f} parts in a million off the player's; corrected."
        )
    if made.others:
        notes.append(
            f"{made.others} more sweep{'s' if made.others > 1 else ''} than the signal has in the recording (two takes "
            f"in one file, a false start?); used are the {sweeps} from {made.starts[0] / rate:.1f} s on. Cut the file "
            "when it holds two states."
        )
    if sweeps < signal.repeats:
        notes.append(f"{sweeps} of {signal.repeats} sweeps are whole in the recording; those were used.")
    if scatter > UNSTEADY:
        notes.append(
            f"The sweeps differ {np.sqrt(scatter):.1f} times more than the noise explains (a loose contact, a moved "
            "lead?); every bound was widened by that."
        )
    return notes


def _hum(rows: FloatArray, made: Responses, signal: SweepSignal, rate: int, where: str) -> "list[str]":
    """Say when the mains stand out between the sweeps; refuse when they rival the sweep."""
    begin = made.starts[0]
    silent = rows[1, max(0, begin - round(0.9 * signal.silence * rate)) : max(0, begin - rate // 100)]
    if len(silent) < 0.2 * rate:
        silent = rows[1, made.starts[0] + round((signal.duration + 0.02) * rate) :][
            : round(0.9 * signal.silence * rate)
        ]
    if len(silent) < 0.2 * rate or not silent.any():
        return []
    loud = rows[1, begin : begin + round(signal.duration * rate)]
    here, there = float(np.sqrt(np.mean(silent**2))), float(np.sqrt(np.mean(loud**2)))
    power = np.abs(np.fft.rfft(silent * np.hanning(len(silent)))) ** 2
    axis = np.fft.rfftfreq(len(silent), 1.0 / rate)
    shares = {}
    for mains in (50.0, 60.0):
        near = np.zeros(len(axis), dtype=bool)
        for order in range(1, 11):
            near |= np.abs(axis - order * mains) < 2.5 * rate / len(silent)
        shares[mains] = float(power[near].sum() / power.sum())
    mains = max(shares, key=lambda one: shares[one])
    if here > HUM_SHARE * there:
        what = f"hum of {mains:.0f} Hz" if shares[mains] > 0.5 else "noise"
        raise MeasurementError(
            f"{where}: {what} on the pickup channel is {20 * np.log10(here / there):+.0f} dB re the sweep. Move away "
            "from transformers and screens, earth the pickup's plate to the shield, raise the playback level."
        )
    if shares[mains] > 0.5 and here > 1e-4 * there:
        return [
            f"Hum of {mains:.0f} Hz and its multiples stands {20 * np.log10(here / there):.0f} dB re the sweep on the "
            "pickup channel; points on those lines carry wider bounds."
        ]
    return []


def same_frequencies(one: RatioSpectrum, other: RatioSpectrum, names: "tuple[str, str]") -> None:
    """Refuse two spectra that were not taken in the same way."""
    if one.frequency.shape != other.frequency.shape or np.any(np.abs(one.frequency / other.frequency - 1.0) > 1e-9):
        raise InputError(
            f"{names[0]} and {names[1]} were recorded at different sample rates or with different signals; record "
            "all of them in one sitting with the same settings."
        )
