"""Facts of the trade about bars in a stock full-size humbucker (common practice, no source), both charges.

What the physics bears out is held; the two statements that it does not bear out are held as findings, so that
neither can turn round unnoticed (docs/findings.md says why). No constant is fitted to any of this.
"""

import pytest

from polepiece.bench import Bench
from polepiece.trade.judged import holds
from polepiece.trade.table import STATEMENTS
from verification.trade import compared, drawn_grades

DRAWS = 32
BY_NAME = {one.name: one for one in STATEMENTS}


@pytest.fixture(scope="module")
def bench():
    return Bench()


@pytest.fixture(scope="module", params=["outside", "in-place"])
def grades(request, bench):
    return request.param, *drawn_grades(request.param, DRAWS, bench=bench)


@pytest.mark.parametrize(
    "name",
    [
        "3 has the least level",
        "2 and 4 lie within 1.5 dB",
        "8 is louder than 2",
        "ferrite has more treble against lows than 2",
    ],
)
def test_statement_holds_for_both_charges(grades, name):
    charge, nominal, _ = grades
    if name == "3 has the least level" and charge == "in-place":
        # ferrite lies below 3 there: part of the finding on ferrite
        level = {g: nominal[g]["level_db"] for g in ("alnico-2", "alnico-4", "alnico-5", "alnico-8")}
        assert nominal["alnico-3"]["level_db"] < min(level.values())
        return

    assert holds(BY_NAME[name], nominal)


def test_5_is_louder_than_2_charged_in_place_and_not_distinguishable_charged_outside(grades):
    charge, nominal, drawn = grades
    pair = ("alnico-2", "alnico-5")
    found = compared({one: nominal[one] for one in pair}, [{one: draw[one] for one in pair} for draw in drawn])
    low, high = found["alnico-2"]["alnico-5"].interval["level_db"]

    if charge == "in-place":
        assert low > 0.0
    else:
        assert low < 0.0 < high


def test_finding_ferrite_is_not_louder_than_2_in_the_same_coil(grades):
    """The finding: see docs/findings.md. Field higher, coil path weaker."""
    _, nominal, _ = grades

    assert abs(nominal["ceramic-8"]["field_mt.3"]) > abs(nominal["alnico-2"]["field_mt.3"])
    assert nominal["ceramic-8"]["level_db"] < nominal["alnico-2"]["level_db"]
    assert nominal["ceramic-8"]["inductance_120hz_h"] < nominal["alnico-2"]["inductance_120hz_h"]


def test_rough_cast_is_a_trace_weaker_and_not_duller(grades):
    """What the assumption about the finish gives; the trade's "slightly less at the top" is disputed.

    A weaker level by less than 1 dB, which nobody hears the next day; the two differ by contact and section only.
    """
    _, nominal, _ = grades
    rough, polished = nominal["alnico-5-rough-cast"], nominal["alnico-5"]

    assert -1.0 < rough["level_db"] - polished["level_db"] < 0.0
    assert abs(rough["bands_db.presence"] - polished["bands_db.presence"]) < 0.2  # found: 0.10 and 0.14
