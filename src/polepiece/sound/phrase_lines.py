"""Every partial of every note of a phrase as it is performed: volts at the amplifier, from when to when.

What `polepiece.sound.lines` says of one stroke, for all strokes of a phrase: same hand, touches, mutes, fades and stops
as the rendering, but nothing is rendered. A bend is cut into pieces over which its pitch hardly moves.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError
from polepiece.sound.lines import Lines, stroke_lines
from polepiece.sound.performance import performed
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.render import HIGHEST_PARTIAL, RELEASE, MagnetPull
from polepiece.sound.routing import Responses, StringResponses, string_responses
from polepiece.sound.transfer import responses_at
from polepiece.strings import LossModel, SpeakingString, Spread, StringModes, StringSensing, string_modes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

FADED = 0.375  # of the time of a raised-cosine fade: the energy that it leaves, as time at full strength (exact)
PIECE = 5e-3  # s of a bend that moves: 0.04 semitones of the fastest built-in one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PhraseLines:
    """Damped exponentials Re voltage exp(exponent (t - start)), each from its start to its stop.

    Attributes
    ----------
    start, stop : shape (n,), s from the beginning of the phrase.
    exponent : shape (n,), -sigma + j omega, 1/s.
    voltage : shape (n,), V at the start.
    string : shape (n,), from 1.
    sweeping : shape (n,), true for a piece of a bend that moves: it beats with no other string.
    duration : s of the phrase.
    """

    start: Floats
    stop: Floats
    exponent: Complexes
    voltage: Complexes
    string: NDArray[np.int_]
    sweeping: NDArray[np.bool_]
    duration: float

    @property
    def frequency(self) -> Floats:
        """Frequencies (n,), Hz."""
        return np.asarray(self.exponent.imag / (2.0 * np.pi))

    def chosen(self, kept: NDArray[np.bool_]) -> "PhraseLines":
        """Return the lines where ``kept`` (n,) is true."""
        names = ("start", "stop", "exponent", "voltage", "string", "sweeping")
        return replace(self, **{name: getattr(self, name)[kept] for name in names})


def quieter(phrase: Phrase, factor: float) -> Phrase:
    """Return ``phrase`` with every stroke's displacement times ``factor``: small strokes do not feel the flux law bend."""
    if not 0.0 < factor <= 10.0:
        raise InputError(f"the factor on the strokes is {factor:g}; it must be positive, 10 at most.")
    notes = tuple(
        replace(note, pluck=replace(note.pluck, displacement=note.pluck.displacement * factor)) for note in phrase.notes
    )
    return replace(phrase, notes=notes)


@dataclass(frozen=True, slots=True, eq=False)
class _Guitar:
    """What does not change from note to note."""

    strings: Sequence[SpeakingString]
    sensings: Sequence[StringSensing]
    responses: Sequence[StringResponses]
    pulls: Sequence[MagnetPull | None] | None
    loss: LossModel | None
    sample_rate: float

    def modes(self, note: Note) -> StringModes:
        pull = self.pulls[note.string - 1] if self.pulls is not None else None
        highest = 1.0 if note.bend is None else note.bend.highest
        return string_modes(
            self.strings[note.string - 1].fretted(note.fret),
            top_frequency=min(HIGHEST_PARTIAL, 0.49 * self.sample_rate) / highest, loss=self.loss,
            force_gradient=0.0 if pull is None else pull.force_gradient,
            gradient_position=None if pull is None else pull.position, mute=note.mute,
        )  # fmt: skip

    def lines(self, note: Note, ratio: float = 1.0) -> Lines:
        """Lines of a note whose pitch is ``ratio`` times the fretted one: only the response is read elsewhere."""
        linear = self.responses[note.string - 1].linear
        return stroke_lines(
            self.modes(note), note.pluck, self.sensings[note.string - 1], lambda f: responses_at(linear, ratio * f)
        )


def phrase_lines(
    phrase: Phrase,
    strings: Sequence[SpeakingString],
    sensings: Sequence[StringSensing],
    responses: Responses,
    *,
    seed: int = 0,
    spread: Spread | None = None,
    loss: LossModel | None = None,
    pulls: Sequence[MagnetPull | None] | None = None,
    sample_rate: float = 48e3,
) -> PhraseLines:
    """Return the lines of ``phrase``; arguments as for `polepiece.sound.render`.

    Raises
    ------
    InputError
        When strings, sensing records, responses and phrase do not fit together.
    """
    each = string_responses(responses, sensings)
    guitar = _Guitar(strings, sensings, each, pulls, loss, sample_rate)
    parts = []
    for note in performed(phrase, seed=seed, spread=spread, strings=tuple(strings)):
        length = min(note.duration, phrase.duration - note.onset)
        length -= (1.0 - FADED) * min(RELEASE, length)
        parts += _bent(guitar, note, length) if note.bend else [_straight(note.string, note.onset, length, guitar.lines(note))]
    joined = [np.concatenate(one) for one in zip(*parts, strict=True)]
    return PhraseLines(
        start=joined[0], stop=joined[1], exponent=joined[2], voltage=joined[3], string=joined[4].astype(int),
        sweeping=joined[5].astype(bool), duration=phrase.duration,
    )  # fmt: skip


_Part = tuple[Floats, Floats, Complexes, Complexes, NDArray[np.int_], NDArray[np.bool_]]


def _straight(string: int, onset: float, length: float, lines: Lines, *, sweeping: bool = False) -> _Part:
    exponent, voltage = lines.exponent.ravel(), lines.voltage.ravel()
    one = np.ones(exponent.size)
    return onset * one, (onset + length) * one, exponent, voltage, string * one.astype(int), np.full(one.size, sweeping)


def _bent(guitar: _Guitar, note: Note, length: float) -> list[_Part]:
    """The note in pieces: the pitch of each that of its middle, the state of its motions that of the bent time."""
    bend = note.bend or Bend(points=((0.0, 0.0),))
    edges = _edges(bend, length)
    middle = 0.5 * (edges[1:] + edges[:-1])
    ratio, _ = bend.ratio(middle)
    _, read = bend.ratio(edges[:-1])
    parts = []
    for begin, end, r, done in zip(edges[:-1], edges[1:], ratio, read, strict=True):
        lines = guitar.lines(note, float(r))
        now = Lines(exponent=r * lines.exponent, voltage=r * lines.voltage * np.exp(lines.exponent * done))
        held = np.allclose(bend.ratio(np.array([begin, end]))[0], r, rtol=1e-9)
        parts.append(_straight(note.string, note.onset + begin, end - begin, now, sweeping=not held))
    return parts


def _edges(bend: Bend, length: float) -> Floats:
    """Ends of the pieces (p + 1,), s after the stroke: a held pitch is one piece."""
    at = np.array([0.0, *(time for time, _ in bend.points)])
    level = np.array([bend.points[0][1], *(up for _, up in bend.points)])
    edges = [0.0]
    for k in range(at.size - 1):
        steps = 1 if level[k] == level[k + 1] else int(np.ceil((at[k + 1] - at[k]) / PIECE))
        edges += list(np.linspace(at[k], at[k + 1], steps + 1)[1:])
    inside = [one for one in edges if one < length - 1e-9]
    return np.unique([*inside, length])
