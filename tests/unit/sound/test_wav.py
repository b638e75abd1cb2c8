"""Sound files: what is read back, and everything that is refused with a reason."""

import io
import os
import struct

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.errors import InputError, MeasurementError
from polepiece.sound import decode, read, to_bytes, write

RATE = 48000
SOUND = 0.5 * np.sin(2 * np.pi * 220.0 * np.arange(RATE) / RATE)
BOTH = np.stack([SOUND, 0.3 * SOUND], axis=1)


@pytest.mark.parametrize("rate", [44100, 48000, 88200, 96000, 176400, 192000])
@pytest.mark.parametrize("sound", [SOUND, BOTH], ids=["mono", "stereo"])
@pytest.mark.parametrize(("subtype", "step"), [("PCM_16", 2**-15), ("PCM_24", 2**-23), ("FLOAT", 2**-24)])
def test_what_is_written_comes_back_within_half_a_step(tmp_path, rate, sound, subtype, step):
    path = write(tmp_path / "a.wav", sound, rate, subtype=subtype)
    found = read(path)
    assert found.sample_rate == rate
    assert found.samples.shape == sound.shape
    assert found.channels == (1 if sound.ndim == 1 else 2)
    assert found.duration == pytest.approx(sound.shape[0] / rate)
    assert found.subtype == subtype
    assert np.max(np.abs(found.samples - sound)) <= 0.51 * step
    assert found.peak == np.max(np.abs(found.samples))


@pytest.mark.parametrize(("ending", "kind"), [("flac", "FLAC"), ("aiff", "AIFF"), ("wav", "WAV")])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24"])
def test_files_of_other_programs_are_read(tmp_path, ending, kind, subtype):
    path = tmp_path / f"take.{ending}"
    soundfile.write(path, BOTH, RATE, format=kind, subtype=subtype)
    assert np.max(np.abs(read(path).samples - BOTH)) < 2**-15


@pytest.mark.parametrize(
    ("kind", "subtype"), [("WAVEX", "PCM_24"), ("RF64", "PCM_24"), ("WAV", "DOUBLE"), ("AIFF", "FLOAT")]
)
def test_rarer_relatives_are_read(tmp_path, kind, subtype):
    path = tmp_path / "take.bin"
    soundfile.write(path, SOUND, RATE, format=kind, subtype=subtype)
    assert np.max(np.abs(read(path).samples - SOUND)) < 1e-6


