"""What a player or a bench says is read right, and what is not used is said; phrases in `tests/fixtures/spoken`."""

import re
import runpy
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.errors import InputError
from polepiece.guitar import Complaint
from polepiece.guitar.file.guitar_file import parse_guitar
from polepiece.planning.bounds import ROUNDED
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import complaints_of, read_complaint, read_complaints, spelled_out, sudden, word_of
from polepiece.planning.constraints import parse_constraints
from polepiece.planning.faults import FAULTS
from polepiece.planning.gate import fault_gate
from polepiece.planning.plan import Plan, make_plan
from polepiece.planning.spoken.common_words import ENGLISH
from polepiece.planning.spoken.grammar_words import COMMON, GRAMMAR, VERBAL, VERBS
from polepiece.planning.spoken.tokens import tokenise
from polepiece.planning.spoken.vocabulary import one_off, verb_forms, vocabulary
from polepiece.planning.understanding import said_both
from tests.tables import every
from tests.unit.planning.double_bench import DoubleBench
from tests.unit.planning.spoken_cases import (
    TWO,
    cases,
    complaint_code,
    in_order,
    limit_code,
    not_read_yet,
    of_guitar,
    reading_of,
)  # fmt: skip

SETS = ("complaints.txt", "fresh.txt", "third.txt", "fourth.txt", "fifth.txt")
SAID = [one for file in SETS for one in cases(file)]
LIMIT_SETS = ("limits.txt", "fresh_limits.txt", "third_limits.txt", "fourth_limits.txt")
LIMITS = [one for file in LIMIT_SETS for one in cases(file)]
VOCABULARY = [*sorted(vocabulary().words), "and", ",", ".", "!", "not", "too", "low e", "position 2", "than the neck"]
ROOT = Path(__file__).parents[3]


@every(SAID)
def test_a_complaint_is_read_as_it_was_meant(said, wanted):
    assert complaint_code(said) == in_order(wanted)


@every(LIMITS)
def test_a_limit_is_read_as_it_was_meant(said, wanted):
    assert limit_code(said) == " ".join(sorted(wanted.split()))


def test_hardly_any_phrase_is_not_read_yet():
    assert sum(map(not_read_yet, SETS)) <= 0.05 * len(SAID)  # what was asked of the reader: 95 % right


@every(one for one, wanted in SAID if wanted != "refused")
def test_the_words_of_a_complaint_say_the_same_alone(said):
    """A job keeps complaints as words: read again, each is the same word."""
    _, of = of_guitar(said)
    reading = reading_of(said)
    assert not isinstance(reading, str), reading
    for item, complaint in zip((one for one in reading.items if one.word), complaints_of(reading), strict=True):
        assert item.word is not None
        assert word_of(sudden(complaint.word)[1]).name == item.word.name
        assert spelled_out([complaint], of) == (complaint,)


@every(one for one, _ in SAID)
def test_whatever_holds_a_known_word_is_not_refused_and_says_what_was_used(said):
    reading = reading_of(said)
    if isinstance(reading, str):
        assert "is not a complaint word that is known" in reading
        return
    assert reading.understood


def test_what_is_not_used_is_said():
    reading = read_complaint("neck muddy since the zebra ate my banana", TWO)
    assert any("muddy" in one for one in reading.understood)
    assert any("zebra" in one for one in reading.not_used)
    assert any("banana" in one for one in reading.not_used)
    assert read_complaint("neck muddy", TWO).not_used == ()


NAMED = parse_guitar(
    'name = "named"\n'
    + "".join(
        f'[[pickups]]\nname = "{name}"\nposition = "{place}"\nconstruction = "rod-single"\nmagnet.grade = "alnico-5"\n'
        for name, place in (("Hot One", "bridge"), ("old/soft", "neck"))
    )
)


@pytest.mark.parametrize(
    ("said", "pickups"),
    [
        ("hot one harsh", ["Hot One"]), ("old/soft: muddy", ["old/soft"]), ("bridge thin", ["Hot One"]),
        ("both pickups thin", ["Hot One", "old/soft"]), ("weaker than the neck", ["old/soft"]),
    ],
)  # fmt: skip
def test_pickups_are_known_by_their_own_names(said, pickups):
    assert [one.pickup for one in complaints_of(read_complaint(said, NAMED))] == pickups


def test_a_position_that_is_not_there_is_said():
    one = replace(NAMED, pickups=NAMED.pickups[:1])
    reading = read_complaint("position 2 thin", one)
    assert complaints_of(reading) == (Complaint(word="thin"),)
    assert reading.not_used == ("position 2",)


@given(st.lists(st.sampled_from(VOCABULARY), min_size=1, max_size=12).map(" ".join))
@settings(max_examples=60, deadline=None)
def test_any_words_in_any_order_are_read_or_refused(text):
    try:
        told = complaints_of(read_complaint(text, TWO))
    except InputError:
        return
    fault_gate(TWO, told)
    assert all(word_of(sudden(one.word)[1]) for one in told)


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


