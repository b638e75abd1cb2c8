"""Verdicts of the benchmarks: by construction, errors beside times, an exit code for a limit that is missed."""

import importlib.util
from pathlib import Path

import pytest

FILE = Path(__file__).resolve().parents[3] / "benchmarks" / "verdicts.py"
SPEC = importlib.util.spec_from_file_location("verdicts", FILE)
assert SPEC is not None and SPEC.loader is not None
verdicts = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(verdicts)

SCREW = {"construction": "humbucker", "name": "one screw", "seconds": 0.5, "limit": 0.6, "error": 1e-4,
         "error_limit": 3e-4, "error_across": 2e-3, "error_across_limit": 5e-3}  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({}, []),
        ({"seconds": 0.6}, []),  # at the limit it holds
        ({"seconds": 0.61}, ["0.61 s, limit 0.6"]),
        ({"error": 4e-4}, ["error 0.0004, limit 0.0003"]),
        ({"error": float("nan")}, ["error nan, limit 0.0003"]),
        ({"error_across": 6e-3}, ["error across 0.006, limit 0.005"]),
        ({"limit": None, "error_limit": None, "error_across_limit": None, "seconds": 99.0}, []),
    ],
    ids=str,
)
def test_a_row_says_which_of_its_limits_it_misses(changed, words):
    assert verdicts.missed(SCREW | changed) == words


def test_rendering_has_a_limit_from_below():
    fast = {"name": "chord", "times_real_time": 41.0, "limit": 40.0}
    assert verdicts.missed(fast) == []
    assert verdicts.missed(fast | {"times_real_time": 39.0}) == ["39 x real time, limit 40.0"]


def test_a_construction_holds_when_all_its_rows_do():
    slow = SCREW | {"name": "geometry", "seconds": 3.0, "limit": 2.5}
    free = {"construction": "rod-single", "name": "first", "seconds": 9.0, "limit": None}
    memory = {"name": "peak", "gibibytes": 1.0, "limit": 1.2}
    found = verdicts.by_construction([SCREW, slow, free, memory])
    assert found["humbucker"] == {"holds": False, "limits": 2, "missed": ["geometry: 3 s, limit 2.5"]}
    assert found["whole program"]["holds"]
    assert "rod-single" not in found  # no limit, no verdict
    assert "MISSED humbucker" in verdicts.summary(found) and "holds  whole program" in verdicts.summary(found)
    assert [row["holds"] for row in verdicts.judged([SCREW, slow, free])] == [True, False, None]
