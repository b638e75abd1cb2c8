"""A phrase rendered at one go, and its stages one by one: what the blocks of `polepiece.sound.stream` add up to."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.sound import MagnetPull, Phrase, PickupResponse, stream
from polepiece.sound.modebank import SILENT, ModeBank, ModeSum
from polepiece.sound.realism import BARE, Realism
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
    realism: Realism = BARE,
) -> Floats:
    """Render a phrase through one pickup state; volts at the amplifier's input.

    The arguments are those of `polepiece.sound.stream`.

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
                pulls=pulls, oversampling=oversampling, realism=realism,
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
