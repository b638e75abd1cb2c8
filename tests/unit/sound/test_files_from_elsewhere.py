"""Phrases and recordings as other programs write them: played as they say, or refused in words that name the slip.

MIDI is written byte by byte after the Standard MIDI Files 1.0 and MIDI 1.0 (from memory), not by the library that reads
it.
"""

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from polepiece.errors import InputError, MeasurementError
from polepiece.sound import PHRASES, phrase_called, read
from polepiece.sound.midi import midi_phrase
from polepiece.sound.performance import performed
from polepiece.sound.tablature import tablature
from polepiece.strings import Spread
from tests.reference.tuned_strings import tuned_set

END = b"\x00\xff\x2f\x00"
ON, OFF = b"\x00\x90\x28\x5a", b"\x83\x60\x80\x28\x00"  # low E at once, and off 480 ticks later


def midi(*tracks: bytes, kind: int = 1, ticks: int = 480, between: bytes = b"") -> bytes:
    head = b"MThd" + struct.pack(">IHHH", 6, kind, len(tracks), ticks)
    return head + between + b"".join(b"MTrk" + struct.pack(">I", len(one)) + one for one in tracks)


def wheel_to(share: float, *, semitones: int | None, cents: int = 0) -> bytes:
    """A note whose wheel goes up at half of its length, its reach said before it where ``semitones`` is given."""
    said = b""
    if semitones is not None:
        for control, value in ((101, 0), (100, 0), (6, semitones), (38, cents), (101, 127), (100, 127), (6, 24)):
            said += bytes([0, 0xB0, control, value])  # the last is of no parameter any more
    place = 8192 + round(share * 8192)
    bend = b"\x81\x70\xe0" + bytes([place & 127, place >> 7])
    return said + b"\x00\x90\x34\x5a" + bend + b"\x81\x70\x80\x34\x00" + END


@pytest.mark.parametrize(
    ("share", "semitones", "cents", "up"),
    [(0.5, None, 0, 1.0), (0.5, 1, 0, 0.5), (1.0 / 6.0, 12, 0, 2.0), (-0.5, 3, 50, -1.75)],
)
def test_the_wheel_reaches_as_far_as_the_file_says(share: float, semitones: int | None, cents: int, up: float) -> None:
    (note,) = midi_phrase(midi(wheel_to(share, semitones=semitones, cents=cents))).notes
    assert note.bend is not None
    assert note.bend.points[-1][1] == pytest.approx(up, abs=12.5 / 8192)  # one step of the wheel at the widest


def test_what_other_programs_put_around_a_piece_is_passed_over() -> None:
    """One track as type 2, a RIFF around it, a chunk that is neither head nor track, running status, empty tracks."""
    plain = midi_phrase(midi(ON + OFF + END), "it")
    whole = midi(ON + OFF + END)
    riff = b"RIFF" + struct.pack("<I", len(whole) + 12) + b"RMID" + b"data" + struct.pack("<I", len(whole)) + whole
    assert midi_phrase(midi(ON + OFF + END, kind=2), "it") == plain
    assert midi_phrase(riff, "it") == plain
    assert midi_phrase(midi(ON + OFF + END, between=b"XFIH" + struct.pack(">I", 3) + b"abc"), "it") == plain
    assert midi_phrase(midi(END, b"\x00\x90\x28\x5a\x83\x60\x28\x00" + END, END), "it") == plain


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (midi(ON + OFF + END, ON + OFF + END, kind=2), "its 2 tracks are pieces of their own"),
        (midi(b"\x00\xff\x59\x02\x0b\x00" + ON + OFF + END), "11 sharps"),
        (midi(b"\x00\x99\x24\x5a\x83\x60\x89\x24\x00" + END), "no note but percussion"),
        (midi(ON + OFF + END, ticks=((256 - 26) << 8) | 40), "counts 26 frames a second; 24, 25, 29, 30"),
        (midi(wheel_to(1.0, semitones=12)), "beyond 4 semitones"),
    ],
    ids=["two pieces", "key", "percussion", "frames", "wheel"],
)
def test_what_cannot_be_played_of_a_midi_file_is_said(data: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        midi_phrase(data, "it")


def test_a_tablature_as_another_editor_saves_it(tmp_path: Path) -> None:
    """A mark of the byte order in front, a decimal comma in the tempo, lines that end as on another system."""
    (tmp_path / "it.tab").write_bytes(b"\xef\xbb\xbf" + b"tempo = 96,5\r\nE|0---\r\n")
    assert phrase_called(str(tmp_path / "it.tab")) == tablature("tempo = 96.5\nE|0---\n", "it.tab")


@pytest.mark.parametrize(
    ("row", "said"),
    [("7p------", "column 2: 'p' leads to no note"), ("5/--x---", "column 5: '/' leads to 'x'"),
     ("5h---.--", "'h' leads to '.'")],
)  # fmt: skip
def test_a_sign_that_leads_nowhere_is_named(row: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        tablature(f"E|{row}\n")
    assert said in str(caught.value)


@pytest.mark.parametrize("scale", [0.52, 0.6, 0.648, 0.864])
def test_a_finger_falls_where_the_frets_are_on_every_scale(scale: float) -> None:
    """Every built-in phrase is played within what sounds; a finger at the same share of it, short scale or bass."""
    strings = tuple(tuned_set(scale_length=scale))
    for name in sorted(PHRASES):
        for note in performed(PHRASES[name], seed=1, spread=Spread(), strings=strings):
            assert note.pluck.position < strings[note.string - 1].fretted(note.fret).length, (name, note)
    hammered = [one for one in performed(PHRASES["legato"], seed=1, spread=None, strings=strings) if one.fret]
    shares = [one.pluck.position / strings[one.string - 1].fretted(one.fret).length for one in hammered]
    assert max(shares) == pytest.approx(0.94, abs=1e-9)  # of what sounds, as `techniques.hammered` says


@pytest.mark.parametrize(
    ("rate", "size", "subtype", "said"),
    [
        (352_800, 0.3, "PCM_24", "Export at 48000 Hz."),
        (8_000, 0.3, "PCM_16", "has lost the pickup's resonance"),
        (48_000, 0.3, "IMA_ADPCM", "stored as IMA_ADPCM"),
        (48_000, 0.3, "MS_ADPCM", "stored as MS_ADPCM"),
        (48_000, 3e4, "FLOAT", "times full scale. Were whole numbers stored"),
    ],
)
def test_a_recording_that_is_not_taken_is_told_why(
    tmp_path: Path, rate: int, size: float, subtype: str, said: str
) -> None:
    place = tmp_path / "it.wav"
    soundfile.write(place, size * np.sin(np.arange(2 * rate) * 1e-2), rate, subtype=subtype)
    with pytest.raises(MeasurementError) as caught:
        read(place)
    assert said in str(caught.value)
