"""Hear a change: a phrase through both states of a guitar, or a recording given the new response.

Both sounds are brought to one loudness (ITU-R BS.1770); what that hides is kept as the true level difference.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench import Bench, heard_before_and_after
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.moves import Change, apply
from polepiece.pickup import GRID, tuned_strings
from polepiece.sound import (
    BARE,
    LIVELY,
    Alignment,
    ChainSetting,
    Loudspeaker,
    MagnetPull,
    Phrase,
    PhraseEnergy,
    PickupResponse,
    Realism,
    Recording,
    StringResponses,
    align,
    chain_setting,
    condition_of,
    fitted,
    loudspeaker_name,
    phrase_energy,
    phrase_lines,
    revoice,
    settled,
    stream,
    through_chain,
)
from polepiece.sound import (
    phrase as phrase_of,
)
from polepiece.strings import SpeakingString, Spread, StringSensing

SAMPLE_RATE = 48_000  # Hz, of what is rendered
HAND = Spread()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Audition:
    """The sounds of one change. Samples have shape (t,) or (t, c), full scale 1.0, and are read-only."""

    pickup: str
    changes: tuple[Change, ...]
    source: str  # "rendered" or "recording"
    phrase: str  # its name, or the name of the recording's file
    driven: bool
    sample_rate: int
    before: FloatArray  # at the common loudness
    after: FloatArray  # at the common loudness
    after_true_level: FloatArray  # as loud against ``before`` as it really is
    alignment: Alignment  # of what is heard, behind the chain where there is one
    clean_level_difference_db: float  # loudness of after against before at the end of the cable
    chain: str = ""  # what both went through behind the cable; empty: nothing
    loudspeaker: str = ""  # empty: no chain
    recording_notes: tuple[str, ...] = ()  # what is wrong with the recording, in sentences


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Voice:
    """One state of one pickup, ready to be played."""

    guitar: Guitar
    pickup: str
    response: PickupResponse  # size only: volts at the amplifier per velocity of the stroke, rms over strings


def voice(guitar: Guitar, pickup: str, *, bench: Bench) -> Voice:
    """Return the response that a recording made with this pickup, in the position that is heard, carries."""
    state = bench.state(guitar, pickup)
    return Voice(
        guitar=guitar, pickup=pickup,
        response=PickupResponse(frequency=GRID, value=(10.0 ** (state.response_db / 20.0)).astype(complex)),
    )  # fmt: skip


def play(
    guitar: Guitar, pickup: str, phrase: Phrase, *, seed: int = 0, spread: Spread | None = HAND, bench: Bench,
    realism: Realism = LIVELY,
) -> FloatArray:  # fmt: skip
    """Render ``phrase`` through one pickup of ``guitar``; volts at the amplifier (t,) at `SAMPLE_RATE`.

    ``spread`` is how much the hand varies; None plays exactly what is written, without any of ``realism``.

    Raises
    ------
    InputError
        When a string has no pitch or mass, so that its motion cannot be computed.
    """
    return np.concatenate(list(playing(guitar, pickup, phrase, seed=seed, spread=spread, bench=bench, realism=realism)))


def playing(
    guitar: Guitar, pickup: str, phrase: Phrase, *, seed: int = 0, spread: Spread | None = HAND, bench: Bench,
    realism: Realism = LIVELY,
) -> Iterator[FloatArray]:  # fmt: skip
    """Return what `play` returns block by block; the first one is short, so that playing can begin.

    Raises
    ------
    InputError
        At once, when a string has no pitch or mass.
    """
    ready = _strung(guitar, pickup, phrase, bench)
    return stream(
        ready.phrase, ready.strings, ready.sensings, ready.responses, sample_rate=SAMPLE_RATE, seed=seed, spread=spread,
        pulls=ready.pulls, realism=BARE if spread is None else realism,
    )  # fmt: skip


def predicted(
    guitar: Guitar, pickup: str, phrase: Phrase, *, seed: int = 0, spread: Spread | None = HAND, bench: Bench
) -> PhraseEnergy:
    """Return what `play` amounts to with strokes so small that the flux law is straight and no pitch glides.

    The noise of the hand and strings that ring along are not in it.

    The same strings, coils and responses as are played, in closed form: third octaves and loudness of the phrase.
    """
    ready = _strung(guitar, pickup, phrase, bench)
    return phrase_energy(
        phrase_lines(
            ready.phrase, ready.strings, ready.sensings, ready.responses, seed=seed, spread=spread, pulls=ready.pulls,
            sample_rate=SAMPLE_RATE,
        )
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Strung:
    """A phrase and everything that it is played on."""

    phrase: Phrase
    strings: list[SpeakingString]
    sensings: list[StringSensing]
    responses: list[StringResponses]
    pulls: list[MagnetPull]


def _strung(guitar: Guitar, pickup: str, phrase: Phrase, bench: Bench) -> _Strung:
    """Return the strings as the pickups that are on take them; ``bench.heard`` says which are.

    Every coil has its own response to every string: eddy currents differ.
    """
    strings = tuned_strings(guitar)
    switched = bench.switched(guitar, guitar.pickup(pickup))
    every = range(len(strings))
    return _Strung(
        phrase=fitted(phrase, len(strings)),
        strings=strings,
        sensings=[switched.sensing(k, curved=True) for k in every],
        responses=[
            StringResponses(
                linear=tuple(PickupResponse(frequency=GRID, value=one) for one in switched.channel_responses(k)),
                curved=tuple(PickupResponse(frequency=GRID, value=one) for one in switched.curved_responses(k)),
            )
            for k in every
        ],
        pulls=[MagnetPull(force_gradient=one.gradient, position=one.place) for one in map(switched.pull, every)],
    )


def audition(
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    phrase: str | Phrase = "open-chord",
    recording: Recording | None = None,
    driven: bool = False,
    chain: str | ChainSetting | None = None,
    loudspeaker: Loudspeaker = "closed-box",
    full_scale: float = 1.0,
    position: str | None = None,
    seed: int = 0,
    bench: Bench | None = None,
) -> Audition:
    """Make the sounds of ``pickup`` before and after ``changes``.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    changes : sequence of Change
    phrase : str or Phrase
        What is played; a name of `polepiece.sound.PHRASES`. Not used with a recording.
    recording : Recording, optional
        Played on the guitar as it is, with this pickup alone: it is ``before``, and ``after`` is what the ratio of
        the two responses makes of it, level included. What is not linear or differs from string to string (flux
        law, comb of the pole rows, pull) stays as recorded.
    driven : bool
        The same as ``chain="driven"``.
    chain : str or ChainSetting, optional
        What both go through behind the cable, in front of the alignment: clean, edge, driven, or a record of your
        own. None: nothing; what is heard is the voltage itself.
    loudspeaker : str or ImpulseResponse
        At the end of the chain: closed-box, none, or an impulse response. Not used without a chain.
    full_scale : float
        Volts at full scale of the recording, which the saturation of a chain depends on. A phrase has its own volts.
    seed : int
        Of the hand's variation; the same hand plays both states.
    position : str, optional
        In which the guitar is heard, see `pickups_on`. Default: the pickup by itself.
    bench : Bench, optional

    Raises
    ------
    InputError
        When a change is not possible, the phrase is not known, or a string cannot sound.
    MeasurementError
        When a state is silent (volume at 0) or the recording is shorter than loudness needs.
    """
    bench = bench or Bench(seed=seed)
    notes: tuple[str, ...] = ()
    name = guitar.pickup(pickup).name
    changed = apply(guitar, name, changes)
    here, there = (bench.heard_in(one) for one in heard_before_and_after(guitar, changed, name, position))
    if recording is not None:
        rate, played = recording.sample_rate, recording.path.name
        condition = condition_of(recording.samples, rate, name=str(recording.path))
        before, notes = settled(recording.samples, condition), condition.words
        after = np.asarray(
            revoice(
                before, sample_rate=rate, old=voice(guitar, name, bench=here).response,
                new=voice(changed, name, bench=there).response,
            )
        )  # fmt: skip
    else:
        piece = phrase_of(phrase) if isinstance(phrase, str) else phrase
        rate, played = SAMPLE_RATE, piece.name
        before = play(guitar, name, piece, seed=seed, bench=here)
        after = play(changed, name, piece, seed=seed, bench=there)
    clean = align(before, after, rate)
    heard, setting = clean, chosen_chain(chain, driven=driven)
    if setting is not None:
        volts = 1.0 if recording is None else checked_full_scale(full_scale)
        before, after = (through_chain(volts * one, rate, setting, loudspeaker=loudspeaker) for one in (before, after))
        heard = align(before, after, rate)
    sounds = {
        "before": before * heard.gain_before,
        "after": after * heard.gain_after,
        "after_true_level": after * heard.common_gain,
    }
    for sound in sounds.values():
        sound.flags.writeable = False
    return Audition(
        pickup=name, changes=tuple(changes), source="rendered" if recording is None else "recording", phrase=played,
        driven=setting is not None and setting.name == "driven", sample_rate=rate, alignment=heard,
        clean_level_difference_db=clean.level_difference_db, chain="" if setting is None else setting.name,
        loudspeaker="" if setting is None else loudspeaker_name(loudspeaker), recording_notes=notes,
        **sounds,
    )  # fmt: skip


def chosen_chain(chain: str | ChainSetting | None, *, driven: bool) -> ChainSetting | None:
    """Return the chain that was asked for in either way."""
    if driven and chain not in (None, "driven"):
        raise InputError("driven and another chain were asked for; a sound goes through one of them.")
    wanted = "driven" if driven else chain
    return None if wanted is None else chain_setting(wanted)


def checked_full_scale(volts: float) -> float:
    """Return the volts at full scale of a recording, 0.01 to 100 V."""
    if not 0.01 <= volts <= 100.0:
        raise InputError(f"full scale is {volts:g} V; an interface has 0.01 to 100 V there. Is it in mV?")
    return volts
