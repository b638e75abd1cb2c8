"""Every partial of every note of a phrase as it is performed: volts at the amplifier, from when to when.

What `polepiece.sound.lines` says of one stroke, for all strokes of a phrase: same hand, touches, mutes, fades and stops
as the rendering, but nothing is rendered. A bend is cut into pieces over which its pitch hardly moves.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.descriptors import third_octaves
from polepiece.sound.lines import channel_lines
from polepiece.sound.performance import PULL, performed
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.rational import CommonPoles
from polepiece.sound.render import HIGHEST_PARTIAL, RELEASE, MagnetPull
from polepiece.sound.routing import Responses, StringResponses, string_responses
from polepiece.sound.transfer import responses_at
from polepiece.strings import LossModel, SpeakingString, Spread, StringModes, StringSensing, string_modes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

BANDS = third_octaves(25.0, 16e3)  # Hz
FORGOTTEN = 0.03  # s after which the circuit no longer rings
STILL = -1e-3  # 1/s, decay of the pull's half cosine: none, but for a finite integral
PIECE = 10e-3  # s of a bend that moves: 0.07 semitones of the fastest built-in one


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
    group : shape (n,), lines that begin and end together: the pull, the ringing, the fade of one note, and what each of
        them sets off in the circuit.
    duration : s of the phrase.
    """

    start: Floats
    stop: Floats
    exponent: Complexes
    voltage: Complexes
    string: NDArray[np.int_]
    sweeping: NDArray[np.bool_]
    group: NDArray[np.int_]
    duration: float

    @property
    def frequency(self) -> Floats:
        """Frequencies (n,), Hz."""
        return np.asarray(self.exponent.imag / (2.0 * np.pi))

    def chosen(self, kept: NDArray[np.bool_]) -> "PhraseLines":
        """Return the lines where ``kept`` (n,) is true."""
        names = ("start", "stop", "exponent", "voltage", "string", "sweeping", "group")
        return replace(self, **{name: getattr(self, name)[kept] for name in names})


