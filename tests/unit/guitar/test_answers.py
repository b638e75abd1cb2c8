"""A guitar from answers: typed as at a bench, all of it may be open, and an edited guitar keeps what was not asked."""

from dataclasses import replace
from operator import attrgetter
from pathlib import Path

import pytest

from polepiece.guitar import (
    CONSTRUCTIONS,
    QUESTIONS,
    STRINGS,
    Entered,
    Guitar,
    Measured,
    Slot,
    answers_of,
    cautions,
    circuit_words,
    construction_of,
    entered,
    in_words,
    parse_guitar,
    pickup_answers,
    question_at,
    read_guitar,
    sentence_in_words,
    sizes_of,
    wiring_words,
    with_value,
    write_guitar,
)
from polepiece.moves import apply, parse_changes

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


def demo() -> Guitar:
    return read_guitar(DEMO)


def edited(guitar: Guitar, *pickups: tuple[int | None, dict[str, str]], **answers: str) -> Entered:
    slots = [Slot(answers=({} if was is None else pickup_answers(guitar, was)) | new, was=was) for was, new in pickups]
    return entered(answers_of(guitar) | answers, slots, was=guitar)


def found(one: Entered) -> Guitar:
    assert one.guitar is not None, one.faults
    return one.guitar


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS])
def test_place_and_construction_are_enough(construction: str) -> None:
    guitar = found(entered({}, [Slot(answers={"position": "middle", "construction": construction, "gap_bass": "?"})]))
    assert guitar == parse_guitar(
        f'[[pickups]]\nname = "middle"\nposition = "middle"\nconstruction = "{construction}"\n'
    )  # what is left open is assumed as the reader assumes it, and listed
    assert parse_guitar(write_guitar(guitar)) == guitar


def test_answers_are_read_as_they_are_typed() -> None:
    two = {"construction": CONSTRUCTIONS[0].slug, "magnet.grade": "A5", "resistance": "7,8k", "gap_bass": "5/64"}
    answers = {
        "name": "Mine", "controls.tone_cap": ".022", "controls.volume_pot": "A250k", "scale_length": "25.5in",
        STRINGS: "46 36 26 17 13 10", "tuning": "drop D",
    }  # fmt: skip
    guitar = found(
        entered(answers, [Slot(answers=two | {"position": "rear"}), Slot(answers=two | {"position": "rear"})])
    )
    pickup = guitar.pickups[0]
    assert [one.name for one in guitar.pickups] == ["rear", "rear 2"]
    assert (pickup.position, pickup.magnet.grade, pickup.resistance) == ("bridge", "alnico-5", 7.8e3)
    assert pickup.gap_bass == pytest.approx(5 / 64 * 25.4e-3, rel=1e-12)
    assert guitar.controls.tone_cap == pytest.approx(22e-9, rel=1e-12)
    assert guitar.controls.volume_pot == 250e3
    assert guitar.scale_length == pytest.approx(25.5 * 25.4e-3, rel=1e-12)
    assert guitar.strings[0].diameter == pytest.approx(0.254e-3)  # thick to thin was turned round
    assert guitar.tuning[-1] == "D2"


def test_a_fault_comes_back_with_its_question_and_the_likely_slip() -> None:
    slot = Slot(answers={"position": "neck", "construction": CONSTRUCTIONS[0].slug, "gap_treble": "19"})
    out = entered({"controls.volume_pot": "5", STRINGS: "10-47"}, [slot])
    assert out.guitar is None
    asked = {question_at(one.path): one.words for one in out.faults}
    assert set(asked) == {("gap_treble", 0), ("controls.volume_pot", None), (STRINGS, None)}
    assert "sixty-fourths" in asked["gap_treble", 0]
    assert "10-46" in asked[STRINGS, None]


def test_an_edited_guitar_that_was_not_changed_is_the_same() -> None:
    for guitar in (demo(), apply(demo(), "neck", parse_changes(["lower=0.3mm", "magnet=alnico-5"]))):
        assert found(edited(guitar, (0, {}), (1, {}))) == guitar


def test_an_edit_moves_what_was_typed_and_nothing_else() -> None:
    guitar = demo()
    new = found(edited(guitar, (0, {"gap_bass": "3.0"}), (1, {})))
    assert new.pickups[0].gap_bass == pytest.approx(3.0e-3)
    assert replace(new, pickups=guitar.pickups) == guitar
    assert replace(new.pickups[0], gap_bass=guitar.pickups[0].gap_bass) == guitar.pickups[0]


