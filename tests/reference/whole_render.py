"""A phrase rendered at one go, and its stages one by one: what the blocks of `polepiece.sound.stream` add up to."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.sound import MagnetPull, Phrase, PickupResponse, stream
from polepiece.sound.modebank import SILENT, ModeBank, ModeSum
from polepiece.sound.render import _Player
from polepiece.sound.routing import Responses
from polepiece.strings import LossModel, SpeakingString, Spread, StringSensing

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def render(
    phrase: Phrase,
    strings: Sequence[SpeakingString],
    sensings: Sequence[StringSensing],
    response: Responses,
    *,
    sample_rate: float = 48e3,
    seed: int = 0,
    spread: Spread | None = None,
    loss: LossModel | None = None,
    pulls: Sequence[MagnetPull | None] | None = None,
    oversampling: int = 1,
) -> Floats:
    """Render a phrase through one pickup state; volts at the amplifier's input.

    Left out: coupling between strings through the bridge, body-borne sound, plectrum noise, the pitch glide of a
    hard stroke (1 to 5 cents), longitudinal motion. They are the same before and after a change of pickup.

    Parameters
    ----------
    phrase : what is played.
    strings : the open strings in tune, string 1 (thin) first.
    sensings : what the coils that are on sense of each string, same order.
    response : pickup and circuit to the amplifier's input: one for all, or one a string, or for every string a
        `StringResponses` with one a coil and one a pickup.
    sample_rate : Hz.
    seed : of the hand's variation; the same seed gives the same samples on the same machine.
    spread : how much the hand varies; None plays exactly what is written.
    loss : constants of the string losses.
    pulls : pull of the magnets on each string (detunes the vertical plane), of every pickup that is there; None leaves
        it out.
    oversampling : factor for the curved part of the flux law. 1 feeds it with modes up to a sixth of the
        sample rate (8 kHz at 48 kHz), 2 with all of them; aliases are excluded either way. What 1 leaves out
        of a hard low E is -85 dB (rms) of the note, -50 dB at the peak of its attack, all of it treble.

    Returns
    -------
    voltage : shape (ceil(duration * sample_rate),), float64, V.

    Raises
    ------
    InputError
        When strings, sensing records, responses and phrase do not fit together.
    """
    return np.concatenate(
        list(
            stream(
                phrase, strings, sensings, response, sample_rate=sample_rate, seed=seed, spread=spread, loss=loss,
                pulls=pulls, oversampling=oversampling,
            )
        )
    )  # fmt: skip


def induced(
    phrase: Phrase,
    strings: Sequence[SpeakingString],
    sensings: Sequence[StringSensing],
    *,
    sample_rate: float = 48e3,
    seed: int = 0,
    spread: Spread | None = None,
    loss: LossModel | None = None,
    pulls: Sequence[MagnetPull | None] | None = None,
    oversampling: int = 1,
) -> tuple[Floats, Floats]:
    """Return what a phrase induces in front of the pickup's response, all strings together.

    Returns
    -------
    voltage : shape (n,), V, the part linear in the motion.
    flux : shape (n,), V s, the curved part of the linkage, whose derivative belongs to the voltage.
    """
    player = _Player(
        phrase, strings, sensings, sample_rate=sample_rate, seed=seed, spread=spread, loss=loss, pulls=pulls,
        oversampling=oversampling, responses=None,
    )  # fmt: skip
    voltage, flux = player.block(0, player.total)
    return voltage.sum(axis=0), flux.sum(axis=0)


def mode_sums(
    exponent: Complexes,
    weight: Complexes,
    *,
    count: int,
    sample_rate: float,
    silent: float = SILENT,
    single_precision: bool = False,
) -> NDArray[Any]:
    """Real part of ``weight @ exp(exponent t)`` at t = 0, 1/fs, ...: damped modes summed by blocks.

    Parameters
    ----------
    exponent : shape (m,), -sigma + j omega, 1/s; sigma >= 0.
    weight : shape (o, m), complex amplitudes, one row for each output.
    count : number of samples.
    sample_rate : Hz.
    silent : a mode whose amplitude falls under this share of the loudest initial one is dropped.
    single_precision : sum in 32 bits (-120 dB), twice as fast; phases are always kept in 64.

    Returns
    -------
    sums : shape (o, count). What is dropped lies ``silent`` (140 dB by default) under the largest initial amplitude
        of every output.
    """
    bank = ModeBank(exponent, sample_rate=sample_rate, single_precision=single_precision)
    return ModeSum.of(bank, weight, silent=silent).sums(0, count)


def flat_response(value: complex = 1.0) -> PickupResponse:
    """A response without colour: for tests and for listening to the bare string."""
    frequency = np.geomspace(20.0, 24e3, 8)
    return PickupResponse(frequency=frequency, value=np.full(frequency.size, value, dtype=complex))
