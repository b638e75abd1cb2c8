"""Drawings are to scale, curves lie where their numbers say, and the data behind them is whole."""

import base64
import csv
import io
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.guitar import parse_guitar, read_guitar
from polepiece.guitar.constructions import SLUGS
from polepiece.report import Curve, chart, csv_text, curves_csv, pickup_drawing, svg, words
from polepiece.report.worksheet.page import effect_texts
from polepiece.report.worksheet.record import Effect

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


def boxes(text: str, cls: str) -> list[tuple[float, ...]]:
    """Rectangles of a class: x, y, width, height."""
    root = ElementTree.fromstring(text)
    found = [one for one in root.iter() if one.tag == "rect" and cls in one.attrib["class"].split()]
    return [tuple(float(one.attrib[key]) for key in ("x", "y", "width", "height")) for one in found]


def test_the_humbucker_is_to_scale() -> None:
    guitar = read_guitar(DEMO)
    side, top, described = pickup_drawing(guitar, "neck")
    pickup = guitar.pickup("neck")
    steel = {(round(w, 2), round(h, 2)) for _, _, w, h in boxes(side, "steel")}
    p = pickup.poles
    assert (round(1e3 * p.slug_diameter, 2), round(1e3 * (p.slug_height - p.slug_bottom), 2)) in steel
    assert (round(1e3 * p.head_diameter, 2), round(1e3 * p.head_height, 2)) in steel
    bars = [*boxes(side, "north"), *boxes(side, "south")]
    assert sum(w for _, _, w, _ in bars) == pytest.approx(1e3 * pickup.magnet.width, abs=0.25)  # less the contact gap
    assert "63.5 x" in described
    circles = [one for one in ElementTree.fromstring(top).iter("circle")]
    assert len(circles) == 12
    assert {abs(float(one.attrib["cx"])) for one in circles} == {1e3 * p.row_offset}


def test_string_one_is_at_the_top_and_the_strings_lie_over_the_poles() -> None:
    side, top, _ = pickup_drawing(read_guitar(DEMO), "neck")
    numbers = re.findall(r'y="(-?[\d.]+)"[^>]*>(\d)</text>', top)
    heights = {int(number): float(y) for y, number in numbers}
    assert [heights[k] for k in range(1, 7)] == sorted(heights[k] for k in range(1, 7))
    lowest_string = max(y + h for _, y, _, h in boxes(side, "string"))
    assert lowest_string < min(y for _, y, _, _ in boxes(side, "steel"))  # SVG's y grows downwards: nothing touches


@pytest.mark.parametrize("construction", SLUGS)
def test_every_construction_is_drawn(construction: str) -> None:
    guitar = parse_guitar(
        f'[[pickups]]\nname="a"\nposition="neck"\nconstruction="{construction}"\n[pickups.magnet]\ngrade="alnico-5"\n'
    )
    side, top, described = pickup_drawing(guitar, "a")
    for view in (side, top):
        root = ElementTree.fromstring(view)
        x0, y0, width, height = map(float, root.attrib["viewBox"].split())
        assert root.find("title") is not None
        for box in [*boxes(view, "steel"), *boxes(view, "coil"), *boxes(view, "plate"), *boxes(view, "north")]:
            assert box[0] >= x0
            assert box[1] >= y0
            assert box[0] + box[2] <= x0 + width
            assert box[1] + box[3] <= y0 + height
    assert guitar.pickups[0].built.words in described
    assert boxes(side, "north")
    assert boxes(side, "south")


def test_two_bars_turn_like_poles_to_the_screws() -> None:
    guitar = parse_guitar(
        '[[pickups]]\nname="a"\nposition="neck"\nconstruction="two-bar-single"\n[pickups.magnet]\ngrade="alnico-5"\n'
    )
    side, _, _ = pickup_drawing(guitar, "a")
    north, south = boxes(side, "north"), boxes(side, "south")
    inner = max(abs(x + 0.5 * w) for x, _, w, _ in north) < min(abs(x + 0.5 * w) for x, _, w, _ in south)
    outer = max(abs(x + 0.5 * w) for x, _, w, _ in south) < min(abs(x + 0.5 * w) for x, _, w, _ in north)
    assert inner or outer


