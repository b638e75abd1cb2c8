"""Cost over size, one small drawing an axis, both logarithmic: SVG of its own, readable on light and dark."""

import math
from collections.abc import Mapping
from typing import Any

from polepiece.report.svg import element, label, line, number, tag

WIDE, HIGH, LEFT, FOOT, TOP = 330.0, 250.0, 48.0, 34.0, 40.0
DASHES = ("", "6 3", "2 3", "8 3 2 3")
STYLE = (
    "svg{background:#fff} text{font:11px sans-serif;fill:#222} .head{font-weight:bold}"
    " .grid{stroke:#ccc;stroke-width:.6} .cost{fill:none;stroke:#1a4a7a;stroke-width:1.6} .dot{fill:#1a4a7a}"
)


def drawing(result: Mapping[str, Any]) -> str:
    """Return all axes of a result as one SVG, two beside one another."""
    axes = list(dict.fromkeys(row["axis"] for row in result["rows"]))
    parts = []
    for place, axis in enumerate(axes):
        rows = [row for row in result["rows"] if row["axis"] == axis]
        at = f"translate({number(WIDE * (place % 2))} {number(HIGH * (place // 2))})"
        parts.append(element("g", _axis(axis, rows), transform=at))
    high = HIGH * math.ceil(len(axes) / 2) + 18.0
    said = f"{result['date']}, {result['machine']}, {result['cores']} cores, commit {result['commit']}"
    said += f"; {result['counted']}"
    parts.append(label(8.0, high - 6.0, said, "", anchor="start"))
    return element(
        "svg", [tag("title", "Cost over size"), f"<style>{STYLE}</style>", *parts], xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(2.0 * WIDE)} {number(high)}",
    )  # fmt: skip


def _axis(axis: str, rows: "list[Mapping[str, Any]]") -> list[str]:
    sizes = [s for row in rows for s in row["sizes"]]
    seconds = [max(s, 1e-4) for row in rows for s in row["seconds"]]
    x0, x1 = math.log10(min(sizes)), math.log10(max(sizes)) + 1e-9
    y0, y1 = math.floor(math.log10(min(seconds))), math.ceil(math.log10(max(seconds)))
    y1 = max(y1, y0 + 1)

    def place(size: float, cost: float) -> tuple[float, float]:
        across = LEFT + (math.log10(size) - x0) / (x1 - x0) * (WIDE - LEFT - 24.0)
        up = HIGH - FOOT - (math.log10(max(cost, 1e-4)) - y0) / (y1 - y0) * (HIGH - FOOT - TOP - 14.0 * len(rows))
        return across, up

    out = [label(LEFT, 16.0, f"seconds over {axis}", "head", anchor="start")]
    for decade in range(y0, y1 + 1):
        x, y = place(min(sizes), 10.0**decade)
        out += [line(x, y, WIDE - 24.0, y, "grid"), label(x - 4.0, y + 4.0, f"{10.0**decade:g}", "", anchor="end")]
    for size in sorted({min(sizes), max(sizes)}):
        out.append(label(place(size, 10.0**y0)[0], HIGH - FOOT + 14.0, f"{size:g}", ""))
    for k, row in enumerate(rows):
        points = [place(s, c) for s, c in sorted(zip(row["sizes"], row["seconds"]))]
        path = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        dash = {"stroke_dasharray": DASHES[k % len(DASHES)]} if DASHES[k % len(DASHES)] else {}
        out.append(tag("polyline", points=path, cls="cost", **dash))
        out += [tag("circle", cx=x, cy=y, r=2.0, cls="dot") for x, y in points]
        y = 32.0 + 14.0 * k
        out.append(tag("line", x1=LEFT, y1=y - 4.0, x2=LEFT + 26.0, y2=y - 4.0, cls="cost", **dash))
        out.append(label(LEFT + 32.0, y, f"{row['what']}: size^{row['exponent']:.2f}", "", anchor="start"))
    return out
