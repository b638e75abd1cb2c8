"""What is wrong with a recording before it is re-voiced: clipped, driven, noisy, offset, too quiet, another pickup's.

Re-voicing is linear. It puts a tilt on what is there, the cut tops and the saturation of something in front of the
recorder included; only an offset can be taken away. So these are said, and a recording of which nothing is left is
refused. Every threshold is here.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import MeasurementError
from polepiece.sound.recording_spectrum import RecordingSpectrum, SpectrumMeter

# A top that is flat within TIGHT and then falls faster than a rounded one can was cut. Of a parabola that is flat
# within t over n samples, the place n samples beyond the end lies at most 9 (1 + 2 / n)^2 t lower: 25 t at n = 3, 16 t
# at 6.
TIGHT = 1e-4  # share of the largest value of that side: what a gain and 24 bit leave of equal samples; assumption
TIGHT_RUN, TIGHT_FALL = 3, 100.0  # samples; fall in units of the flatness, four times what a parabola has
SOFT = 5e-3  # the same for tops that a later filter or another sample rate has rounded; assumption
SOFT_RUN, SOFT_FALL = 6, 40.0  # 2.5 times what a parabola has
SOFT_TOPS = 3  # as high as one another; a string that rings down 10 dB/s loses 1 % each period of 100 Hz; assumption
STEP_16 = 2.0**-15  # what equal samples may differ by after a gain in 16 bits, full scale 1
NOTHING_LEFT = 0.5  # share of clipped samples from which a recording is refused; assumption
OFFSET = 1e-3  # of the peak: what moves a meter's last digit, and no loudness; smaller ones are left; assumption
WINDOW_S = 0.05  # holds four periods of the low E string
LOUD_DB = 20.0  # below the loudest window: what the statistics of tops are taken from; assumption
NEAR_TOP = 0.9  # of the window's largest value
SINE_SHARE = 2.0 * np.arccos(NEAR_TOP) / np.pi  # 0.287 of a sine's samples lie above 0.9 of its top
DRIVEN_SHARE = 1.05 * SINE_SHARE  # a wave with more of it than a sine has is flat-topped; 5 % for windows cut anywhere
# Strings that are let go are peakier while loud: the least of 400 drawn parts of rendered phrases has -1.3 dB, and tanh
# of twice the peak is past the limit in 27 %, of three times in 62 %.
SQUASHED_DB = -1.6  # crest of the loud windows less that of quieter ones
TOP_DB, BELOW_DB, FEWEST = 3.0, 6.0, 6  # loud: within 3 dB of the loudest window; quieter: 6 to 20 dB below; windows
# hiss from 2 to 8 kHz against the loud parts: a state that is 10 dB brighter lifts it to what is heard
NOISY_DB = -40.0
QUIET_DBFS = -40.0  # peak; 16 bits leave ten for the sound; assumption
CANCELLED = 1e-4  # of the power: 40 dB, what no two takes of one guitar lose


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """The condition of a recording.

    Attributes
    ----------
    peak_dbfs : largest sample.
    offset : mean of each channel, full scale 1.0.
    clipped_share : of all samples, those that stand in cut tops; 0 where none was found. Of short peaks (one or two
        samples) it is short.
    clipped_dbfs : where they stand; None where none was found.
    rounded : the cut tops were filtered or resampled afterwards.
    top_share : of the samples in loud windows, those above 0.9 of the window's largest value, the middle window; a sine
        has 0.29, a plucked string less, a square wave 1.
    crest_db : largest sample against the rms of the loud windows.
    squashed_db : middle crest of the loudest windows less that of quieter ones; None where there are too few.
    hiss_db : noise between 2 and 8 kHz in its quietest parts against the mean square of the loud windows.
    spectrum : of the whole.
    unlike : a sentence where it cannot be of the pickup that was said; empty: it may be, or none was said.
    turned_over : its two channels cancel each other when they are mixed.
    """

    peak_dbfs: float
    offset: tuple[float, ...]
    clipped_share: float
    clipped_dbfs: float | None
    rounded: bool
    top_share: float
    crest_db: float
    squashed_db: float | None = None
    hiss_db: float = -300.0
    spectrum: RecordingSpectrum | None = field(default=None, repr=False)
    unlike: str = ""
    turned_over: bool = False

    @property
    def squashed(self) -> bool:
        """Whether its peaks are held down while it is loud."""
        return self.squashed_db is not None and self.squashed_db < SQUASHED_DB

    @property
    def noisy(self) -> bool:
        """Whether hiss is near what is played."""
        return self.hiss_db > NOISY_DB

    @property
    def moved(self) -> bool:
        """Whether there is an offset worth taking away."""
        return bool(max(abs(one) for one in self.offset) > OFFSET * 10.0 ** (self.peak_dbfs / 20.0))

    @property
    def driven(self) -> bool:
        """Whether it looks driven."""
        return bool(self.top_share > DRIVEN_SHARE)

    @property
    def words(self) -> tuple[str, ...]:
        """What a person should know of it, in sentences; none: nothing was found."""
        out = []
        if self.clipped_dbfs is not None:
            later = (
                ", rounded since by a filter, another sample rate or something that saturates softly"
                if self.rounded
                else ", ahead of the converter or made quieter since"
                if self.clipped_dbfs < -0.01
                else ""
            )
            out.append(
                f"Clipped: {_percent(self.clipped_share)} of the samples stand in tops cut off at "
                f"{self.clipped_dbfs + 0.0:.1f} dBFS{later}. Re-voicing is not valid there: it takes what clipping "
                "made for the strings' own sound. Record again with less gain."
            )
        if self.driven:
            out.append(
                f"Looks driven: {100.0 * self.top_share:.0f} % of the samples of its loud parts lie in the top tenth "
                f"of their wave (a sine {100.0 * SINE_SHARE:.0f} %, plucked strings less; crest factor "
                f"{self.crest_db:.1f} dB). {STRAIGHT}"
            )
        elif self.squashed and self.squashed_db is not None:
            out.append(
                f"Looks mildly driven: its peaks stand {-self.squashed_db:.1f} dB lower over their loudness in loud "
                f"parts than in quieter ones (limit {-SQUASHED_DB:.1f} dB; of a sine as loud, a soft limit that does "
                f"so makes {100.0 * third_harmonic(self.squashed_db):.0f} % of third harmonic). {STRAIGHT}"
            )
        if self.noisy:
            out.append(
                f"Noise: in its quietest parts hiss from 2 to 8 kHz is {-self.hiss_db:.0f} dB under the loud parts "
                f"(limit {-NOISY_DB:.0f} dB); a state that is brighter raises it with the strings. Record with more "
                "gain, away from lamps and screens."
            )
        if self.turned_over:
            out.append(
                "Turned over: its two channels cancel each other when they are mixed to one (40 dB and more are lost); "
                "the first alone was judged. Export one of them alone."
            )
        if self.unlike:
            out.append(self.unlike)
        if self.moved:
            most = max(self.offset, key=abs)
            out.append(
                f"Offset: the wave's mean is {most:+.4f} of full scale (direct current from the interface); it was "
                "taken away from both sounds."
            )
        if self.peak_dbfs < QUIET_DBFS:
            out.append(
                f"Quiet: its peak is {self.peak_dbfs:.0f} dBFS; what a brighter state raises is mostly noise. Record "
                "with more gain."
            )
        return tuple(out)


STRAIGHT = (
    "Was there an amplifier, a pedal or a limiter? Re-voicing holds for the pickup played straight into the interface "
    "only. What is driven less than this cannot be told from strings."
)


def third_harmonic(squashed_db: float) -> float:
    """Third harmonic over the fundamental of a sine whose peak x - a x^3 holds down by so many dB (negative).

    Derived here, in closed form: (a/4) / (1 - 3a/4) with 1 - a the gain at the peak.
    """
    a = 1.0 - 10.0 ** (min(squashed_db, 0.0) / 20.0)
    return float(0.25 * a / (1.0 - 0.75 * a))


def _percent(share: float) -> str:
    return f"{100.0 * share:.2g} %" if share >= 1e-5 else "less than 0.001 %"


def condition_of(samples: FloatArray, sample_rate: int, *, name: str = "the recording") -> Condition:
    """Return the condition of samples (t,) or (t, c); see `condition_of_blocks`."""
    sound = np.asarray(samples, dtype=float)
    return condition_of_blocks(lambda: iter([sound if sound.ndim == 2 else sound[:, None]]), sample_rate, name=name)


def condition_of_blocks(read: Callable[[], Iterator[FloatArray]], sample_rate: int, *, name: str) -> Condition:
    """Return the condition of a recording that is read twice in blocks (t, c).

    Raises
    ------
    MeasurementError
        When half of it or more is clipped: there is nothing left to re-voice.

    Notes
    -----
    A run of samples within 1e-4 of the largest value of its side is a cut top when the wave, as many samples again
    beyond both ends, has fallen by more than a hundred times that: a rounded top cannot. Where a filter or another
    sample rate came after, the same with 5e-3, and three tops of one height at least.
    Thresholds: assumptions, tried on recordings (tests).
    """
    low = high = total = np.zeros(0)
    count, mixed, all_of_it = 0, 0.0, 0.0
    for block in read():
        mixed += float(np.sum(block.mean(axis=1) ** 2))
        all_of_it += float(np.mean(block**2, axis=1).sum())
        one_low, one_high, one_total = block.min(axis=0), block.max(axis=0), block.sum(axis=0)
        low = one_low if not count else np.minimum(low, one_low)
        high = one_high if not count else np.maximum(high, one_high)
        total = one_total if not count else total + one_total
        count += block.shape[0]
    offset = total / max(count, 1)
    moving = np.array([mixed - count * offset.mean() ** 2, all_of_it - count * float(np.mean(offset**2))])
    turned = bool(moving[0] < CANCELLED * moving[1])
    tops = _Tops(np.maximum(high, 0.0), np.maximum(-low, 0.0))
    waves, meter = _Waves(offset, max(1, round(WINDOW_S * sample_rate))), SpectrumMeter(sample_rate)
    for block in read():
        tops.add(block)
        waves.add(block)
        meter.add(block[:, 0] - offset[0] if turned else block.mean(axis=1) - float(offset.mean()))
    share, level, rounded = tops.found(count)
    if share >= NOTHING_LEFT:
        raise MeasurementError(
            f"{name}: {100.0 * share:.0f} % of the samples are clipped; there is nothing left that could be re-voiced. "
            "Record again with less gain, straight into the interface."
        )
    peak = float(max(high.max(), -low.min()))
    top_share, crest, loud = waves.found()
    spectrum = meter.found()
    return Condition(
        peak_dbfs=20.0 * np.log10(max(peak, 1e-12)), offset=tuple(float(one) for one in offset), clipped_share=share,
        clipped_dbfs=None if level is None else 20.0 * np.log10(level), rounded=rounded, top_share=top_share,
        crest_db=crest, squashed_db=waves.squashed(), spectrum=spectrum, turned_over=turned,
        hiss_db=10.0 * np.log10(max(spectrum.hiss, 1e-30) / max(loud, 1e-30)) if spectrum.windows else -300.0,
    )  # fmt: skip


class _Tops:
    """Cut tops on both sides of every channel, over blocks with the end of the last one in front."""

    KEEP = 4096  # samples of the last block that are seen again, so that a top and what is beside it are seen whole

    def __init__(self, above: FloatArray, below: FloatArray) -> None:
        self._sides = [(channel, 1.0, float(one)) for channel, one in enumerate(above)]
        self._sides += [(channel, -1.0, float(one)) for channel, one in enumerate(below)]
        self._tail: FloatArray | None = None
        self._tight = np.zeros((len(self._sides), 2), dtype=int)  # tops, samples
        self._soft = np.zeros((len(self._sides), 2), dtype=int)

    def add(self, block: FloatArray) -> None:
        """Take the next samples (t, c)."""
        seen = 0 if self._tail is None else self._tail.shape[0]
        whole = block if self._tail is None else np.concatenate([self._tail, block])
        for row, (channel, sign, top) in enumerate(self._sides):
            side = sign * whole[:, channel]
            flat = max(TIGHT * top, STEP_16)
            if top > TIGHT_FALL * flat:
                self._tight[row] += _cut(side, top, flat, TIGHT_RUN, TIGHT_FALL, seen)
                self._soft[row] += _cut(side, top, max(SOFT * top, STEP_16), SOFT_RUN, SOFT_FALL, seen)
        self._tail = whole[-self.KEEP :]

    def found(self, count: int) -> tuple[float, float | None, bool]:
        """Return the share of clipped samples, the level (largest of the sides that are cut), and whether rounded."""
        rows = [(row[1], side[2], False) for row, side in zip(self._tight, self._sides) if row[0]]
        rows += [
            (soft[1], side[2], True)
            for soft, tight, side in zip(self._soft, self._tight, self._sides)
            if not tight[0] and soft[0] >= SOFT_TOPS
        ]
        if not rows:
            return 0.0, None, False
        channels = len(self._sides) // 2
        share = float(sum(samples for samples, _, _ in rows)) / max(1, count * channels)
        return share, max(level for _, level, _ in rows), all(rounded for _, _, rounded in rows)


def _cut(side: FloatArray, top: float, flat: float, least: int, fall: float, seen: int) -> "np.ndarray":
    """Return how many cut tops end in ``side`` after its first ``seen`` samples, and how many samples stand in them.

    Tops whose far side is not in ``side`` yet are left to the next block, which sees them again.
    """
    at = np.concatenate([[False], side >= top - flat, [False]])
    edge = np.flatnonzero(at[1:] != at[:-1])
    first, end = edge[::2], edge[1::2]  # the run is side[first:end]
    size = end - first
    kept = (size >= least) & (first - size >= 0) & (end - 1 + size < len(side))
    # a top was counted with the last block when its far side was in it already
    kept &= end - 1 + size >= seen
    first, end, size = first[kept], end[kept], size[kept]
    fallen = (top - side[first - size] > fall * flat) & (top - side[end - 1 + size] > fall * flat)
    return np.array([np.count_nonzero(fallen), int(size[fallen].sum())])


class _Waves:
    """How much of a wave lies near its top, window by window."""

    def __init__(self, offset: FloatArray, window: int) -> None:
        self._offset, self._window = offset, window
        self._rest: FloatArray = np.zeros((0, len(offset)))
        self._rows: list[FloatArray] = []

    def add(self, block: FloatArray) -> None:
        """Take the next samples (t, c)."""
        whole = np.concatenate([self._rest, block - self._offset])
        count = whole.shape[0] // self._window
        cut = np.abs(whole[: count * self._window]).reshape(count, self._window, whole.shape[1])
        self._rest = whole[count * self._window :]
        if count:
            peak = cut.max(axis=1)
            near = (cut > NEAR_TOP * peak[:, None]).mean(axis=1)
            power = (cut**2).mean(axis=1)
            self._rows.append(np.stack([peak, near, power], axis=-1).reshape(-1, 3))

    def _heard(self) -> FloatArray:
        rows = np.concatenate(self._rows) if self._rows else np.zeros((0, 3))
        return rows[rows[:, 2] > 0.0]

    def squashed(self) -> float | None:
        """Return the middle crest (dB) of the loudest windows less that of quieter ones; None for too few."""
        rows = self._heard()
        if not len(rows):
            return None
        level = 10.0 * np.log10(rows[:, 2])
        crest = 20.0 * np.log10(rows[:, 0]) - level
        under = level.max() - level
        loud, quieter = crest[under < TOP_DB], crest[(under > BELOW_DB) & (under < LOUD_DB)]
        return None if min(loud.size, quieter.size) < FEWEST else float(np.median(loud) - np.median(quieter))

    def found(self) -> tuple[float, float, float]:
        """Return the middle share near the top over loud windows, the largest sample over their rms in dB, and that
        mean square."""
        rows = self._heard()
        if not len(rows):
            return 0.0, 0.0, 0.0
        loud = rows[rows[:, 2] >= rows[:, 2].max() * 10.0 ** (-LOUD_DB / 10.0)]
        crest = 20.0 * np.log10(loud[:, 0].max() / np.sqrt(loud[:, 2].mean()))
        return float(np.median(loud[:, 1])), float(crest), float(loud[:, 2].mean())


def without_offset(blocks: Iterable[FloatArray], condition: Condition) -> Iterator[FloatArray]:
    """Give blocks (t, c) without the recording's offset, where it has one worth taking away."""
    for block in blocks:
        yield block - np.asarray(condition.offset) if condition.moved else block


def settled(samples: FloatArray, condition: Condition) -> FloatArray:
    """Return samples (t,) or (t, c) without the recording's offset, where it has one worth taking away."""
    if not condition.moved:
        return np.asarray(samples)
    return np.asarray(samples - (condition.offset[0] if samples.ndim == 1 else np.asarray(condition.offset)))
