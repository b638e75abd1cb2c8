"""What lies behind the buttons of a listening trial: states, own takes, or a differing pair."""

from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from typing import assert_never

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.differing import brighter, louder, resonance_lowered
from polepiece.auditioning.hearing import hear, through
from polepiece.auditioning.played_part import PlayedPart
from polepiece.auditioning.playing import SAMPLE_RATE
from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.measure import BlindTrial, PreferenceTrial, Side, ThresholdTrial, Trial
from polepiece.sound import Phrase, equal_loudness_gains, presented, trial_gains

BOTH = "before and after"
SAME = 10.0 ** (-90.0 / 20.0)  # rms of a difference against the sound: under the steps of 16 bits, nobody hears it

Behind = Callable[[Trial, str], bytes]  # (trial that is on now, button) -> a WAV file for one presentation


def state_sounds(
    guitars: Sequence[Guitar],
    pickup: str,
    *,
    phrase: str | Phrase = "open-chord",
    chain: str | None = None,
    position: str | None = None,
    part: PlayedPart | None = None,
    seed: int = 0,
) -> list[FloatArray]:
    """Return one sound a state, played by the same hand; shape (t,) each, of one length.

    Parameters
    ----------
    guitars : sequence of Guitar
    pickup : str
    phrase, chain, position, seed : see `hear` and `through`.
    part : what is played of it; default: all.
    """
    bench = Bench(seed=seed)
    made = [hear(one, pickup, phrase=phrase, position=position, seed=seed, bench=bench) for one in guitars]
    if chain is not None:
        made = [through(one, chain) for one in made]
    sounds = _one_length([one.samples for one in made])
    return sounds if part is None else [part.cut(one, SAMPLE_RATE) for one in sounds]


def behind_sides(
    before: FloatArray, after: FloatArray, sample_rate: int, *, matched: bool, rng: np.random.Generator
) -> Behind:
    """Return what the buttons of a blind trial play.

    Raises
    ------
    InputError
        When both are one sound: who answers then can only guess.
    """
    gains = equal_loudness_gains((before, after), sample_rate) if matched else trial_gains(
        (before, after), sample_rate, matched=False)  # fmt: skip
    _check_unlike(before, after, gains)
    sounds: dict[Side, tuple[FloatArray, float]] = {"before": (before, gains[0]), "after": (after, gains[1])}

    def play(trial: Trial, slot: str) -> bytes:
        assert isinstance(trial, BlindTrial)
        sound, gain = sounds[trial.plays(slot)]
        return presented(sound, sample_rate, gain_db=gain, rng=rng)

    return play


def _check_unlike(before: FloatArray, after: FloatArray, gains: Sequence[float], *, what: str = BOTH) -> None:
    one, other = (sound * 10.0 ** (gain / 20.0) for sound, gain in zip((before, after), gains))
    if len(one) != len(other) or float(np.std(one - other)) > SAME * float(np.std(one)):
        return
    louder_db = gains[0] - gains[1]
    level = ""
    if abs(louder_db) > 1e-3:
        level = f" but for their level ({louder_db:+.2g} dB), which is taken out"
        if what == BOTH:
            level += "; at their true level it is left in"
    raise InputError(f"{what} are one and the same sound{level}: there is nothing else to hear in it.")


def behind_states(sounds: Mapping[str, FloatArray], sample_rate: int, *, rng: np.random.Generator) -> Behind:
    """Return what the buttons of a session of preferences play, equally loud.

    Raises
    ------
    InputError
        When two of the states are one sound: their order would be luck.
    """
    gains = dict(zip(sounds, equal_loudness_gains(list(sounds.values()), sample_rate)))
    for one, other in combinations(sounds, 2):
        pair = f'"{one}" and "{other}"'
        _check_unlike(sounds[one], sounds[other], (gains[one], gains[other]), what=pair)

    def play(trial: Trial, slot: str) -> bytes:
        assert isinstance(trial, PreferenceTrial)
        name = trial.plays(slot)
        return presented(sounds[name], sample_rate, gain_db=gains[name], rng=rng)

    return play


def behind_difference(
    guitar: Guitar,
    pickup: str,
    *,
    phrase: str | Phrase = "open-chord",
    chain: str | None = None,
    part: PlayedPart | None = None,
    seed: int = 0,
    rng: np.random.Generator,
) -> Behind:
    """Return what the buttons of a staircase play: the sound as it is, and one that differs by the amount of now."""
    bench = Bench(seed=seed)

    def sound_of(one: Guitar) -> FloatArray:
        return state_sounds([one], pickup, phrase=phrase, chain=chain, part=part, seed=seed)[0]

    return behind_amount(
        sound_of(guitar), lambda percent: sound_of(resonance_lowered(guitar, pickup, percent, bench)), SAMPLE_RATE,
        rng=rng,
    )  # fmt: skip


def behind_amount(
    as_it_is: FloatArray, lowered: Callable[[float], FloatArray], sample_rate: int, *, rng: np.random.Generator
) -> Behind:
    """Return the same for a sound that is there; ``lowered`` makes it with a resonance so many per cent lower."""

    def differing(trial: ThresholdTrial, amount: float) -> FloatArray:
        match trial.plan.quantity:
            case "level":
                return louder(as_it_is, amount)
            case "brightness":
                return brighter(as_it_is, sample_rate, amount)
            case "resonance":
                return lowered(amount)
            case _:
                assert_never(trial.plan.quantity)

    made: dict[int, tuple[tuple[FloatArray, ...], tuple[float, ...]]] = {}

    def play(trial: Trial, slot: str) -> bytes:
        assert isinstance(trial, ThresholdTrial)
        side, amount = trial.plays(slot)
        now = len(trial.answers)
        if now not in made:
            pair = tuple(_one_length((as_it_is, differing(trial, amount))))
            level = trial.plan.quantity == "level"
            gains = trial_gains(pair, sample_rate, matched=False) if level else equal_loudness_gains(pair, sample_rate)
            made.clear()
            made[now] = (pair, gains)
        sounds, gains = made[now]
        place = 0 if side == "before" else 1
        return presented(sounds[place], sample_rate, gain_db=gains[place], rng=rng)

    return play


def _one_length(sounds: Sequence[FloatArray]) -> list[FloatArray]:
    count = min(len(one) for one in sounds)
    return [np.ascontiguousarray(one[:count]) for one in sounds]
