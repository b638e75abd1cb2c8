"""Every grade judged twice: at the same gap, and with the gap re-set to the old level.

0.01 dB: `Bench.regap` stops at 0.005 dB. Louder bars are lowered, quieter ones raised: what a bench does.
"""

from pathlib import Path

import pytest

from polepiece.bench import Bench, compare_grades, difference
from polepiece.guitar import read_guitar

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


def test_reset_to_the_old_level() -> None:
    guitar = read_guitar(DEMO)
    bench = Bench(exact_screws=False)
    found = compare_grades(guitar, "neck", slugs=("alnico-3", "alnico-8"), at_level=True, draws=8, bench=bench)
    for one in found.results:
        there = one.at_level
        assert there is not None
        assert there.state.level_db == pytest.approx(found.before.level_db, abs=0.01)
        assert (there.lowered > 0) == (one.difference["level_db"] > 0)
        assert there.difference == difference(found.before, there.state)
        low, high = there.interval["level_db"]
        assert low <= there.difference["level_db"] <= high
    plain = compare_grades(guitar, "neck", slugs=("alnico-3",), draws=0, bench=bench)
    assert plain.results[0].at_level is None
    assert plain.results[0].difference == found.results[0].difference
