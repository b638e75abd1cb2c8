"""Every number of a state has words and a unit, in one place."""

import re
from pathlib import Path

import pytest

from polepiece.bench import NUMBER_WORDS, number_unit, number_words

SOURCE = Path(__file__).parents[3] / "src" / "polepiece"


@pytest.mark.parametrize(
    ("key", "words", "unit"),
    [
        ("level_db", "level", "dB"),
        ("bands_db.presence", "presence against the level", "dB"),
        ("attack_minus_sustain_db.lows", "attack against sustain, lows", "dB"),
        ("string_balance_db.3", "string 3 against the others", "dB"),
        ("partial_shift_cents.6", "detuning of string 6", "cents"),
        ("inductance_1khz_h", "inductance at 1 kHz", "H"),
        ("resonance_q", "resonance q", "1"),  # no words of its own: its key, read out
    ],
)
def test_words_and_unit(key: str, words: str, unit: str) -> None:
    assert (number_words(key), number_unit(key)) == (words, unit)


def test_no_page_or_command_has_its_own_words_for_bands() -> None:
    """Whoever types them again says in the end something else."""
    typed = re.compile("|".join(re.escape(f'"{NUMBER_WORDS[f"bands_db.{band}"]}"') for band in ("lows", "presence")))
    assert typed.search('"bands_db.lows": "lows against the level"')  # the pattern finds what it is for
    guilty = [path.name for path in SOURCE.rglob("*.py") if typed.search(path.read_text("utf-8"))]
    assert guilty == []
