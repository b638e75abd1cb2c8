"""What must not be done, as it is said: "leave the bridge alone and buy nothing"; to fields of `Constraints`."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.planning.complaint_word import listed
from polepiece.planning.fault import SOLDERER
from polepiece.planning.faults import FAULTS
from polepiece.planning.spoken.likenesses import likenesses
from polepiece.planning.spoken.limit_rules import EVERY, RULES, THING_OF
from polepiece.planning.spoken.limit_sounds import MADE, MADE_PLAIN, Values
from polepiece.planning.spoken.places import PICKUPS
from polepiece.planning.spoken.reading import read
from polepiece.planning.spoken.tokens import joined, plain, tokenise
from polepiece.planning.spoken.vocabulary import mended, spelt

_FILLER = frozenset(
    listed(
        """a, an, the, and, or, but, please, i, it, is, be, to, of, my, we, you, he, she, want, would, like, should,
        must, can, do, not, no, only, just, with, for, that, this, any, so, keep, in, on, at, also, then, as, are, have,
        has, need, needs, will, let, us, me, thanks, too, them, they"""
    )
) | frozenset(".,;:!?()/+")  # what need not be accounted for
_CAUTIONED = frozenset(name for one in FAULTS if one.caution and one.by != SOLDERER for name in one.words)
_WORDS = frozenset(
    [one for rule in RULES for said in rule.said for one in spelt(said, 3)]
    + [one for said in THING_OF for one in said.split()]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsRead:
    """What limits were understood as: fields of `Constraints`, and both halves in words."""

    text: str
    values: Values
    understood: tuple[str, ...] = ()
    not_used: tuple[str, ...] = ()
    slips: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    start: int
    end: int
    words: str
    values: Values


def read_limits(text: str, guitar: Guitar | None = None) -> LimitsRead:
    """Read limits as they are said; ``understood`` is empty where nothing is known.

    Parameters
    ----------
    text : str
        Such as "leave the bridge alone, no soldering, under 20".
    guitar : Guitar, optional
        The names of its pickups.
    """
    names = {} if guitar is None else {one.name.lower(): one.name for one in guitar.pickups}
    known = dict(PICKUPS) | names
    tokens = tuple(mended(one, _WORDS | frozenset(known)) for one in tokenise(text))
    said = joined(tokens)
    taken = _longest(_matches(said, tuple(known)))
    values: dict[str, object] = {}
    for one in taken:
        _merge(values, {key: _named(value, known, guitar) for key, value in one.values.items()})
    slips = tuple((one.typed, one.word) for one in tokens if one.slip)
    told = [f'"{typed}" read as "{read}"' for typed, read in slips]
    told += [f'"{said[one.start : one.end].strip()}": {one.words}' for one in taken]
    return LimitsRead(
        text=text, values=values, understood=tuple(told if taken else ()), not_used=_unused(said, taken), slips=slips
    )


@lru_cache(maxsize=8)
def _patterns(pickups: tuple[str, ...]) -> tuple[tuple[int, re.Pattern[str]], ...]:
    one_of = "|".join(sorted(map(re.escape, pickups), key=len, reverse=True))
    return tuple(
        (place, re.compile(rf"(?<!\w)(?:{said.replace('{pickups}', one_of)})(?!\w)"))
        for place, rule in enumerate(RULES)
        for said in rule.said
    )


def _matches(said: str, pickups: tuple[str, ...]) -> Iterable[_Found]:
    for place, pattern in _patterns(pickups):
        for one in pattern.finditer(said):
            if one[0].strip():
                yield _Found(start=one.start(), end=one.end(), words=RULES[place].words, values=RULES[place].sets(one))


def _longest(found: Iterable[_Found]) -> list[_Found]:
    """Return the longest readings that do not overlap, in their order."""
    taken: list[_Found] = []
    for one in sorted(found, key=lambda one: (one.start - one.end, one.start)):
        if all(one.end <= other.start or one.start >= other.end for other in taken):
            taken.append(one)
    return sorted(taken, key=lambda one: one.start)


def _merge(values: dict[str, object], more: Values) -> None:
    for key, value in more.items():
        old = values.get(key)
        both = isinstance(old, tuple) and isinstance(value, tuple)
        values[key] = tuple(dict.fromkeys((*old, *value))) if both else value  # type: ignore[misc]


def _named(value: object, known: Mapping[str, str], guitar: Guitar | None) -> object:
    """Return pickups by their names."""
    if isinstance(value, tuple):
        if EVERY in value:
            return ("neck", "bridge") if guitar is None else tuple(one.name for one in guitar.pickups)
        return tuple(_named(one, known, guitar) for one in value)
    return known.get(value, value) if isinstance(value, str) else value


def _unused(said: str, taken: list[_Found]) -> tuple[str, ...]:
    """Return what was left over, words that carry nothing taken off its ends."""
    left, at = [], 0
    for one in taken:
        left.append(said[at : one.start])
        at = one.end
    out = []
    for run in (*left, said[at:]):
        words = run.split()
        while words and words[0] in _FILLER:
            words = words[1:]
        while words and words[-1] in _FILLER:
            words = words[:-1]
        if words:
            out.append(" ".join(words))
    return tuple(out)


# ---------------------------------------------------------------- limits said beside a complaint


def _complains(found: LimitsRead, guitar: Guitar | None) -> bool:
    """Tell whether what a limit leaves over names a complaint: "keep the pots" leaves none, "boomy" does."""
    try:
        return any(read(one, guitar).items for one in found.not_used)
    except InputError:
        return True


def _mended(clause: str) -> str:
    return joined([mended(one, _WORDS) for one in tokenise(clause)])


def _says(clauses: list[str], guitar: Guitar | None) -> bool:
    """Tell whether a clause complains of anything."""
    return any(one.word is not None for clause in clauses for one in read(clause, guitar).items)


def _endangers(clause: str, guitar: Guitar | None) -> bool:
    """Tell whether a clause tells a fault that needs a caution: "no hum until I touch the bridge" limits nothing."""
    return any(one.word is not None and one.word.name in _CAUTIONED for one in read(clause, guitar).items)


_CLAUSES = re.compile(
    r"\s*(?:[,;!]|\.(?!\d)|\bbut\b|\bthough\b|\byet\b|(?=\b(?:without|unless (?:that|it|this) costs?)\b)"
    r"|\band (?=(?:please |also )*"
    r"(?:keep|leave|no|do|don't|dont|nothing|must|only|never|i|it|buy|spend|stay|not|we|he|she|give|make)\b))\s*",
    re.IGNORECASE,
)
_CUE = re.compile(
    r"\b(?:hands off|(?:not|don't|dont) (?:make|let|get)|refuse|got|keep|kept"
    r"|must|should|has to|never|stays?|without|unless|leave|only|nothing|use|using|max|maximum"
    r"|at most|under|within|lose|losing|loss of|expense|sacrific\w*|heights?|ceramics?|ferrites?"
    r"|up to|budget|vintage|collect\w*|original|heirloom|valuable|reversible|undo\w*|undone|free|cheap\w*|minutes?"
    r"|mins?"
    r"|hours?|solder\w*|iron|shopping|buy\w*|spend\w*|pay\w*|money|opene?d?|opening|apart|touch\w*|chang\w*"
    r"|swap\w*|own|owned|i have"
    r"|no more than|no new|no parts|rewir\w*|drill\w*|flip\w*|alone|euros?|dollars?|pounds?|€|\$|£)\b|[€$£]",
    re.IGNORECASE,
)
_BESIDE_A_COMPLAINT = re.compile(
    r"\b(?:not|no) (?:\w+ )?louder than\b|^\s*(?:not|no) (?:\w+ )?(?:louder|quieter|weaker|softer|darker"
    r"|thinner|duller)\s*$",
    re.IGNORECASE,
)  # by itself it may be one
_BESIDE_A_WISH = re.compile(  # "warmer, but not muddy please", "please no brighter, just louder"
    rf"^\s*(?:please )?(?:not|no) (?:too )?(?:{'|'.join((*MADE, *MADE_PLAIN))})(?: please)?\s*$"
    r"|^\s*not at the (?:cost|expense|price) of\b",
    re.IGNORECASE,
)
_WISHES = re.compile(r"\b(?:more|less|want|need|wish|would like|please|could use|make|give|\w{3,}er)\b", re.IGNORECASE)
_NO_MORE = re.compile(
    r"^\s*(?:but )?(?:no|not) (?:any )?(?:more|less|extra) (?:of )?(?:the )?\w+(?: \w+)?\s*$", re.IGNORECASE
)
_ONLY_THERE = re.compile(
    r"^\s*(?:but )?(?:only|just) (?:on |in |at |with )?(?:the |my )?(?P<name>[\w ]+?)(?: pickup| one)?\s*$",
    re.IGNORECASE,
)
_LEAVE_IT = re.compile(
    r"^\s*(?:(?:so|and|please|also) )*(?:(?:do not|don't|dont|never|not) (?:you )?(?:touch|change|move|alter|mess with)"
    r"|leave|keep) (?:it|that|this|that one|this one)(?: alone| as it is| as is| be| the way it is"
    r"| that way)?\s*[.!]?\s*$",
    re.IGNORECASE,
)
_THAT_ONE = re.compile(r"\b(?:it|this one|that one)\b(?=.*\bthan\b)", re.IGNORECASE)


def said_apart(text: str, guitar: Guitar | None = None) -> tuple[str, str]:
    """Return a sentence as its complaint and the limits that are said with it, either of them "" where there is none.

    A clause is a limit where all of it is understood as one: "neck muddy, but leave the bridge alone" gives
    ("neck muddy", "leave the bridge alone").

    Parameters
    ----------
    text : str
    guitar : Guitar, optional
        The names of its pickups.
    """
    complaint: list[str] = []
    limits: list[str] = []
    head, colon, rest = text.partition(":")
    if (
        colon
        and _CUE.search(head)
        and (first := read_limits(head, guitar)).understood
        and not _complains(first, guitar)
    ):
        text = f"{head};{rest}"  # "no iron, no shopping: bridge too spiky"
    clauses = [one for one in _CLAUSES.split(text) if one]
    names = [*PICKUPS, *([one.name.lower() for one in guitar.pickups] if guitar is not None else [])]
    pickup = next((one for one in re.findall(r"\w+", text.lower()) if one in names), "")
    last = ""  # the pickup that was spoken of last
    for clause in clauses:
        named = [one for one in re.findall(r"\w+", clause.lower()) if one in names]
        only = _ONLY_THERE.match(clause)
        if only and only["name"].lower() in names and complaint and not last:
            complaint[-1] += f" on the {only['name']}"  # "a bit bright, but only the bridge"
            continue
        whole = _THAT_ONE.sub(pickup, clause, count=1) if pickup else clause
        if last and _LEAVE_IT.match(clause) and not _says(complaint[-1:], guitar):
            whole = f"leave the {last} alone"  # "the neck is great, don't touch it"
        cue = any(_CUE.search(one) for one in (whole, _mended(clause)))
        cue = cue or (len(clauses) > 1 and _BESIDE_A_COMPLAINT.search(clause) is not None)
        wishes = any(_WISHES.search(one) for one in clauses if one is not clause)
        cue = cue or (wishes and _BESIDE_A_WISH.match(clause) is not None)
        cue = cue or (bool(complaint) and _NO_MORE.match(clause) is not None)
        cue = cue and not clause.lower().lstrip().startswith("if only")  # a wish
        cue = cue and not likenesses(plain(clause)) and not _endangers(clause, guitar)
        last = named[-1] if named else last
        found = read_limits(whole, guitar) if cue else None
        if found is not None and found.understood and not _complains(found, guitar):
            limits.append(whole)
        else:
            complaint.append(clause)
    return (text, "") if not limits else (", ".join(complaint), ", ".join(limits))
