"""Render a phrase through one state of one pickup: modal strings, cubic flux law, d/dt, linear response.

Every mode is an exact damped exponential, so the velocity is known in closed form and the induced voltage

    e(t) = sum_r weight_r [c1 (w' + h u') + (c2 w + c3 w^2/2) w']

needs no numerical derivative. The cubic spreads a band of width b to 3 b: it is fed only with modes whose
products cannot fold back into the audible band at the rate in use (all modes at two-fold oversampling).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import fft

from polepiece.errors import InputError
from polepiece.sound.phrase import Note, Phrase
from polepiece.sound.transfer import PickupResponse
from polepiece.strings import (
    LossModel,
    Pluck,
    SpeakingString,
    Spread,
    StringModes,
    StringSensing,
    humanised,
    modal_amplitudes,
    string_modes,
)

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

SILENT = 1e-7  # a mode under -140 dB of the loudest one in its sum is no longer computed
SILENT_CURVED = 1e-6  # the same for the curved part, itself some 20 dB under the straight one
HIGHEST_PARTIAL = 20e3  # Hz
RELEASE = 0.012  # s, the hand that stops a string; also the fade at the end
TAIL = 0.2  # s of silence after the phrase so that the filter's ringing cannot wrap round
BLOCK = 512
BLOCKS_A_GROUP = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetPull:
    """Static force gradient dF_z/dz (N/m) of the magnets on one string, at distances from the bridge (m)."""

    force_gradient: ArrayLike
    position: ArrayLike


def _powers(pole: Complexes) -> Complexes:
    """``pole ** k`` for k = 0 .. BLOCK - 1, shape (m, BLOCK), by doubling: nine roundings at most."""
    table = np.empty((pole.size, BLOCK), dtype=complex)
    table[:, 0] = 1.0
    done, step = 1, pole[:, None]
    while done < BLOCK:
        table[:, done : 2 * done] = table[:, :done] * step
        done, step = 2 * done, step * step
    return table


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
    sums : shape (o, count).

    Notes
    -----
    exp(s (t_b + tau)) = exp(s t_b) exp(s tau): one real matrix product for a group of blocks. What is
    dropped lies ``silent`` (140 dB by default) under the largest initial amplitude of every output.
    """
    outputs = weight.shape[0]
    blocks = -(-count // BLOCK)
    kind: Any = np.float32 if single_precision else np.float64
    sums: NDArray[Any] = np.zeros((outputs, blocks, BLOCK), dtype=kind)
    scale = np.max(np.abs(weight), axis=1, keepdims=True)
    relative = np.max(np.abs(weight) / np.where(scale > 0.0, scale, 1.0), axis=0)
    with np.errstate(divide="ignore"):
        death = np.where(relative > silent, np.log(relative / silent) / np.maximum(-exponent.real, 1e-12), -1.0)
    order = np.argsort(-death, kind="stable")
    exponent, weight, death = exponent[order], weight[:, order], death[order]
    table = _powers(np.exp(exponent / sample_rate))
    basis: NDArray[Any] = np.stack([table.real, -table.imag], axis=1).reshape(-1, BLOCK).astype(kind, copy=False)
    for first in range(0, blocks, BLOCKS_A_GROUP):
        last = min(first + BLOCKS_A_GROUP, blocks)
        start = np.arange(first, last) * BLOCK / sample_rate
        alive = int(np.searchsorted(-death, -start[0], side="right")) if first else int(np.sum(death > 0.0))
        if alive == 0:
            break
        now = np.exp(exponent[:alive, None] * start).T
        product = np.ascontiguousarray(weight[:, None, :alive] * now).view(float)
        flat = product.reshape(-1, 2 * alive).astype(kind, copy=False) @ basis[: 2 * alive]
        sums[:, first:last] = flat.reshape(outputs, last - first, BLOCK)
    return sums.reshape(outputs, -1)[:, :count]


def _mode_motion(modes: StringModes, pluck: Pluck) -> tuple[Complexes, Complexes]:
    """Exponents and complex amplitudes (2, n) of a string let go from rest: velocity zero at t = 0."""
    omega, sigma = 2.0 * np.pi * modes.frequency, modes.decay
    amplitude = modal_amplitudes(modes.number, length=modes.length, pluck=pluck)
    return -sigma + 1j * omega, amplitude * (1.0 - 1j * sigma / omega)


def _row_shapes(modes: StringModes, sensing: StringSensing) -> Floats:
    """What each row reads of each mode, (r, n): mode shape at the row times the aperture's low-pass."""
    wavenumber = modes.number * np.pi / modes.length
    inside = sensing.positions < modes.length
    shape = np.sin(np.outer(np.where(inside, sensing.positions, 0.0), wavenumber))
    return np.asarray(shape * np.exp(-0.5 * (wavenumber * sensing.aperture) ** 2))


def note_voltage(
    modes: StringModes,
    sensing: StringSensing,
    pluck: Pluck,
    *,
    count: int,
    sample_rate: float,
    oversampling: int = 1,
) -> tuple[Floats, Floats | None]:
    """Voltage induced by one note, before the pickup's linear response.

    Returns
    -------
    linear : shape (count,), V, at ``sample_rate``.
    curved : shape (count * oversampling,), V, at the oversampled rate; None when the flux law is straight.
    """
    exponent, amplitude = _mode_motion(modes, pluck)
    shapes = _row_shapes(modes, sensing)
    gain = sensing.level * sensing.row_weights
    slope = (gain * sensing.slope) @ shapes
    plane = np.array([1.0, sensing.horizontal])[:, None]
    weight = (plane * slope * amplitude * exponent).reshape(1, -1)
    linear = mode_sums(exponent.ravel(), weight, count=count, sample_rate=sample_rate)[0].astype(float)
    if sensing.linear:
        return linear, None
    fast = sample_rate * oversampling
    limit = (oversampling - 0.5) * sample_rate / 3.0
    low = int(np.searchsorted(modes.frequency[0], limit))
    if low == 0:
        return linear, None
    rows = shapes[:, :low] * amplitude[0, :low]
    motion = np.concatenate([rows, rows * exponent[0, :low]])
    sums = mode_sums(
        exponent[0, :low],
        motion,
        count=count * oversampling,
        sample_rate=fast,
        silent=SILENT_CURVED,
        single_precision=True,
    )
    curved = np.zeros(count * oversampling, dtype=sums.dtype)
    for row, weighted in enumerate(gain):
        w, velocity = sums[row], sums[gain.size + row]
        factor = w * sums.dtype.type(0.5 * weighted * sensing.third[row])
        factor += sums.dtype.type(weighted * sensing.curvature[row])
        factor *= w
        curved += factor * velocity
    return linear, curved.astype(float)


def _fade_out(samples: Floats, length: int) -> None:
    length = min(length, samples.size)
    if length:
        samples[samples.size - length :] *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(length) + 1.0) / length)


