"""Words of the trade: each is read where one would type it, to its meaning; what may mean two things says both."""

import itertools
import re

import pytest

from polepiece.errors import GuitarFileError, InputError
from polepiece.guitar import grade_of, parse_guitar
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.guitar.file.trade_words import GRADES, SAID, TUNINGS, pattern, readings, tuning_called
from polepiece.guitar.parts import CATALOGUE_GRADES, SHEET_METALS
from polepiece.guitar.records import PICKUP_POSITIONS
from polepiece.moves import parse_change
from polepiece.strings import note_frequency

OURS = {
    "grade": CATALOGUE_GRADES, "construction": tuple(one.slug for one in CONSTRUCTIONS), "material": SHEET_METALS,
    "position": PICKUP_POSITIONS,
}  # fmt: skip


def file(*lines: str, top: str = "", construction: str = "humbucker", controls: str = "") -> str:
    pickup = f'[[pickups]]\nname = "one"\nposition = "neck"\nconstruction = "{construction}"\n'
    return "\n".join([top, controls, pickup, *lines])


def one_fault(text: str) -> str:
    with pytest.raises(GuitarFileError) as found:
        parse_guitar(text)
    (line,) = found.value.faults
    return str(line)


@pytest.mark.parametrize("field", [*OURS, "wrap"])
def test_every_word_leads_to_a_word_of_ours_and_every_reading_is_one(field: str) -> None:
    words = SAID[field]
    if field in OURS:
        assert set(words) == set(OURS[field])  # the table knows all of ours and nothing else
    for meant, said in words.items():
        assert meant not in [word for other in words.values() for word in other]  # our own words have one meaning
        for word in said:
            assert meant in readings(field, word)
            assert readings(field, word.upper().replace("-", " ")) == readings(field, word)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("A2", ("alnico-2", None)), ("a5", ("alnico-5", None)), ("Alnico II", ("alnico-2", None)),
        ("AlNiCo V", ("alnico-5", None)), ("alnico 8", ("alnico-8", None)), ("C8", ("ceramic-8", None)),
        ("A5 rough cast", ("alnico-5", "rough-cast")), ("rough cast alnico iii", ("alnico-3", "rough-cast")),
        ("unoriented A5", ("alnico-5-unoriented", None)), ("Ceramic 5", ("ceramic-5", None)),
        ("A5-7", ("alnico-5-7", None)),
    ],
)  # fmt: skip
def test_grades_as_they_are_said(said: str, meant: tuple[str, str | None]) -> None:
    assert grade_of(said) == meant
    assert parse_change(f"magnet={said}").value == meant
    (pickup,) = parse_guitar(file(f'[pickups.magnet]\ngrade = "{said}"')).pickups
    assert (pickup.magnet.grade, pickup.magnet.finish) == (meant[0], meant[1] or "polished")


def test_no_short_form_of_a_grade_means_two() -> None:
    said = list(itertools.chain.from_iterable(GRADES.values()))
    assert len(said) == len(set(said)) > 40


@pytest.mark.parametrize(
    ("said", "both"), [("ceramic", ("ceramic-5", "ceramic-8")), ("V", ("alnico-5", "ceramic-5")),
                       ("alnico", ("alnico-2", "alnico-5"))],
)  # fmt: skip
def test_a_grade_that_may_be_two_is_refused_with_both(said: str, both: tuple[str, str]) -> None:
    with pytest.raises(InputError) as refused:
        grade_of(said)
    assert all(one in str(refused.value) for one in both)


def test_constructions_as_they_are_said() -> None:
    """A word that fits the answers of one construction is that one; one that fits several is refused with all."""
    words = {word for said in SAID["construction"].values() for word in said}
    for word in words:
        meant = readings("construction", word)
        if len(meant) == 1:
            (pickup,) = parse_guitar(file(construction=word.upper().replace("-", " "))).pickups
            assert pickup.construction == meant[0]
        else:
            said = one_fault(file(construction=word))
            assert "which may mean" in said
            assert all(slug in said for slug in meant)
    assert len(readings("construction", "single coil")) > 1


@pytest.mark.parametrize(
    ("said", "farad"),
    [(".022", 22e-9), ("0.047", 47e-9), (".1", 100e-9), ("22n", 22e-9), ("22", 22e-9), ("1.5", 1.5e-9)],
)  # fmt: skip
def test_a_capacitor_as_it_is_marked(said: str, farad: float) -> None:
    """.022 nF is no tone capacitor; 1.5 nF is one, so that it stays nF."""
    controls = parse_guitar(file(controls=f'[controls]\ntone_cap_nf = "{said}"')).controls if said != "22n" else (
        parse_guitar(file(controls=f'[controls]\ntone_cap = "{said}"')).controls
    )  # fmt: skip
    assert controls.tone_cap == pytest.approx(farad, rel=1e-12)  # decimal digits, rounded once
    if "." in said and said != "1.5":
        assert parse_guitar(file(controls=f'[controls]\ntone_cap = "{said}"')).controls == controls
        assert parse_change(f"tone_cap={said}").value == pytest.approx(farad, rel=1e-12)