@dataclass(frozen=True, slots=True, eq=False)
class _Guitar:
    """What does not change from note to note."""

    strings: Sequence[SpeakingString]
    sensings: Sequence[StringSensing]
    responses: Sequence[StringResponses]
    pulls: Sequence[MagnetPull | None] | None
    loss: LossModel | None
    sample_rate: float
    poles: CommonPoles
    residues: Sequence[Complexes]  # of each string, (c, q)

    def modes(self, note: Note) -> StringModes:
        pull = self.pulls[note.string - 1] if self.pulls is not None else None
        highest = 1.0 if note.bend is None else note.bend.highest
        return string_modes(
            self.strings[note.string - 1].fretted(note.fret),
            top_frequency=min(HIGHEST_PARTIAL, 0.49 * self.sample_rate) / highest, loss=self.loss,
            force_gradient=0.0 if pull is None else pull.force_gradient,
            gradient_position=None if pull is None else pull.position, mute=note.mute,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """Lines (m,) that begin and end together."""

    string: int
    start: float
    stop: float
    exponent: Complexes
    voltage: Complexes
    sweeping: bool = False


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
    poles = CommonPoles.of(each[len(each) // 2].linear)
    residues = [poles.residues(one.linear) for one in each]
    guitar = _Guitar(strings, sensings, each, pulls, loss, sample_rate, poles, residues)
    pieces = []
    for note in performed(phrase, seed=seed, spread=spread, strings=tuple(strings)):
        pieces += _pieces(guitar, note, min(note.duration, phrase.duration - note.onset))
    each_of = [one.exponent.size for one in pieces]

    def repeated(values: list[float]) -> Floats:
        return np.repeat(np.array(values), each_of)

    return PhraseLines(
        start=repeated([one.start for one in pieces]), stop=repeated([one.stop for one in pieces]),
        exponent=np.concatenate([one.exponent for one in pieces]),
        voltage=np.concatenate([one.voltage for one in pieces]),
        string=repeated([one.string for one in pieces]).astype(int),
        sweeping=repeated([one.sweeping for one in pieces]).astype(bool),
        group=repeated(list(range(len(pieces)))).astype(int), duration=phrase.duration,
    )  # fmt: skip


def _pieces(guitar: _Guitar, note: Note, length: float) -> list[_Piece]:
    """The pull of the plectrum, the ringing (in pieces where it is bent), and the fade under the hand."""
    exponent, channel = channel_lines(guitar.modes(note), note.pluck, guitar.sensings[note.string - 1])
    pull, release = min(PULL, note.onset), min(RELEASE, length)
    bend = note.bend or Bend(points=((0.0, 0.0),))
    edges = _edges(bend, length - release)
    ratio, _ = bend.ratio(0.5 * (edges[1:] + edges[:-1]))
    held = np.ptp(bend.ratio(np.stack([edges[1:], edges[:-1]]))[0], axis=0) < 1e-9
    _, read = bend.ratio(edges)
    turning, channel = exponent.ravel(), channel.reshape(channel.shape[0], -1)
    made = _Made(guitar, note)
    if pull > 0.0:  # the linkage rises along half a cosine to what the ringing begins with
        drawn = (channel / turning).real.sum(axis=1, keepdims=True)
        turn = np.array([STILL + 1j * np.pi / pull])
        made.add(-pull, 0.0, turn, -0.5j * np.pi / pull * drawn)
    for k, r in enumerate(ratio):
        made.add(
            float(edges[k]),
            float(edges[k + 1]),
            r * turning,
            r * channel * np.exp(turning * read[k]),
            sweeping=not held[k],
        )
    r, side = ratio[-1], 1j * np.pi / release
    volts = r * channel * np.exp(turning * read[-1])
    made.add(
        float(edges[-1]), length, np.concatenate([r * turning, r * turning + side, r * turning - side]),
        np.concatenate([0.5 * volts, 0.25 * volts, 0.25 * volts], axis=1),
    )  # fmt: skip
    return made.whole()


@dataclass(frozen=True, slots=True, eq=False)
class _Made:
    """The pieces of one note, in the making."""

    guitar: _Guitar
    note: Note
    pieces: list[_Piece] = field(default_factory=list)
    ringing: dict[float, tuple[Complexes, bool]] = field(default_factory=dict)  # by time after the stroke, s

    def add(
        self, start: float, stop: float, exponent: Complexes, channel: Complexes, *, sweeping: bool = False
    ) -> None:
        """Add lines of the EMF ``channel`` (c, m), from ``start`` to ``stop`` s after the stroke, and their ringing."""
        string, onset = self.note.string, self.note.onset
        transfer = responses_at(self.guitar.responses[string - 1].linear, exponent.imag / (2.0 * np.pi))
        transfer = transfer + self._damped(exponent)
        voltage = np.einsum("cm,cm->m", transfer, channel)
        self.pieces.append(_Piece(string, onset + start, onset + stop, exponent, voltage, sweeping))
        last = channel * np.exp(exponent * (stop - start))
        for at, emf, sign in ((start, channel, 1.0), (stop, last, -1.0)):
            before, _ = self.ringing.get(at, (0.0, False))
            self.ringing[at] = (before + sign * self._ringing(exponent, emf), sweeping)

    def whole(self) -> list[_Piece]:
        """Return the pieces, and the circuit's ringing from each of their ends on."""
        string, pole = self.note.string, self.guitar.poles.pole
        ends = [(self.note.onset + at, *of) for at, of in self.ringing.items()]
        return self.pieces + [_Piece(string, at, at + FORGOTTEN, pole, volts, over) for at, volts, over in ends]

    def _damped(self, s: Complexes) -> Complexes:
        """What the responses (c, m) have at -sigma + j omega over what they have at j omega."""
        p, residue = self.guitar.poles.pole, self.guitar.residues[self.note.string - 1]
        share = np.where(p.imag == 0.0, 0.5, 1.0)
        more = [1.0 / (s - q[:, None]) - 1.0 / (1j * s.imag - q[:, None]) for q in (p, p.conj())]
        return np.asarray((share * residue) @ more[0] + (share * residue.conj()) @ more[1])

    def _ringing(self, s: Complexes, emf: Complexes) -> Complexes:
        """Volts (q,) at which the circuit's own motions begin when ``emf`` (c, m) sets in: r_q E(p_q)."""
        p, residue = self.guitar.poles.pole, self.guitar.residues[self.note.string - 1]
        laplace = 0.5 * (emf @ (1.0 / (p - s[:, None])) + emf.conj() @ (1.0 / (p - s[:, None].conj())))
        begun = np.einsum("cq,cq->q", residue, laplace)
        return np.asarray(np.where(p.imag == 0.0, begun.real, 2.0 * begun))


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
