"""Render a phrase through one state of one pickup: modal strings, curved flux law, linear response; by blocks.

Every block is computed from closed forms (`polepiece.sound.voice`) and passes one filter: memory does not grow with
the phrase, and the first sound is there as soon as its own block is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.kept import Kept
from polepiece.sound.contact_noise import Scrape
from polepiece.sound.convolve import ResponseFilter, lead
from polepiece.sound.performance import PULL, performed
from polepiece.sound.phrase import Note, Phrase
from polepiece.sound.realism import BARE, Realism
from polepiece.sound.routing import Responses, Routing
from polepiece.sound.sympathetic import SympatheticVoice
from polepiece.sound.voice import NoteVoice, Sound, StringBank, TakenUp
from polepiece.strings import LossModel, SpeakingString, Spread, StringModes, StringSensing, string_modes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

HIGHEST_PARTIAL = 20e3  # Hz
RELEASE = 0.012  # s, the hand that stops a string; also the fade at the end
BLOCK_S = 20480 / 48e3  # s of sound a block
FIRST_BLOCK_S = 2048 / 48e3
FAINT = 3e-5  # m: the curved part of what swings less lies 80 dB under a stroke of 1 mm; it is left out
FINGER = 1e-4  # m: what swings less was set off by a finger, not by a plectrum
SOON = 0.05  # s: strings of one strum are not at rest between its first and its last
BANKS, MODES = 16, 64  # strings at their frets whose tables, and whose modes, are kept


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetPull:
    """Static force gradient dF_z/dz (N/m) of the magnets on one string, at distances from the bridge (m)."""

    force_gradient: ArrayLike
    position: ArrayLike


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


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """Rows of a block to which the outputs of a string's notes are added, and the output of each channel and group."""

    linear: NDArray[np.int_]
    curved: NDArray[np.int_]
    channels: NDArray[np.int_]
    groups: NDArray[np.int_]

    @classmethod
    def of(cls, channels: NDArray[np.int_], groups: NDArray[np.int_]) -> "_Ways":
        linear, on_linear = np.unique(channels, return_inverse=True)
        curved, on_curved = np.unique(groups, return_inverse=True)
        return cls(linear, curved, on_linear, on_curved)


