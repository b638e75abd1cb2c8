"""Complaints as they are spoken: "neck: muddy", "bridge: piercing, strong", each to a word of the table.

>>> parse_complaint("bridge: piercing, strong")[0].strength
3
"""

import difflib
import re
from collections.abc import Iterable

from polepiece.errors import InputError
from polepiece.guitar import PICKUP_POSITIONS, Complaint, Guitar, positions_of
from polepiece.planning.complaint_words import WORDS, Word

STRENGTHS = {
    "slight": 1, "slightly": 1, "a little": 1, "a bit": 1, "mild": 1, "clear": 2, "clearly": 2, "strong": 3,
    "strongly": 3, "very": 3, "much": 3, "bad": 3, "badly": 3, "1": 1, "2": 2, "3": 3,
}  # fmt: skip
SEVERAL = ("both", "neck+middle", "middle+bridge", "all")  # positions of a switch with several pickups on
_LEAD = re.compile(r"^(?:it |is |are |the |sounds? |too |rather |quite |so )+")
_NUMBERED = {"low e": 6, "a": 5, "d": 4, "g": 3, "b": 2, "high e": 1, "thin e": 1} | {
    f"string {n}": n for n in range(1, 7)
}
_ONE_STRING = re.compile(
    r"^(?P<a>string [1-6]|low e|high e|thin e|[adgb])(?: string)? (?:is )?(?:too )?"
    r"(?P<way>jumps out|sticks out|loud|weak|quiet)$"
)


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.strip().lower().replace("-", " ").replace("’", "'"))


_NAMES: dict[str, Word] = {}
for _word in WORDS:
    for _name in (_word.name, *_word.synonyms):
        _NAMES.setdefault(_plain(_name), _word)


def known_words() -> tuple[str, ...]:
    """Return every word and synonym that is understood."""
    return tuple(_NAMES)


def word_of(text: str) -> Word:
    """Return the entry of the table that ``text`` stands for.

    Raises
    ------
    InputError
        When it is not known; the message names the nearest.
    """
    plain = _plain(text)
    for candidate in (plain, _LEAD.sub("", plain)):
        if candidate in _NAMES:
            return _NAMES[candidate]
    found = _ONE_STRING.match(_LEAD.sub("", plain))
    if found is not None:
        return _one_string(_NUMBERED[found["a"]], loud=found["way"] in ("jumps out", "sticks out", "loud"))
    close = difflib.get_close_matches(plain, list(_NAMES), n=2, cutoff=0.5)
    hint = f"the nearest is {' or '.join(close)}" if close else "for example muddy, piercing, thin, weak"
    raise InputError(f'"{text}" is not a complaint word that is known; {hint}.')


def _one_string(number: int, *, loud: bool) -> Word:
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


def parse_complaint(text: str, guitar: Guitar | None = None) -> tuple[Complaint, ...]:
    """Read one complaint as spoken: an optional pickup, words, an optional strength.

    Parameters
    ----------
    text : str
        Such as "neck: muddy", "bridge: piercing, strong", "both: thin", "uneven strings".
    guitar : Guitar, optional
        Its pickups are then the only ones accepted.

    Raises
    ------
    InputError
        When a word or a pickup is not known, or no word is given.
    """
    where, colon, rest = text.partition(":")
    place = where.strip().lower() if colon else ""
    position = _position(place, guitar) if guitar is not None and place else None
    pickup = _pickup(where.strip(), guitar) if colon and position is None else None
    words, strength = [], 2
    for part in (p for p in re.split(r"[,;]", rest if colon else text) if p.strip()):
        plain = _plain(part)
        if plain in STRENGTHS:
            strength = STRENGTHS[plain]
            continue
        for lead in ("very ", "a little ", "a bit ", "slightly ", "strongly "):
            if plain.startswith(lead) and plain not in _NAMES:
                strength, plain = STRENGTHS[lead.strip()], plain.removeprefix(lead)
        words += _words(plain)
    if not words:
        raise InputError(f'"{text}" names no complaint; write for example "neck: muddy".')
    return tuple(Complaint(word=one, pickup=pickup, strength=strength, position=position) for one in words)


def parse_complaints(texts: Iterable[str], guitar: Guitar | None = None) -> tuple[Complaint, ...]:
    """Read several complaints; every fault is reported at once.

    Raises
    ------
    InputError
        With one line for each that is not understood.
    """
    found: list[Complaint] = []
    faults = []
    for text in texts:
        try:
            found += parse_complaint(text, guitar)
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    return tuple(found)


def _words(plain: str) -> list[str]:
    """One known word, or several joined by "and"; "suddenly" stays with its word for the fault gate."""
    try:
        word_of(plain)
        return [plain]
    except InputError as whole:
        if plain.startswith("suddenly "):
            return [f"suddenly {one}" for one in _words(plain.removeprefix("suddenly "))]
        parts = re.split(r"\s+(?:and|but|\+)\s+", plain)
        if len(parts) == 1:
            raise whole
        return [one for part in parts for one in _words(part)]


def sudden(text: str) -> tuple[bool, str]:
    """Tell whether a complaint came suddenly, and return the word without that."""
    plain = _plain(text)
    return plain.startswith("suddenly "), plain.removeprefix("suddenly ")


def _position(place: str, guitar: Guitar) -> str | None:
    """Return the position of the switch that is meant; None for a pickup by itself."""
    if len(guitar.pickups) > 1 and place in SEVERAL:
        return place
    named = [one.name for one in positions_of(guitar) if one.name.lower() == place]
    return named[0] if named and place not in [one.name.lower() for one in guitar.pickups] else None


def _pickup(name: str, guitar: Guitar | None) -> str | None:
    if name.lower() in ("", "guitar", "all", "both"):
        return None
    if guitar is not None:
        named = next((one.name for one in guitar.pickups if one.name.lower() == name.lower()), name.lower())
        return guitar.pickup(named).name
    return name.lower() if name.lower() in PICKUP_POSITIONS else name
