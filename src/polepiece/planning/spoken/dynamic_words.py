"""Words that are made from what is said: one string, a group of strings, one pickup against another, a setting."""

from dataclasses import replace

from polepiece.planning.complaint_word import View, Word
from polepiece.planning.complaint_words import WORDS

BY_NAME: dict[str, Word] = {one.name: one for one in WORDS}
UNEVEN, BENDS = "uneven strings", "E slides off on bends"
PAIR, SPLIT, DOWN = "neck and bridge do not match", "split too thin or quiet", "dark when volume is down"
GROUPS = ("bass strings", "treble strings")
_TURNED: dict[tuple[str, bool], str] = {
    ("bass strings", True): "bass strings loud", ("treble strings", False): "bass strings loud",
    ("bass strings", False): "treble strings loud", ("treble strings", True): "treble strings loud",
}  # fmt: skip


def one_string(number: int, *, loud: bool) -> Word:
    """Return the word for one string that stands out, or stays behind."""
    way, sign = ("down", -1.0) if loud else ("up", 1.0)
    return Word(
        name=f"string {number} {'loud' if loud else 'weak'}",
        means="one string is out of balance",
        aims={f"string{number}": sign, "unevenness": -0.3},
        stands_for=f"level of string {number} against the mean of all",
        first=(f"screw{number}={way} 0.25 turn",),
        first_words=f"its screw {way} a quarter turn at a time",
        kind="strings",
        causes=("strings", "setup"),
    )


def strings_words(numbers: str, *, loud: bool, sides: tuple[str, str] | None = ("456", "123")) -> list[Word]:
    """Return the words for strings by number, "456": a side of the board is one word, else one a string.

    ``sides``: the wound and the plain strings; None where all are alike, and none stands against another kind.
    """
    key = "".join(sorted(set(numbers)))
    if sides is not None and key in sides:
        return [BY_NAME[_TURNED[GROUPS[sides.index(key)], loud]]]
    return [one_string(int(one), loud=loud) for one in dict.fromkeys(numbers)]


def louder_than(other: str) -> Word:
    """Return the word for a pickup that is louder than ``other``."""
    word = BY_NAME[PAIR]
    return replace(
        word, name=f"louder than {other}", synonyms=(), other=other, means=f"level above that of {other}",
        first_words=f"this one down, {other} up",
    )  # fmt: skip


def in_setting(word: Word, setting: View) -> Word:
    """Return a word as it is heard in a setting: judged there."""
    names = {"split": f"{word.name} when split", "volume down": f"{word.name} with the volume down"}
    if not word.aims or word.view or not setting:
        return word
    if setting == "split" and word.name in ("thin", "weak"):
        return BY_NAME[SPLIT]
    if setting == "volume down" and word.name in ("dull", "muddy", "woolly"):
        return BY_NAME[DOWN]
    return replace(word, name=names[setting], synonyms=(), view=setting)
