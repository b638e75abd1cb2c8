"""Tablature and MIDI as phrases: what stands in the text is played, and what cannot be is named by line and column."""

import io

import mido
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.auditioning import phrase_for
from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import read_guitar
from polepiece.sound import PHRASES, Phrase, phrase_called
from polepiece.sound.midi import midi_phrase
from polepiece.sound.tablature import tablature
from tests.cli.conftest import DEMO

SIGNS = r"""
tempo = 120
step = 1/8   # 0.25 s each

touch|s---h---------
mute|------m-------
e|---|----------
B|---|5h8p5-----
G|---|------5/7-
D|---|----------
A|3--|2---------
E|---|---------0
"""


def steps(piece: Phrase, string: int) -> list[tuple[int, float]]:
    return [(one.fret, round((one.onset - 0.05) / 0.25, 6)) for one in piece.notes if one.string == string]


def test_columns_are_time_and_bar_lines_take_none() -> None:
    piece = tablature(SIGNS)
    assert steps(piece, 5) == [(3, 0.0), (2, 3.0)]
    assert [(fret, round(at)) for fret, at in steps(piece, 2)] == [(5, 3), (8, 5), (5, 7)]
    assert steps(piece, 3) == [(5, 9.0), (7, 11.0)]
    assert steps(piece, 6) == [(0, 12.0)]


@pytest.mark.parametrize(
    ("row", "frets"),
    [
        ("0005000700052---", [0, 0, 0, 5, 0, 0, 0, 7, 0, 0, 0, 5, 2]),
        ("12-1-2-24-25-52-", [12, 1, 2, 24, 2, 5, 5, 2]),
        ("00h2-01-10------", [0, 0, 2, 0, 1, 10]),
    ],
)
def test_digits_side_by_side_are_one_fret_from_10_to_24(row: str, frets: list[int]) -> None:
    piece = tablature(f"tempo = 120\nstep = 1/8\n\nA|{row}\nE|{'-' * len(row)}\n")
    found = steps(piece, 1)
    assert [fret for fret, _ in found] == frets
    assert [int(at) for _, at in found] == sorted({int(at) for _, at in found})  # each at a step of its own


def test_the_muted_riff_has_its_strings_together() -> None:
    """What is written in one column sounds at once: the riff's fourths, of two strings each."""
    riff = phrase_called("muted-riff")
    at = {number: {round((one.onset - 0.05) / 0.25) for one in riff.notes if one.string == number} for number in (4, 5)}
    assert at[4] == {3, 7, 11} and at[4] <= at[5]


def test_touch_mute_hammer_pull_and_slide() -> None:
    piece = tablature(SIGNS)
    by = {(one.string, one.fret, round(one.onset, 2)): one for one in piece.notes}
    assert by[5, 3, 0.05].pluck.displacement < by[6, 0, 3.05].pluck.displacement
    five, eight, again = sorted((one for one in piece.notes if one.string == 2), key=lambda one: one.onset)
    assert eight.pluck.displacement < five.pluck.displacement > again.pluck.displacement
    assert eight.pluck.position > five.pluck.position  # the finger's end of the string
    assert again.mute is None and eight.mute is not None
    slid, reached = (one for one in piece.notes if one.string == 3)
    assert slid.bend is not None and slid.bend.points[-1][1] == 2.0
    assert reached.pluck.displacement < five.pluck.displacement


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("e|-3-\nB|--\n", "columns"),
        ("e|-q-\n", "column 2: 'q'"),
        ("tempo = 4000\ne|3\n", "20 to 400"),
        ("swing = yes\ne|3\n", "no setting 'swing'"),
        ("hello\n", "is no setting"),
        ("e|---\n", "holds no note"),
        ("", "holds no note"),
        ("e|<11>\n", "no natural harmonic over fret 11"),
        ("e|3/9\n", "at most 4"),
        ("e|3|4\nB|3--\n", "bar line is missing"),
        ("e|3\n" * 13, "1 to 12"),
        ("x" * 70_000, "at most"),
        ("E|3\nA|-\nD|-\nG|-\nB|-\ne|-\n", "Turn their lines round"),
        ("E|3\nA|-\nD|-\nG|-\n", "the thin one stands on top"),
    ],
)
def test_what_cannot_be_played_is_named(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        tablature(text)


@given(st.text(alphabet="eBG|-0123hp/\\b~x<>.m=# \n", max_size=120))
@settings(max_examples=300, deadline=None)
def test_any_text_is_a_phrase_or_a_fault_in_words(text: str) -> None:
    try:
        piece = tablature(text)
    except InputError:
        return
    assert piece.notes


def midi(*messages: "mido.Message | mido.MetaMessage") -> bytes:
    file, track, out = mido.MidiFile(ticks_per_beat=480), mido.MidiTrack(messages), io.BytesIO()
    file.tracks.append(track)
    file.save(file=out)
    return out.getvalue()


def on(note: int, time: int = 0, velocity: int = 100) -> "mido.Message":
    return mido.Message("note_on", note=note, velocity=velocity, time=time)


def test_midi_pitches_are_what_the_strings_sound() -> None:
    """MIDI numbers: 40 is E2, the open low string, 69 is A4 (the standard's own table); 480 ticks at 96 are 0.625 s."""
    data = midi(
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(96)),
        on(40), on(47), on(52), on(40, 480, 0), on(47, 0, 0), on(52, 0, 0),
        on(69, 0, 50), mido.Message("pitchwheel", pitch=8191, time=240), on(69, 240, 0),
    )  # fmt: skip
    piece = midi_phrase(data)
    assert [(one.string, one.fret) for one in piece.notes] == [(6, 0), (5, 2), (4, 2), (1, 5)]
    assert piece.notes[3].onset == pytest.approx(0.05 + 0.625)
    assert piece.notes[3].bend is not None
    assert piece.notes[3].bend.points[-1] == pytest.approx((0.3125, 2.0), abs=1e-3)
    assert piece.notes[3].pluck.displacement == pytest.approx(piece.notes[0].pluck.displacement / 2)
    assert len({one.stroke for one in piece.notes[:3]}) == 1


