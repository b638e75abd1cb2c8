"""Sounds of several states beside one another, of any length: measured block by block, given back block by block.

The recording is never held in memory: it is read once to measure what each state makes of it, and again for each
sound that is wanted. A built-in phrase is short and is kept.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.fitting_pickup import unlike_words
from polepiece.auditioning.playing import SAMPLE_RATE, checked_full_scale, chosen_chain, play, predicted, voice
from polepiece.bench import Bench, heard_before_and_after
from polepiece.guitar import Guitar
from polepiece.moves import Change, apply
from polepiece.sound import (
    LIVELY,
    Chain,
    ChainSetting,
    Condition,
    Convolver,
    Header,
    Levels,
    LoudnessMeter,
    Loudspeaker,
    Phrase,
    PhraseEnergy,
    RatioFilter,
    Realism,
    blocks,
    chained,
    condition_of_blocks,
    header,
    level_states,
    loudspeaker_name,
    ratio_filter,
    without_offset,
)
from polepiece.sound import phrase as phrase_of

Progress = Callable[[int, int], None]
Source = Callable[[int, int | None], Iterator[FloatArray]]  # blocks (t, c) from one frame up to another

LEAD_S = 1.0  # before and behind an excerpt, so that filters have settled where it begins and none is cut short
HOP_S = 0.1  # of the meter


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """One state of a comparison; levels as heard, behind the chain where there is one."""

    changes: tuple[Change, ...]  # none: as it is
    loudness_lufs: float
    peak_dbfs: float
    clean_loudness_lufs: float  # at the end of the cable
    filter: RatioFilter | None  # what a recording was given; None: nothing, or a phrase
    predicted: PhraseEnergy | None  # of a phrase, without rendering and with a straight flux law; None: a recording
    source: Source = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """Sounds of one pickup: as it is, and after each of several lists of changes."""

    pickup: str
    kind: str  # "rendered" or "recording"
    played: str  # name of the phrase or of the recording's file
    chain: str  # empty: none
    loudspeaker: str
    sample_rate: int
    channels: int
    frames: int
    states: tuple[Compared, ...]  # the first is the guitar as it is
    levels: Levels
    loudest: int  # frame with which the loudest stretch of the first state begins
    condition: Condition | None = None  # of a recording

    @property
    def duration(self) -> float:
        """Length in s."""
        return self.frames / self.sample_rate

    def difference_db(self, state: int) -> float:
        """True loudness of a state against the first, LU."""
        return self.levels.difference_db[state]

    def clean_difference_db(self, state: int) -> float:
        """The same at the end of the cable."""
        return self.states[state].clean_loudness_lufs - self.states[0].clean_loudness_lufs

    def predicted_difference_db(self, state: int) -> float | None:
        """Loudness of a phrase against the first state as predicted in closed form, LU; None for a recording."""
        before, after = self.states[0].predicted, self.states[state].predicted
        return None if before is None or after is None else after.loudness_lufs - before.loudness_lufs

    def curved_db(self, state: int) -> float | None:
        """Loudness of a state as rendered less as predicted, LU: what is not in the closed form. None for a recording.

        That is the curved flux law, and the pitch glide and noise of the hand where they are on: 0 to 0.15 LU together
        over the phrases that come with the tool, the same before and after within 0.005.
        """
        one = self.states[state]
        return None if one.predicted is None else one.clean_loudness_lufs - one.predicted.loudness_lufs

    def sound(self, state: int, *, true_level: bool = False) -> Iterator[FloatArray]:
        """Give one sound in blocks (t, c): equally loud as the others, or as loud as it really is."""
        gain = self._gain(state, true_level=true_level)
        for block in self.states[state].source(0, None):
            yield gain * block

    def both(self, state: int) -> Iterator[tuple[FloatArray, FloatArray]]:
        """Give a sound in blocks (t, c) at both levels, made once: equally loud, and as loud as it really is."""
        aligned, true = (self._gain(state, true_level=one) for one in (False, True))
        for block in self.states[state].source(0, None):
            yield aligned * block, true * block

    def excerpt(self, state: int, seconds: float, *, true_level: bool = False) -> FloatArray:
        """Return (t, c) of the loudest stretch of the first state, the same stretch for every state."""
        count = min(round(seconds * self.sample_rate), self.frames)
        first = max(min(self.loudest, self.frames - count), 0)
        lead = round(LEAD_S * self.sample_rate)
        start = max(first - lead, 0)
        pieces = np.concatenate(list(self.states[state].source(start, first + count + lead)))
        return self._gain(state, true_level=true_level) * pieces[first - start : first - start + count]

    def _gain(self, state: int, *, true_level: bool) -> float:
        levels = self.levels
        return float(10.0 ** ((levels.true_gain_db if true_level else levels.aligned_gain_db[state]) / 20.0))


def compare(
    guitar: Guitar,
    pickup: str,
    alternatives: Sequence[Sequence[Change]],
    *,
    phrase: str | Phrase = "open-chord",
    recording: str | Path | None = None,
    chain: str | ChainSetting | None = None,
    loudspeaker: Loudspeaker = "closed-box",
    full_scale: float = 1.0,
    seed: int = 0,
    position: str | None = None,
    bench: Bench | None = None,
    progress: Progress | None = None,
    realism: Realism = LIVELY,
) -> Comparison:
    """Make the sounds of a pickup as it is and after each list of changes, for a recording of any length.

    Parameters
    ----------
    guitar, pickup : as it is; a recording was made with this pickup alone.
    alternatives : one list of changes for each other state.
    phrase : what is played without a recording.
    recording : a sound file, see `polepiece.sound.header`; it is read in blocks.
    chain, loudspeaker, full_scale : see `audition`.
    seed : of the hand's variation.
    position : str, optional
        In which the guitar is heard, see `pickups_on`. Default: the pickup by itself. A change of the selector is heard
        in that position before, in the new one after.
    bench : Bench, optional
    progress : called with (seconds of sound done, of all).
    realism : what a phrase has beside strings that are let go; the same for every state.

    Returns
    -------
    comparison : measured; its sounds are made again, block by block, when they are asked for.

    Raises
    ------
    InputError
        When a change is not possible, the phrase is not known, or a string cannot sound.
    MeasurementError
        When a state is silent, or the recording cannot be used.
    """
    bench = bench or Bench(seed=seed)
    name = guitar.pickup(pickup).name
    setting = chosen_chain(chain, driven=False)
    volts = 1.0 if recording is None else checked_full_scale(full_scale)
    lists: list[tuple[Change, ...]] = [(), *(tuple(one) for one in alternatives)]
    guitars = [apply(guitar, name, one) for one in lists]
    benches = [bench.heard_in(heard_before_and_after(guitar, one, name, position)[1]) for one in guitars]
    if recording is None:
        piece = phrase_of(phrase) if isinstance(phrase, str) else phrase
        made = _phrase_made(guitars, name, piece, seed, benches, realism)
    else:
        made = _recording_made(guitars, name, header(recording), benches)
    passed = _Passed(setting, loudspeaker, volts, made.sample_rate, made.channels)
    seen = _Seconds(progress, made.sample_rate, len(lists) * made.frames)
    states, loudest = [], 0
    for number, (changes, source, given) in enumerate(zip(lists, made.sources, made.filters)):
        called = "before" if not number else "after" if len(lists) == 2 else f"after {number}"
        clean = last = LoudnessMeter(made.sample_rate, made.channels)
        read = source(0, None)
        if setting is not None:
            clean = LoudnessMeter(made.sample_rate, made.channels)
            read = passed.through(_listened(read, clean))
        for block in read:
            last.add(block)
            seen.more(block.shape[0])
        for meter in {id(one): one for one in (clean, last)}.values():
            meter.finish()
        states.append(
            Compared(
                changes=changes, predicted=made.predicted[number],
                loudness_lufs=last.loudness(called), peak_dbfs=last.peak_dbfs, filter=given,
                source=passed.source(source), clean_loudness_lufs=clean.loudness(called),
            )
        )  # fmt: skip
        loudest = loudest if number else _loudest(last.hop_energy, made.sample_rate)
    return Comparison(
        pickup=name, kind="rendered" if recording is None else "recording", played=made.played,
        sample_rate=made.sample_rate, channels=made.channels, frames=made.frames, states=tuple(states),
        chain="" if setting is None else setting.name, loudest=loudest,
        loudspeaker="" if setting is None else loudspeaker_name(loudspeaker),
        levels=level_states([one.loudness_lufs for one in states], [one.peak_dbfs for one in states]),
        condition=made.condition,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Made:
    """Sounds at the end of the cable, one source a state."""

    played: str
    sample_rate: int
    channels: int
    frames: int
    sources: list[Source]
    filters: "list[RatioFilter | None]"
    predicted: "list[PhraseEnergy | None]"
    condition: Condition | None = None


def _phrase_made(
    guitars: Sequence[Guitar], name: str, piece: Phrase, seed: int, benches: Sequence[Bench], realism: Realism
) -> _Made:
    sounds = [play(one, name, piece, seed=seed, bench=bench, realism=realism) for one, bench in zip(guitars, benches)]
    return _Made(
        played=piece.name, sample_rate=SAMPLE_RATE, channels=1, frames=sounds[0].size,
        sources=[_kept(one) for one in sounds], filters=[None] * len(sounds),
        predicted=[predicted(one, name, piece, seed=seed, bench=bench) for one, bench in zip(guitars, benches)],
    )  # fmt: skip


def _recording_made(guitars: Sequence[Guitar], name: str, found: Header, benches: Sequence[Bench]) -> _Made:
    condition = condition_of_blocks(lambda: blocks(found), found.sample_rate, name=str(found.path))
    condition = replace(condition, unlike=unlike_words(condition, guitars[0], name, bench=benches[0]))
    responses = [voice(one, name, bench=bench).response for one, bench in zip(guitars, benches)]
    filters: list[RatioFilter | None] = [None]  # the recording itself is not touched, but for its offset
    filters += [ratio_filter(responses[0], one, sample_rate=found.sample_rate) for one in responses[1:]]
    return _Made(
        played=found.path.name, sample_rate=found.sample_rate, channels=found.channels, frames=found.frames,
        sources=[_revoiced(found, one, condition) for one in filters], filters=filters, condition=condition,
        predicted=[None] * len(filters),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Passed:
    """What every sound goes through behind the cable; no setting: nothing."""

    setting: ChainSetting | None
    loudspeaker: Loudspeaker
    volts: float
    rate: int
    channels: int

    def through(self, read: Iterator[FloatArray]) -> Iterator[FloatArray]:
        """Put blocks through a chain of their own."""
        if self.setting is None:
            return read
        chain = Chain(self.setting, sample_rate=self.rate, channels=self.channels, loudspeaker=self.loudspeaker)
        return chained((self.volts * block for block in read), chain)

    def source(self, source: Source) -> Source:
        """Return the source behind the chain."""
        return lambda first, last: self.through(source(first, last))


class _Seconds:
    """Whole seconds of sound that are done."""

    def __init__(self, progress: Progress | None, rate: int, frames: int) -> None:
        self._progress, self._rate, self._all, self._done = progress, rate, frames, 0

    def more(self, frames: int) -> None:
        self._done += frames
        if self._progress is not None:
            self._progress(self._done // self._rate, max(self._all // self._rate, 1))


def _kept(samples: FloatArray) -> Source:
    return lambda first, last: iter([samples[first:last, None]])


def _revoiced(found: Header, given: RatioFilter | None, condition: Condition) -> Source:
    def source(first: int, last: int | None) -> Iterator[FloatArray]:
        read = without_offset(blocks(found, first=first, last=last), condition)
        if given is None:
            return read
        filtered = Convolver(given.taps, found.channels)
        return (filtered.process(np.ascontiguousarray(block.T)).T for block in read)

    return source


def _listened(read: Iterator[FloatArray], meter: LoudnessMeter) -> Iterator[FloatArray]:
    for block in read:
        meter.add(block)
        yield block


def _loudest(energy: FloatArray, rate: int, *, seconds: float = 10.0) -> int:
    """Frame with which the loudest stretch of ``seconds`` begins."""
    count = min(round(seconds / HOP_S), energy.size)
    sums = np.convolve(energy, np.ones(count), mode="valid")
    return round(int(np.argmax(sums)) * HOP_S * rate)
