"""Write docs/reference/complaints.md from the tables of words, faults and limits; `--check` only compares."""

import sys
from pathlib import Path

from polepiece.bench import QUANTITIES
from polepiece.planning import FAULTS, WORDS, Word
from polepiece.planning.complaint_word import BASIS
from polepiece.planning.spoken import RULES
from polepiece.planning.spoken.likenesses import THINGS

PAGE = Path(__file__).parents[1] / "docs" / "reference" / "complaints.md"

INTRODUCTION = """\
# Complaints and limits as they are said

*Written by `scripts/write_complaints_page.py` from the tables that read them. Basis of all: {basis}.*

`polepiece plan --complaint "..."` and the page take what a player or a bench would say, several complaints in a
sentence: "neck muddy and bridge a bit too bright", "low E booms", "positions 2 and 4 thin", "the neck is louder
than the bridge".

- **Where**: a pickup (its name, or neck, middle, bridge, front, rear), *both*, *all*; a position of the switch by
  number, counted from the bridge (five places; with two pickups three), "with both on", "in between"; strings by
  number, letter ("low E", "high E") or side ("bass strings"); "with the volume down", "when split". Without any it
  is the guitar. A pickup that was named holds for what follows it, until the next one is named. A label "both:" is
  the position with both on, moved on each of the two; "both pickups" is each by itself.
- **How strong**: "a bit", "slightly" 1; nothing 2; "very", "far too", "!" 3.
- **Which way**: "too much", "less" ask for less; "no", "not enough", "lacks", "more", "should be brighter" ask for
  more; "not muddy" is nothing to do, "not dark enough" is.
- **Against another pickup**: "louder than", "weaker than", "overpowers", "volume drop when I switch to the bridge"
  ask for less distance in level from the one that was said to be louder. Other comparisons ("duller than the
  bridge") are read as the complaint itself.
- A slip of one letter is understood and said. What carries no meaning here is listed as *not used*. Only a phrase
  without any known word is refused, with the nearest.
- The whole phrase is asked for a **fault** before any word of sound: faults are repaired, never voiced.
"""


def cell(text: str) -> str:
    """Text of a cell."""
    return text.replace("|", "/").replace("\n", " ")


def forms(word: Word) -> str:
    """What is said for a word."""
    parts = [", ".join(word.synonyms)]
    for lead, names, tail in (
        ("too ", word.too, ""), ("too much ", word.much, ""), ("not ", word.not_enough, " enough"),
        ("no, not enough ", word.little, ""),
    ):  # fmt: skip
        if names:
            parts.append(f"*{lead.strip()}* {', '.join(names)}{f' *{tail.strip()}*' if tail else ''}")
    return "; ".join(one for one in parts if one)


def asks(word: Word) -> str:
    """What a word asks for, strongest first."""
    if not word.aims:
        return "not computed"
    ordered = sorted(word.aims.items(), key=lambda pair: -abs(pair[1]))
    ways = [f"{QUANTITIES[key].words.partition(' (')[0]} {'up' if weight > 0 else 'down'}" for key, weight in ordered]
    return ", ".join(ways)


def word_table() -> str:
    """The table of words that are voiced, or known and not computed."""
    rows = [
        f"| **{one.name}** | {cell(forms(one))} | {cell(asks(one))} | {cell(_stands(one))} | {cell(one.first_words)} |"
        for one in WORDS
        if one.kind != "fault"
    ]
    head = ["| word | also said | asks for | why these | tried first |", "|---|---|---|---|---|"]
    return "\n".join([*head, *rows])


def _stands(word: Word) -> str:
    return word.stands_for.replace("low_level", "the low end that reaches the amplifier")


def fault_table() -> str:
    """The table of faults."""
    rows = [
        "| "
        + " | ".join(
            cell(text) for text in (f"**{one.name}**", ", ".join(one.words), one.check, one.by, one.cure, one.caution)
        )
        + " |"
        for one in FAULTS
    ]
    head = ["| fault | said for example | check | by | cure | caution |", "|---|---|---|---|---|---|"]
    return "\n".join([*head, *rows])


def limit_table() -> str:
    """What limits are understood as."""
    return "\n".join(f"- {one}" for one in dict.fromkeys(rule.words for rule in RULES))


def likeness_table() -> str:
    """What a sound is likened to."""
    return "\n".join(f"- **{word}**: {', '.join(things)}" for word, things in THINGS.items())


LIKENESSES = """\
## Likenesses

Behind "like", "through", "under", "wrapped in", "turns to" and the like, a thing stands for the complaint of its kind
("like a telephone", "under a blanket"):"""

STRINGS = """\
One string, or several, that stands out or stays behind ("B string too loud", "weak high E"): the level of that string
against the mean of all, and its screw. A side of the board: *bass strings loud*, *treble strings loud* below."""

LIMITS = """\
## Limits

`--constraint` takes the short forms (`keep-output`, `reversible-only`, `do-not-open`, `no-solder`, `keep-strings`,
`magnetiser`, `owned=...`, `budget=...`, `price-bar=...`) and sentences such as "leave the bridge alone and buy
nothing". Understood are:"""


def page() -> str:
    """The whole page."""
    parts = [
        INTRODUCTION.replace("{basis}", BASIS), STRINGS, f"## Words\n\n{word_table()}",
        f"{LIKENESSES}\n\n{likeness_table()}",
        f"## What belongs to the gate\n\n{fault_table()}", f"{LIMITS}\n\n{limit_table()}",
    ]  # fmt: skip
    return "\n\n".join(one.rstrip("\n") for one in parts) + "\n"


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(PAGE.read_text(encoding="utf-8") != page())
    PAGE.write_text(page(), encoding="utf-8")
