"""Heights are screened string by string, whether there are as many poles as strings or not."""

import pytest

from polepiece.bench import Bench
from polepiece.guitar import parse_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup.engine import COARSE
from polepiece.planning.estimates import Estimator

BASS = """
string_set = "45-105"
tuning = ["G2", "D2", "A1", "E1"]
scale_length_mm = 864
[[pickups]]
name = "neck"
position = "neck"
construction = "bar-single"
[pickups.magnet]
grade = "alnico-5"
charge = "outside"
[pickups.poles]
pole_count = 6
"""


def test_six_poles_under_four_strings_are_screened() -> None:
    guitar = parse_guitar(BASS)
    bench = Bench(resolution=COARSE)
    near = Estimator(bench, guitar, "neck")
    for change in ("lower=0.3mm", "raise_treble=0.4mm"):
        changed = apply(guitar, "neck", parse_changes([change]))
        found, true = near.screened(changed), bench.state(changed, "neck")
        assert len(found.string_balance_db) == 4
        assert found.level_db == pytest.approx(true.level_db, abs=0.15)  # straight lines through a curve, of 1 to 2 dB
        assert abs(true.level_db - near.before.level_db) > 0.5
        assert found.string_balance_db == pytest.approx(true.string_balance_db, abs=0.3)