def test_percussion_is_left_out_and_low_notes_are_refused() -> None:
    with pytest.raises(InputError, match="holds no note"):
        midi_phrase(midi(mido.Message("note_on", channel=9, note=40, velocity=90, time=0)))
    with pytest.raises(InputError, match="on no string"):
        midi_phrase(midi(on(30), on(30, 480, 0)))
    assert midi_phrase(midi(on(30), on(30, 480, 0)), open_notes=(43, 38, 33, 28)).notes[0].string == 4


def test_time_in_frames_of_film_is_time() -> None:
    """25 frames a second of 40 ticks each: 500 ticks are half a second, whatever a tempo says."""
    data = bytearray(midi(mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(300)), on(40), on(40, 500, 0), on(45, 250),
                          on(45, 250, 0)))  # fmt: skip
    data[12:14] = bytes([256 - 25, 40])
    first, second = midi_phrase(bytes(data)).notes
    assert first.duration == pytest.approx(0.5)
    assert second.onset - first.onset == pytest.approx(0.75)


@pytest.mark.parametrize("division", [(0, 0), (256 - 25, 0)])
def test_a_file_without_time_is_named(division: tuple[int, int]) -> None:
    data = bytearray(midi(on(40), on(40, 480, 0)))
    data[12:14] = bytes(division)
    with pytest.raises(InputError, match="there is no time in it"):
        midi_phrase(bytes(data))


def test_a_file_that_is_cut_short_is_said_to_be() -> None:
    with pytest.raises(InputError, match="ends too soon"):
        midi_phrase(midi(on(40), on(40, 480, 0))[:-9])


@given(st.binary(max_size=400), st.integers(0, 80))
@settings(max_examples=200, deadline=None)
def test_any_bytes_are_midi_or_a_fault_in_words(noise: bytes, cut: int) -> None:
    whole = midi(on(40), on(40, 480, 0))
    for data in (noise, whole[:cut] + noise, whole[: len(whole) - cut % len(whole)]):
        try:
            assert midi_phrase(data).notes
        except InputError:
            continue


def test_the_ending_says_what_a_file_is(tmp_path: "object") -> None:
    from pathlib import Path

    folder = Path(str(tmp_path))
    (folder / "mine.tab").write_text("e|3--\n", encoding="utf-8")
    (folder / "mine.mid").write_bytes(midi(on(64), on(64, 480, 0)))
    guitar = read_guitar(DEMO)
    assert phrase_for(guitar, str(folder / "mine.tab")).notes[0].fret == 3
    assert phrase_for(guitar, str(folder / "mine.mid")).notes[0].fret == 0
    (folder / "bad.tab").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="UTF-8"):
        phrase_called(str(folder / "bad.tab"))
    with pytest.raises(InputError, match="cannot be read"):
        phrase_called(str(folder / "none.tab"))
    with pytest.raises(InputError, match="known are open-chord"):
        phrase_called("nothing")


def test_there_are_sixteen_phrases_at_least_and_the_page_has_words_for_each() -> None:
    from polepiece.app.hear.sounds import PHRASE_WORDS

    assert len(PHRASES) >= 16
    assert PHRASE_WORDS.keys() == PHRASES.keys()


