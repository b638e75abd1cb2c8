"""A sheet that was written on: what stands where, and what the owner's page takes from the bench."""

import re

import pytest

from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import parse_guitar
from polepiece.moves import parse_changes
from polepiece.report import WorkSheet, with_head, work_sheet, worksheet_html

GUITAR = """
name = "Filled (invented)"
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
magnet.grade = "alnico-2"
"""


@pytest.fixture(scope="module")
def sheet() -> WorkSheet:
    bench = Bench(exact_screws=False)
    changes = parse_changes(["magnet=alnico-3"])
    return work_sheet(parse_guitar(GUITAR), "neck", changes, bench=bench, bars=["alnico-5"], draws=8)


def cell(page: str, row: str, which: int) -> str:
    """Return the text of a cell of the table row whose head begins so."""
    found = re.search(rf"<tr><th scope=\"row\">{row}.*?</tr>", page, re.DOTALL)
    assert found, row
    cells = re.findall(r"<t[dh].*?>(.*?)</t[dh]>", found[0], re.DOTALL)
    return re.sub(r"<.*?>", "", cells[which])


def test_a_reading_stands_in_its_own_blank_and_on_the_owners_page(sheet: WorkSheet) -> None:
    page = worksheet_html(sheet, filled={"baseline.dc_resistance": "7.91 kΩ", "after.gap_bass": "2.7 mm"})
    bench, owner = page.split('id="owner"')
    assert cell(bench, "DC resistance, 20", 2) == "7.91 kΩ"
    assert cell(owner, "DC resistance", 2) == "7.91 kΩ"
    assert cell(owner, "gap bass", 2) == ""  # measured before: nobody has
    assert cell(owner, "gap bass", 4) == "2.7 mm"
    assert page.count("7.91") == 2


def test_what_the_owner_was_told_otherwise_wins(sheet: WorkSheet) -> None:
    page = worksheet_html(sheet, filled={"baseline.dc_resistance": "7.91 kΩ", "owner.dc.before": "about 8 kΩ"})
    assert cell(page.split('id="owner"')[1], "DC resistance", 2) == "about 8 kΩ"


def test_ticks_strings_bars_and_sizes(sheet: WorkSheet) -> None:
    filled = {
        "step.baseline.photo": "yes", "after_strings.pole_gauss.screws.3": "211", "bars.alnico-5.heard": "tighter",
        "fit.length.old": "63.4 mm", "rates.labour": "60 <EUR>",
    }  # fmt: skip
    page = worksheet_html(sheet, filled=filled)
    assert page.count('"checkbox" checked') == 1
    assert page.count('class="ink"') == 4
    assert "60 &lt;EUR&gt;" in page
    plain = worksheet_html(sheet)
    assert 'class="ink"' not in plain and '"checkbox" checked' not in plain


def test_each_part_stands_alone(sheet: WorkSheet) -> None:
    bench, owner = worksheet_html(sheet, part="bench"), worksheet_html(sheet, part="owner")
    assert "STOP when" in bench and "What was done to your guitar" not in bench
    assert "STOP when" not in owner and "What was done to your guitar" in owner


def test_another_head_is_no_other_sheet(sheet: WorkSheet) -> None:
    named = with_head(sheet, customer="  A.  Player ", job="17")
    assert (named.customer, named.job, named.date) == ("A. Player", "17", None)
    assert named.sections == sheet.sections
    with pytest.raises(InputError, match="customer has 81 characters"):
        with_head(sheet, customer="x" * 81)
