"""Sounds of the trial that is on, made in the process beside the server: all of them, before any is offered."""

import json
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import count
from typing import assert_never

import numpy as np

from polepiece.app.hear.sounds import HIGHEST_RATE, Take, Wish, bench_of, heard_as_wished
from polepiece.arrays import FloatArray
from polepiece.auditioning import (
    Behind,
    PlayedPart,
    behind_amount,
    behind_sides,
    behind_states,
    largest_difference,
    own_takes,
    resonance_lowered,
)
from polepiece.kept import Kept
from polepiece.measure import BlindTrial, PreferenceTrial, Quantity, ThresholdTrial, Trial, trial_slots
from polepiece.sound import decode

Progress = Callable[[int, int, str], None]
AT_HAND = 4  # trials whose sounds are kept ready
AMOUNTS = 24  # resonances of a staircase that are kept: it comes back to them


@dataclass(frozen=True, slots=True, kw_only=True)
class Behinds:
    """What lies behind the buttons: before and after, computed or own takes; states by name; a staircase's sound."""

    wishes: tuple[Wish, ...]
    names: tuple[str, ...] = ()  # of the states of a session of preferences
    takes: tuple[Take, ...] = ()  # before and after, in place of wishes
    part: PlayedPart | None = None  # of each; None: the whole

    def key(self, trial: Trial) -> str:
        """Return the name of what is played in this trial."""
        matched = not isinstance(trial, BlindTrial) or trial.plan.level_matched
        digests = [one.digest for one in self.takes]
        what = [type(trial).__name__, matched, [one.key for one in self.wishes], self.names, digests, str(self.part)]
        return sha256(json.dumps(what).encode()).hexdigest()


def reach(progress: Progress, wish: Wish, quantity: Quantity) -> float:
    """Return the largest difference of a quantity that can be played, in its unit: see `largest_difference`."""
    progress(0, 1, "looking how far it goes")
    return largest_difference(wish.guitar, wish.pickup, quantity, bench_of(wish.seed))


@dataclass(frozen=True, slots=True, kw_only=True)
class Presentations:
    """The sounds of one trial, each a file of its own; all have as many samples."""

    files: dict[str, bytes]  # by button
    sample_rate: int
    frames: int


_READY = Kept[str, Behind](AT_HAND)


def ready(progress: Progress, behinds: Behinds, trial: Trial) -> None:
    """Make what lies behind the buttons, and keep it for `present`: a plan is fixed when there is something to hear.

    Raises
    ------
    PolepieceError
        When a sound cannot be made, or two of them are one and the same.
    """
    _play(progress, behinds, trial)


def present(progress: Progress, behinds: Behinds, trial: Trial) -> Presentations:
    """Return the sounds behind all buttons of the trial that is on, each written anew.

    Raises
    ------
    PolepieceError
        When a sound cannot be made; see `polepiece.auditioning.hear` and `polepiece.sound.equal_loudness_gains`.
    """
    play = _play(progress, behinds, trial)
    files = {slot: play(trial, slot) for slot in trial_slots(trial)}
    one = decode(next(iter(files.values())), "presentation.wav")
    return Presentations(files=files, sample_rate=one.sample_rate, frames=len(one.samples))


def _play(progress: Progress, behinds: Behinds, trial: Trial) -> Behind:
    key = behinds.key(trial)
    play = _READY.get(key)
    if play is None:
        _READY[key] = play = _behind(progress, behinds, trial)
    return play


def _behind(progress: Progress, behinds: Behinds, trial: Trial) -> Behind:
    rng = np.random.default_rng(secrets.randbits(128))  # of dither and padding: not the trial's own
    step = count()

    def made(wish: Wish) -> tuple[FloatArray, int]:
        progress(next(step), len(behinds.wishes), "making the sounds of the trial")
        heard = heard_as_wished(lambda *_: None, wish)
        return played(heard.samples, heard.sample_rate), heard.sample_rate

    def played(sound: FloatArray, rate: int) -> FloatArray:
        return sound if behinds.part is None else behinds.part.cut(sound, rate)

    if isinstance(trial, ThresholdTrial):
        (wish,) = behinds.wishes
        as_it_is, rate = made(wish)
        bench, lowered = bench_of(wish.seed), Kept[float, FloatArray](AMOUNTS)

        def with_resonance(percent: float) -> FloatArray:
            found = lowered.get(percent)
            if found is None:
                guitar = resonance_lowered(wish.guitar, wish.pickup, percent, bench)
                heard = heard_as_wished(lambda *_: None, replace(wish, guitar=guitar))
                lowered[percent] = found = played(heard.samples, heard.sample_rate)
            return found

        return behind_amount(as_it_is, with_resonance, rate, rng=rng)
    if behinds.takes:
        sounds, rates = _taken(behinds.takes)
        sounds = tuple(played(one, rate) for one, rate in zip(sounds, rates))
    else:
        sounds, rates = zip(*(made(one) for one in behinds.wishes))
    length = min(map(len, sounds))
    cut = [np.ascontiguousarray(one[:length]) for one in sounds]
    if isinstance(trial, BlindTrial):
        return behind_sides(cut[0], cut[1], rates[0], matched=trial.plan.level_matched, rng=rng)
    if isinstance(trial, PreferenceTrial):
        return behind_states(dict(zip(behinds.names, cut)), rates[0], rng=rng)
    assert_never(trial)


def _taken(takes: tuple[Take, ...]) -> tuple[tuple[FloatArray, ...], tuple[int, ...]]:
    """Return own takes as they are switched between, and their sample rate each."""
    own = own_takes([decode(one.data, one.name) for one in takes])
    sounds, rate = own.sounds, own.sample_rate
    if rate > HIGHEST_RATE:
        import soxr  # here: few interfaces are that fast

        sounds = tuple(np.asarray(soxr.resample(one, rate, HIGHEST_RATE, quality="VHQ")) for one in sounds)
        rate = HIGHEST_RATE
    return sounds, (rate,) * len(sounds)
