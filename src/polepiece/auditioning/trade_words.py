"""Words of the trade that a computed quantity carries: tight and loose, bright and warm, squashed and open.

Each is read from rendered sound, through the clean, the edge and the driven chain beside one another, because the
trade hears bars where something saturates. Firm, sweet, alive, three-dimensional and their like have no such quantity
and are not computed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench, heard_before_and_after
from polepiece.errors import MeasurementError
from polepiece.guitar import Guitar
from polepiece.moves import Change, apply
from polepiece.sound import Note, Phrase, banded, loudness_as_given, spectral_centroid, through_chain
from polepiece.strings import Pluck

CHAINS = ("clean", "edge", "driven")
FIRST_S, NEXT_S = 0.060, 0.400  # of a low stroke: its attack, and what follows (definition; common practice, no source)
LOWS_HZ = (50.0, 250.0)  # from under the low E to the end of the band that is called lows here
HARD_M, SOFT_M = 1.5e-3, 0.375e-3  # m of the string at the stroke: 12 dB apart, a hard and a soft hand (assumption)
STROKE_S, CHORD_S, LEAD_S = 0.8, 1.6, 0.05  # s
PLECTRUM = Pluck(position=0.11, width=2e-3, release=0.08e-3)  # as in the phrases that come with the tool


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One quantity: what it is, its unit, when a difference gets its word, and the words up and down."""

    name: str
    unit: str
    threshold: float
    source: str
    more: str
    less: str


KINDS: dict[str, Kind] = {
    "tight_db": Kind(
        name="lows, first 60 ms against the next 400 ms", unit="dB", threshold=1.0, more="tighter lows",
        less="looser lows", source="assumption: as a band; no published threshold is known",
    ),
    "centre_percent": Kind(
        name="centre of the spectrum", unit="%", threshold=5.0, more="brighter", less="warmer",
        source="about 5 % as quoted after Grey 1977 (read second-hand, no primary source seen)",
    ),
    "spread_db": Kind(
        name="hard stroke against soft stroke, 12 dB apart at the string", unit="dB", threshold=1.0, more="more open",
        less="more compressed", source="1 dB of level: 0.4 to 1 dB side by side in published hearing tests",
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeWord:
    """One quantity through one chain, before and after; ``word`` is "" where nobody would use it."""

    chain: str
    key: str  # of `KINDS`
    before: float  # dB, or Hz for the centre of the spectrum
    after: float
    difference: float  # in the unit of its kind

    @property
    def word(self) -> str:
        """The word, "a little" from half its threshold on."""
        kind = KINDS[self.key]
        size = abs(self.difference) / kind.threshold
        said = kind.more if self.difference > 0 else kind.less
        return "" if size < 0.5 else f"a little {said}" if size < 1.0 else said


def strokes(strings: int) -> Phrase:
    """Return what is played: the thickest string hard, then softly, then a slow chord of open strings."""
    hard, soft = (replace(PLECTRUM, displacement=one) for one in (HARD_M, SOFT_M))
    notes = [
        Note(string=strings, onset=LEAD_S, duration=STROKE_S, pluck=hard),
        Note(string=strings, onset=LEAD_S + STROKE_S, duration=STROKE_S, pluck=soft),
    ]
    start = LEAD_S + 2.0 * STROKE_S
    notes += [
        Note(string=one, onset=start + 0.02 * (strings - one), duration=CHORD_S - 0.02 * (strings - one), pluck=hard)
        for one in range(strings, 0, -1)
    ]
    return Phrase(name="strokes", notes=tuple(notes), duration=start + CHORD_S)


def tight_db(samples: FloatArray, sample_rate: float, onset: float) -> float:
    """Return the lows of the first 60 ms of a stroke against those of the next 400 ms, dB. Definition.

    Parameters
    ----------
    samples : shape (t,)
    sample_rate : Hz
    onset : s

    Raises
    ------
    MeasurementError
        When the sound ends before the 460 ms are over, or has no lows.
    """
    lows = banded(samples, sample_rate, LOWS_HZ)
    first, second, end = (round((onset + one) * sample_rate) for one in (0.0, FIRST_S, FIRST_S + NEXT_S))
    if end > lows.size:
        raise MeasurementError("tight lows need 460 ms of sound after the stroke.")
    early, late = float(np.mean(lows[first:second] ** 2)), float(np.mean(lows[second:end] ** 2))
    if early <= 0.0 or late <= 0.0:
        raise MeasurementError("the stroke has no lows; whether they are tight has no number.")
    return float(10.0 * np.log10(early / late))


def spread_db(hard: FloatArray, soft: FloatArray, sample_rate: int) -> float:
    """Return how much louder a hard stroke comes out than a soft one, LU; 12 where nothing squashes it.

    Parameters
    ----------
    hard, soft : shape (t,), at least 0.4 s
    sample_rate : Hz
    """
    return float(loudness_as_given(hard, sample_rate, "hard") - loudness_as_given(soft, sample_rate, "soft"))


def described(samples: FloatArray, sample_rate: int) -> dict[str, float]:
    """Return the three quantities of `strokes` as rendered, by key; the centre of the spectrum in Hz."""
    ends = [round((LEAD_S + n * STROKE_S) * sample_rate) for n in range(3)]
    hard, soft, chord = samples[ends[0] : ends[1]], samples[ends[1] : ends[2]], samples[ends[2] :]
    return {
        "tight_db": tight_db(hard, sample_rate, 0.0),
        "centre_percent": spectral_centroid(chord, sample_rate),
        "spread_db": spread_db(hard, soft, sample_rate),
    }


def trade_words(
    guitar: Guitar, pickup: str, changes: Sequence[Change], *, position: str | None = None, bench: Bench | None = None
) -> tuple[TradeWord, ...]:
    """Return the quantities behind words of the trade, before and after changes, through each chain.

    The same strokes and the same settings of each chain for both states: a hotter one saturates more.

    Raises
    ------
    InputError
        When a change cannot be made, or a string has no pitch or mass.
    MeasurementError
        When a state is silent.
    """
    name = guitar.pickup(pickup).name
    after = apply(guitar, name, changes, allow_rods=True)
    return trade_words_between(guitar, after, name, position=position, bench=bench)


def trade_words_between(
    before: Guitar, after: Guitar, pickup: str, *, position: str | None = None, bench: Bench | None = None
) -> tuple[TradeWord, ...]:
    """Return the same of two states of one guitar; see `trade_words`."""
    bench = bench or Bench()
    here, there = (bench.heard_in(one) for one in heard_before_and_after(before, after, pickup, position))
    piece = strokes(len(before.strings))
    sounds = [play(one, pickup, piece, spread=None, bench=b) for one, b in ((before, here), (after, there))]
    out = []
    for chain in CHAINS:
        was, now = (described(through_chain(one, SAMPLE_RATE, chain), SAMPLE_RATE) for one in sounds)
        for key, kind in KINDS.items():
            moved = 100.0 * (now[key] / was[key] - 1.0) if kind.unit == "%" else now[key] - was[key]
            out.append(TradeWord(chain=chain, key=key, before=was[key], after=now[key], difference=moved))
    return tuple(out)


def words_of(found: Sequence[TradeWord]) -> str:
    """Return them in a sentence: "clean: nothing to name; driven: tighter lows, more compressed"."""
    said = {chain: [one.word for one in found if one.chain == chain and one.word] for chain in CHAINS}
    if not any(said.values()):
        return "Clean, edge and driven: nothing that the trade has a computed word for."
    return "; ".join(f"{chain}: {', '.join(words) or 'nothing to name'}" for chain, words in said.items()) + "."
