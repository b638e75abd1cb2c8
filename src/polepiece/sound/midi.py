"""A phrase from a Standard MIDI File: pitches laid on the strings of a guitar, velocity as the strength of a stroke."""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from polepiece.errors import InputError
from polepiece.sound.phrase import LONGEST, Bend, Note, Phrase
from polepiece.sound.techniques import back, plectrum, strummed

LARGEST = 1024 * 1024  # bytes
HIGHEST_FRET = 24
STANDARD = (64, 59, 55, 50, 45, 40)  # E4 B3 G3 D3 A2 E2, the thin string first
BEND_SEMITONES = 2.0  # of a full wheel, the default of the standard
TOGETHER = 0.012  # s: nearer strokes are one strum
HARDEST = 2.2e-3  # m of displacement at velocity 127 (assumption)
LEAD, TAIL, SHORTEST = 0.05, 1.0, 0.03  # s
PERCUSSION = 9  # the tenth channel
REACH, NO_PARAMETER = (0, 0), (127, 127)  # registered parameters: how far the wheel reaches, none
FRAMES = {24: 24.0, 25: 25.0, 29: 30e3 / 1001.0, 30: 30.0}  # a second, by what a file says


@dataclass(slots=True, kw_only=True)
class _Sounding:
    pitch: int
    onset: float
    velocity: int
    channel: int
    end: float | None = None
    wheel: "list[tuple[float, float]]"


@dataclass(slots=True)
class _Wheel:
    """How far the wheel of a channel reaches, semitones, as the file says it (MIDI 1.0, registered parameter 0)."""

    semitones: float = BEND_SEMITONES
    cents: float = 0.0
    parameter: tuple[int, int] = NO_PARAMETER

    @property
    def reach(self) -> float:
        """Semitones up or down of a full wheel."""
        return self.semitones + self.cents / 100.0

    def hear(self, message: Any) -> None:
        """Take over what a message says of it."""
        if message.type != "control_change":
            return
        coarse, fine = self.parameter
        match message.control:
            case 101:
                self.parameter = message.value, fine
            case 100:
                self.parameter = coarse, message.value
            case 98 | 99:  # a parameter that is not registered
                self.parameter = NO_PARAMETER
            case 6 if self.parameter == REACH:
                self.semitones = message.value
            case 38 if self.parameter == REACH:
                self.cents = message.value


def midi_phrase(data: bytes, name: str = "midi", *, open_notes: Sequence[int] = STANDARD) -> Phrase:
    """Return the phrase of a MIDI file (pitches and wheel by the standard; strength an assumption).

    Parameters
    ----------
    data : bytes
        A Standard MIDI File of type 0 or 1, or one track of type 2, by itself or in a RIFF; percussion (channel 10) is
        left out. The wheel reaches as far as the file says (registered parameter 0), two semitones where it does not.
    name : str
        Of the phrase.
    open_notes : sequence of int
        MIDI numbers of the open strings, the thin one first; a note goes on the string that is free where its fret is
        lowest.

    Raises
    ------
    InputError
        When it is no such file, too long, or a note lies on no free string.
    """
    import mido  # type: ignore[import-untyped]  # here: no other command needs it

    if len(data) > LARGEST:
        raise InputError(f"{name} has {len(data)} bytes; at most {LARGEST} are read.")
    try:
        file = mido.MidiFile(file=io.BytesIO(_bare(data)), clip=True)
        if file.type > 2 or (file.type == 2 and len(file.tracks) > 1):
            raise InputError(
                f"{name} is of type {file.type}: its {len(file.tracks)} tracks are pieces of their own. Export one of "
                "them as type 0 or 1."
            )
        file.type = min(file.type, 1)
        sounding = _sounding(file, _ticks_a_second(file.ticks_per_beat, name))
    except InputError:
        raise
    except (
        OSError, EOFError, ValueError, KeyError, IndexError, AttributeError, TypeError, mido.KeySignatureError
    ) as error:  # fmt: skip
        why = str(error) or "it ends too soon: was the copy cut short?"
        raise InputError(f"{name} is not a Standard MIDI File that can be read ({why}).") from None
    if not sounding:
        drums = any(getattr(one, "channel", 0) == PERCUSSION and one.type == "note_on" for one in file.merged_track)
        raise InputError(f"{name} holds no note{' but percussion (channel 10), which is left out' if drums else ''}.")
    first = min(one.onset for one in sounding)
    last = max(one.end or one.onset for one in sounding) - first
    if last > LONGEST - LEAD - TAIL:
        raise InputError(f"{name} lasts {last:.0f} s; at most {LONGEST - LEAD - TAIL:.0f} s are read.")
    notes = _on_strings(sorted(sounding, key=lambda one: (one.onset, one.pitch)), first, open_notes, name)
    return Phrase(name=name, notes=tuple(notes), duration=round(LEAD + last + TAIL, 3))