@settings(max_examples=25, deadline=None)
@given(
    values=st.lists(st.floats(-1.0, 1.0), min_size=2, max_size=60).filter(lambda v: max(v) - min(v) > 1e-5),
    channels=st.sampled_from([1, 2]),
)
def test_flac_bytes_hold_24_bits_of_any_sound(values, channels):
    sound = np.array(values[: len(values) // channels * channels]).reshape(-1, channels).squeeze()
    back, rate = soundfile.read(io.BytesIO(to_bytes(np.atleast_1d(sound), RATE)))
    assert rate == RATE
    assert np.max(np.abs(back - sound)) <= 2**-23


def refused(path, words, kind=MeasurementError):
    with pytest.raises(kind) as caught:
        read(path)
    assert words in str(caught.value)
    assert str(path) in str(caught.value)
    assert "BytesIO" not in str(caught.value)


def test_places_that_are_no_recording(tmp_path):
    refused(tmp_path / "missing.wav", "no such file", InputError)
    refused(tmp_path, "is a directory", InputError)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.wav")
        refused(tmp_path / "pipe.wav", "not a regular file", InputError)


def test_an_empty_file(tmp_path):
    path = tmp_path / "empty.wav"
    path.write_bytes(b"")
    refused(path, "0 bytes")


@pytest.mark.parametrize("kind", ["WAV", "AIFF", "FLAC", "RF64"])
@pytest.mark.parametrize("share", [0.5, 0.99])
def test_a_file_that_is_cut_short(tmp_path, kind, share):
    path = tmp_path / "cut.bin"
    soundfile.write(path, np.random.default_rng(0).uniform(-1, 1, RATE), RATE, format=kind, subtype="PCM_24")
    data = path.read_bytes()
    path.write_bytes(data[: int(share * len(data))])
    with pytest.raises(MeasurementError, match=r"cut short|damaged"):
        read(path)


@pytest.mark.parametrize("kind", ["WAV", "AIFF", "FLAC"])
def test_no_prefix_of_a_file_is_taken_for_a_whole_one(tmp_path, kind):
    path = tmp_path / "cut.bin"
    soundfile.write(path, np.random.default_rng(0).uniform(-1, 1, 300), RATE, format=kind, subtype="PCM_24")
    data = path.read_bytes()
    for count in range(len(data)):
        path.write_bytes(data[:count])
        with pytest.raises(MeasurementError):
            read(path)


def test_a_header_without_sound(tmp_path):
    for kind in ("WAV", "AIFF", "RF64"):
        path = tmp_path / f"none.{kind.lower()}"
        soundfile.write(path, np.zeros((0, 1)), RATE, format=kind, subtype="PCM_24")
        with pytest.raises(MeasurementError, match=r"no sound \(0 samples\)"):
            read(path)


def patched(tmp_path, offset, layout, value):
    """A WAV file with one header field overwritten."""
    data = bytearray(to_bytes(SOUND, RATE, container="WAV", subtype="PCM_16"))
    struct.pack_into(layout, data, offset, value)
    path = tmp_path / "patched.wav"
    path.write_bytes(bytes(data))
    return path


def test_headers_that_contradict_themselves(tmp_path):
    data = to_bytes(SOUND, RATE, container="WAV", subtype="PCM_16")
    size = data.index(b"data") + 4  # behind the comment that says who wrote it
    assert data[12:16] == b"fmt "
    refused(patched(tmp_path, 34, "<H", 24), "contradicts itself")
    refused(patched(tmp_path, 34, "<H", 17), "17 bits")
    refused(patched(tmp_path, 32, "<H", 4), "contradicts itself")
    refused(patched(tmp_path, 28, "<I", 12345), "byte rate")
    refused(patched(tmp_path, size, "<I", 0xFFFFFFFF), "never finished")
    refused(patched(tmp_path, size, "<I", 0x7FFFFFFF), "cut short")


def test_twelve_channels_eight_kilohertz_and_too_long(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(path, np.tile(SOUND[:1000, None], (1, 12)), RATE)
    refused(path, "12 channels; 1 or 2")
    soundfile.write(path, SOUND, 8000)
    refused(path, "8000 Hz; 44100 to 192000")
    soundfile.write(path, np.tile(SOUND[:44100], 1801).astype(np.float32), 44100, subtype="PCM_16")
    refused(path, "the limit is 30 minutes")


def test_not_a_number_infinite_silent_and_still(tmp_path):
    path = tmp_path / "a.wav"
    for bad in (np.nan, np.inf, -np.inf):
        spoiled = SOUND.copy()
        spoiled[77] = bad
        soundfile.write(path, spoiled, RATE, subtype="FLOAT")
        refused(path, "samples are NaN or infinite, the first 0.0016 s after the beginning (sample 78)")  # 77/48000
    for level in (0.0, 0.25):
        soundfile.write(path, np.full(RATE, level), RATE, subtype="PCM_24")
        refused(path, "is silent")


def test_garbage_and_other_formats(tmp_path):
    path = tmp_path / "a.wav"
    rng = np.random.default_rng(9)
    for size in (1, 10, 43, 44, 5000):
        path.write_bytes(rng.bytes(size))
        refused(path, "not sound that can be read")
    path.write_text("string,note\n1,E4\n" * 50)
    refused(path, "not sound that can be read")
    soundfile.write(path, SOUND, RATE, format="OGG", subtype="VORBIS")
    refused(path, "the format is OGG")
    soundfile.write(path, SOUND, RATE, format="WAV", subtype="ULAW")
    refused(path, "ULAW")


@settings(max_examples=150, deadline=None)
@given(changes=st.lists(st.tuples(st.integers(0, 60), st.integers(0, 255)), min_size=1, max_size=4))
def test_no_damage_to_a_header_raises_anything_else(tmp_path_factory, changes):
    data = bytearray(to_bytes(SOUND[:500], RATE, container="WAV"))
    for place, value in changes:
        data[place] = value
    path = tmp_path_factory.getbasetemp() / "fuzz.wav"
    path.write_bytes(bytes(data))
    try:
        found = read(path)
    except MeasurementError:
        return
    assert np.all(np.isfinite(found.samples)) and found.samples.shape[0] > 0


def test_a_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    path = tmp_path / "out.wav"
    write(path, SOUND, RATE)
    before = path.read_bytes()

    def fail(*_):
        raise OSError(28, "No space left on device")

    for step in ("replace", "fsync"):
        with monkeypatch.context() as patch:
            patch.setattr(os, step, fail)
            with pytest.raises(InputError, match="No space left"):
                write(path, 0.5 * SOUND, RATE)
        assert path.read_bytes() == before
        assert [one.name for one in tmp_path.iterdir()] == ["out.wav"]


def test_an_interrupt_leaves_nothing_behind(tmp_path, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path / "out.wav", SOUND, RATE)
    assert list(tmp_path.iterdir()) == []


def test_an_input_is_never_overwritten(tmp_path):
    source = write(tmp_path / "take.wav", SOUND, RATE)
    before = source.read_bytes()
    link = tmp_path / "link.wav"
    link.symlink_to(source)
    for target in (source, link, tmp_path / "sub" / ".." / "take.wav"):
        (tmp_path / "sub").mkdir(exist_ok=True)
        with pytest.raises(InputError, match="choose another name"):
            write(target, 0.1 * SOUND, RATE, inputs=[source])
    assert source.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "sound", "options", "words"),
    [
        ("a.mp3", SOUND, {}, "must end in .wav or .flac"),
        ("no/a.wav", SOUND, {}, "does not exist"),
        ("a.wav", 3.0 * SOUND, {}, "would be clipped"),
        ("a.wav", np.array([0.0, np.nan]), {}, "NaN"),
        ("a.wav", np.zeros(0), {}, "not empty"),
        ("a.wav", np.zeros((5, 3)), {}, "not empty"),
        ("a.flac", SOUND, {"subtype": "FLOAT"}, "whole numbers only"),
    ],
)
def test_what_cannot_be_written_is_refused_and_leaves_nothing(tmp_path, name, sound, options, words):
    with pytest.raises(InputError, match=words):
        write(tmp_path / name, sound, RATE, **options)
    assert list(tmp_path.iterdir()) == []


def test_floating_point_may_pass_full_scale(tmp_path):
    path = write(tmp_path / "hot.wav", 3.0 * SOUND, RATE, subtype="FLOAT")
    assert read(path).peak == pytest.approx(1.5, rel=1e-4)


def test_a_rate_that_is_no_whole_number_is_refused():
    with pytest.raises(InputError, match="sample rate"):
        to_bytes(SOUND, 44100.5)


@pytest.mark.parametrize("container", ["WAV", "FLAC"])
def test_bytes_read_as_the_file_does(container):
    sound = 0.5 * np.random.default_rng(0).uniform(-1, 1, 4800)
    data = to_bytes(sound, 48_000, container=container)
    found = decode(data, f"C:\\takes\\one.{container.lower()}")
    assert found.path.name == f"one.{container.lower()}"
    assert np.max(np.abs(found.samples - sound)) < 2.0**-23


def test_bytes_that_are_no_sound_are_named_after_the_file():
    with pytest.raises(MeasurementError, match=r"^holiday\.wav: this is not sound"):
        decode(b"GIF89a" + bytes(200), "holiday.wav")
