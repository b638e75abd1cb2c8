"""Each row of screws of a pickup that has two is reached by the end of the strings that it is nearer to."""

import pytest

from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar, Pickup, parse_guitar
from polepiece.moves import apply, hand_words, move_words, parse_changes
from polepiece.pickup.engine import COARSE
from polepiece.planning import candidates, constraints
from polepiece.planning.estimates import Estimator
from polepiece.report import work_sheet


def guitar(more: str = "", construction: str = "two-screw-rows") -> Guitar:
    return parse_guitar(
        f'name = "G"\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "{construction}"\n{more}'
    )


def moved(text: str, one: Guitar | None = None) -> Pickup:
    return apply(one or guitar(), "p", parse_changes([text])).pickups[0]


@pytest.mark.parametrize(("facing", "first"), [("neck", "neck"), ("bridge", "bridge")])
def test_a_row_is_named_by_where_it_stands(facing: str, first: str) -> None:
    one = guitar(f'screws_face = "{facing}"\n')
    other = "bridge" if first == "neck" else "neck"
    at_first, at_other = (moved(f"{row}_screw3=up 0.4 mm", one).poles for row in (first, other))
    assert at_first.screw_raise == pytest.approx((0, 0, 0.4e-3, 0, 0, 0)) and not any(at_first.second_screw_raise)
    assert at_other.second_screw_raise == pytest.approx((0, 0, 0.4e-3, 0, 0, 0)) and not any(at_other.screw_raise)
    assert moved("screw3=up 0.4 mm", one).poles == at_first  # without a row: the one that gaps are taken to


def test_all_screws_of_a_row() -> None:
    one = guitar()
    facing = one.pickups[0].screws_face
    poles = moved(f"{facing}_screws=down 0.2 mm").poles
    assert poles.screw_raise == pytest.approx((-0.2e-3,) * 6) and not any(poles.second_screw_raise)


def test_one_row_needs_no_name() -> None:
    with pytest.raises(InputError, match=r"p has one row of screws; leave the row out: screws=, screw3=\."):
        moved("neck_screw3=up 0.4 mm", guitar(construction="humbucker"))
    with pytest.raises(InputError, match="no pole screws to turn"):
        moved("neck_screw3=up 0.4 mm", guitar(construction="rod-single"))


def test_no_screw_of_the_other_row_comes_too_near() -> None:
    one = guitar("gap_bass_mm = 1.8\ngap_treble_mm = 1.6\n")
    other = next(row for row, attr in one.pickups[0].screw_rows.items() if attr == "second_screw_raise")
    with pytest.raises(InputError, match=r"would be 1\.3 mm from the screw of that row; at least 1\.5 mm"):
        moved(f"{other}_screw1=up 0.3 mm", one)


def test_its_words_name_the_row() -> None:
    one = guitar()
    changes = parse_changes(["neck_screw5=up 0.5 turn", "neck_screw6=up 0.5 turn"])
    words = hand_words(one, apply(one, "p", changes), "p", changes)
    assert words.short == "p pickup, screws of the 5th and 6th string in the neck row half a turn up, anticlockwise"
    assert (
        move_words("neck_screw5=up 0.5 turn") == "screw of the 5th string in the neck row half a turn up, anticlockwise"
    )


def test_a_plan_turns_either_row() -> None:
    one = guitar().pickups[0]
    other = next(row for row, attr in one.screw_rows.items() if attr == "second_screw_raise")
    tried = list(candidates._singles(one))
    assert (f"{other}_screw4=down 0.5 turn",) in tried and (f"{other}_screws=up 0.5 turn",) in tried
    assert f"{other}_screw4" in constraints.KEPT_KEYS["screws"]
    assert not any("_screw" in text for text, *_ in candidates._singles(guitar(construction="humbucker").pickups[0])
                   if not text.startswith("body"))  # fmt: skip


def test_the_estimate_of_the_other_row_is_near_what_is_solved() -> None:
    one, bench = guitar("gap_bass_mm = 2.6\ngap_treble_mm = 2.4\n"), Bench(resolution=COARSE)
    after = apply(one, "p", parse_changes(["bridge_screws=up 0.3 mm", "neck_screws=down 0.3 mm"]))
    estimate = Estimator(bench, one, "p")
    assert estimate.is_estimated(after) and not estimate.is_estimated(one)
    before, guess, found = bench.state(one, "p"), estimate.state(after), bench.state(after, "p")
    # each row's probe is half a turn by itself: two of them together are not quite their sum
    assert guess.level_db - before.level_db == pytest.approx(found.level_db - before.level_db, abs=0.1)
    unturned = estimate.state(apply(one, "p", parse_changes(["bridge_screws=up 0.3 mm"])))
    assert abs(unturned.level_db - guess.level_db) > 0.2  # and the other row is felt


def test_the_work_sheet_asks_for_both_rows() -> None:
    one = guitar()
    other = next(row for row, attr in one.pickups[0].screw_rows.items() if attr == "second_screw_raise")
    changes = parse_changes([f"{other}_screw2=up 0.3 mm"])
    sheet = work_sheet(one, "p", changes, bench=Bench(resolution=COARSE))
    blanks = [blank for section in sheet.sections for blank in section.blanks if "screw_height" in blank.key]
    assert {blank.key for blank in blanks} == {"screw_height", "second_screw_height"}
    assert {blank.label for blank in blanks} == {f"screw head of the {row} row, mm" for row in ("neck", "bridge")}
    done = [b for b in blanks if b.key == "second_screw_height" and b.words]
    assert [b.words for b in done if b.string == 2] == ["+0.30"] and {b.words for b in done if b.string != 2} == {
        "as before"
    }
    assert any(f"{other} row: screw 2" in step.text for section in sheet.sections for step in section.steps)
