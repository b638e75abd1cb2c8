"""Sets of a bass, screws that are not there, turns that follow a later reading, coils of a position."""

import pytest

from polepiece.bench import Bench, predict
from polepiece.evidence import Readings, with_readings
from polepiece.guitar import Guitar, parse_guitar, write_guitar
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.moves import parse_changes
from polepiece.pickup.engine import COARSE

ONE = 'name = "G"\n{head}\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "{construction}"\n{more}'


def guitar(construction: str = "humbucker", head: str = "", more: str = "") -> Guitar:
    return parse_guitar(ONE.format(construction=construction, head=head, more=more))


def test_a_bass_set_is_read_from_the_file() -> None:
    bass = guitar("split-rods", 'string_set = "45-105"', "[pickups.poles]\npole_count = 4\npole_spacing_mm = 19\n")
    assert [round(one.diameter / 25.4e-6) for one in bass.strings] == [45, 65, 85, 105]
    assert bass.tuning == ("G2", "D2", "A1", "E1") and bass.string_set == "45-105"
    assert all(one.wrap != "none" for one in bass.strings)
    again = parse_guitar(write_guitar(bass))
    assert again.strings == bass.strings and again.string_set == "45-105"


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS])
def test_only_screws_that_are_there_face_somewhere(construction: str) -> None:
    one = guitar(construction)
    assumed = any(line.path.endswith("screws_face") for line in one.assumed)
    built = one.pickups[0].built
    assert assumed == (built.screws_on_one_side or any(row.half for row in built.rows))


def test_a_resistance_that_is_read_later_rewrites_the_turns() -> None:
    bare = guitar()
    turns = next(one for one in bare.assumed if one.path.endswith("turns"))
    assert turns.value == "5000"
    read = with_readings(bare, "p", Readings(resistance=8.2e3))
    line = next(one for one in read.assumed if one.path == turns.path)
    told = parse_guitar(write_guitar(guitar(more="resistance_kohm = 8.2\n")))
    assert line == next(one for one in told.assumed if one.path == turns.path)
    assert "from the resistance" in str(line.value)


def test_both_on_has_the_coils_of_the_position() -> None:
    two = parse_guitar("""
name = "G"
[controls]
template = "one-volume-one-tone-three-way"
push_pull = ["neck: split-screws"]
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "humbucker"
""")
    bench, changes = Bench(resolution=COARSE), parse_changes(["lower=0.3mm"])
    whole = predict(two, "neck", changes, bench=bench, draws=8)
    split = predict(two, "neck", changes, position="neck (split-screws)", bench=bench, draws=8)
    both = predict(two, "neck", changes, position="both (neck split-screws)", bench=bench, draws=8)
    levels = [one.both_on["bridge"][0].level_db for one in (whole, split, both)]
    assert levels[1] == pytest.approx(levels[2], abs=1e-9) and abs(levels[1] - levels[0]) > 0.5
    assert both.both_on["bridge"][0].level_db == pytest.approx(both.before.level_db, abs=1e-9)