@pytest.mark.parametrize("word", ["think", "thing", "home", "book", "hold", "code", "hand", "test", "bend", "sock"])
def test_a_common_word_is_no_slip(word):
    assert word in COMMON | ENGLISH
    assert read_complaint(f"{word} muddy", TWO).slips == ()


@every(one for one in WORDS if one.kind != "fault")
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


@every(FAULTS)
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


@pytest.mark.parametrize(
    "said",
    [
        "the neck is muddy through a tube amp", "i play it in a closet, the neck is muddy",
        "i keep it in a box and the neck is muddy", "the guitar is in a cupboard, the neck is muddy",
        "there is water in the jack and the neck is muddy", "far apart from what i like, the neck is muddy",
    ],
)  # fmt: skip
def test_what_somebody_does_or_has_is_no_likeness(said):
    assert [one.word.name for one in read_complaint(said, TWO).items if one.word] == ["muddy"]


@pytest.mark.parametrize(
    "said",
    [
        "the neck does not lack volume", "the bass does not drop", "the lows do not disappear",
        "the highs do not get lost", "the volume does not drop", "the neck does not overpower the bridge",
        "the lows do not dominate", "the low e does not drown the others",
    ],
)  # fmt: skip
def test_a_lack_that_is_denied_is_no_complaint(said):
    read = read_complaint(f"{said} and the bridge is harsh", TWO)
    assert [one.word.name for one in read.items if one.word] == ["harsh"]


@pytest.mark.parametrize("said", ["i hold the strings and the hum stops", "when i touch the bridge the buzz goes away"])
def test_hum_that_a_hand_stops_is_a_missing_shield(said):
    assert [one.word.name for one in read_complaint(said, TWO).items] == ["buzz stops when touching the strings"]


@pytest.mark.parametrize(
    "said", ["when i touch the strings the hum gets louder", "i touch the bridge and the buzz starts"]
)
def test_hum_that_a_hand_makes_is_a_fault_of_its_own(said):
    assert [one.word.name for one in read_complaint(said, TWO).items] == ["buzz when touching the strings"]
    other = read_complaint("when i touch the strings the hum is not louder", TWO)
    assert "buzz when touching the strings" not in [one.word.name for one in other.items if one.word]


def test_what_does_not_stand_out_stays_behind():
    assert [one.word.name for one in read_complaint("the g string does not jump out", TWO).items] == ["string 3 weak"]
    assert [one.word.name for one in read_complaint("the highs do not jump out", TWO).items] == ["dull"]


def test_a_word_that_looks_like_an_adverb_is_told_where_it_is_not_used():
    reading = read_complaint("the neck is noticeably muddy and blorbly", TWO)
    assert [one.word.name for one in reading.items if one.word] == ["muddy"]
    assert {"noticeably", "blorbly"} <= set(reading.not_used)


def test_verbs_are_conjugated_as_they_are_said_and_each_is_of_use():
    assert verb_forms("lower") == ("lower", "lowers", "lowering", "lowered")
    assert verb_forms("drop") == ("drop", "drops", "dropping", "dropped")
    assert verb_forms("go") == ("go", "goes", "going", "went", "gone")
    begins = {phrase.split()[0] for kind in VERBAL for phrase in GRAMMAR[kind]}
    assert not [verb for verb in VERBS if not begins & set(verb_forms(verb))]


def test_common_words_are_near_a_known_word_and_none_themselves():
    """What of them holds without the list that they are taken from; the file is as its script writes it."""
    known = vocabulary().words
    assert not ENGLISH & (known | COMMON)
    assert not [word for word in sorted(ENGLISH) if not any(one_off(word, one) for one in known)]
    script = runpy.run_path(str(ROOT / "scripts" / "write_common_words.py"))
    assert script["PAGE"].read_text("utf-8") == script["source"](sorted(ENGLISH)), "run scripts/write_common_words.py"
    assert script["common_words"](["sock", "muddy", "hash", "of"]) == ["sock"]  # known; a slip; too short


def test_the_page_of_words_is_fresh():
    page = runpy.run_path(str(ROOT / "scripts" / "write_complaints_page.py"))
    assert page["PAGE"].read_text("utf-8") == page["page"](), "run scripts/write_complaints_page.py"
    for one in WORDS:
        if one.kind != "fault":
            assert f"| **{one.name}** |" in page["page"]()


def plan(text: str, *limits: str) -> Plan:
    told = complaints_of(read_complaint(text, TWO))
    return make_plan(TWO, DoubleBench(), told, parse_constraints(limits, TWO), draws=8)


def test_one_louder_than_the_other_is_brought_down_and_rows_name_their_pickup():
    found = plan("the neck is louder than the bridge")
    assert found.rows[0].pickup == "neck"
    first = found.rows[0]
    assert any(one.startswith("lower") for one in first.change)
    assert first.effect["level_db"] < 0.0


