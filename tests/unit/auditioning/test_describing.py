"""Numbers before and after: nothing moves without a change, a tone control darkens, and the sone obeys its own law."""

import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from polepiece.auditioning import Comparison, compare, describe
from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.moves import parse_changes


@pytest.fixture(scope="module")
def found(guitar: Guitar, bench: Bench) -> Comparison:
    moves = [parse_changes(["tone=2"]), parse_changes(["lower=1.5mm"]), ()]
    return compare(guitar, "neck", moves, phrase="single-notes-low", bench=bench)


def test_no_change_moves_nothing(found: Comparison) -> None:
    pytest.importorskip("mosqito")
    for one in describe(found, 3):
        assert one.difference == pytest.approx(0.0, abs=1e-9), one.key
        assert not one.note


def test_a_tone_control_darkens(found: Comparison) -> None:
    rows = {one.key: one for one in describe(found, 1)}
    centroid = rows["centroid_hz"]
    assert centroid.difference is not None
    assert centroid.threshold is not None
    assert centroid.difference < -centroid.threshold
    pytest.importorskip("mosqito")
    sharpness = rows["sharpness_acum"]
    assert sharpness.difference is not None
    assert sharpness.difference < -0.04


@pytest.mark.parametrize("level", [60.0, 75.0, 90.0])
def test_loudness_is_that_of_the_true_level(found: Comparison, level: float) -> None:
    pytest.importorskip("mosqito")
    rows = {one.key: one for one in describe(found, 2, listening_db_spl=level)}
    sone, phon = rows["loudness_sone"], rows["loudness_level_phon"]
    for one, other in ((sone.before, phon.before), (sone.after, phon.after)):
        assert one == pytest.approx(2.0 ** ((other - 40.0) / 10.0), rel=1e-3)  # ISO 532-1, from 1 sone on
    # 10 phon double, a decibel of a band of many tones is about one phon; BS.1770 agrees within half
    assert phon.difference == pytest.approx(found.difference_db(2), rel=0.5)
    assert phon.difference < -1.0


def test_without_the_library_the_rest_stands(found: Comparison, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "mosqito", None)
    rows = {one.key: one for one in describe(found, 1)}
    assert "polepiece[descriptors]" in rows["sharpness_acum"].note
    assert rows["sharpness_acum"].note.startswith("not computed")
    assert rows["loudness_sone"].before is None
    assert rows["centroid_hz"].difference is not None


def test_a_sound_too_short_for_an_attack_says_so(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    path = tmp_path / "short.wav"
    soundfile.write(path, 0.1 * np.random.default_rng(3).standard_normal(22_000), 48_000)
    short = compare(guitar, "neck", [parse_changes(["tone=2"])], recording=path, bench=bench)
    (row,) = [one for one in describe(short, 1) if one.key == "low_attack_db"]
    assert row.difference is None
    assert "0.5 s" in row.note


def test_what_is_out_of_range_is_said(found: Comparison) -> None:
    for words, arguments in (("40 to 100", {"listening_db_spl": -23.0}), ("0.5 to 60 s", {"seconds": 0.1})):
        with pytest.raises(InputError, match=words):
            describe(found, 1, **arguments)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="1 to 3"):
        describe(found, 0)


def test_channels_that_cancel_say_so(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    one = 0.1 * np.random.default_rng(3).standard_normal(60_000)
    soundfile.write(tmp_path / "twisted.wav", np.stack([one, -one], axis=1), 48_000, subtype="FLOAT")
    twisted = compare(guitar, "neck", [parse_changes(["tone=2"])], recording=tmp_path / "twisted.wav", bench=bench)
    for row in describe(twisted, 1):
        assert row.difference is None
        assert row.note.startswith("not computed")


def test_what_nobody_hears_has_no_sharpness(guitar: Guitar, bench: Bench, tmp_path: Path) -> None:
    """22 Hz at 40 dB SPL lies some 50 dB under the threshold of hearing (ISO 226, memory)."""
    pytest.importorskip("mosqito")
    time = np.arange(96_000) / 48_000
    soundfile.write(tmp_path / "low.wav", 0.2 * np.sin(2 * np.pi * 22.0 * time), 48_000, subtype="FLOAT")
    low = compare(guitar, "neck", [parse_changes(["tone=2"])], recording=tmp_path / "low.wav", bench=bench)
    rows = {one.key: one for one in describe(low, 1, listening_db_spl=40.0)}
    assert rows["loudness_sone"].difference is None
    assert "under 0.1 sone" in rows["sharpness_acum"].note
    assert rows["centroid_hz"].difference == pytest.approx(0.0, abs=0.1)  # one line stays where it is
