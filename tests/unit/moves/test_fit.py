"""Does a bar fit: verdicts at their limits, sizes that nobody measured, and what the words say.

Limits are common practice, no source; the inch is 25.4 mm by definition (international yard, 1959).
"""

from pathlib import Path

import pytest

from polepiece.constants import INCH
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, read_guitar
from polepiece.moves import bar_fit
from polepiece.moves.fit import NEW_BAR, THICKEST_FERRITE, one_size

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"
MEASURED = """
[[pickups]]
name = "neck"
position = "neck"
construction = "{construction}"
[pickups.magnet]
grade = "alnico-2"
bar_length_in = 2.5
bar_width_in = 0.5
bar_thickness_in = 0.125
"""


def measured(construction: str = "humbucker") -> Guitar:
    return parse_guitar(MEASURED.format(construction=construction))


def test_inches_are_exact() -> None:
    assert INCH == 25.4e-3
    assert NEW_BAR["length"][0] * 1e3 == pytest.approx(63.5, abs=1e-12)
    assert NEW_BAR["width"][0] * 1e3 == pytest.approx(12.7, abs=1e-12)
    assert NEW_BAR["thickness"][0] * 1e3 == pytest.approx(3.175, abs=1e-12)
    assert pytest.approx(4.064, abs=1e-12) == THICKEST_FERRITE * 1e3


@pytest.mark.parametrize(
    ("dimension", "excess_mm", "verdict"),
    [
        ("thickness", 0.10, "fits"),
        ("thickness", 0.11, "too large"),
        ("thickness", -0.10, "fits"),
        ("thickness", -0.11, "shim"),
        ("width", 0.10, "fits"),
        ("width", 0.11, "too large"),
        ("width", -0.11, "shim"),
        ("length", 0.50, "fits"),
        ("length", 0.51, "too large"),
        ("length", -1.00, "fits"),
        ("length", -1.01, "shim"),
    ],
)
def test_verdict_at_its_limits(dimension: str, excess_mm: float, verdict: str) -> None:
    here, new = 12.7e-3, (12.7 + excess_mm) * 1e-3
    assert one_size(dimension, here=(here, here), new=(new, new)) == verdict  # type: ignore[arg-type]


def test_a_range_that_holds_two_answers_is_to_be_measured() -> None:
    assert one_size("thickness", here=(3.1e-3, 3.2e-3), new=(3.15e-3, 3.15e-3)) == "fits"
    assert one_size("thickness", here=(3.0e-3, 3.2e-3), new=(3.15e-3, 3.15e-3)) == "measure first"


def test_measured_bars_get_a_plain_answer() -> None:
    size = (2.5 * INCH, 0.5 * INCH, 0.160 * INCH)  # a ferrite bar at its thickest where alnico sat
    found = bar_fit(measured(), "neck", "ceramic-8", size=size)
    by_name = {one.dimension: one for one in found.checks}
    assert found.verdict == "too large"
    assert not found.assumed
    assert by_name["length"].verdict == by_name["width"].verdict == "fits"
    assert "tilt" in by_name["thickness"].words
    assert "cover will not seat" in by_name["thickness"].words


def test_assumed_sizes_are_said_to_be_and_asked_for() -> None:
    found = bar_fit(read_guitar(DEMO), "neck", "alnico-3")
    assert found.verdict == "measure first"
    assert all(one.here_assumed and one.new_assumed for one in found.checks)
    assert all(one.words.startswith("both bars;") for one in found.checks)
    assert all(one.nominal == "fits" for one in found.checks)  # usual against usual
    only_old = bar_fit(read_guitar(DEMO), "neck", "alnico-3", size=(63.5e-3, 12.7e-3, 3.9e-3))
    assert only_old.checks[0].words.startswith("the old bar;")
    assert only_old.checks[2].verdict == "too large"  # thicker than any old bar may be


def test_ferrite_and_rough_cast_may_be_thicker() -> None:
    polished, rough, ferrite = (
        bar_fit(measured(), "neck", grade, finish=finish).checks[2].new_range[1]
        for grade, finish in (("alnico-5", "polished"), ("alnico-5", "rough-cast"), ("ceramic-8", "polished"))
    )
    assert polished < rough < ferrite


def test_two_bars_where_there_are_two_and_a_flat_bar_in_its_own_words() -> None:
    assert bar_fit(measured("two-bar-single"), "neck", "alnico-3").bars == 2
    size = (2.5 * INCH, 0.45 * INCH, 0.125 * INCH)
    flat = bar_fit(measured("bar-single"), "neck", "alnico-3", size=size)
    assert flat.checks[1].verdict == "shim"
    assert "every pole must stand on it" in flat.checks[1].words
    assert "both sides" not in flat.checks[1].words


def test_rods_have_no_bar_and_no_size_is_invented() -> None:
    guitar = parse_guitar('[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "rod-single"\n'
                          'magnet.grade = "alnico-5"\n')  # fmt: skip
    with pytest.raises(InputError, match="has no bar"):
        bar_fit(guitar, "neck", "alnico-3")
    with pytest.raises(InputError, match="no size"):
        bar_fit(measured(), "neck", "alnico-3", size=(2.5, 0.5, 0.125))  # inches where metres belong
