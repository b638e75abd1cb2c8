"""What to measure first: ranked by how far a value at the ends of its range moves level or band, on a double bench."""

import pytest

from polepiece.bench import worth_measuring
from tests.unit.planning.double_bench import DB_PER_MM, GUITAR, LEVEL, DoubleBench, guitar

# gaps are left open: 2.2 to 3.2 mm and 1.9 to 2.9 mm at the neck; the magnet is known, its charge is not
OPEN = GUITAR.replace("gap_bass_mm = 2.8\n", "").replace('charge = "outside"\n', "", 1)


def ranked(text: str = OPEN, *pickups: str) -> dict[str, float]:
    found = worth_measuring(guitar(text), pickups or ("neck",), bench=DoubleBench())  # type: ignore[arg-type]
    assert [one.moves_db for one in found] == sorted((one.moves_db for one in found), reverse=True)
    return {one.assumed.path: one.moves_db for one in found}


def test_a_gap_that_was_not_measured_comes_with_what_it_moves() -> None:
    """The bass side alone over 1 mm moves string k by k / 5 of it: the energy mean lies under the thickest's."""
    found = ranked()
    assert 0.3 * DB_PER_MM < found["pickups[0].gap_bass_mm"] < DB_PER_MM
    assert "pickups[1].gap_bass_mm" not in found  # that of the other pickup is known, and it was not asked about
    assert not any(path.startswith("pickups[1]") for path in found)


def test_what_is_measured_is_not_ranked_and_what_moves_nothing_is_left_out() -> None:
    assert "pickups[0].gap_bass_mm" not in ranked(GUITAR)
    found = ranked()
    assert "pickups[0].magnet.bar_length" not in found  # these doubles do not know how long a bar is
    assert "controls.input_kohm" not in found
    assert all(one >= 0.05 for one in found.values())


def test_an_unknown_grade_is_tried_as_every_usual_one() -> None:
    open_too = guitar(OPEN.replace('grade = "alnico-2"', 'grade = "unknown"'))
    bench = DoubleBench(level=LEVEL | {"unknown": 0.0}, top=dict.fromkeys([*LEVEL, "unknown"], 0.0))
    found = {one.assumed.path: one for one in worth_measuring(open_too, ("neck",), bench=bench)}  # type: ignore[arg-type]
    assert found["pickups[0].magnet.grade"].moves_db == pytest.approx(3.0 - -1.5)  # its levels of alnico 8 and 3
    assert found["pickups[0].magnet.charge"].moves_db == pytest.approx(1.3)  # in place against outside


def test_values_of_the_guitar_are_told_once_for_several_pickups() -> None:
    paths = list(ranked(OPEN.replace("cable_pf = 500\n", ""), "neck", "bridge"))
    assert paths.count("controls.cable_pf") == 1
    assert len(set(paths)) == len(paths)


def test_progress_ends_with_all_of_them() -> None:
    told: list[tuple[int, int]] = []
    worth_measuring(guitar(OPEN), ("neck",), bench=DoubleBench(), progress=lambda a, b: told.append((a, b)))  # type: ignore[arg-type]
    assert told[0] == (0, told[-1][1])
    assert told[-1][0] == told[-1][1] > 5
