"""Response curves as SVG: log frequency with decade labels, dB, told apart by line style and colour."""

import base64
import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.report import svg
from polepiece.shown_number import true_minus

WIDTH, HEIGHT = 500.0, 330.0
LEFT, RIGHT, TOP, BOTTOM = 66.0, 20.0, 12.0, 46.0
LOW, HIGH = 20.0, 20e3  # Hz
NAMED = {20: "20", 100: "100", 1000: "1k", 10000: "10k", 20000: "20k"}
STYLES = 6  # line styles of the style sheet
MOST_CURVES = STYLES - 1  # drawn beside that of the guitar as it is


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """One curve: ``frequency`` and ``level_db`` have shape (f,)."""

    name: str
    frequency: FloatArray
    level_db: FloatArray


def chart(curves: Sequence[Curve], *, title: str, unit: str, span: float = 0.0) -> str:
    """Return curves over log frequency as SVG; curve k has the class ``curve k``.

    Parameters
    ----------
    curves : sequence of Curve
    title : str
        Read by screen readers.
    unit : str
        Of the vertical axis.
    span : float
        Least height of the axis, dB, so that small differences do not look large.
    """
    if not curves:
        raise InputError("a chart needs at least one curve.")
    inside = [c.level_db[(c.frequency >= LOW) & (c.frequency <= HIGH)] for c in curves]
    low, high, step = _axis(min(float(v.min()) for v in inside), max(float(v.max()) for v in inside), span)
    pieces = [svg.tag("title", title), *_frequency_grid(), *_level_grid(low, high, step, unit)]
    for k, curve in enumerate(curves):
        x, y = _x(curve.frequency), TOP + (high - curve.level_db) / (high - low) * (HEIGHT - TOP - BOTTOM)
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y))
        pieces.append(svg.tag("polyline", points=points, cls=f"curve s{k % STYLES}"))
    return svg.element(
        "svg",
        pieces,
        viewBox=f"0 0 {WIDTH:.0f} {HEIGHT:.0f}",
        role="img",
        cls="chart",
        preserveAspectRatio="xMidYMid meet",
    )


def sample(k: int) -> str:
    """Return a short piece of line ``k`` for a legend."""
    return svg.element(
        "svg", [svg.tag("line", x1=0, y1=6, x2=44, y2=6, cls=f"curve s{k % STYLES}")], viewBox="0 0 44 12",
        cls="sample", aria_hidden="true",
    )  # fmt: skip


def _axis(low: float, high: float, span: float) -> tuple[float, float, float]:
    if high - low < span:
        middle = 0.5 * (low + high)
        low, high = middle - 0.5 * span, middle + 0.5 * span
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 1e9) if (high - low) / s <= 7.0)
    return float(np.floor(low / step - 0.05) * step), float(np.ceil(high / step + 0.05) * step), step


def _x(frequency: "FloatArray | float") -> "FloatArray":
    share = np.log(np.asarray(frequency) / LOW) / np.log(HIGH / LOW)
    return np.asarray(LEFT + share * (WIDTH - LEFT - RIGHT))


def _frequency_grid() -> list[str]:
    out = []
    for decade in (10, 100, 1000, 10000):
        for digit in range(1, 10):
            f = decade * digit
            if LOW <= f <= HIGH:
                x = float(_x(float(f)))
                out.append(svg.line(x, TOP, x, HEIGHT - BOTTOM, "grid strong" if digit == 1 else "grid"))
                if f in NAMED:
                    out.append(svg.label(x, HEIGHT - BOTTOM + 18.0, NAMED[f], "tick"))
    out.append(svg.label(0.5 * (LEFT + WIDTH - RIGHT), HEIGHT - 6.0, "frequency, Hz", "tick"))
    return out


def _level_grid(low: float, high: float, step: float, unit: str) -> list[str]:
    out = []
    for k in range(round((high - low) / step) + 1):
        value = low + k * step
        y = TOP + (high - value) / (high - low) * (HEIGHT - TOP - BOTTOM)
        out.append(svg.line(LEFT, y, WIDTH - RIGHT, y, "grid strong" if abs(value) < 1e-9 else "grid"))
        out.append(svg.label(LEFT - 6.0, y + 5.0, true_minus(f"{value:g}"), "tick", "end"))
    middle = 0.5 * (TOP + HEIGHT - BOTTOM)
    out.append(
        svg.tag(
            "text", unit, x=16.0, y=middle, cls="tick", text_anchor="middle", transform=f"rotate(-90 16 {middle:.0f})"
        )
    )
    return out


def curves_csv(curves: Sequence[Curve]) -> str:
    """Return the data behind curves on one grid as a CSV ``data:`` address."""
    head = ["frequency_hz", *(f"{curve.name} (dB)" for curve in curves)]
    rows = [[f"{f:.2f}", *(f"{curve.level_db[k]:.3f}" for curve in curves)] for k, f in enumerate(curves[0].frequency)]
    return "data:text/csv;charset=utf-8;base64," + base64.b64encode(csv_text([head, *rows]).encode()).decode("ascii")


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Return rows as CSV; a text that a spreadsheet would take for a formula gets an apostrophe before it."""
    out = io.StringIO()
    csv.writer(out).writerows([_cell(one) for one in row] for row in rows)
    return out.getvalue()


def _cell(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return f"'{text}" if len(text) > 1 and text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
    return text
