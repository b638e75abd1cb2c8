"""A sentence as plain words: lower case, no hyphens, "does not" for "doesn't"; every word knows how it was typed."""

import re
from dataclasses import dataclass, replace

from polepiece.planning.spoken.asides import REPHRASED
from polepiece.planning.spoken.shorthand import ABBREVIATED, CONTRACTED, without_signs

_SHORT = (
    (r"n't$", " not"), (r"'(?:ll)$", " will"), (r"'(?:d)$", " would"), (r"'(?:ve)$", " have"), (r"'(?:re)$", " are"),
    (r"'m$", " am"), (r"'s$", " is"),
)  # fmt: skip
_UP = re.compile(  # "brighten up the neck": the neck is a pickup there, not a way up the board
    r"\b(brighten|liven|fatten|thicken|tighten|sweeten|clean|beef|fill|perk|wake|warm) up (the|my|that)\b"
)
_QUIET = re.compile(
    r"\b(too|to|very|so|more|is|are) quite(?=$| ?[.,;!?]| (?:and|but|on|for|than|with|compared|now|in)\b)"
)
_WERE = re.compile(  # "great if it were not so thin": it is too thin
    r"\b(?:if|only) (?:it|they|(?:the|my) \w+) (?:was|were|is|are)(?: not|n't|nt) (?:so|that|too|quite so) "
)
_REPHRASED = tuple((re.compile(pattern), plainly) for pattern, plainly in REPHRASED)
_TOKEN = re.compile(r"[a-z0-9]+(?:\.[0-9]+)?(?:'[a-z]+)?|[#€$£%]|[.,;:!?+()/]")
STOPS = frozenset(".,;:!?+()/")


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """One word or mark; ``word`` is its plain form after a slip was mended, ``typed`` as it stood."""

    word: str
    typed: str
    capital: bool = False  # typed as one capital letter: a string
    slip: bool = False

    @property
    def stop(self) -> bool:
        """Whether it is a punctuation mark."""
        return self.word in STOPS

    def mended(self, word: str) -> "Token":
        """Return it as the word that was meant."""
        return replace(self, word=word, slip=True)


def plain(text: str) -> str:
    """Return a text in lower case without hyphens, typographic quotes and doubled spaces."""
    text = text.strip().lower().replace("’", "'").replace("`", "'").replace("'n'", " and ")
    text = without_signs(text)
    text = re.sub(r"\bstrings? ([1-9])\s?[‐-―-]\s?([1-9])\b", r"strings \1 to \2", text)
    text = re.sub(r"[‐-―_-]+", " ", re.sub(r"\s[‒-―-]+\s", " , ", text))
    text = re.sub(r"\s+", " ", text)
    text = _WERE.sub(", it is too ", text.replace(" = ", " is like "))
    for pattern, plainly in _REPHRASED:
        text = pattern.sub(plainly, text)
    return _QUIET.sub(r"\1 quiet", _UP.sub(r"\1 \2", text))


def tokenise(text: str) -> tuple[Token, ...]:
    """Return the tokens of a text."""
    capitals = {one.start() for one in re.finditer(r"\b[ABDEG]\b(?!')", text.strip())}
    out: list[Token] = []
    lower = plain(text)
    same = len(lower) == len(text.strip())  # then places in both texts agree
    for found in _TOKEN.finditer(lower):
        typed = found[0]
        whole = CONTRACTED.get(typed) or ABBREVIATED.get(typed, typed)
        for ending, full in _SHORT:
            if whole == typed and "'" in typed:
                whole = re.sub(ending, full, whole)
        capital = same and found.start() in capitals
        out += [Token(word=one, typed=typed, capital=capital) for one in whole.split()]
    return tuple(out)


def joined(tokens: tuple[Token, ...] | list[Token]) -> str:
    """Return tokens as one text of plain words."""
    return " ".join(one.word for one in tokens)
