"""One scale for "heard", and a difference in a sentence."""

import pytest

from polepiece.bench import QUANTITIES, difference_words, heard_scale, span_words
from tests.tables import every


@pytest.mark.parametrize(
    ("size", "sure", "word"),
    [(2.0, True, "likely"), (-2.5, True, "likely"), (2.5, False, "maybe"), (1.0, True, "maybe"), (0.99, True, "hardly"),
     (0.5, True, "hardly"), (0.49, True, "no"), (0.0, True, "no")],
)  # fmt: skip
def test_the_scale_in_thresholds(size: float, sure: bool, word: str) -> None:
    assert heard_scale(size, sure=sure) == word


@every(QUANTITIES)
def test_up_and_down_are_said_otherwise(key: str) -> None:
    quantity = QUANTITIES[key]
    assert quantity.short, "a bench has a word for it"
    assert quantity.moved_words(1.5) != quantity.moved_words(-1.5)
    assert quantity.beside_words(9.0) != quantity.beside_words(-9.0)
    assert "1.5" in quantity.moved_words(1.5)
    assert not any(piece in quantity.beside_words(87.6) for piece in ("{", "}", "87", "88"))  # no number is said
    assert "{" not in quantity.moved_words(-1.5)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("wound", -2.0, "the wound strings step back by 2.0 dB against the plain ones"),
        ("level", 1.2, "1.2 dB louder"),
        ("level", -1.2, "1.2 dB quieter"), ("presence", 0.5, "0.5 dB more presence"),
        ("presence", -0.5, "0.5 dB less presence"), ("unevenness", -0.6, "the strings are 0.6 dB more even"),
        ("resonance", 12.0, "the resonance is 12 % higher"),
    ],
)  # fmt: skip
def test_signs_choose_the_words(key: str, value: float, words: str) -> None:
    assert QUANTITIES[key].moved_words(value) == words


def test_a_difference_in_a_sentence() -> None:
    loud = difference_words({"level_db": 2.4, "bands_db.presence": -0.6}, {"level_db": (2.0, 2.9)})
    assert loud == "2.4 dB louder (2.0 to 2.9); 0.6 dB less presence: likely to be heard"
    same = difference_words(
        {"level_db": -0.2, "bands_db.highs": 0.1, "wound_minus_plain_db": -1.4},
        {"level_db": (-0.6, 0.3), "wound_minus_plain_db": (-1.8, -1.1)},
    )
    assert same == (
        "as loud as before within 0.6 dB; the wound strings step back by 1.4 dB against the plain ones (1.1 to 1.8): "
        "maybe heard, side by side"
    )
    little = difference_words({"level_db": -0.4, "bands_db.highs": 0.1}, {"level_db": (-0.9, -0.3)})
    assert little == "as loud as before within 0.9 dB: hardly heard, even side by side"
    unsure = difference_words({"level_db": 2.4}, {"level_db": (-0.2, 4.0)})
    assert unsure == "2.4 dB louder (-0.2 to +4.0): maybe heard, side by side"


def test_an_interval_wears_signs_only_where_it_needs_them() -> None:
    assert span_words((-1.8, -1.2)) == " (1.2 to 1.8)"
    assert span_words((-0.1, 0.4)) == " (-0.1 to +0.4)"
    assert span_words(None) == ""