def test_a_bare_number_that_may_be_meant_in_the_unit_of_the_key_is_still_asked_for_one() -> None:
    assert "without a unit" in one_fault(file(controls='[controls]\ntone_cap = "22"'))
    with pytest.raises(InputError, match="has no unit"):
        parse_change("tone_cap=22")


@pytest.mark.parametrize("said", ["250k", "A250k", "250kB", "a 250K", "0.25M"])
def test_a_pot_as_it_is_marked(said: str) -> None:
    assert parse_guitar(file(controls=f'[controls]\nvolume_pot = "{said}"')).controls.volume_pot == 250e3
    assert parse_change(f"volume_pot={said}").value == 250e3


@pytest.mark.parametrize("said", ["German silver", "nickel silver", "new_silver"])
def test_metals_as_they_are_said(said: str) -> None:
    (pickup,) = parse_guitar(file(f'cover = "{said}"')).pickups
    assert pickup.cover is not None
    assert pickup.cover.material == "nickel-silver"


def test_nickel_alone_may_be_two_metals() -> None:
    said = one_fault(file('cover = "nickel"'))
    assert "nickel-silver or brass" in said


def test_inches_wires_sets_places_and_tunings() -> None:
    guitar = parse_guitar(
        'string_set = "tens"\ntuning = "drop D"\n' + file('gap_bass = "5/64"', '[pickups.coil]\nwire_awg = "43 AWG"')
    )
    (pickup,) = guitar.pickups
    assert pickup.gap_bass == pytest.approx(5 / 64 * 25.4e-3, rel=1e-12)
    assert pickup.coils[0].wire_awg == 43
    assert guitar.string_set == "10-46"
    assert guitar.tuning == ("E4", "B3", "G3", "D3", "A2", "D2")
    assert parse_guitar('tuning = "E4 B3 G3 D3 A2 E2"\n' + file()).tuning == TUNINGS["standard"]
    front = parse_guitar(file().replace('position = "neck"', 'position = "front"'))
    assert front.pickups[0].position == "neck"


def test_every_tuning_has_six_falling_notes() -> None:
    for notes in TUNINGS.values():
        heights = [note_frequency(one) for one in notes]
        assert len(notes) == 6
        assert heights == sorted(heights, reverse=True)


def test_the_schema_takes_what_the_reader_takes_and_not_what_it_refuses() -> None:
    for field, words in SAID.items():
        shape = pattern(field, *(OURS.get(field, ())))
        for word in itertools.chain.from_iterable(words.values()):
            for typed in (word, word.upper(), word.replace("-", " ")):
                assert bool(re.search(shape, typed)) == (len(readings(field, word)) == 1)
    assert re.search(pattern("grade", *CATALOGUE_GRADES), "rough cast A5")
    assert re.search(pattern("grade", *CATALOGUE_GRADES), "alnico-2-rough-cast")
    assert not re.search(pattern("grade"), "A7")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("one volume, one tone, 3-way", "one-volume-one-tone-three-way"),
        ("1 volume, 1 tone, 3 way", "one-volume-one-tone-three-way"),
        ("2 volumes 2 tones 3-way", "two-volumes-two-tones-three-way"),
        ("2 volume 2 tone 4way", "two-volumes-two-tones-four-way"),
        ("2 volumes", "two-volumes"),
        ("one volume and one tone", "one-volume-one-tone"),
        ("one-volume-two-tones-five-way", "one-volume-two-tones-five-way"),
    ],
)
def test_controls_are_counted_in_digits_or_letters(typed: str, meant: str) -> None:
    table = '[[pickups]]\nname = "{0}"\nposition = "{0}"\nconstruction = "rod-single"\n'
    places = ["neck", "middle", "bridge"] if "five" in meant else ["neck", "bridge"]
    text = f'[controls]\ntemplate = "{typed}"\n' + "".join(table.format(one) for one in places)

    assert parse_guitar(text).controls.template == meant


@pytest.mark.parametrize(
    ("written", "notes"),
    [
        ("BEADG", "G2 D2 A1 E1 B0"),
        ("B E A D G", "G2 D2 A1 E1 B0"),
        ("G D A E B", "G2 D2 A1 E1 B0"),  # the thin string first: nearer to the usual that way round
        ("DADGBE", "E4 B3 G3 D3 A2 D2"),
        ("d a d g a d", "D4 A3 G3 D3 A2 D2"),
        ("EbAbDbGbBbEb", "Eb4 Bb3 Gb3 Db3 Ab2 Eb2"),
        ("B-E-A-D-G-B-E", "E4 B3 G3 D3 A2 E2 B1"),
        ("EADG", "G2 D2 A1 E1"),
        ("E", ""),
        ("drop z", ""),
        ("BAD", ""),  # no instrument has three
    ],
)
def test_a_tuning_without_octaves_is_the_one_nearest_to_the_usual(written: str, notes: str) -> None:
    assert " ".join(tuning_called(written)) == notes
