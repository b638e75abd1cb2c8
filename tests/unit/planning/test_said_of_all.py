"""What is said of every pickup at once is heard as that, and a change of all of them stands in an answer once."""

from polepiece.bench import coarse_bench
from polepiece.cli.answer_lines import WIDTH, answer_lines
from polepiece.cli.plan import planned
from polepiece.guitar import read_guitar
from polepiece.planning import read_complaint
from tests.phrasings.test_phrasings import EXAMPLES


def test_all_as_a_label_is_every_pickup_of_three() -> None:
    guitar = read_guitar(EXAMPLES / "three-rod-singles.guitar.toml")
    named = {one.target.pickup for one in read_complaint("all: weak", guitar).items}
    assert named == {"neck", "middle", "bridge"}


def test_strings_of_both_pickups_are_no_mismatch_of_pickups() -> None:
    guitar = read_guitar(EXAMPLES / "two-humbuckers.guitar.toml")
    items = read_complaint("both: uneven strings", guitar).items
    assert {one.word.name for one in items if one.word} == {"uneven strings"}


def test_a_change_of_all_pickups_is_one_row_and_no_line_is_too_wide() -> None:
    guitar = read_guitar(EXAMPLES / "humbucker-and-singles.guitar.toml")
    limits = ["keep the screws", "do not open it", "keep the pots", "keep the cable"]
    found = planned(guitar, ["all: weak"], limits, draws=8, bench=coarse_bench())
    strings = [row for row in found.rows if row.change and row.change[0].startswith("strings")]
    assert len(strings) <= 1
    assert max(map(len, answer_lines(found))) <= WIDTH