def _bare(data: bytes) -> bytes:
    """Return a file without its RIFF and without chunks that are neither head nor track, which are passed over."""
    if data[:4] == b"RIFF" and data[8:12] == b"RMID":
        data = data[data.find(b"MThd") :]
    if data[:4] != b"MThd":
        return data
    out, at = [], 0
    while at + 8 <= len(data):
        end = at + 8 + int.from_bytes(data[at + 4 : at + 8], "big")
        if data[at : at + 4] in (b"MThd", b"MTrk"):
            out.append(data[at:end])
        at = end
    return b"".join(out)


def _ticks_a_second(division: int, name: str) -> float | None:
    """Return the ticks a second of a file that counts frames of film; None where it counts quarters by a tempo.

    The division of such a file is negative: minus the frames a second, then ticks a frame (Standard MIDI Files 1.0,
    memory). 29 stands for 30 frames with two left out a minute, 29.97 a second.
    """
    if division > 0:
        return None
    frames, ticks = -(division >> 8), division & 0xFF
    if division and ticks and frames not in FRAMES:
        raise InputError(f"{name} counts {frames} frames a second; {', '.join(map(str, FRAMES))} are known.")
    if not division or not ticks:
        raise InputError(
            f"{name} says that a quarter has {division} ticks: there is no time in it. Export it again; 96 to 960 are "
            "usual."
        )
    return FRAMES[frames] * ticks


def _sounding(file: Any, ticks_a_second: float | None) -> list[_Sounding]:
    """Return every note with its end and its wheel, times in s."""
    now = 0.0
    out: list[_Sounding] = []
    held: dict[tuple[int, int], _Sounding] = {}
    bent: dict[int, float] = {}
    wheels: dict[int, _Wheel] = {}
    for message in file if ticks_a_second is None else file.merged_track:  # delta times in s by the tempo map; or ticks
        now += message.time if ticks_a_second is None else message.time / ticks_a_second
        if message.is_meta or getattr(message, "channel", PERCUSSION) == PERCUSSION:
            continue
        wheels.setdefault(message.channel, _Wheel()).hear(message)
        key = (message.channel, getattr(message, "note", -1))
        if message.type == "pitchwheel":
            bent[message.channel] = wheels[message.channel].reach * message.pitch / 8192.0
            for one in held.values():
                if one.channel == message.channel:
                    one.wheel.append((now - one.onset, bent[message.channel]))
        elif message.type in ("note_on", "note_off"):
            if key in held:
                held.pop(key).end = now
            if message.type == "note_on" and message.velocity:
                wheel = [(0.0, bent.get(message.channel, 0.0))]
                held[key] = _Sounding(pitch=message.note, onset=now, velocity=message.velocity,
                                      channel=message.channel, wheel=wheel)  # fmt: skip
                out.append(held[key])
    for one in held.values():
        one.end = now
    return out


def _on_strings(sounding: list[_Sounding], first: float, open_notes: Sequence[int], name: str) -> list[Note]:
    free = [0.0] * len(open_notes)
    moments: list[list[Note]] = []
    for one in sounding:
        start, end = one.onset - first, max(one.end or one.onset, one.onset + SHORTEST) - first
        fits = [(one.pitch - note, k) for k, note in enumerate(open_notes) if 0 <= one.pitch - note <= HIGHEST_FRET]
        there = [(fret, k) for fret, k in fits if free[k] <= start + 1e-6]
        taken = {note.string for note in moments[-1]} if moments and _near(moments[-1], start) else set()
        there = [(fret, k) for fret, k in there or fits if k + 1 not in taken]  # a ringing string is struck again
        if not there:
            why = "lies on no string of this guitar" if not fits else "has no string left beside those struck with it"
            raise InputError(f"{name}: the note {one.pitch} at {start:.2f} s {why}.")
        fret, k = min(there)
        free[k] = end
        note = Note(string=k + 1, fret=fret, onset=LEAD + start, duration=max(end - start, SHORTEST),
                    pluck=plectrum(HARDEST * one.velocity / 127.0), bend=_bend(one.wheel))  # fmt: skip
        if moments and _near(moments[-1], start):
            moments[-1].append(note)
        else:
            moments.append([note])
    out: list[Note] = []
    for number, together in enumerate(moments, start=1):
        if len(together) > 1:
            out += strummed(together, gap=0.010, upward=False, number=number)
        else:
            (alone,) = together
            out.append(alone if number % 2 else replace(alone, pluck=back(alone.pluck)))
    return out


def _near(moment: list[Note], start: float) -> bool:
    return abs(moment[0].onset - LEAD - start) <= TOGETHER


def _bend(wheel: "list[tuple[float, float]]") -> Bend | None:
    """Return the wheel as a bend, one point a 20 ms; None where it stays."""
    if all(up == 0.0 for _, up in wheel):
        return None
    points: list[tuple[float, float]] = []
    for time, up in wheel:
        if not points or time - points[-1][0] >= 0.02:
            points.append((time, up))
        else:
            points[-1] = (points[-1][0], up)
    return Bend(points=tuple(points))