def _performed(phrase: Phrase, seed: int, spread: Spread | None) -> list[Note]:
    """Notes as played: humanised by ``seed``, and each one stopped by the next on its string."""
    generator = np.random.default_rng(seed)
    played = []
    for note in phrase.notes:
        pluck, shift = (note.pluck, 0.0) if spread is None else humanised(note.pluck, generator, spread)
        onset = min(max(note.onset + shift, 0.0), phrase.duration - 0.02)
        played.append((note, pluck, onset))
    notes = []
    for note, pluck, onset in played:
        later = [other for mate, _, other in played if mate.string == note.string and other > onset]
        end = min([onset + note.duration, phrase.duration, *later])
        notes.append(
            Note(string=note.string, fret=note.fret, onset=onset, duration=max(end - onset, 0.02), pluck=pluck)
        )
    return notes


def _check(phrase: Phrase, strings: int, sensings: int, sample_rate: float, oversampling: int) -> None:
    if not 8e3 <= sample_rate <= 192e3:
        raise InputError(f"sample rate is {sample_rate:g} Hz; allowed are 8000 to 192000 Hz. Is it in kHz?")
    if oversampling not in (1, 2, 3, 4):
        raise InputError(f"oversampling is {oversampling}; allowed are 1, 2, 3, 4.")
    highest = max(note.string for note in phrase.notes)
    if highest > strings:
        raise InputError(f"phrase {phrase.name!r} plays string {highest}; only {strings} strings were given.")
    if sensings != strings:
        raise InputError(f"{strings} strings but {sensings} sensing records; one a string is needed, thin first.")


