"""States beside one another, block by block, are what an audition makes of the same pair in one piece."""

import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile

from polepiece.auditioning import audition, compare
from polepiece.bench import Bench
from polepiece.errors import MeasurementError
from polepiece.guitar import Guitar
from polepiece.moves import parse_changes
from polepiece.sound import read
from tests.reference.near import assert_near

MOVES = parse_changes(["tone=3", "lower=0.5mm"])


def take(folder: Path, seconds: float = 6.0, channels: int = 1) -> Path:
    frames = round(seconds * 48000)
    fall = np.exp(-(np.arange(frames) % 48000) / 20000.0)[:, None]
    soundfile.write(
        folder / "take.wav", 0.05 * fall * np.random.default_rng(5).standard_normal((frames, channels)), 48000
    )
    return folder / "take.wav"


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("chain", [None, "edge"])
def test_a_recording_in_blocks_is_the_audition_in_one_piece(
    guitar: Guitar, bench: Bench, tmp_path: Path, channels: int, chain: str | None
) -> None:
    # 6 s are three blocks of reading; the loudness meter in passing agrees to 1e-6 dB
    path = take(tmp_path, channels=channels)
    found = compare(guitar, "neck", [MOVES], recording=path, chain=chain, bench=bench)
    pair = audition(guitar, "neck", MOVES, recording=read(path), chain=chain, bench=bench)
    for state, true_level, wanted in (
        (0, False, pair.before), (1, False, pair.after), (1, True, pair.after_true_level),
    ):  # fmt: skip
        made = np.concatenate(list(found.sound(state, true_level=true_level)))
        assert_near(made.reshape(wanted.shape), wanted, 1e-6)
    assert found.difference_db(1) == pytest.approx(pair.alignment.level_difference_db, abs=1e-6)
    assert found.clean_difference_db(1) == pytest.approx(pair.clean_level_difference_db, abs=1e-6)
    assert (found.frames, found.channels, found.duration) == (288000, channels, 6.0)


def test_a_phrase_is_the_audition_too(guitar: Guitar, bench: Bench) -> None:
    found = compare(guitar, "neck", [MOVES], phrase="single-notes-low", bench=bench)
    pair = audition(guitar, "neck", MOVES, phrase="single-notes-low", bench=bench)
    made = np.concatenate(list(found.sound(1)))[:, 0]
    assert_near(made, pair.after, 1e-6)


def test_all_states_of_a_recording_share_its_before(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    other = parse_changes(["magnet=alnico-8"])
    found = compare(guitar, "neck", [MOVES, other, ()], recording=take(tmp_path), bench=bench)
    assert [one.changes for one in found.states] == [(), MOVES, other, ()]
    before, same = (np.concatenate(list(found.sound(k))) for k in (0, 3))
    assert_near(same, before, 1e-9)  # no change: the recording itself
    assert found.difference_db(3) == pytest.approx(0.0, abs=1e-9)


def test_an_excerpt_is_cut_from_the_whole(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    # the loudest second: the third was raised; filters have a second of lead: 1e-9 is left of their start
    path = take(tmp_path)
    samples, rate = soundfile.read(path)
    samples[3 * rate : 4 * rate] *= 4.0
    soundfile.write(path, samples, rate, subtype="FLOAT")
    found = compare(guitar, "neck", [MOVES], recording=path, chain="edge", bench=bench)
    piece = found.excerpt(1, 2.0)
    whole = np.concatenate(list(found.sound(1)))
    at = found.loudest if found.loudest + 2 * rate <= found.frames else found.frames - 2 * rate
    assert piece.shape == (2 * rate, 1)
    assert_near(piece, whole[at : at + 2 * rate], 1e-7)


def test_progress_counts_seconds_and_ends_at_all(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    said: list[tuple[int, int]] = []
    compare(
        guitar, "neck", [MOVES], recording=take(tmp_path), bench=bench, progress=lambda *one: said.append(one)
    )  # fmt: skip
    assert said == sorted(said)
    assert said[-1] == (12, 12)  # two states of 6 s
    assert len(said) > 4


def test_memory_does_not_grow_with_the_recording(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    """Peak of what is allocated for 10 and for 60 s; the longer one's samples alone would be 23 MB."""

    def peak(seconds: float) -> float:
        path = take(tmp_path, seconds)
        tracemalloc.start()
        found = compare(guitar, "neck", [MOVES], recording=path, bench=bench)
        for block in found.sound(1):
            assert block.size
        highest = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return highest

    compare(guitar, "neck", [MOVES], recording=take(tmp_path, 1.0), bench=bench)  # what is kept is there from now on
    short, long = peak(10.0), peak(60.0)
    assert long < short + 1e6


def test_what_cannot_be_used_is_said_with_its_place(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    samples = 0.1 * np.random.default_rng(0).standard_normal(48000 * 5)
    samples[48000 * 4] = np.nan
    soundfile.write(tmp_path / "holes.wav", samples, 48000, subtype="FLOAT")
    with pytest.raises(MeasurementError, match=r"holes\.wav.*NaN or infinite, the first 4\.0000 s after"):
        compare(guitar, "neck", [MOVES], recording=tmp_path / "holes.wav", bench=bench)
    soundfile.write(tmp_path / "still.wav", np.full(48000, 0.1), 48000)
    with pytest.raises(MeasurementError, match="silent"):
        compare(guitar, "neck", [MOVES], recording=tmp_path / "still.wav", bench=bench)