def test_dont_know_makes_an_answer_an_assumption_again() -> None:
    new = found(edited(demo(), (0, {"gap_bass": "don't know"}), (1, {})))
    assert "pickups[0].gap_bass_mm" in [one.path for one in new.assumed]
    assert "pickups[0].gap_bass_mm" not in [one.path for one in demo().assumed]


def test_a_new_reading_takes_the_old_measurement_and_assumption_of_it_away() -> None:
    entry = Measured(path="pickups[0].resistance_kohm", value=7.9, low=7.8, high=8.0, date="2026-11-01")
    guitar = replace(demo(), measured=(entry,))
    assert found(edited(guitar, (0, {}), (1, {}))).measured == (entry,)
    new = found(edited(guitar, (0, {"resistance": "8.1"}), (1, {})))
    assert new.measured == ()
    listed = apply(demo(), "bridge", parse_changes(["lower=0.3mm"]))
    assert found(edited(listed, (0, {}), (1, {"distance_from_bridge": "45"}))).pickups[1].distance_from_bridge == 0.045


def test_pickups_come_go_and_are_called_by_their_new_place() -> None:
    guitar = demo()
    three = found(
        edited(guitar, (0, {}), (None, {"position": "middle", "construction": CONSTRUCTIONS[1].slug}), (1, {}))
    )
    assert [one.name for one in three.pickups] == ["neck", "middle", "bridge"]
    assert three.pickups[2] == guitar.pickups[1]
    assert [one.path for one in three.assumed if one.path.startswith("pickups[2]")] == [
        one.path.replace("[1]", "[2]") for one in guitar.assumed if one.path.startswith("pickups[1]")
    ]
    one = found(edited(guitar, (1, {})))
    assert [pickup.name for pickup in one.pickups] == ["bridge"]
    assert one.complaints == ()  # the complaint was of the neck pickup


def test_another_construction_takes_no_sizes_of_the_old_one_along() -> None:
    guitar = demo()
    rods = next(one for one in CONSTRUCTIONS if one.magnet_is_the_pole)
    new = found(edited(guitar, (0, {"construction": rods.slug}), (1, {}))).pickups[0]
    assert new.built is rods
    assert (new.name, new.gap_bass, new.magnet.grade) == ("neck", guitar.pickups[0].gap_bass, "alnico-2")


def test_every_question_has_words_and_leads_back_to_itself() -> None:
    for one in QUESTIONS:
        assert one.label and one.help
        own = {"cover": ["cover"], "base_plate": ["base_plate"], "controls.positions": ["positions"]}
        for name in own.get(one.attr, one.line.names()):
            home = {"pickup": "pickups[1].", "controls": "controls.", "guitar": ""}[one.of]
            table, _, _ = one.attr.removeprefix("controls.").rpartition(".")
            path = home + (f"{table}." if table else "") + name
            assert question_at(path) == (one.attr, 1 if one.of == "pickup" else None)


def test_paths_in_words() -> None:
    names = ["neck", "tail"]
    assert in_words("pickups[1].gap_bass_mm", names) == "tail pickup: gap at the thickest string"
    assert in_words("pickups[0].coils[1].turns", names) == "neck pickup: coil 2, turns"
    assert in_words("pickups[0].cover.thickness", names) == "neck pickup: cover, thickness"
    assert in_words("strings[2].core_diameter", names) == "string 3: core diameter"
    assert in_words("controls.tone_cap_nf", names) == "controls: tone cap"
    assert sentence_in_words("pickups[0] has a larger gap", names) == "neck pickup has a larger gap"
    for guitar in (demo(),):
        said = [in_words(one.path, [p.name for p in guitar.pickups]) for one in guitar.assumed]
        assert len(set(said)) == len(said)  # two different things are never called the same
        assert not any("_" in one or "[" in one for one in said)
    swapped = found(edited(demo(), (0, {"gap_treble": "3.4"}), (1, {})))
    (odd,) = [sentence_in_words(one, names) for one in cautions(swapped)]
    assert odd.startswith("neck pickup has a larger gap on the treble side")


def test_a_value_is_moved_as_if_it_had_been_measured() -> None:
    guitar = demo()
    moved = with_value(guitar, "pickups[1].magnet.bar_length", 57.0)
    assert moved is not None
    assert moved.pickups[1].magnet.length == pytest.approx(0.057)
    assert "pickups[1].magnet.bar_length" not in [one.path for one in moved.assumed]
    assert with_value(guitar, "pickups[1].magnet.bar_length", 5.0) is None


def test_a_circuit_is_said_as_one_says_it() -> None:
    assert circuit_words("two-volumes-two-tones-three-way") == "two volumes, two tones, three-way"
    assert circuit_words("one-volume-one-tone") == "one volume, one tone"
    assert circuit_words("three-volumes-three-tones-rotary") == "three volumes, three tones, rotary"
    assert circuit_words("as-listed") == "as listed"


