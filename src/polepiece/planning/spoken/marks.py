"""Marks: what each stretch of a sentence is. The longest reading of a stretch wins; a fault wins over an equal one."""

import re
from dataclasses import dataclass
from functools import cache

from polepiece.guitar import Guitar
from polepiece.planning.complaint_word import listed
from polepiece.planning.faults import FAULTS
from polepiece.planning.spoken.asides import asides
from polepiece.planning.spoken.dynamic_words import BY_NAME
from polepiece.planning.spoken.likenesses import likenesses
from polepiece.planning.spoken.places import PICKUPS, spans, tuned
from polepiece.planning.spoken.tokens import Token, joined
from polepiece.planning.spoken.touching import touched
from polepiece.planning.spoken.vocabulary import EITHER, Entry, vocabulary


@dataclass(slots=True, kw_only=True)
class Mark:
    """Tokens ``start`` to ``end`` (behind the last): their kind, a value of that kind, and whether it was used."""

    kind: str
    start: int
    end: int
    value: str = ""
    number: int = 0
    entry: Entry | None = None
    used: bool = False


_KINDS = listed("single, singles, humbucker, humbuckers")  # words for a pickup of a kind
_SAYS = frozenset({"more", "less", "not", "nor", "neither", "as", "is", "are", "sounds", "be", "very", "so"})
_NOTES = frozenset({"note", "notes", "sound", "sounds", "tone", "tones", "chord", "chords"})
_HANDLED = re.compile(
    r"\b(?:touch\w*|hold\w*|grab\w*|grip\w*|hands?|fingers?|palms?|let go(?: of)?)( on| off| is| of| the| my)*$"
)
_RANK = {
    "fault": 0,
    "aside": 1,
    "past": 1,
    "setting": 1,
    "string": 2,
    "position": 2,
    "pickup": 3,
    "several": 3,
    "quality": 4,
}


@cache
def _faults() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple((one.words[0], re.compile(rf"\b(?:{said})(?!\w)")) for one in FAULTS for said in one.said)


def marks_of(tokens: tuple[Token, ...], guitar: Guitar | None) -> list[Mark]:
    """Return marks that cover every token, in their order; kind "unknown" where nothing is known."""
    found = [*_by_pattern(tokens, guitar), *_by_phrase(tokens)]
    found.sort(key=lambda one: (one.start - one.end, _RANK.get(one.kind, 5), one.start))
    taken: list[Mark | None] = [None] * len(tokens)
    out: list[Mark] = []
    for one in found:
        if not any(taken[one.start : one.end]):
            taken[one.start : one.end] = [one] * (one.end - one.start)
            out.append(one)
    out += [one for one in found if one.kind == "pickup" and one not in out and _inside_a_fault(one, taken, tokens)]
    for place, token in enumerate(tokens):
        if taken[place] is None:
            out.append(Mark(kind="stop" if token.stop else "unknown", start=place, end=place + 1, value=token.word))
    return sorted(out, key=lambda one: one.start)


def _inside_a_fault(pickup: Mark, taken: list[Mark | None], tokens: tuple[Token, ...]) -> bool:
    """Tell whether a fault names its pickup, "noise from the neck pickup when"; a bridge that is touched is a part."""
    over = taken[pickup.start]
    before = joined(tokens[max(pickup.start - 4, 0) : pickup.start])
    return over is not None and over.kind == "fault" and not _HANDLED.search(before)


def _by_pattern(tokens: tuple[Token, ...], guitar: Guitar | None) -> list[Mark]:
    text = joined(tokens)
    starts, ends, at = {}, {}, 0
    for place, token in enumerate(tokens):
        starts[at], ends[at + len(token.word)] = place, place + 1
        at += len(token.word) + 1
    found = [(m.start(), m.end(), "fault", name) for name, pattern in _faults() for m in pattern.finditer(text)]
    found += [(start, end, "fault", name) for start, end, name in touched(text)]
    found += [(start, end, "quality", name) for start, end, name in likenesses(text)]
    out = []
    aside = [(start, end, kind, text[start:end]) for start, end, kind in asides(text)]
    for start, end, kind, value in (*found, *spans(text, guitar), *aside):
        end = start + len(text[start:end].rstrip())
        start = end - len(text[start:end].lstrip())
        if start in starts and end in ends and starts[start] < ends[end]:
            mark = Mark(kind=kind, start=starts[start], end=ends[end], value=value)
            if kind == "quality":
                mark.entry = Entry(said=BY_NAME[value])
            out.append(mark)
    fifth = "".join(map(str, tuned(guitar).get("a", ()))) or "5"
    out += [
        Mark(kind="string", start=n, end=n + 1, value=fifth)
        for n, one in enumerate(tokens)
        if one.capital and one.word == "a" and (_listed_letter(tokens, n) or (n > 0 and not tokens[n - 1].stop))
    ]
    return out


def _listed_letter(tokens: tuple[Token, ...], place: int) -> bool:
    """Tell whether a capital letter begins a list of strings: "A and D are weak"."""
    following = tokens[place + 1 : place + 3]
    return len(following) == 2 and following[0].word in ("and", ",", "/") and following[1].capital


def _is_pickup(following: tuple[str, ...]) -> bool:
    """Tell whether a pickup is named next: "the neck", "bridge"."""
    return any(
        one in PICKUPS or one in _KINDS
        for one in (following[1:] if following[:1] in (("the",), ("my",)) else following[:1])
    )


def _is_strength(words: tuple[str, ...], place: int) -> bool:
    """Tell whether "clear" or "strong" says how much, ", strong", "a clear lack", not what: "not have clear"."""
    before, after = words[place - 1] if place else "", words[place + 1] if place + 1 < len(words) else ""
    denied = words[place] == "clear" and "not" in words[max(place - 3, 0) : place]
    return before not in _SAYS and after not in _NOTES and not denied


def _by_phrase(tokens: tuple[Token, ...]) -> list[Mark]:
    known = vocabulary()
    words = tuple(one.word for one in tokens)
    out = []
    for start in range(len(words)):
        for end in range(start + 1, min(start + known.longest, len(words)) + 1):
            phrase = words[start:end]
            if len(phrase) > 1 and phrase[-1] in ("on", "in") and _is_pickup(words[end : end + 2]):
                continue  # "thin on the neck" speaks of the neck, "thin on top" of the top
            if phrase in EITHER and _is_strength(words, start):
                out.append(
                    Mark(kind="strength", start=start, end=end, value=phrase[0], number=known.grammar[phrase][1])
                )
                continue
            if phrase == ("for",) and "too" in words[max(start - 3, 0) : start] and _is_pickup(words[end : end + 2]):
                out.append(Mark(kind="than", start=start, end=end, value="for"))  # "too loud for the neck"
                continue
            if phrase in known.grammar and phrase not in EITHER:
                kind, number = known.grammar[phrase]
                out.append(Mark(kind=kind or "filler", start=start, end=end, value=" ".join(phrase), number=number))
            if phrase in known.entries:
                out.append(
                    Mark(kind="quality", start=start, end=end, value=" ".join(phrase), entry=known.entries[phrase])
                )
    return out
