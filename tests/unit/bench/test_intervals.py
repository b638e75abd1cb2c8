"""A value that is told lies in the interval that is told beside it, whatever is not known of the guitar."""

from pathlib import Path

import numpy as np
import pytest

from polepiece.bench import Bench, compare_grades, predict
from polepiece.bench.intervals import _moves_on, magnet_moves
from polepiece.errors import ConvergenceError
from polepiece.guitar import parse_guitar
from polepiece.guitar.spread import ninety
from polepiece.moves import parse_changes
from polepiece.pickup import anatomy, engine, string_layout

MINIMAL = """
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[pickups.magnet]
grade = "alnico-5"
"""


def test_an_interval_reaches_to_its_value() -> None:
    draws = np.column_stack([np.arange(1, 100) / 100.0] * 3)  # the k-th of 99 draws stands for k / 100
    inside, above, below = ninety(draws, [0.5, 1.2, -0.3])
    assert inside == pytest.approx((0.05, 0.95))
    assert above == pytest.approx((0.05, 1.2))
    assert below == pytest.approx((-0.3, 0.95))
    assert ninety(draws, [np.nan] * 3)[0] == pytest.approx((0.05, 0.95))


@pytest.mark.parametrize("count", [20, 64, 200])
def test_the_next_draw_lies_inside_in_ninety_of_a_hundred(count: int) -> None:
    """Order statistics: of n + 1 exchangeable values the last is as likely at each rank (H. A. David, ch. 7).

    Two thousand sets give the share to 0.7 % (one standard deviation); straight lines between ranks leave nothing over
    from 19 draws on, and the 5 % point of numpy's default would hold 87 % with 64 draws, 82 % with 20.
    """
    random = np.random.default_rng(count)
    values = random.standard_normal((count, 2000))
    ends = np.array(ninety(values))
    inside = (ends[:, 0] <= (new := random.standard_normal(2000))) & (new <= ends[:, 1])
    assert np.mean(inside) == pytest.approx(0.90, abs=0.02)


@pytest.mark.parametrize("change", ["magnet=alnico-3", "lower=0.5mm"])
def test_of_a_guitar_whose_charge_is_not_known(change: str, tmp_path: Path) -> None:
    guitar = parse_guitar(MINIMAL)
    assert guitar.pickup("neck").magnet.charge == "unknown"
    found = predict(guitar, "neck", parse_changes([change]), draws=16)
    for key, (low, high) in found.interval.items():
        if key in found.difference:
            assert low <= found.difference[key] <= high, key


def test_of_every_grade_in_it() -> None:
    found = compare_grades(parse_guitar(MINIMAL), "neck", draws=16, bench=Bench(exact_screws=False))
    for one in found.results:
        low, high = one.interval["level_db"]
        assert low <= one.difference["level_db"] <= high, one.grade


def test_air_too_narrow_for_the_coarse_mesh_is_solved_on_the_usual_one() -> None:
    given = (
        MINIMAL.replace('"humbucker"', '"two-bar-single"') + "[pickups.poles]\npole_count = 4\npole_spacing_mm = 19\n"
    )
    guitar = parse_guitar(given)
    pickup = guitar.pickup("neck")
    layout = string_layout(guitar, pickup, anatomy(pickup))
    with pytest.raises(ConvergenceError):  # panels 6 mm wide, 0.02 mm from what they face and not aligned with it
        _moves_on(pickup, layout, engine.COARSE)
    moves = magnet_moves(pickup, layout)
    low, high = (float(np.sum(one * moves.table) / np.sum(moves.table**2)) for one in moves.ends["gap"])
    assert 0.0 < low < 0.02  # less air, more field
    assert -0.02 < high < 0.0