def induced_voltage(
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
    """Voltage induced in the coil by a phrase (V): the part linear in the motion, and the rest oversampled.

    See :func:`render` for the arguments. Returns arrays of ``n`` and ``n * oversampling`` samples, where n
    covers the phrase.
    """
    _check(phrase, len(strings), len(sensings), sample_rate, oversampling)
    total = int(np.ceil(phrase.duration * sample_rate))
    straight, curved = np.zeros(total), np.zeros(total * oversampling)
    top = min(HIGHEST_PARTIAL, 0.49 * sample_rate)
    release = int(RELEASE * sample_rate)
    for note in _performed(phrase, seed, spread):
        first = min(round(note.onset * sample_rate), total - 1)
        count = min(max(round(note.duration * sample_rate), 2), total - first)
        pull = pulls[note.string - 1] if pulls is not None else None
        modes = string_modes(
            strings[note.string - 1].fretted(note.fret),
            top_frequency=top,
            loss=loss,
            force_gradient=0.0 if pull is None else pull.force_gradient,
            gradient_position=None if pull is None else pull.position,
        )
        linear, extra = note_voltage(
            modes,
            sensings[note.string - 1],
            note.pluck,
            count=count,
            sample_rate=sample_rate,
            oversampling=oversampling,
        )
        _fade_out(linear, release)
        straight[first : first + count] += linear
        if extra is not None:
            _fade_out(extra, release * oversampling)
            curved[first * oversampling : (first + count) * oversampling] += extra
    return straight, curved


def render(
    phrase: Phrase,
    strings: Sequence[SpeakingString],
    sensings: Sequence[StringSensing],
    response: PickupResponse,
    *,
    sample_rate: float = 48e3,
    seed: int = 0,
    spread: Spread | None = None,
    loss: LossModel | None = None,
    pulls: Sequence[MagnetPull | None] | None = None,
    oversampling: int = 1,
) -> Floats:
    """Render a phrase through one pickup state; volts at the amplifier's input.

    Left out: coupling between strings through the bridge, body-borne sound, plectrum and fret noise, the
    pitch glide of a hard stroke, longitudinal motion. They are the same before and after a change of pickup.

    Parameters
    ----------
    phrase : what is played.
    strings : the open strings in tune, string 1 (thin) first.
    sensings : what the pickup senses of each string, same order.
    response : pickup and circuit to the amplifier's input.
    sample_rate : Hz.
    seed : of the hand's variation; the same seed gives the same samples on the same machine.
    spread : how much the hand varies; None plays exactly what is written.
    loss : constants of the string losses.
    pulls : pull of the magnets on each string (detunes the vertical plane); None leaves it out.
    oversampling : factor for the curved part of the flux law. 1 feeds it with modes up to a sixth of the
        sample rate (8 kHz at 48 kHz), 2 with all of them; aliases are excluded either way. What 1 leaves out
        of a hard low E is -85 dB (rms) of the note, -50 dB at the peak of its attack, all of it treble.

    Returns
    -------
    voltage : shape (ceil(duration * sample_rate),), float64, V.

    Raises
    ------
    InputError
        When strings, sensing records and phrase do not fit together.
    """
    straight, curved = induced_voltage(
        phrase,
        strings,
        sensings,
        sample_rate=sample_rate,
        seed=seed,
        spread=spread,
        loss=loss,
        pulls=pulls,
        oversampling=oversampling,
    )
    total = straight.size
    length = fft.next_fast_len(total + int(TAIL * sample_rate), real=True)
    spectrum = fft.rfft(straight, length)
    if np.any(curved):
        spectrum += fft.rfft(curved, length * oversampling)[: spectrum.size] / oversampling
    spectrum *= response.at(fft.rfftfreq(length, 1.0 / sample_rate))
    spectrum[-1] = spectrum[-1].real if length % 2 == 0 else spectrum[-1]
    voltage = fft.irfft(spectrum, length)[:total]
    _fade_out(voltage, int(RELEASE * sample_rate))
    return np.ascontiguousarray(voltage)
