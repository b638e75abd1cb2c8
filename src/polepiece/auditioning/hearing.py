"""Sounds of states one by one, so that the first can be heard while the next is made; their levels come after."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.playing import SAMPLE_RATE, checked_full_scale, play, voice
from polepiece.bench import Bench, position_of
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import Guitar
from polepiece.sound import (
    LIVELY,
    ChainSetting,
    Loudspeaker,
    Phrase,
    Realism,
    Recording,
    condition_of,
    loudness_as_given,
    peak_dbfs,
    revoice,
    settled,
    through_chain,
)
from polepiece.sound import phrase as phrase_of

SILENT_DB = -200.0  # re 1 V: far under the noise of any wire


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heard:
    """One sound of one state as it was made; samples (t,) or (t, c) are read-only."""

    samples: FloatArray  # V at the amplifier, or full scale 1.0 of a recording
    sample_rate: int  # Hz
    loudness_lufs: float
    peak_dbfs: float

    def __post_init__(self) -> None:
        self.samples.flags.writeable = False


def hear(
    guitar: Guitar,
    pickup: str,
    *,
    phrase: str | Phrase = "open-chord",
    recording: Recording | None = None,
    made_with: Guitar | None = None,
    position: str | None = None,
    seed: int = 0,
    bench: Bench | None = None,
    realism: Realism = LIVELY,
) -> Heard:
    """Return the sound of one state of one pickup, at the level that it really has.

    Parameters
    ----------
    guitar : Guitar
        In the state that is to be heard.
    pickup : str
    phrase : str or Phrase
        What is played; not used with a recording.
    recording : Recording, optional
        Played on ``made_with`` with this pickup alone. It is given the ratio of the two responses; what is not
        linear or differs from string to string stays as recorded.
    made_with : Guitar, optional
        The state in which ``recording`` was made.
    position : str, optional
        In which the guitar is heard, see `pickups_on`. Default: the pickup by itself.
    seed : int
        Of the hand's variation; the same hand plays every state.
    bench : Bench, optional
    realism : Realism
        What a phrase has beside strings that are let go; the same for every state.

    Raises
    ------
    InputError
        When a phrase is not known, a string cannot sound, or a recording comes without the state it was made in.
    MeasurementError
        When the sound is silent (volume at 0) or shorter than loudness needs.
    """
    name = guitar.pickup(pickup).name
    bench = (bench or Bench(seed=seed)).heard_in(position_of(guitar, name, position))
    if bench.level(guitar, name) < SILENT_DB:
        raise MeasurementError(
            "nothing of this pickup reaches the amplifier in this state: it is silent. Is the volume 0?"
        )
    if recording is None:
        piece = phrase_of(phrase) if isinstance(phrase, str) else phrase
        return _heard(play(guitar, name, piece, seed=seed, bench=bench, realism=realism), SAMPLE_RATE, piece.name)
    if made_with is None:
        raise InputError("a recording needs the state of the guitar it was made in (made_with).")
    old, new = voice(made_with, name, bench=bench), voice(guitar, name, bench=bench)
    condition = condition_of(recording.samples, recording.sample_rate, name=str(recording.path))
    sound = np.array(settled(recording.samples, condition))
    if guitar != made_with:
        sound = np.asarray(revoice(sound, sample_rate=recording.sample_rate, old=old.response, new=new.response))
    return _heard(sound, recording.sample_rate, recording.path.name)


def through(
    heard: Heard, chain: str | ChainSetting, *, loudspeaker: Loudspeaker = "closed-box", full_scale: float = 1.0
) -> Heard:
    """Return the sound behind a chain: the same setting for every state, so a hotter one saturates more.

    Parameters
    ----------
    heard : Heard
    chain : str or ChainSetting
        clean, edge, driven, or a record of your own.
    loudspeaker : str or ImpulseResponse
        closed-box, none, or an impulse response.
    full_scale : float
        Volts at 1.0 of the samples; 1 for what was rendered.
    """
    volts = checked_full_scale(full_scale)
    sound = through_chain(volts * heard.samples, heard.sample_rate, chain, loudspeaker=loudspeaker)
    return _heard(sound, heard.sample_rate, chain if isinstance(chain, str) else chain.name)


def driven(heard: Heard) -> Heard:
    """Return the sound through the driven chain and its made-up loudspeaker."""
    return through(heard, "driven")


def _heard(samples: FloatArray, rate: int, name: str) -> Heard:
    return Heard(
        samples=samples, sample_rate=rate, loudness_lufs=loudness_as_given(samples, rate, name),
        peak_dbfs=peak_dbfs(samples, rate),
    )  # fmt: skip