@pytest.fixture(scope="module")
def sounds() -> "dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]]":
    guitar, bench = read_guitar(DEMO), Bench()
    texts = {"open": "E|0-------\n", "harmonic": "E|<12>-----\n", "scratch": "E|x-------\n"}
    texts |= {"soft": "touch|s-------\nE|0-------\n", "hard": "touch|h-------\nE|0-------\n"}
    row = "e|{0}\nB|{0}\nG|{0}\nD|{0}\nA|{0}\n"
    made = {}
    for name, text in texts.items():
        line = text.rstrip().split("\n")[-1]
        above = text[: text.index("E|")]
        piece = tablature(above + row.format("-" * len(line[2:])) + line + "\n", name)
        made[name] = play(guitar, "neck", piece, seed=1, bench=bench)
    return made


def partial(sound: "np.ndarray", frequency: float, start: float = 0.4, length: float = 0.6) -> float:
    """Level at a frequency, dB, through a Hann window."""
    piece = sound[round(start * SAMPLE_RATE) : round((start + length) * SAMPLE_RATE)]
    t = np.arange(len(piece)) / SAMPLE_RATE
    return float(20 * np.log10(abs((piece * np.hanning(len(piece)) * np.exp(-2j * np.pi * frequency * t)).sum())))


def test_a_harmonic_over_the_octave_has_the_even_partials_only(sounds: dict[str, "np.ndarray"]) -> None:
    """A finger on the middle of the string stops all partials that move there: 1, 3, 5 (textbook)."""
    for odd in (1, 3):
        assert partial(sounds["harmonic"], 82.41 * odd) < partial(sounds["open"], 82.41 * odd) - 30.0
    assert partial(sounds["harmonic"], 164.9) > partial(sounds["open"], 164.9) - 6.0


def test_a_scratch_has_no_ring(sounds: dict[str, "np.ndarray"]) -> None:
    """A quarter of a second after the stroke an open string sounds; a touched one is gone by 40 dB more."""

    def late(name: str) -> float:
        sound = sounds[name]
        return float(10 * np.log10((sound[round(0.3 * SAMPLE_RATE) : round(0.4 * SAMPLE_RATE)] ** 2).mean() + 1e-20))

    assert late("scratch") < late("open") - 40.0


def test_soft_and_hard_differ_as_their_displacements(sounds: dict[str, "np.ndarray"]) -> None:
    """2.0 mm against 0.5: 12 dB in what is linear; what the curved flux adds stays within 1.5 dB."""
    power = {name: 10 * np.log10((sounds[name] ** 2).mean()) for name in ("soft", "hard")}
    assert power["hard"] - power["soft"] == pytest.approx(12.04, abs=1.5)


def test_strokes_grow_and_fall_on_the_way_and_single_ones_stand_out() -> None:
    """Soft, medium, hard are 0.5, 1.1, 2.0 mm; on the way every step is as many dB as the one before."""
    piece = tablature("touch|s-<-----h---!-,->---s-!\ne|0-0-0-0-0-0-0-0-0-0-0-0-0\n")
    size = [one.pluck.displacement for one in sorted(piece.notes, key=lambda one: one.onset)]
    assert np.array(size[:2]) == pytest.approx(0.5e-3)  # where the sign stands it is still soft
    assert np.diff(20.0 * np.log10(size[1:5])) == pytest.approx(np.full(3, 20.0 * np.log10(4.0) / 3.0))
    assert np.array(size[4:6]) == pytest.approx(2.0e-3)
    assert size[6] == pytest.approx(2.5e-3)  # an accent of a hard stroke stops there
    assert size[7] == pytest.approx(1.0e-3)  # hardly touched: half
    assert np.array(size[8:]) == pytest.approx([2.0e-3, 1.0e-3, 0.5e-3, 0.75e-3, 0.5e-3])


def test_a_mark_of_strength_that_is_none_is_named() -> None:
    with pytest.raises(InputError, match="line 1: the touch above it says 'f'; there are s, m, h"):
        tablature("touch|f-\ne|00\n")


def test_velocity_is_how_far_a_string_is_drawn() -> None:
    data = io.BytesIO()
    file = mido.MidiFile()
    track = mido.MidiTrack()
    file.tracks.append(track)
    for velocity in (32, 64, 127):
        track += [mido.Message("note_on", note=64, velocity=velocity), mido.Message("note_off", note=64, time=480)]
    file.save(file=data)
    size = [one.pluck.displacement for one in midi_phrase(data.getvalue()).notes]
    assert np.array(size) / size[2] == pytest.approx(np.array([32, 64, 127]) / 127.0)
