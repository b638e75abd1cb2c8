"""Complaints as they are spoken, each to a word of the table: "neck muddy and bridge a bit too bright".

>>> parse_complaint("bridge: piercing, strong")[0].strength
3
"""

import difflib
import re
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from polepiece.errors import InputError
from polepiece.guitar import PLACES, Complaint, Guitar, positions_of
from polepiece.planning.complaint_word import Word
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.spoken import Item, Reading, louder_than, plain, read

_NAMES: dict[str, Word] = {}
for _word in WORDS:
    for _name in (_word.name, *_word.synonyms):
        _NAMES.setdefault(plain(_name), _word)
_PAIR = re.compile(r"^louder than (?:the )?(?P<other>.+)$")


def known_words() -> tuple[str, ...]:
    """Return every word and synonym that is understood."""
    return tuple(_NAMES)


@lru_cache(maxsize=4096)
def word_of(text: str) -> Word:
    """Return the entry of the table that ``text`` stands for, the first where it holds several.

    Raises
    ------
    InputError
        When nothing in it is known; the message names the nearest.
    """
    said = plain(text)
    if said in _NAMES:
        return _NAMES[said]
    if found := _PAIR.match(text.strip()):
        return louder_than(found["other"])
    words = [one.word for one in read(text).items if one.word is not None]
    if words:
        return words[0]
    raise InputError(_unknown(text))


def _unknown(text: str) -> str:
    said = plain(text)
    near = difflib.get_close_matches(said, list(_NAMES), n=2, cutoff=0.5)
    for one in said.split():
        near += difflib.get_close_matches(one, list(_NAMES), n=1, cutoff=0.7)
    near = list(dict.fromkeys(near))[:3]
    hint = f"the nearest is {' or '.join(near)}" if near else "for example muddy, piercing, thin, weak"
    return f'"{text}" is not a complaint word that is known; {hint}.'


def read_complaint(text: str, guitar: Guitar | None = None) -> Reading:
    """Read one sentence and say what was understood and what was not used.

    Raises
    ------
    InputError
        When no word of it is known, or a pickup is named that the guitar does not have.
    """
    place, _, rest = text.partition(":")
    named = _switched(place, guitar) if rest else None
    reading = read(text if named is None else rest, guitar)
    if named is not None:
        items = tuple(replace(one, target=replace(one.target, position=named)) for one in reading.items)
        reading = replace(reading, text=text, items=items, understood=(f"position {named}", *reading.understood))
    if not reading.items:
        raise InputError(_unknown(text) if reading.strange else _empty(reading))
    return reading


def _switched(place: str, guitar: Guitar | None) -> str | None:
    """Return the position of the guitar's switch that has this name; None where it names something else."""
    if guitar is None or place.strip().lower() in {one.name.lower() for one in guitar.pickups}:
        return None
    names = {one.name.lower(): one.name for one in positions_of(guitar) if one.name not in PLACES}
    return names.get(place.strip().lower())


def _empty(reading: Reading) -> str:
    said = "; ".join((*reading.understood, *reading.not_used))
    more = f" ({said})" if said else ""
    return f'"{reading.text}" names no complaint{more}; write for example "neck: muddy" or "not enough treble".'


def complaints_of(reading: Reading) -> tuple[Complaint, ...]:
    """Return the complaints of a sentence; what it denies is none."""
    return tuple(_complaint(one) for one in reading.items if one.word is not None)


def _complaint(item: Item) -> Complaint:
    """Return an item as a record: its text where that alone says the same word, else the word's name."""
    assert item.word is not None
    text = item.text
    try:
        same = word_of(text).name == item.word.name
    except InputError:
        same = False
    if not same:
        text = item.word.name
    sudden = "suddenly " if item.sudden and not text.startswith("suddenly") else ""
    return Complaint(
        word=sudden + text, pickup=item.target.pickup, strength=item.strength, position=item.target.position
    )


def parse_complaint(text: str, guitar: Guitar | None = None) -> tuple[Complaint, ...]:
    """Read one complaint as spoken.

    Parameters
    ----------
    text : str
        Such as "neck: muddy", "bridge: piercing, strong", "low E booms", "the neck is louder than the bridge".
    guitar : Guitar, optional
        Its pickups are then the only ones accepted.

    Raises
    ------
    InputError
        When no word is known, or a pickup is named that the guitar does not have.
    """
    return complaints_of(read_complaint(text, guitar))


def read_complaints(texts: Iterable[str], guitar: Guitar | None = None) -> tuple[Reading, ...]:
    """Read several sentences; every fault is reported at once.

    Raises
    ------
    InputError
        With one line for each that is not understood.
    """
    found: list[Reading] = []
    faults = []
    for text in texts:
        try:
            found.append(read_complaint(text, guitar))
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    return tuple(found)


def parse_complaints(texts: Iterable[str], guitar: Guitar | None = None) -> tuple[Complaint, ...]:
    """Read several complaints; every fault is reported at once.

    Raises
    ------
    InputError
        With one line for each that is not understood.
    """
    return tuple(one for reading in read_complaints(texts, guitar) for one in complaints_of(reading))


def spelled_out(complaints: Iterable[Complaint], guitar: Guitar | None = None) -> tuple[Complaint, ...]:
    """Return complaints of one word each: what a guitar file says in a sentence is read here.

    Raises
    ------
    InputError
        When a word is not known.
    """
    out: list[Complaint] = []
    for one in complaints:
        said = sudden(one.word)[1]
        if said in _NAMES or _PAIR.match(one.word):
            out.append(one)
            continue
        items = [item for item in read(one.word, guitar).items]
        if not items:
            raise InputError(_unknown(one.word))
        for item in (item for item in items if item.word is not None):
            made = _complaint(item)
            out.append(
                replace(
                    made, pickup=made.pickup or one.pickup, position=made.position or one.position,
                    strength=made.strength if item.strength != 2 else one.strength,
                )
            )  # fmt: skip
    return tuple(out)


def sudden(text: str) -> tuple[bool, str]:
    """Tell whether a complaint came suddenly, and return the word without that."""
    said = plain(text)
    return said.startswith("suddenly "), said.removeprefix("suddenly ")
