"""One complaint word: what it means, what stands for it, and what is said for it."""

from dataclasses import dataclass
from typing import Literal

BASIS = "common practice, no source"


def listed(text: str) -> tuple[str, ...]:
    """Return what stands between commas."""
    return tuple(" ".join(one.split()) for one in text.split(",") if one.strip())


Kind = Literal["tone", "level", "strings", "pair", "feel", "fault"]
View = Literal["", "split", "volume down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One complaint word, and the forms in which it is said.

    Plurals, comparatives and the like ("muddier", "booms") and slips of one letter are made from these.
    """

    name: str
    synonyms: tuple[str, ...] = ()  # say the complaint by themselves
    too: tuple[str, ...] = ()  # adjectives: "too warm"; a guitar may well be warm
    much: tuple[str, ...] = ()  # nouns: "too much bass", "less bass"
    not_enough: tuple[str, ...] = ()  # adjectives: "not bright", "should be brighter"
    little: tuple[str, ...] = ()  # nouns: "no treble", "lacks treble", "more treble"
    means: str  # what a bench usually finds behind it
    aims: dict[str, float]  # empty: not computed
    stands_for: str  # why these quantities
    first: tuple[str, ...] = ()  # first free moves that are computed, as changes
    first_words: str  # first free move in words
    kind: Kind = "tone"
    causes: tuple[str, ...] = ()  # cheap causes to rule out, keys of gate.causes_of
    view: View = ""  # the setting in which the complaint is heard
    other: str | None = None  # of a comparison: the pickup that is quieter
