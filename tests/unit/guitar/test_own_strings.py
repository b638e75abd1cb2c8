"""Own strings: any 4 to 12 of them, said as a packet says them, complete themselves and go through every command.

What runs here: 200 drawn sets of 4 to 9 strings through reading, writing, tuning, places, rods and modes (milliseconds
each); two of them, a bass of 4 and a guitar of 7, through predict, grades, plan, hear and the work sheet on a coarse
mesh. All 200 through what commands do: ``verification/string_sets.py``.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from polepiece.auditioning.hearing import hear
from polepiece.bench import Bench, compare_grades, predict
from polepiece.errors import GuitarFileError
from polepiece.guitar import Guitar, parse_guitar, write_guitar
from polepiece.guitar.file.unusual import cautions
from polepiece.guitar.gaps import string_undersides, underside_at
from polepiece.guitar.spread import Draw
from polepiece.moves import parse_changes
from polepiece.pickup.engine import COARSE
from polepiece.pickup.stringing import own_poles, string_places, string_rods, string_ys, tuned_strings
from polepiece.planning import make_plan, parse_complaints
from polepiece.report import work_sheet
from polepiece.strings import STRING_SETS, string_modes, string_of
from tests.tables import every
from verification.string_sets import drawn_file

PICKUP = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "bar-single"\nmagnet.grade = "alnico-5"\n'


def strung(*gauges: object, head: str = "", pickup: str = PICKUP, more: str = "") -> Guitar:
    return parse_guitar(head + pickup + "".join(f"[[strings]]\ngauge = {one}\n{more}" for one in gauges))


def faults(*gauges: object, head: str = "", more: str = "") -> str:
    with pytest.raises(GuitarFileError) as caught:
        strung(*gauges, head=head, more=more)
    return str(caught.value)


@every(range(200))
def test_drawn_sets_complete_themselves(number: int) -> None:
    guitar = parse_guitar(drawn_file(number))
    assert parse_guitar(write_guitar(guitar)) == guitar
    pickup, count = guitar.pickups[0], len(guitar.strings)
    assert 4 <= count <= 9
    spoken = tuned_strings(guitar)
    assert len(spoken) == count  # each has its pitch and mass
    for string in spoken:
        assert string_modes(string, top_frequency=5e3).frequency.size > 0
    y, height = string_places(guitar, pickup)
    assert (np.diff(y) < 0).all() and len(own_poles(guitar, pickup)) == count
    tops = pickup.poles.rod_lengths if pickup.construction == "rod-single" else (0.0,)
    assert (height > max(tops)).all()
    for draw in (Draw(), Draw(number=1), Draw(number=2)):
        assert all(0 < rod.diameter <= one.diameter for rod, one in zip(string_rods(guitar, draw), guitar.strings))


def test_all_spellings_of_a_gauge_are_one_string() -> None:
    typed = ("10", "0.010", '".010"', '"10"', '"0,010"', '"10p"')
    made = {strung(one, 13, 17, 26, 36, 46).strings[0] for one in typed}
    assert len(made) == 1
    assert strung(10, 13, '"20w"', 30, 36, 46).strings[2].core_diameter < 20 * 2.54e-5
    assert strung(10, 13, '"20p"', 30, 36, 46).strings[2].core_diameter == pytest.approx(20 * 2.54e-5)


@pytest.mark.parametrize(("gauge", "words"), [
    ("0.25", "If that is mm, write diameter = 0.25"), ('"10-46"', "that is a set"), ("300", "between 7 and 150"),
    ('"x"', "is not one number"), ("true", "must be a gauge"),
])  # fmt: skip
def test_what_is_no_gauge_is_refused_with_the_likely_slip(gauge: str, words: str) -> None:
    assert words in faults(gauge, 13, 17, 26, 36, 46)


@pytest.mark.parametrize("name", STRING_SETS)
def test_own_strings_of_the_same_make_are_those_of_the_catalogue(name: str) -> None:
    chosen = parse_guitar(f'string_set = "{name}"\n' + PICKUP)
    own = strung(*(round(one.diameter / 2.54e-5, 3) for one in STRING_SETS[name].strings))
    for ours, theirs in zip(own.strings, chosen.strings):
        assert ours.diameter == pytest.approx(theirs.diameter)
        assert ours.core_diameter == pytest.approx(theirs.core_diameter)
        assert ours.unit_mass == pytest.approx(theirs.unit_mass)
        assert (ours.pitch, ours.wrap) == (theirs.pitch, theirs.wrap)


def test_sensitivity_of_an_own_string_is_that_of_the_catalogue_and_not_of_solid_steel() -> None:
    bench = Bench(resolution=COARSE)

    def sensitivity(guitar: Guitar) -> np.ndarray:
        unit = guitar.pickups[0]
        return np.asarray(bench.sensed(guitar, unit, bench.magnetised(guitar, unit)).sensitivity[:, 0])

    catalogue = sensitivity(parse_guitar(PICKUP))
    own = sensitivity(strung(10, 13, 17, 26, 36, 46))
    assert own == pytest.approx(catalogue, rel=0.02)  # the stated tolerance; the same core makes it exact
    solid = sensitivity(strung(10, 13, 17, 26, 36, '"46p"'))
    assert solid[5] > 2.0 * own[5]


def test_tunings_by_the_file_and_by_the_number_of_strings() -> None:
    assert strung(10, 13, 17, 26, 36, 46, 59).tuning[-1] == "B1"
    assert strung(45, 65, 85, 105, head="scale_length_mm = 864\n").tuning == ("G2", "D2", "A1", "E1")
    low = strung(11, 15, 19, 30, 42, 56, head='tuning = ["D4", "A3", "F3", "C3", "G2", "C2"]\n')
    assert low.strings[5].pitch == pytest.approx(65.41, abs=0.01)
    assert "tuning is missing: 4 strings need 4 notes" in faults(10, 13, 17, 26)
    assert "has 2 notes for 6 strings" in faults(10, 13, 17, 26, 36, 46, head='tuning = ["E4", "B3"]\n')
    wrong = 'tuning = ["E4", "B3", "G3", "D3", "A2", "H2"]\n'
    assert "a note is a letter" in faults(10, 13, 17, 26, 36, 46, head=wrong)


def test_a_tuning_listed_the_other_way_round_would_break_strings() -> None:
    assert "string 1, the thin one" in faults(
        10, 13, 17, 26, 36, 46, head='tuning = ["E2", "A2", "D3", "G3", "B3", "E4"]\n'
    )


def test_a_string_that_hangs_slack_is_asked_about() -> None:
    slack = strung(10, 13, 17, 26, 36, 46, head='tuning = ["E3", "B2", "G2", "D2", "A1", "E1"]\n')
    assert any("is pulled with" in one for one in cautions(slack))
    assert not any("is pulled with" in one for one in cautions(strung(10, 13, 17, 26, 36, 46)))


def test_wound_is_said_by_the_flag_the_core_or_the_wrap_and_contradictions_are_refused() -> None:
    assert strung(10, 13, '"18w"', 30, 36, 46).strings[2].wrap == "nickel-plated-steel"
    assert strung(46, 46, 46, 46, 46, 46, more="wound = false\n", head="tuning = ['E2','E2','E2','E2','E2','E2']\n")
    assert "which strings[0].core_diameter contradicts" in faults(
        26, 26, 26, 26, 26, 26, more="wound = false\ncore_diameter = 0.3\n"
    )
    assert "which strings[0].wrap contradicts" in faults(26, 26, 26, 26, 26, 26, more='wound = true\nwrap = "none"\n')


def test_what_is_assumed_of_a_string_is_listed_with_its_spread_and_moves_with_the_draw() -> None:
    guitar = strung(10, 13, 17, 26, 36, 46)
    listed = {one.path: one for one in guitar.assumed}
    core = listed["strings[5].core_diameter"]
    assert core.low is not None and core.high is not None and core.low < 0.4572 < core.high
    assert "micrometer" in core.settle
    assert "strings[0].core_diameter" not in listed and "strings[0].unit_mass_g_per_m" in listed
    drawn = [string_rods(guitar, Draw(number=n))[5].diameter for n in range(1, 60)]
    inside = [core.low <= 1e3 * one <= core.high for one in drawn]
    assert 0.75 <= np.mean(inside) <= 0.99 and len(set(drawn)) > 30  # a 90 % range, 59 draws
    known = strung(10, 13, 17, 26, 36, 46, more="")
    given = parse_guitar(write_guitar(known).replace("diameter = 1.1684", "diameter = 1.1684\ncore_diameter = 0.45"))
    assert len({string_rods(given, Draw(number=n))[5].diameter for n in range(1, 20)}) == 1
    assert len({string_rods(parse_guitar(PICKUP), Draw(number=n))[5].diameter for n in range(1, 20)}) > 10


def test_a_heavier_wrap_weighs_more() -> None:
    nickel = strung(10, 13, 17, 26, 36, 46, more="").strings[5]
    bronze = parse_guitar(write_guitar(strung(26, 26, 26, 26, 36, 46, more='wrap = "bronze"\n'))).strings[5]
    assert bronze.unit_mass is not None and nickel.unit_mass is not None and bronze.unit_mass > 1.05 * nickel.unit_mass
    assert nickel.unit_mass == pytest.approx(string_of(46 * 2.54e-5).unit_mass)


@pytest.mark.parametrize(("strings", "poles", "expected"), [
    (6, 6, (25, 15, 5, -5, -15, -25)), (4, 6, (25, 25 / 3, -25 / 3, -25)), (4, 8, (30, 10, -10, -30)),
    (12, 6, (26, 24, 16, 14, 6, 4, -4, -6, -14, -16, -24, -26)), (1, 6, (25,)),
])  # fmt: skip
def test_strings_lie_over_between_or_beside_their_poles(strings: int, poles: int, expected: tuple[float, ...]) -> None:
    at = tuple(5.0 * (poles - 1) * 1e-3 - 10e-3 * k for k in range(poles))
    assert 1e3 * string_ys(strings, at) == pytest.approx(expected)


def test_a_twelve_inch_radius_is_1_1_mm_over_52_mm() -> None:
    head = "[pickups.poles]\npole_spacing = 10.4\n"
    flat, arched = (parse_guitar(one + PICKUP + head).pickups[0] for one in ("", "fingerboard_radius_in = 12\n"))
    up = underside_at(arched, 0.0) - underside_at(flat, 0.0)
    assert up == pytest.approx(1.111e-3, abs=1e-6)  # 26^2 / (2 x 304.8) and its next term
    rise = np.subtract(string_undersides(arched), string_undersides(flat))
    assert rise[[0, 5]] == pytest.approx([0.0, 0.0], abs=1e-12), "the two gaps are those of the outer strings"
    expected = math.sqrt(0.3048**2 - 0.0052**2) - math.sqrt(0.3048**2 - 0.026**2)
    assert rise[2] == pytest.approx(expected) and rise[3] == pytest.approx(expected)
    assert any(one.path == "fingerboard_radius_mm" and "flat" in one.value for one in parse_guitar(PICKUP).assumed)
    said = parse_guitar('fingerboard_radius = "none"\n' + PICKUP)
    assert not any(one.path.startswith("fingerboard") for one in said.assumed)


ALL: dict[str, Callable[[Guitar, Bench], Any]] = {
    "predict": lambda g, b: predict(g, "neck", parse_changes(["lower=0.3mm", "tone=5"]), draws=8, bench=b),
    "grades": lambda g, b: compare_grades(g, "neck", slugs=("alnico-3",), draws=8, bench=b),
    "plan": lambda g, b: make_plan(g, bench=b, complaints=parse_complaints(["muddy"]), draws=8),
    "hear": lambda g, b: hear(g, "neck", phrase="single-notes-high", bench=b),
    "worksheet": lambda g, b: work_sheet(g, "neck", parse_changes(["magnet=alnico-3"]), bench=b, draws=8),
}


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(resolution=COARSE)


@pytest.mark.parametrize("command", ALL)
@pytest.mark.parametrize("gauges", [(45, 65, 85, 105), (10, 13, 17, 26, 36, 46, 59)], ids=["bass-4", "guitar-7"])
def test_every_command_takes_them(gauges: tuple[int, ...], command: str, bench: Bench) -> None:
    head = "scale_length_mm = 864\n" if gauges[0] > 30 else "fingerboard_radius_in = 12\n"
    found = ALL[command](strung(*gauges, head=head), bench)
    if command == "predict":
        assert len(found.before.string_balance_db) == len(gauges)
        assert all(math.isfinite(one) for one in (found.before.level_db, *found.before.string_balance_db))


def test_own_strings_are_called_by_their_gauges() -> None:
    own = [{"gauge": one} for one in ("45w", "65w", "85w", "105w", "130w")]
    text = 'name = "x"\n' + "".join(f'[[strings]]\ngauge = "{one["gauge"]}"\n' for one in own)
    text += '[[pickups]]\nname = "p"\nposition = "middle"\nconstruction = "split-rods"\n'
    assert parse_guitar(text).strings_called == "own, 45 to 130"
    assert parse_guitar(text[: text.index("[[strings]]")] + text[text.index("[[pickups]]") :]).strings_called == "10-46"
