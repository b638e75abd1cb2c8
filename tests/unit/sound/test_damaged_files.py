"""Recordings and phrases damaged at drawn places: each is read, or refused in words that name the file."""

import io
import random
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from polepiece.arrays import FloatArray
from polepiece.auditioning import own_takes
from polepiece.errors import PolepieceError
from polepiece.sound import phrase_called, read
from tests.unit.auditioning.test_own_takes import take

TAB = """tempo = 96
e|--0---2-3--|-5h7-----|
B|--1---3----|-----5---|
G|--0---2----|---------|
D|--2--------|-7/9-----|
A|--3---x----|---------|
E|-----------|-0--5----|
"""


def plucked(rate: int) -> FloatArray:
    return take("a.wav", wait=0.3, rate=rate).samples


def recording(kind: str, subtype: str, rate: int, channels: int) -> bytes:
    sound, file = plucked(rate), io.BytesIO()
    soundfile.write(file, np.stack([sound] * channels, axis=1), rate, subtype=subtype, format=kind)
    return file.getvalue()


def played() -> bytes:
    file, track = mido.MidiFile(ticks_per_beat=480), mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.MetaMessage("set_tempo", tempo=500_000))
    for pitch in (40, 47, 52, 55, 59, 64, 67, 72):
        track.append(mido.Message("note_on", note=pitch, velocity=90))
        track.append(mido.Message("pitchwheel", pitch=800, time=100))
        track.append(mido.Message("note_off", note=pitch, time=140))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


FILES: dict[str, tuple[bytes, Callable[[Path], object]]] = {
    "a.wav": (recording("WAV", "PCM_16", 44100, 1), read), "b.wav": (recording("WAV", "PCM_24", 48000, 2), read),
    "c.wav": (recording("WAV", "FLOAT", 96000, 1), read), "a.flac": (recording("FLAC", "PCM_16", 48000, 2), read),
    "a.mid": (played(), lambda path: phrase_called(str(path))),
    "a.tab": (TAB.encode(), lambda path: phrase_called(str(path))),
}  # fmt: skip


def damaged(data: bytes, draw: random.Random) -> bytes:
    out, near = bytearray(data), draw.choice((60, len(data)))  # half of them in the head
    for _ in range(draw.choice((1, 2, 8))):
        at = draw.randrange(min(near, len(out)))
        match draw.randrange(4):
            case 0:
                out[at] ^= 1 << draw.randrange(8)
            case 1:
                out[at] = draw.randrange(256)
            case 2:
                del out[at : at + draw.choice((1, 4, 100))]
            case _:
                out[at:at] = draw.randbytes(draw.choice((1, 4, 100)))
        if not out:
            break
    return bytes(out[: draw.randrange(len(out) + 1)] if draw.random() < 0.2 else out)


@pytest.mark.parametrize("name", FILES)
def test_a_damaged_file_is_read_or_refused_in_words(name: str, tmp_path: Path) -> None:
    data, reader = FILES[name]
    path, draw, ends = tmp_path / name, random.Random(name), Counter[str]()
    path.write_bytes(data)
    reader(path)  # as it is, it is read
    for _ in range(60):
        path.write_bytes(damaged(data, draw))
        try:
            reader(path)
            ends["read"] += 1
        except PolepieceError as error:
            ends["refused"] += 1
            assert name in str(error), error
            assert len(str(error)) < 900
    assert ends["refused"] > 5


@pytest.mark.parametrize("seed", range(8))
def test_takes_of_any_rate_length_and_kind_are_laid_together(seed: int, tmp_path: Path) -> None:
    """Two takes of one phrase by other gear: the rate is the lower, both are as long, no mean is left."""
    draw, takes, rates = random.Random(seed), [], []
    for side in "ab":
        rate, subtype = draw.choice((44100, 48000, 96000)), draw.choice(("PCM_16", "PCM_24", "FLOAT"))
        sound = np.concatenate([np.zeros(draw.randrange(rate // 4)), plucked(rate), np.zeros(draw.randrange(4 * rate))])
        sound = sound * draw.choice((0.1, 1.0)) / np.max(np.abs(sound))
        if draw.random() < 0.4:
            sound = 0.9 * np.clip(4.0 * sound, -1.0, 1.0)
        if draw.random() < 0.4:
            sound = sound + 0.05  # an offset, of what came after the clipping
        channels = draw.choice((1, 2))
        path = tmp_path / f"{side}.wav"
        soundfile.write(path, np.stack([sound.clip(-1.0, 1.0)] * channels, axis=1), rate, subtype=subtype)
        takes.append(read(path))
        rates.append(rate)
    found = own_takes(takes)
    assert found.sample_rate == min(rates)
    first, second = found.sounds
    assert first.shape == second.shape and np.all(np.isfinite([first, second]))
    assert max(abs(float(one.mean())) for one in found.sounds) < 2e-3
