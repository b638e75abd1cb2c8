"""Every phrase that is known, made from the tables: words with their forms, faults, grammar; slips of one letter."""

import re
from dataclasses import dataclass, field
from functools import cache, lru_cache

from polepiece.planning.complaint_word import Word
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.faults import FAULTS
from polepiece.planning.spoken.common_words import ENGLISH
from polepiece.planning.spoken.grammar_words import COMMON, GRAMMAR, STRENGTHS, VERBAL, VERBS
from polepiece.planning.spoken.likenesses import THINGS
from polepiece.planning.spoken.places import SETTINGS
from polepiece.planning.spoken.tokens import Token, tokenise
from polepiece.planning.spoken.touching import known_words

Phrase = tuple[str, ...]
EITHER: frozenset[Phrase] = frozenset({("clear",), ("strong",)})
"""How strong a complaint is, ", strong", or what it says: "more strong", "nor clear"; what stands before tells."""
_VOWELS = "aeiouy"
_PLAIN_VERBS = frozenset({"go", "get", "take"})  # by themselves they say nothing: "gone" does, "going" not
_CHUNK = re.compile(
    r"(?:[a-z]\??|\(\?:[a-z|?]*\)\??)+"
)  # of a pattern: letters and groups of letters, a word or several
_LONG = re.compile(r"(.)\1{2,}")
_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_BESIDE = {one: row[max(n - 1, 0) : n + 2] for row in _ROWS for n, one in enumerate(row)}  # keys that a finger slips to


@dataclass(slots=True)
class Entry:
    """What one phrase of the tables can say."""

    said: Word | None = None  # a complaint by itself
    too: Word | None = None
    much: Word | None = None
    not_enough: Word | None = None
    little: Word | None = None

    @property
    def noun(self) -> bool:
        """Something of which there is too much or too little."""
        return self.much is not None or self.little is not None

    @property
    def excess(self) -> Word | None:
        """What "too much of it" says."""
        return self.too or self.much

    @property
    def want(self) -> Word | None:
        """What "not enough of it" says."""
        return self.not_enough or self.little


@dataclass(slots=True)
class Vocabulary:
    """Phrases to entries and to kinds of mark; ``forms`` are comparatives."""

    entries: dict[Phrase, Entry] = field(default_factory=dict)
    grammar: dict[Phrase, tuple[str, int]] = field(default_factory=dict)
    comparatives: set[str] = field(default_factory=set)
    words: set[str] = field(default_factory=set)  # all
    plain: set[str] = field(default_factory=set)  # as the tables write them
    longest: int = 1


def _regular(word: str) -> tuple[tuple[str, ...], str]:
    """Return the regular forms of a word, and its comparative."""
    soft = word[:-1] + "i" if word.endswith("y") and len(word) > 2 and word[-2] not in _VOWELS else word
    stem = word[:-1] if word.endswith("e") else soft
    if _doubles(word):
        stem = word + word[-1]
    ending = "es" if soft != word or word.endswith(("s", "sh", "ch", "x", "z")) else "s"
    going = stem if stem != soft or soft == word else word
    forms = (soft + ending, going + "ing", stem + "ed", stem + "est", soft + "ness", soft + "ly", word + "ish")
    return forms, stem + "er"


def _doubles(word: str) -> bool:
    """Tell whether the last letter is doubled before an ending: thin, thinner."""
    if not 2 < len(word) < 6 or word[-1] in "aeiouywxh":
        return False
    return word[-2] in _VOWELS and not any(one in _VOWELS for one in word[:-2])


@cache
def vocabulary() -> Vocabulary:
    """Return the vocabulary of the tables, made once."""
    made = Vocabulary()
    for kind, phrases in GRAMMAR.items():
        for phrase in phrases:
            made.grammar.setdefault(_phrase(phrase), (kind, 0))
    for strength, phrases in STRENGTHS.items():
        for phrase in phrases:
            made.grammar[_phrase(phrase)] = ("strength", strength)
    for word in WORDS:
        if word.kind != "fault":
            _take(made, word)
    known = [one for phrase in (*made.grammar, *made.entries) for one in phrase]
    known += [one for word in WORDS for name in (word.name, *word.synonyms) for one in _phrase(name)]
    known += [one for fault in FAULTS for name in (*fault.words, *fault.said) for one in spelt(name)]
    known += known_words()
    known += [one for _, pattern in SETTINGS for one in spelt(pattern)]
    made.words |= set(known)
    made.plain |= {one for phrases in GRAMMAR.values() for name in phrases for one in _phrase(name)}
    for word in WORDS:
        said = (word.name, *word.synonyms, *word.too, *word.much, *word.not_enough, *word.little)
        made.plain |= {one for name in said for one in _phrase(name)}
    _conjugate(made)
    made.words |= {one for phrase in made.grammar for one in phrase}
    made.longest = max(map(len, (*made.grammar, *made.entries)))
    return made


