"""What a player or a bench says is read right, and what is not used is said; phrases in `tests/fixtures/spoken`."""

import re

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Complaint
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import complaints_of, read_complaint, spelled_out, sudden, word_of
from polepiece.planning.faults import FAULTS
from polepiece.planning.gate import fault_gate
from polepiece.planning.spoken.grammar_words import COMMON
from polepiece.planning.spoken.tokens import tokenise
from tests.unit.planning.spoken_cases import TWO, cases, complaint_code, in_order, limit_code, of_guitar

SAID = cases("complaints.txt")


@pytest.mark.parametrize(("said", "wanted"), SAID, ids=[said for said, _ in SAID])
def test_a_complaint_is_read_as_it_was_meant(said, wanted):
    assert complaint_code(said) == in_order(wanted)


@pytest.mark.parametrize(("said", "wanted"), cases("limits.txt"))
def test_a_limit_is_read_as_it_was_meant(said, wanted):
    assert limit_code(said) == " ".join(sorted(wanted.split()))


@pytest.mark.parametrize("said", [one for one, wanted in SAID if wanted != "refused"])
def test_the_words_of_a_complaint_say_the_same_alone(said):
    """A job keeps complaints as words: read again, each is the same word."""
    text, of = of_guitar(said)
    reading = read_complaint(text, of)
    for item, complaint in zip((one for one in reading.items if one.word), complaints_of(reading), strict=True):
        assert item.word is not None
        assert word_of(sudden(complaint.word)[1]).name == item.word.name
        assert spelled_out([complaint], of) == (complaint,)


@pytest.mark.parametrize("said", [one for one, _ in SAID])
def test_whatever_holds_a_known_word_is_not_refused_and_says_what_was_used(said):
    text, of = of_guitar(said)
    try:
        reading = read_complaint(text, of)
    except InputError as error:
        assert "is not a complaint word that is known" in str(error)
        return
    assert reading.understood


def test_what_is_not_used_is_said():
    reading = read_complaint("neck muddy since the zebra ate my banana", TWO)
    assert any("muddy" in one for one in reading.understood)
    assert any("zebra" in one for one in reading.not_used)
    assert any("banana" in one for one in reading.not_used)
    assert read_complaint("neck muddy", TWO).not_used == ()


def test_a_bare_noun_is_said_not_guessed():
    reading = read_complaint("treble, and the neck is muddy", TWO)
    assert [one.word.name for one in reading.items if one.word] == ["muddy"]
    assert any("treble" in one and "not said" in one for one in reading.not_used)


@pytest.mark.parametrize(
    ("typed", "meant"), [("mudy", "muddy"), ("brigde", "bridge"), ("piercng", "piercing"), ("harhs", "harsh")]
)
def test_a_slip_of_one_letter_is_understood_and_said(typed, meant):
    reading = read_complaint(f"{typed} and boomy", TWO)
    assert (typed, meant) in reading.slips
    assert any(typed in one and meant in one for one in reading.understood)


@pytest.mark.parametrize("word", ["think", "thing", "home", "book", "hold", "code", "hand", "test", "bend"])
def test_a_common_word_is_no_slip(word):
    assert word in COMMON
    assert read_complaint(f"{word} muddy", TWO).slips == ()


@pytest.mark.parametrize("word", [one for one in WORDS if one.kind != "fault"], ids=lambda one: one.name)
def test_every_form_of_every_word_is_read(word):
    for said in (word.name, *word.synonyms):
        assert word_of(said).name == word.name
    for said in word.much:
        assert word_of(f"too much {said}").name == word.name
    for said in word.little:
        assert word_of(f"not enough {said}").name == word.name
    for said in word.not_enough:
        assert word_of(f"not {said} enough").name == word.name
    for said in word.too:
        assert word_of(f"too {said}").name == word.name


@pytest.mark.parametrize("fault", FAULTS, ids=lambda one: one.key)
def test_every_fault_is_found_by_its_words_and_says_who_looks(fault):
    assert fault.check
    assert fault.cure
    assert fault.by
    for said in fault.words:
        complaints = complaints_of(read_complaint(said, TWO))
        assert fault.name in {one.fault for one in fault_gate(TWO, complaints)}, said


def test_the_gate_is_asked_before_any_word_of_sound():
    found = fault_gate(TWO, complaints_of(read_complaint("neck muddy and it buzzes when I touch the strings", TWO)))
    assert [one.fault for one in found] == ["buzz when the strings are touched"]
    assert "do not play" in found[0].caution


def test_a_sentence_in_the_guitar_file_is_spelled_out():
    (one, other) = spelled_out([Complaint(word="neck muddy and bridge very thin", strength=1)], TWO)
    assert (one.pickup, word_of(one.word).name, one.strength) == ("neck", "muddy", 1)
    assert (other.pickup, word_of(other.word).name, other.strength) == ("bridge", "thin", 3)


def test_plain_words_have_no_contractions_left():
    assert not any(re.search("n't$", one.word) for one in tokenise("isn't doesn't can't won't shouldn't"))