def test_what_was_heard_is_believed_and_what_is_computed_said():
    """The double computes the bridge pickup louder; who says that the neck is louder is not told to raise the neck."""
    found = plan("neck louder than bridge")
    assert all("raise" not in one for row in found.rows for one in row.change)
    assert any("Said: neck is louder than bridge. Computed" in one for one in found.advice)
    other = plan("bridge louder than neck")
    assert not any("Computed from the file" in one for one in other.advice)
    assert {row.pickup for row in other.rows if row.change} == {"bridge"}


def test_a_pickup_that_is_left_alone_is_not_moved():
    found = plan("the neck is louder than the bridge", "leave the neck alone")
    assert any(row.change for row in found.rows)
    for row in found.rows:
        assert row.also is None
        if row.change and row.pickup == "neck":
            raise AssertionError(row.change)
    both = plan("neck muddy and bridge muddy", "leave the neck alone", "buy nothing", "no soldering")
    moved = {row.pickup for row in both.rows for one in row.change if not one.startswith(("volume", "tone"))}
    assert moved == {"bridge"}
    assert any("leave neck alone" in one.reason for one in both.refused)


def test_level_within_so_many_db():
    loose, held = plan("bridge too hot"), plan("bridge too hot", "level within 0.5 dB")
    assert any(abs(row.effect["level_db"]) > 0.6 for row in loose.rows)
    for row in (*held.rows, *held.rest):
        effect = row.effect if row.use != "re-set" else row.effect_at_old_level or {}
        assert abs(effect["level_db"]) <= 0.5 + ROUNDED
    assert any("level within 0.5 dB" in one.reason for one in held.refused)


def test_one_not_louder_than_the_other():
    bench = DoubleBench()
    was = bench.state(TWO, "bridge").level_db - bench.state(TWO, "neck").level_db
    assert was > 0.0  # the double's bridge pickup is the louder one: it may not get louder still
    loose, held = plan("bridge weak"), plan("bridge weak", "bridge not louder than the neck")
    assert any(row.effect["level_db"] > 0.3 for row in loose.rows)
    assert all(row.effect["level_db"] <= ROUNDED for row in held.rows if row.use != "re-set")
    assert any("bridge not louder than neck" in one.reason for one in held.refused)


@pytest.mark.parametrize("further", [0.0, 2e-3])
def test_muddy_and_not_louder_in_one_sentence(further):
    """A neck that is quieter may come up to the bridge and no further; one that is louder may not come up at all."""
    low, bench = TWO.pickup("bridge"), DoubleBench()
    lower = replace(low, gap_bass=low.gap_bass + further, gap_treble=low.gap_treble + further)
    whole = replace(TWO, pickups=tuple(lower if one is low else one for one in TWO.pickups))
    apart = bench.state(whole, "neck").level_db - bench.state(whole, "bridge").level_db
    assert (apart > 0.0) is (further > 0.0)
    told, limits = said_both(["neck muddy, neck not louder than bridge"], None, whole)
    told = [one for said in read_complaints(told, whole) for one in complaints_of(said)]
    assert [(one.pickup, one.word) for one in told] == [("neck", "muddy")]
    found = make_plan(whole, bench, told, parse_constraints(limits, whole), draws=8)
    assert len(found.rows) > 2  # there is something left to do
    for row in (*found.rows, *found.rest):
        moved = row.effect_at_old_level if row.use == "re-set" else row.effect
        assert moved is None or moved["level_db"] <= max(-apart, 0.0) + ROUNDED, row.change
    refused = [one for one in found.refused if "neck not louder than bridge" in one.reason]
    assert refused or apart <= 0.0


def test_no_longer_than_so_long():
    found = plan("neck muddy", "nothing that takes more than half an hour")
    assert all(row.minutes <= 30 for row in (*found.rows, *found.rest))
    assert any("at most 30 minutes" in one.reason for one in found.refused)
    assert max(row.minutes for row in plan("neck muddy").rest) > 30


@pytest.mark.parametrize(
    ("limit", "keys"),
    [
        ("keep the pots", ("volume_pot", "tone_pot")), ("keep the magnets", ("magnet", "finish", "charge")),
        ("don't touch the screws", ("screw", "body_down")), ("keep the height", ("lower", "raise", "tilt")),
        ("keep the cable", ("cable",)),
    ],
)  # fmt: skip
def test_what_is_kept_is_not_changed(limit, keys):
    free, held = plan("neck muddy"), plan("neck muddy", limit)
    moved = [one for row in (*held.rows, *held.rest) for one in row.moves]
    assert not [one for one in moved if one.startswith(keys)]
    assert [one for row in (*free.rows, *free.rest) for one in row.moves if one.startswith(keys)]


def test_positions_give_a_job_to_each_pickup_that_is_on():
    found = plan("muddy with both on")
    assert {(one.pickup, one.position) for one in found.complaints} == {("neck", "both"), ("bridge", "both")}
    assert {row.pickup for row in found.rows if row.change} == {"neck", "bridge"}


def test_a_pickup_in_a_limit_must_be_there():
    with pytest.raises(InputError, match="no pickup called 'middle'"):
        plan("neck muddy", "leave the middle alone")
