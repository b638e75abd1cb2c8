"""The measurement of growth: exponents of known laws, the table on its page, and every axis on a coarse mesh."""

import importlib.util
import math
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[3] / "benchmarks"
sys.path.insert(0, str(FOLDER))
SPEC = importlib.util.spec_from_file_location("growth", FOLDER / "growth.py")
assert SPEC is not None and SPEC.loader is not None
growth = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(growth)
sys.path.remove(str(FOLDER))


@pytest.mark.parametrize("power", [0.0, 1.0, 2.0, 3.0])
def test_the_exponent_of_a_law_is_its_power(power: float) -> None:
    sizes = [10, 20, 40, 80, 160, 320]
    found, error = growth.exponent(sizes, [0.003 * one**power for one in sizes])
    assert found == pytest.approx(power, abs=1e-9) and error == pytest.approx(0.0, abs=1e-9)


def test_a_fixed_cost_hides_no_growth_in_the_upper_half() -> None:
    sizes = [1, 2, 4, 8, 1000, 2000, 4000]
    found, error = growth.exponent(sizes, [10.0 + one for one in sizes])
    # 4 of 7 sizes: from 8 on, where the fixed cost is more than half, to 4000
    assert 0.7 < found < 1.0 and 0.0 < error < 0.2
    two, none = growth.exponent([1, 2], [1.0, 2.0])
    assert two == pytest.approx(1.0) and math.isnan(none)


def result() -> dict[str, object]:
    row = {"axis": "panels", "what": "geometry", "sizes": [100, 200], "seconds": [1.0, 4.0], "exponent": 2.0,
           "exponent_error": None}  # fmt: skip
    return {"date": "2026-11-30", "machine": "m", "cores": 2, "python": "3", "commit": "abc", "load": 1.0,
            "counted": "processor seconds", "rows": [row]}  # fmt: skip


def test_the_table_stands_between_its_marks_and_nothing_else_moves(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"# Head\n{growth.BEGIN}\nold\n{growth.END}\ntail\n", encoding="utf-8")
    growth.write_page(result(), page)
    text = page.read_text(encoding="utf-8")
    assert text.startswith("# Head\n") and text.endswith("\ntail\n") and "old" not in text
    assert "| panels | geometry | 100 to 200 | 1 to 4 | 2.00 |" in text and "commit abc" in text
    growth.write_page(result(), page)
    assert page.read_text(encoding="utf-8") == text
    page.write_text("no marks", encoding="utf-8")
    with pytest.raises(SystemExit):
        growth.write_page(result(), page)


def test_the_page_has_its_place_and_the_drawing_every_row() -> None:
    text = growth.PAGE.read_text(encoding="utf-8")
    assert growth.BEGIN in text and growth.END in text
    drawn = growth.drawing(result())
    assert drawn.count("<polyline") == 1 and "geometry: size^2.00" in drawn