FREQUENCY = np.geomspace(20.0, 20e3, 31)


def test_a_curve_lies_between_its_grid_lines() -> None:
    text = chart([Curve(name="flat", frequency=FREQUENCY, level_db=np.zeros(31))], title="t", unit="dB", span=4.0)
    root = ElementTree.fromstring(text)
    points = next(root.iter("polyline")).attrib["points"].split()
    rows = {float(one.split(",")[1]) for one in points}
    zero = next(float(one.attrib["y"]) - 5.0 for one in root.iter("text") if one.text == "0")
    assert max(abs(one - zero) for one in rows) <= 0.06  # coordinates have one decimal
    labels = {one.text: float(one.attrib["x"]) for one in root.iter("text")}
    kilo = float(points[int(np.argmin(np.abs(FREQUENCY - 1000.0)))].split(",")[0])  # 1002.4 Hz, 0.15 units further
    assert kilo == pytest.approx(labels["1k"] + 0.15, abs=0.1)
    assert labels["100"] - labels["20"] == pytest.approx((labels["1k"] - labels["100"]) * np.log10(5.0), abs=0.1)


def test_small_differences_do_not_look_large() -> None:
    text = chart(
        [Curve(name="a", frequency=FREQUENCY, level_db=np.linspace(0.0, 0.01, 31))], title="t", unit="dB", span=4.0
    )
    levels = [one for one in ElementTree.fromstring(text).iter("text") if one.attrib["text-anchor"] == "end"]
    ticks = [float((one.text or "").replace("−", "-")) for one in levels]
    assert max(ticks) - min(ticks) >= 4.0


def test_a_chart_needs_a_curve() -> None:
    with pytest.raises(InputError, match="at least one"):
        chart([], title="t", unit="dB")


def test_lines_are_told_apart_without_colour() -> None:
    style = (Path(svg.__file__).parent / "templates" / "style.css").read_text(encoding="utf-8")
    dashes = dict(re.findall(r"\.s(\d)\{[^}]*?stroke-dasharray:([\d. ]+)", style))
    assert "0" not in dashes  # solid: as it is
    assert len(set(dashes.values())) == len(dashes) == 5


def test_the_data_behind_curves() -> None:
    lines = [
        Curve(name=name, frequency=FREQUENCY, level_db=np.full(31, value))
        for name, value in (("a, b", 1.0), ("c", -2.5))
    ]
    head, _, body = curves_csv(lines).partition(",")
    assert head.startswith("data:text/csv")
    rows = list(csv.reader(io.StringIO(base64.b64decode(body).decode("utf-8"))))
    assert rows[0] == ["frequency_hz", "a, b (dB)", "c (dB)"]
    assert len(rows) == 32
    assert rows[1] == ["20.00", "1.000", "-2.500"]


def test_text_in_drawings_is_escaped() -> None:
    assert svg.label(0.0, 0.0, "<b> & c", "note").count("&lt;b&gt; &amp; c") == 1
    ElementTree.fromstring(svg.tag("g", "a<b", data_x='"quoted"'))


def test_an_interval_has_the_digits_of_the_plan() -> None:
    """A wide one too: -2.8 (-3.1 to -0.7) in the plan is not -3 (-3 to -1) on the work sheet of the same change."""
    assert words.spread((-3.06, -0.66)) == "−3.1 to −0.7"
    wide = Effect(key="bands_db.presence", words="presence", unit="dB", change=-2.84, interval=(-3.06, -0.66),
                  change_at_old_level=None)  # fmt: skip
    assert (effect_texts(wide)["same"], effect_texts(wide)["span"]) == ("−2.8", "−3.1 to −0.7")
    assert words.spread((-0.02, 0.01)) == "within ±0.05"
    assert words.spread(None) == ""


def test_no_cell_of_a_csv_is_a_formula() -> None:
    rows = list(
        csv.reader(io.StringIO(csv_text([["=1+1", "@a", "+b", "-c (dB)", "a,b"], ["-0.5", "+1e3", "", "0", "x"]])))
    )
    assert rows == [["'=1+1", "'@a", "'+b", "'-c (dB)", "a,b"], ["-0.5", "+1e3", "", "0", "x"]]
