"""Words of the trade for what a guitar file has its own words for: one table, read in file, command and page alike.

A word with one reading is read so. A word with several is refused with all of them. Words are what people write on
parts and say over a bench (common practice, no source); none is the name of a product. What belongs to a construction
is asked of its record, so that one more construction needs no line here.
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import cache
from itertools import chain
from math import log2

from polepiece.guitar.constructions import CONSTRUCTIONS, Construction
from polepiece.guitar.file.units import Unit, unit_with_suffix
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import CATALOGUE_GRADES
from polepiece.strings import USUAL_TUNINGS, note_frequency

Words = Mapping[str, tuple[str, ...]]  # what is meant, and what is said for it

# ---------------------------------------------------------------- grades of magnets

ROMAN = {"2": "ii", "3": "iii", "4": "iv", "5": "v", "6": "vi", "8": "viii", "9": "ix"}
SHORT = {"alnico": ("a", "al", "aln", "alnico"), "ceramic": ("c", "cer", "ceramic", "ferrite")}


def _grade_words(slug: str) -> tuple[str, ...]:
    """Return the short forms of a grade: alnico-5 is said A5, AV, Al5, AlNiCo V."""
    family, _, rest = slug.partition("-")
    number, dash, more = rest.partition("-")
    spoken = [number, *([ROMAN[number]] if number in ROMAN and family == "alnico" else [])]
    heads = SHORT.get(family, ())
    if more == "unoriented":
        plain = [f"{head}{joint}{one}" for head in heads for one in spoken for joint in ("", "-")]
        return tuple(f"{before}{one}" for one in plain for before in ("unoriented-", "uo-", "uo"))
    tail = f"{dash}{more}" if more else ""
    return tuple(
        f"{head}{joint}{one}{tail}" for head in heads for one in spoken for joint in ("", "-")
        if f"{head}{joint}{one}{tail}" != slug
    )  # fmt: skip


GRADES: Words = {slug: _grade_words(slug) for slug in CATALOGUE_GRADES}

# ---------------------------------------------------------------- how pickups are built, by what their records answer

CONSTRUCTION_WORDS: tuple[tuple[tuple[str, ...], Callable[[Construction], bool]], ...] = (
    (("single-coil", "single", "singlecoil", "single-coil-pickup"), lambda one: len(one.rows) == 1),
    (("double-coil", "dual-coil", "twin-coil", "two-coils"), lambda one: len(one.rows) == 2),
    (("two-bars", "two-bar", "single-coil-with-two-bars", "two-bar-magnets"), lambda one: one.bars == 2),
    (("single-coil-with-a-bar", "bar-magnet-single"), lambda one: one.bars == 1 and len(one.rows) == 1),
)
"""Words that several constructions answer to; a word of one alone stands in its record, `Construction.also`."""
CONSTRUCTIONS_SAID: Words = {
    one.slug: (*one.also, *chain.from_iterable(words for words, fits in CONSTRUCTION_WORDS if fits(one)))
    for one in CONSTRUCTIONS
}

# ---------------------------------------------------------------- other words, by what they are said of

POSITIONS: Words = {
    "neck": ("front", "rhythm", "fingerboard"), "middle": ("centre", "center", "mid"),
    "bridge": ("back", "rear", "treble", "lead"),
}  # fmt: skip
METALS: Words = {
    "nickel-silver": ("german-silver", "nickel-brass", "white-brass", "new-silver", "nickel"),
    "brass": ("yellow-brass", "plain-brass", "nickel", "nickel-plated-brass", "gold-plated-brass"),
    "steel": ("iron", "nickel-plated-steel", "chromed-steel", "chrome-plated-steel", "tin-plate", "tinplate"),
}
WRAPS: Words = {
    "nickel-plated-steel": ("nickel-plated", "nps", "nickel-wound", "nickel"), "pure-nickel": ("nickel",),
    "stainless": ("stainless-steel", "steel"), "none": ("plain",),
}  # fmt: skip
SAID: Mapping[str, Words] = {
    "grade": GRADES, "construction": CONSTRUCTIONS_SAID, "position": POSITIONS, "material": METALS, "wrap": WRAPS,
}  # fmt: skip
"""By the name of the field that a word is typed for."""

SETS = {"eights": "8", "nines": "9", "tens": "10", "elevens": "11", "twelves": "12"}
BASS_SETS = {
    "40-100": "40 60 80 100", "45-100": "45 65 80 100", "45-105": "45 65 85 105", "50-105": "50 70 85 105",
    "45-130": "45 65 85 105 130",
    "9-54": "9 11 16 24w 32 42 54", "10-56": "10 13 17 26w 36 46 56", "10-59": "10 13 17 26w 36 46 59",
    "10-62": "10 13 17 30w 42 52 62", "10-74": "10 13 17 30w 42 54 64 74", "9-65": "9 11 16 24w 32 42 54 65",
}  # fmt: skip
"""Gauges of the usual sets of basses and of seven and eight strings, string 1 first: common practice, no source."""
COUNTS = ("", "one", "two", "three", "four", "five")
TUNINGS: Mapping[str, tuple[str, ...]] = {
    "standard": ("E4", "B3", "G3", "D3", "A2", "E2"),
    "e-standard": ("E4", "B3", "G3", "D3", "A2", "E2"),
    "drop-d": ("E4", "B3", "G3", "D3", "A2", "D2"),
    "half-step-down": ("Eb4", "Bb3", "Gb3", "Db3", "Ab2", "Eb2"),
    "eb-standard": ("Eb4", "Bb3", "Gb3", "Db3", "Ab2", "Eb2"),
    "d-standard": ("D4", "A3", "F3", "C3", "G2", "D2"),
    "whole-step-down": ("D4", "A3", "F3", "C3", "G2", "D2"),
    "drop-c": ("D4", "A3", "F3", "C3", "G2", "C2"),
    "baritone": ("B3", "F#3", "D3", "A2", "E2", "B1"),
    "b-standard": ("B3", "F#3", "D3", "A2", "E2", "B1"),
}
"""Tunings of six strings by their names, string 1 first."""


# ---------------------------------------------------------------- reading


def said_as(text: str) -> str:
    """Return a word as it is compared: small letters, hyphens for blanks and commas."""
    return re.sub(r"[\s_,]+", "-", text.strip().lower())


def counted(word: str) -> str:
    """Return a word of controls with its numbers in letters: "2-volume-1-tone-3-way" as "two-volumes-one-tone-..."."""
    spelt = re.sub(r"(?<![0-9a-z])([1-5])(?![0-9])", lambda found: COUNTS[int(found[1])], word)
    spelt = re.sub(r"(one|two|three|four|five)-?way", r"\1-way", re.sub("-(?:and|with)-", "-", spelt))
    return re.sub(r"(one|two|three)-?(volume|tone)s?", lambda n: f"{n[1]}-{n[2]}{'s' if n[1] != 'one' else ''}", spelt)


def readings(field: str, text: str) -> tuple[str, ...]:
    """Return what a word of the trade may mean where ``field`` is asked: nothing, one word of ours, or several."""
    word = said_as(text)
    return tuple(meant for meant, words in SAID.get(field, {}).items() if word in words)


@cache  # the schema asks 2000 times for some forty of them
def pattern(field: str, *words: str) -> str:
    """Return the regular expression (of JSON Schema) of the words with one reading, and of ``words``; "" for none."""
    said = {word for group in SAID.get(field, {}).values() for word in group if len(readings(field, word)) == 1}
    if not said:
        return ""
    each = "|".join("".join(_either(letter) for letter in word) for word in sorted({*said, *words}))
    if field != "grade":
        return f"^\\s*(?:{each})\\s*$"
    rough, smooth = ("".join(_either(letter) for letter in one) for one in ("rough-cast", "polished"))
    return f"^\\s*(?:{rough}[-_ ]+)?(?:{each})(?:[-_ ]+(?:{rough}|{smooth}))?\\s*$"


def _either(letter: str) -> str:
    return f"[{letter}{letter.upper()}]" if letter.isalpha() else "[-_ ]+" if letter == "-" else letter


def which_of(text: str, found: tuple[str, ...]) -> str:
    """Refuse a word that may mean several things, with all of them."""
    return f'is "{text}", which may mean {", ".join(found[:-1])} or {found[-1]}; write which.'


def set_called(text: str) -> str:
    """Return the first gauge of a set that is called "tens" or "10s", "" for any other name."""
    word = said_as(text)
    found = re.fullmatch(r"([0-9]{1,2})s", word)
    return found[1] if found else SETS.get(word, "")


def bass_gauges(text: str) -> str:
    """Return the gauges of a set of other than six strings by its first and last ("45-105", ".010-.059"); "" else."""
    parts = [one.strip(' ".').removeprefix("0.").lstrip("0") for one in text.replace("\u2013", "-").split("-")]
    return BASS_SETS.get("-".join(parts), "")


def tuning_called(text: str) -> tuple[str, ...]:
    """Return the notes of a tuning by its name or in one line ("E4 B3 G3 D3 A2 E2"); nothing for one note alone.

    Without octaves, as players write it ("BEADG", "D A D G B E"), each note is the one that is nearest to the usual
    tuning of so many strings, of a bass up to five; the thick string is first, unless the other way fits better.
    """
    notes = tuple(text.replace(",", " ").split())
    if said_as(text) in TUNINGS:
        return TUNINGS[said_as(text)]
    if letters := _letters(text):
        return _near_the_usual(letters)
    return notes if len(notes) > 1 and all(re.fullmatch(r"[A-Ga-g][#b]?-?[0-9]", one) for one in notes) else ()


def _letters(text: str) -> tuple[str, ...]:
    """Return notes that are written without octaves, one behind the other or apart; nothing for any other text."""
    if re.fullmatch(r"(?:[A-G][#b]?){4,8}", text.strip()):
        return tuple(re.findall(r"[A-G][#b]?", text))
    apart = text.replace(",", " ").replace("-", " ").split()
    whole = 4 <= len(apart) <= 8 and all(re.fullmatch(r"[A-Ga-g][#b]?", one) for one in apart)
    return tuple(one[:1].upper() + one[1:] for one in apart) if whole else ()


def _near_the_usual(letters: tuple[str, ...]) -> tuple[str, ...]:
    """Return these notes with octaves, string 1 first: of both directions the one nearer to the usual tuning."""
    thick_first, thin_first = (_with_octaves(one) for one in (letters[::-1], letters))
    return thick_first[1] if thick_first[0] <= thin_first[0] else thin_first[1]


def _with_octaves(letters: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    """Return how many semitones notes are off the usual tuning altogether, and the notes with their octaves."""
    usual = USUAL_TUNINGS[len(letters)]
    off, notes = 0, []
    for letter, there in zip(letters, usual):
        near = [f"{letter}{octave}" for octave in range(6)]
        steps = [abs(round(12.0 * log2(note_frequency(one) / note_frequency(there)))) for one in near]
        off += min(steps)
        notes.append(near[steps.index(min(steps))])
    return off, tuple(notes)


_TAPER = re.compile(r"\s*(?:[A-Ca-c]\s*([0-9.,]+\s*[kKmM].*)|([0-9.,]+\s*[kKmM])\s*[A-Ca-c])\s*")


def without_taper(text: str) -> str:
    """Return a pot as it is marked, "A500k" or "250kB", without the letter of its taper."""
    found = _TAPER.fullmatch(text)
    return (found[1] or found[2]) if found else text


def gauge_number(text: str) -> str:
    """Return the number of a wire gauge: "AWG 42", "42 awg", "#42"."""
    found = re.fullmatch(r"\s*(?:awg|gauge|#|no\.?)?\s*([0-9]{2})\s*(?:awg|ga|gauge)?\s*", text, re.IGNORECASE)
    return found[1] if found else text


def unit_printed(number: Decimal, text: str, key: Parameter, unit: Unit) -> Unit | None:
    """Return the unit in which parts are marked where a bare number cannot be meant in ``unit``; None where it can.

    ".022" for a capacitor is in uF, "5/64" for a length in inches: out of range in the unit of the key, and allowed in
    that one.
    """
    suffix = {"capacitance": "_uf", "length": "_in" if "/" in text else ""}.get(key.dimension, "")
    if not suffix or _within(number, key, unit):
        return None
    other = unit_with_suffix(key.dimension, suffix)
    return other if _within(number, key, other) else None


def _within(number: Decimal, key: Parameter, unit: Unit) -> bool:
    low, high = key.limits(unit)
    return low <= float(number) <= high
