"""Complaint words: every word of the bench is understood, and the table says what it stands on."""

import pytest

from polepiece.bench.quantities import QUANTITIES
from polepiece.errors import InputError
from polepiece.moves.changes import parse_change
from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.cheap_causes import causes_of
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import known_words, parse_complaint, parse_complaints, word_of
from polepiece.planning.constraints import Constraints
from tests.tables import every
from tests.unit.planning.double_bench import guitar

# Words that a bench hears, from common practice (no source), written down apart from the table under test.
HEARD = """muddy boomy piercing shrill ice-pick harsh brittle glassy fizzy thin dull dark|no bite|weak|too hot
compressed|no dynamics|loose|flubby|woolly|no clarity in chords|nasal|honky|boxy|scooped|lost in the mix|sterile
stiff|spongy|warbling|out of tune up the neck|no sustain|uneven strings|G jumps out|B weak|E slides off on bends
neck and bridge do not match|hollow with both on|split too thin or quiet|hum|buzz|crackle|cuts out|squeals
dark when volume is down""".replace("\n", "|")
WORDS_HEARD = [word for part in HEARD.split("|") for word in (part.split() if part.startswith("muddy") else [part])]


@every(WORDS_HEARD)
def test_every_word_of_the_bench_is_understood(word):
    assert parse_complaint(f"neck: {word}")[0].strength == 2
    assert word_of(word).first_words


def test_words_and_synonyms_are_said_once():
    names = [name.lower().replace("-", " ") for word in WORDS for name in (word.name, *word.synonyms)]
    assert len(names) - len(set(names)) <= 1, sorted(n for n in names if names.count(n) > 1)  # "ice-pick", "ice pick"


@every(WORDS)
def test_the_table_speaks_of_known_quantities_moves_and_causes(word):
    assert set(word.aims) <= set(QUANTITIES)
    assert word.stands_for
    assert word.means
    assert all(parse_change(move).key for move in word.first)
    assert set(word.causes) <= {*causes_of(guitar()), "strings", "cable", "pots", "settings"}
    if not word.aims:
        assert word.kind in ("feel", "fault")
        assert "not computed" in word.stands_for or "gate" in word.stands_for


@pytest.mark.parametrize("word", [w for w in WORDS if w.first], ids=lambda word: word.name)
def test_first_free_moves_are_free_and_among_the_candidates(word):
    found = enumerate_candidates(guitar(), "neck", Constraints(), extra=[(move,) for move in word.first])
    offered = {one.texts: one for one in found.candidates}
    refused = {one.change for one in found.refused}
    for move in word.first:
        assert (move,) in offered or (move,) in refused
        if (move,) in offered:
            assert all(task.free and task.reversible for task in offered[move,].tasks)


@pytest.mark.parametrize(
    ("text", "pickup", "word", "strength"),
    [
        ("neck: muddy", "neck", "muddy", 2),
        ("bridge: piercing, strong", "bridge", "piercing", 3),
        ("bridge: slightly harsh", "bridge", "harsh", 1),
        ("too hot", None, "too hot", 2),
        ("very boomy", None, "boomy", 3),
        ("NECK: Muddy, 1", "neck", "muddy", 1),
    ],
)
def test_a_complaint_is_read_as_spoken(text, pickup, word, strength):
    (found,) = parse_complaint(text, guitar())
    assert (found.pickup, found.word, found.strength) == (pickup, word, strength)


def test_several_words_in_one_breath():
    assert [one.word for one in parse_complaint("neck: muddy and weak")] == ["muddy", "weak"]
    assert [one.word for one in parse_complaint("suddenly thin and harsh")] == ["suddenly thin", "suddenly harsh"]


@pytest.mark.parametrize(
    ("text", "number", "sign"), [("string 4 weak", 4, 1), ("low E too loud", 6, -1), ("a jumps out", 5, -1)]
)
def test_one_string_has_its_own_word(text, number, sign):
    word = word_of(text)
    assert word.aims[f"string{number}"] * sign > 0
    assert f"screw{number}=" in word.first[0]


def test_an_unknown_word_names_the_nearest():
    with pytest.raises(InputError, match=r"nearest is .*muddy"):
        parse_complaint("neck: muuudy")
    with pytest.raises(InputError, match="no pickup called 'middle'"):
        parse_complaint("middle: muddy", guitar())
    with pytest.raises(InputError, match="names no complaint"):
        parse_complaint("neck: strong")


def test_all_faults_come_together():
    with pytest.raises(InputError) as caught:
        parse_complaints(["neck: muuudy", "neck: muddy", "bridge: prsing"])
    assert len(str(caught.value).splitlines()) == 2


def test_known_words_hold_every_name():
    assert {word.name.lower() for word in WORDS} <= set(known_words()) | {"ice-pick"}
