"""Every grade in one pickup as plain values: made in a process of its own, kept in the notebook, shown by the page."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from polepiece import __version__
from polepiece.arrays import FloatArray
from polepiece.bench import Bench, Grades, State, compare_grades
from polepiece.guitar import Charge, Guitar
from polepiece.materials import constants_hash
from polepiece.trade import JudgedCell, trade_body, trade_verdicts

SCHEMA = "polepiece/grade-sheet/1"
BANDS = ("lows", "mids", "highs", "presence")
KEYS = ("level_db", *(f"bands_db.{band}" for band in BANDS), "wound_minus_plain_db", "resonance_hz", "resonance_db",
        "inductance_1khz_h")  # fmt: skip
GRID = slice(None, None, 2)  # of the response: 200 points over ten octaves

Progress = Callable[[int, int, str], None]


def every_grade(
    progress: Progress, guitar: Guitar, pickup: str, charge: "Charge | None" = None, seed: int = 0,
    heard: "str | None" = None,
) -> dict[str, Any]:  # fmt: skip
    """Compute every grade, at the same gap and with the gap re-set, and what the trade says of each."""
    bench = Bench(seed=seed, exact_screws=False)
    found = compare_grades(
        guitar, pickup, charge=charge, seed=seed, at_level=True, bench=bench, position=heard,
        progress=lambda done, of: progress(done, of, "computing every grade"),
    )  # fmt: skip
    progress(0, 0, "setting beside what the trade says")
    return as_sheet(found, trade_verdicts(guitar, found, bench=bench), seed)


def as_sheet(found: Grades, judged: tuple[JudgedCell, ...], seed: int) -> dict[str, Any]:
    """Return grades as JSON values: all that the page shows."""
    return {
        "schema": SCHEMA, "version": __version__, "constants": constants_hash(), "seed": seed,
        "pickup": found.pickup, "in_place_of": found.present, "charge": found.charge,
        "frequency_hz": _rounded(found.before.frequency_hz[GRID], 2),
        "before": _state(found.before),
        "grades": [
            {
                "grade": one.grade,
                "same": _side(one.state, one.difference, one.interval, 0.0),
                "reset": None if one.at_level is None else _side(
                    one.at_level.state, one.at_level.difference, one.at_level.interval, one.at_level.lowered
                ),
                "trade": trade_body(one.grade, judged),
            }
            for one in found.results
        ],
    }  # fmt: skip


def _state(state: State) -> dict[str, Any]:
    return {
        "level_db": state.level_db, "resonance_hz": state.resonance_hz, "resonance_db": state.resonance_db,
        "inductance_1khz_h": state.inductance_1khz_h, "response_db": _rounded(state.response_db[GRID], 3),
    }  # fmt: skip


def _side(
    state: State, difference: Mapping[str, float], interval: Mapping[str, tuple[float, float]], lowered: float
) -> dict[str, Any]:
    return _state(state) | {
        "lowered_mm": round(1e3 * lowered, 3),
        "difference": {key: round(difference[key], 5) for key in KEYS if key in difference},
        "interval": {key: [round(v, 5) for v in interval[key]] for key in KEYS if key in interval},
    }


def _rounded(values: FloatArray, digits: int) -> list[float]:
    return [float(v) for v in np.round(values, digits)]


def csv_rows(sheet: Mapping[str, Any]) -> list[list[str]]:
    """Return the table as rows for a CSV file, the head first: both gaps, every interval, what the trade says."""
    head = ["grade", "gap", "lowered_mm"]
    for key in KEYS:
        head += [key, f"{key} 90% low", f"{key} 90% high"]
    head += [
        f"trade {column} (common practice; judged at the same gap)" for column in ("level", "lows", "mids", "highs")
    ]
    rows = [head]
    for one in sheet["grades"]:
        for gap in ("same", "reset"):
            if one[gap] is None:
                continue
            row = [
                one["grade"],
                "same gap" if gap == "same" else "re-set to the old level",
                f"{one[gap]['lowered_mm']:g}",
            ]
            for key in KEYS:
                value = one[gap]["difference"].get(key)
                row += ["" if value is None else f"{value:.4g}", *_pair(one[gap]["interval"].get(key))]
            row += [_says(one["trade"], column) for column in ("level", "lows", "mids", "highs")]
            rows.append(row)
    return rows


def _pair(interval: "Sequence[float] | None") -> list[str]:
    return ["", ""] if interval is None else [f"{one:.4g}" for one in interval]


def _says(trade: "Mapping[str, Any] | None", column: str) -> str:
    if trade is None or trade[column] is None:
        return ""
    return f"{trade[column]} [{trade['strengths'].get(column, '')}; {trade['verdicts'].get(column, 'not computed')}]"