def test_reverse_polarity_can_be_answered_and_is_read_back() -> None:
    slot = {"position": "neck", "construction": "rod-single", "wound": "reverse", "magnet.flipped": "yes"}
    guitar = found(entered({}, [Slot(answers=slot)]))
    assert guitar.pickups[0].magnet.flipped
    asked = next(one for one in QUESTIONS if one.attr == "magnet.flipped")
    assert pickup_answers(guitar, 0)["magnet.flipped"] in asked.words


def test_a_bass_set_is_its_gauges() -> None:
    for typed in ("45-105", ".045-.105"):
        guitar = found(entered({"strings": typed}, [Slot(answers={"position": "neck", "construction": "rod-single"})]))
        assert [round(one.diameter / 0.0254e-3) for one in guitar.strings] == [45, 65, 85, 105]


def test_a_comma_that_may_be_two_things_is_said_to_be_so() -> None:
    slot = Slot(answers={"position": "neck", "construction": "humbucker", "resistance": "7,600"})
    (fault,) = entered({}, [slot]).faults
    assert "write 7.600 or 7600" in fault.words


def test_strings_that_are_too_near_are_named_in_one_sentence() -> None:
    slot = {"position": "neck", "construction": "rod-single", "gap_bass": "1.2", "gap_treble": "1.0"}
    (odd,) = cautions(found(entered({}, [Slot(answers=slot)])))
    assert "has strings 1, 2, 3, 4, 5 and 6 at 1 to 1.2 mm from their poles" in odd


@pytest.mark.parametrize("slug", [one.slug for one in CONSTRUCTIONS])
def test_a_pickup_takes_the_sizes_that_it_has_and_gives_them_back(slug: str) -> None:
    """All of it a hundredth smaller than is assumed, so that nothing touches: read, and said again when edited."""
    usual = found(entered({}, [Slot(answers={"position": "middle", "construction": slug})]))
    sizes = sizes_of(construction_of(slug))
    assert {"poles.pole_spacing", "coil.top"} <= {one.attr for one in sizes}
    typed = {}
    for one in sizes:
        record = usual.pickups[0].coils[0] if one.attr.startswith("coil.") else usual.pickups[0]
        value = attrgetter(one.attr.removeprefix("coil."))(record)
        value = value[0] if isinstance(value, tuple) else value  # rods as long as one another
        typed[one.attr] = str(value) if one.line.whole else f"{round(990.0 * value, 3):g}"
    guitar = found(entered({}, [Slot(answers={"position": "middle", "construction": slug} | typed)]))
    assert {attr: said for attr, said in pickup_answers(guitar, 0).items() if attr in typed} == typed
    again = entered(answers_of(guitar), [Slot(answers=pickup_answers(guitar, 0), was=0)], was=guitar)
    assert again.guitar == guitar


@pytest.mark.parametrize("slug", [one.slug for one in CONSTRUCTIONS])
def test_only_wirings_that_its_coils_can_have_are_offered_and_name_coils_that_it_has(slug: str) -> None:
    built = construction_of(slug)
    words = wiring_words(built)
    assert tuple(words) == built.wirings
    for said in words.values():
        assert ("screw" not in said or built.has_screws) and "slug coil" not in said.replace(
            "slug coil", "" if "slug coil" in built.coils else "slug coil"
        )


def test_knobs_that_pull_are_typed_with_semicolons() -> None:
    slots = [Slot(answers={"position": one, "construction": "humbucker"}) for one in ("neck", "bridge")]
    said = {"controls.push_pull": "neck: split screws; neck: phase;bridge: parallel"}
    guitar = found(entered(said, slots))
    assert guitar.controls.push_pull == ("neck: split screws", "neck: phase", "bridge: parallel")
    assert answers_of(guitar)["controls.push_pull"] == "neck: split screws; neck: phase; bridge: parallel"
    assert found(edited(guitar, (0, {}), (1, {}))) == guitar
    asked = [{k: v for k, v in pickup_answers(guitar, n).items() if k != "name"} for n in (0, 1)]
    other = [Slot(answers=asked[0] | {"position": "middle"}, was=0), Slot(answers=asked[1], was=1)]
    moved = found(entered(answers_of(guitar), other, was=guitar))
    assert moved.controls.push_pull[0] == "middle: split screws"  # follows the pickup that is called by its place
    (fault,) = entered({"controls.push_pull": "middle: split"}, slots, was=None).faults
    assert question_at(fault.path) == ("controls.push_pull", None) and "which coil stays on" in fault.sentence