def _conjugate(made: Vocabulary) -> None:
    """Add every form of a verb that begins a phrase of grammar: "vanish" and "vanished" to "vanishes"."""
    base = {form: verb for verb in VERBS for form in verb_forms(verb)}
    for phrase, found in list(made.grammar.items()):
        alone = len(phrase) == 1 and base.get(phrase[0]) in _PLAIN_VERBS
        if found[0] in VERBAL and phrase[0] in base and not alone:
            for form in verb_forms(base[phrase[0]]):
                other = (form, *phrase[1:])
                if other not in made.entries or (form.endswith("ing") and found[0] in ("less", "more")):
                    made.entries.pop(other, None)
                    made.grammar.setdefault(other, found)


@cache
def verb_forms(verb: str) -> tuple[str, ...]:
    """Return a verb with its regular forms, and the irregular ones where it has them."""
    (third, going, past, *_), _ = _regular(verb)
    third = f"{verb}es" if verb.endswith("o") else third
    return (verb, third, going, *VERBS[verb]) if VERBS[verb] else (verb, third, going, past)


def _take(made: Vocabulary, word: Word) -> None:
    for slot, names in (
        ("said", (word.name, *word.synonyms)), ("too", word.too), ("much", word.much),
        ("not_enough", word.not_enough), ("little", word.little),
    ):  # fmt: skip
        for name in names:
            phrase = _phrase(name)
            _put(made, phrase, slot, word)
            forms, comparative = _regular(phrase[-1])
            if len(phrase) > 1:
                _put(made, (*phrase[:-1], forms[0]), slot, word)
                continue
            for form in (*forms, comparative):
                _put(made, (form,), slot, word)
            made.comparatives.add(comparative)


def _put(made: Vocabulary, phrase: Phrase, slot: str, word: Word) -> None:
    if phrase in made.grammar and phrase not in EITHER:
        return
    entry = made.entries.setdefault(phrase, Entry())
    if getattr(entry, slot) is None:
        setattr(entry, slot, word)


@cache
def _phrase(text: str) -> Phrase:
    return tuple(one.word for one in tokenise(text))


def spelt(pattern: str, least: int = 4) -> list[str]:
    """Return the words that a pattern spells, "tingl(?:e|es|ing)" three of them, of so many letters at least.

    A piece of a word is none: "tingl" would make a slip of "tingle".
    """
    chunks = _CHUNK.findall(re.sub(r"\\[a-z]", " ", pattern))
    return [one for chunk in chunks for one in _spellings(chunk) if len(one) >= least]


def _spellings(chunk: str) -> list[str]:
    out = [""]
    for group, inside, may in re.findall(r"(\(\?:([a-z|?]*)\)|[a-z])(\??)", chunk):
        parts = [one for part in inside.split("|") for one in _spellings(part)] if inside else [group]
        out = [one + part for one in out for part in ([*parts, ""] if may else parts)]
    return out


def mended(token: Token, names: frozenset[str] = frozenset()) -> Token:
    """Return a token as the known word that is one letter away, or as it is where it is known or nothing is near."""
    meant = _meant(token.word, names)
    return token if meant is None else token.mended(meant)


@lru_cache(maxsize=4096)  # a sentence is read several times: for limits, for complaints, for what is not used
def _meant(word: str, names: frozenset[str]) -> str | None:
    known = vocabulary().words | names
    if (
        word in known
        or word in COMMON
        or any(word in things for things in THINGS.values())
        or len(word) < 3
        or not word.isalpha()
    ):
        return None
    for short in (_LONG.sub(r"\1\1", word), _LONG.sub(r"\1", word)):  # "boooomy"
        if short != word and (short in known or short in COMMON):
            return short
    if word in ENGLISH:
        return None
    near = sorted(one for one in known if one_off(word, one))
    plain = vocabulary().plain
    if len(word) < 6:  # "sourd" is no slip of a form that nobody writes
        near = [one for one in near if one in names or one in plain or one in vocabulary().comparatives]
    near.sort(key=lambda one: (one not in names, one not in plain, one[0] != word[0], -len(one)))
    return near[0] if near else None


def _near(typed: str, meant: str) -> bool:
    """Tell whether a letter is easily put for another: a key beside it, or both vowels."""
    return typed in _BESIDE.get(meant, "") or (typed in _VOWELS and meant in _VOWELS)


def one_off(typed: str, meant: str) -> bool:
    """Tell whether one letter was missed, doubled, added, exchanged or swapped with its neighbour."""
    a, b = len(typed), len(meant)
    if abs(a - b) > 1 or b < 3:
        return False
    start = next((n for n, (one, other) in enumerate(zip(typed, meant)) if one != other), min(a, b))
    if (
        typed[0] != meant[0]
        and typed[:2] != meant[1::-1]
        and not (a == b > 4 and typed[0] in _BESIDE.get(meant[0], ""))
    ):
        return False
    rest, other = typed[start:], meant[start:]
    if b < 4:  # of a short word only a doubled letter
        return a == b + 1 and rest[1:] == other and start > 0 and typed[start] == typed[start - 1]
    if a == b:
        swapped = rest[:2] == other[:2][::-1] and rest[2:] == other[2:]
        return swapped or (rest[1:] == other[1:] and b > 4 and (b > 6 or _near(rest[0], other[0])))
    if a == b + 1 and b < 6 and start == b and typed[-1] != typed[-2]:
        return False  # another word of another language: "sourd"
    return rest[1:] == other if a > b else rest == other[1:]