class _Player:
    """Notes of a phrase as voices that come and go; tables of strings at their frets are kept for the next note."""

    def __init__(
        self, phrase: Phrase, strings: Sequence[SpeakingString], sensings: Sequence[StringSensing], *,
        sample_rate: float, seed: int, spread: Spread | None, loss: LossModel | None,
        pulls: Sequence[MagnetPull | None] | None, oversampling: int, responses: Responses | None,
        realism: Realism = BARE,
    ) -> None:  # fmt: skip
        _check(phrase, len(strings), len(sensings), sample_rate, oversampling)
        self.total = int(np.ceil(phrase.duration * sample_rate))
        self.routing = Routing.bare(sensings) if responses is None else Routing.of(responses, sensings)
        self._ways = [_Ways.of(*way) for way in zip(self.routing.channels, self.routing.groups, strict=True)]
        self._strings, self._sensings, self._pulls = strings, sensings, pulls
        self._rate, self._loss, self._oversampling = sample_rate, loss, oversampling
        self._realism, self._seed, self._number = realism, seed, 0
        self._coming = performed(phrase, seed=seed, spread=spread, strings=tuple(strings), lifts=realism.noise)
        self._sounding: list[tuple[int, int, NoteVoice]] = []  # row, first sample, voice
        self._along: list[tuple[int, int, SympatheticVoice]] = []
        self._played = list(self._coming) if realism.sympathetic else []
        self._banks = Kept[StringModes, StringBank](BANKS)
        self._taken = Kept[StringBank, TakenUp](BANKS)
        self._modes_of = Kept[object, StringModes](MODES)

    def block(self, first: int, count: int) -> tuple[Sound, Sound]:
        """Return voltages (m, count) and curved fluxes (o, count) of every way from sample ``first`` on, in order."""
        voltage = np.zeros((max(len(self.routing.linear), 1), count), dtype=np.float32)
        flux = np.zeros((max(len(self.routing.curved), 1), count), dtype=np.float32)
        last = min(first + count, self.total)
        while self._coming and self._start(self._coming[0]) - round(PULL * self._rate) < last:
            note = self._coming.pop(0)
            voice = self._voice(note)
            self._sounding.append((note.string - 1, self._start(note), voice))
            self._along += self._sympathetic(note, voice.upright) if self._realism.sympathetic else []
        for row, start, voice in self._sounding:
            low, high = max(start - voice.pull, first), min(start + voice.count, last)
            if high <= low:
                continue
            linear, curved = voice.segment(low - start, high - low)
            for way, one in zip(self._ways[row].linear, linear, strict=True):
                voltage[way, low - first : high - first] += one
            for way, one in zip(self._ways[row].curved, () if curved is None else curved, strict=False):
                flux[way, low - first : high - first] += one
        for row, start, along in self._along:
            low, high = max(start, first), min(start + along.count, last)
            if high > low:
                for way, one in zip(self._ways[row].linear, along.segment(low - start, high - low), strict=True):
                    voltage[way, low - first : high - first] += one
        self._along = [one for one in self._along if one[1] + one[2].count > last]
        self._sounding = [one for one in self._sounding if one[1] + one[2].count > last]
        return voltage, flux

    def _start(self, note: Note) -> int:
        return min(round(note.onset * self._rate), self.total - 1)

    def _voice(self, note: Note) -> NoteVoice:
        count = min(max(round(note.duration * self._rate), 2), self.total - self._start(note))
        string = self._strings[note.string - 1].fretted(note.fret)
        pull, noise = min(round(PULL * self._rate), self._start(note)), None
        self._number += 1
        if self._realism.noise and pull and note.pluck.displacement > FINGER:
            drawn = np.random.default_rng([self._seed, 2, self._number])  # the same for every state of a guitar
            scrape = Scrape.of(note.pluck, string, count=pull, sample_rate=self._rate, generator=drawn)
            noise = (scrape, string)
        return NoteVoice(
            self._bank(note), self._takes(note), note.pluck, count=count, release=int(RELEASE * self._rate),
            bend=note.bend, pull=pull, gliding=string if self._realism.glide else None, noise=noise,
            straight=note.pluck.displacement <= FAINT,
        )  # fmt: skip

    def _takes(self, note: Note) -> TakenUp:
        bank, ways = self._bank(note), self._ways[note.string - 1]
        if bank not in self._taken:
            self._taken[bank] = TakenUp.of(bank, self._sensings[note.string - 1], ways.channels, ways.groups)
        return self._taken[bank]

    def _sympathetic(self, note: Note, amplitude: Complexes) -> list[tuple[int, int, SympatheticVoice]]:
        """Strings on which nothing sounds when ``note`` begins, and what they add until they are played."""
        if note.mute is not None or note.bend is not None or note.pluck.displacement <= FINGER:
            return []
        out, string, start = [], self._strings[note.string - 1].fretted(note.fret), self._start(note)
        modes = self._modes(note)
        stop = max(min(round(note.duration * self._rate), self.total - start), 2)
        for row, other in enumerate(self._strings):
            of_it = [one for one in self._played if one.string == row + 1]
            if any(one.onset - PULL < note.onset + SOON < one.onset + one.duration + SOON for one in of_it):
                continue
            next_one = min(
                [one.onset - PULL for one in of_it if one.onset > note.onset], default=self.total / self._rate
            )
            free_until = min(round(next_one * self._rate), self.total) - start
            voice = SympatheticVoice.of(
                (string, modes, amplitude), (other, self._modes(Note(string=row + 1, onset=0.0, duration=1.0))),
                self._sensings[row], stop=min(stop, free_until), free_until=free_until, sample_rate=self._rate,
                loss=self._loss or LossModel(), channels=self._ways[row].channels,
            )  # fmt: skip
            out += [(row, start, voice)] if voice is not None and free_until > 0.1 * self._rate else []
        return out

    def _modes(self, note: Note) -> StringModes:
        highest = 1.0 if note.bend is None else note.bend.highest
        key = (note.string, note.fret, note.mute, highest)
        if key not in self._modes_of:
            pull = self._pulls[note.string - 1] if self._pulls is not None else None
            self._modes_of[key] = string_modes(
                self._strings[note.string - 1].fretted(note.fret),
                top_frequency=min(HIGHEST_PARTIAL, 0.49 * self._rate) / highest,
                loss=self._loss,
                force_gradient=0.0 if pull is None else pull.force_gradient,
                gradient_position=None if pull is None else pull.position,
                mute=note.mute,
            )
        return self._modes_of[key]

    def _bank(self, note: Note) -> StringBank:
        modes = self._modes(note)
        if modes not in self._banks:
            self._banks[modes] = StringBank.of(
                modes, sample_rate=self._rate, oversampling=self._oversampling,
                straight=self._sensings[note.string - 1].linear,
            )  # fmt: skip
        return self._banks[modes]


def stream(
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
) -> Iterator[Floats]:
    """Render a phrase through one pickup state, block by block; volts at the amplifier's input.

    The first block is short (43 ms), so that playing can begin while the rest is made. Memory does not grow with the
    phrase.

    Left out: body-borne sound, longitudinal motion, buzz on frets. They are the same before and after a change of
    pickup.

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
    realism : what is heard beside strings that are let go. Nothing by default: what `phrase_lines` says in closed form.

    Returns
    -------
    blocks : each of shape (n,), V; together ceil(duration * sample_rate) samples.

    Raises
    ------
    InputError
        At once, when strings, sensing records, responses and phrase do not fit together.
    """
    player = _Player(
        phrase, strings, sensings, sample_rate=sample_rate, seed=seed, spread=spread, loss=loss, pulls=pulls,
        oversampling=oversampling, responses=response, realism=realism,
    )  # fmt: skip
    return _blocks(player, ResponseFilter(player.routing.linear, player.routing.curved, sample_rate), sample_rate)


def _blocks(player: _Player, filter_: ResponseFilter, sample_rate: float) -> Iterator[Floats]:
    late, release = lead(sample_rate), int(RELEASE * sample_rate)
    count, first, sent = max(round(FIRST_BLOCK_S * sample_rate), late + 1), 0, 0
    while sent < player.total:
        voltage, flux = player.block(first, count)
        made = filter_.push(voltage, flux)[max(late - first, 0) :]
        first += count
        made = made[: player.total - sent]
        place = (np.arange(sent, sent + made.size) - (player.total - release) + 1.0) / release
        if place.size and place[-1] > 0.0:
            made = made * (0.5 + 0.5 * np.cos(np.pi * np.clip(place, 0.0, 1.0)))
        sent += made.size
        count = round(BLOCK_S * sample_rate)
        yield made
