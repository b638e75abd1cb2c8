"""A batch of measured coils drawn over one another: inductance over resistance, those that stand out by name.

One path for all coils, so that a drawing of thousands is as quick to show as one of ten. Two lines through the median
say what moves a coil along them: turns (L as the square of R) and wire (R alone).
"""

import math

from polepiece.errors import InputError
from polepiece.report import svg
from polepiece.winding import Batch

WIDE, HIGH = 560.0, 380.0
LEFT, RIGHT, TOP, FOOT = 62.0, 18.0, 26.0, 46.0
NAMED = 12  # coils that stand out and are named; more names would cover one another
INK = {"stroke": "currentColor", "fill": "none"}  # attributes, no style sheet: it may stand inside a page
DASHES = {"turns": "7 4", "wire": "2 4"}


def batch_drawing(batch: Batch) -> str:
    """Return the drawing as SVG.

    Raises
    ------
    InputError
        When no inductances were read: there is nothing to draw over the resistances.
    """
    found = batch.spread("inductance")
    middle = batch.spread("resistance")
    drawn = [one for one in batch.coils if one.coil.inductance is not None]
    if found is None or middle is None or not drawn:
        raise InputError("the drawing shows inductance over resistance, and no inductances were read.")
    points = [(one.coil.resistance, float(one.coil.inductance or 0.0)) for one in drawn]
    frame = _Frame(points, (middle.median, found.median))
    usual = [frame.at(*point) for point, one in zip(points, drawn) if not one.stands_out]
    path = "".join(f"M{svg.number(x)} {svg.number(y)}h0" for x, y in usual)
    pieces = [svg.tag("title", f"{len(drawn)} coils, inductance over resistance")]
    pieces += [*frame.axes(), *frame.ways(), _dots(path)]
    out = [one for one in batch.outliers if one.coil.inductance is not None]
    for k, one in enumerate(out):
        x, y = frame.at(one.coil.resistance, float(one.coil.inductance or 0.0))
        pieces.append(svg.tag("circle", cx=x, cy=y, r=5.0, stroke_width=2.0, **INK))
        if k < NAMED:
            end = x > 0.75 * WIDE
            pieces.append(svg.label(x - 9.0 if end else x + 9.0, y + 4.0, one.coil.name, "", "end" if end else "start"))
    size = f"0 0 {WIDE:.0f} {HIGH:.0f}"
    return svg.element(
        "svg", pieces, xmlns="http://www.w3.org/2000/svg", viewBox=size, role="img", font_size=12.0, fill="currentColor"
    )


def _dots(path: str) -> str:
    return svg.tag("path", d=path or "M0 0", stroke_width=6.0, stroke_linecap="round", stroke_opacity=0.45, **INK)


class _Frame:
    """Both axes logarithmic, so that a cause is a straight line."""

    def __init__(self, points: "list[tuple[float, float]]", middle: tuple[float, float]) -> None:
        self.middle = middle
        both = [*points, middle]
        self.low = [min(p[k] for p in both) / 1.03 for k in (0, 1)]
        self.high = [max(p[k] for p in both) * 1.03 for k in (0, 1)]

    def at(self, resistance: float, inductance: float) -> tuple[float, float]:
        """Return where a coil lies."""
        share = [
            math.log(value / low) / math.log(high / low)
            for value, low, high in zip((resistance, inductance), self.low, self.high)
        ]
        return LEFT + share[0] * (WIDE - LEFT - RIGHT), HIGH - FOOT - share[1] * (HIGH - TOP - FOOT)

    def axes(self) -> list[str]:
        """Return the frame, its ends and what they are."""
        out = [svg.tag("rect", x=LEFT, y=TOP, width=WIDE - LEFT - RIGHT, height=HIGH - TOP - FOOT, **INK)]
        for value in (self.low[0], self.middle[0], self.high[0]):
            x, _ = self.at(value, self.low[1])
            out.append(svg.label(x, HIGH - FOOT + 18.0, f"{value / 1e3:.3g}", ""))
        for value in (self.low[1], self.middle[1], self.high[1]):
            _, y = self.at(self.low[0], value)
            out.append(svg.label(LEFT - 8.0, y + 4.0, f"{value:.3g}", "", "end"))
        out.append(svg.label(0.5 * (LEFT + WIDE - RIGHT), HIGH - 8.0, "resistance, kohm", ""))
        out.append(svg.label(4.0, 14.0, "inductance, H", "", "start"))
        return out

    def ways(self) -> list[str]:
        """Return the lines along which turns and wire move a coil."""
        out = []
        r, h = self.middle
        span = math.log(self.high[0] / self.low[0])
        for name, slope in (("turns", 2.0), ("wire", 0.0)):
            ends = []
            for way in (-1.0, 1.0):
                most = [math.log(self.high[0] / r) if way > 0 else math.log(r / self.low[0])]
                if slope:
                    most.append((math.log(self.high[1] / h) if way > 0 else math.log(h / self.low[1])) / slope)
                step = way * min(*most, span) if len(most) > 1 else way * most[0]
                ends.append(self.at(r * math.exp(step), h * math.exp(slope * step)))
            (x1, y1), (x2, y2) = ends
            out.append(
                svg.tag("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="currentColor", stroke_dasharray=DASHES[name])
            )
            out.append(
                svg.label(min(x2, WIDE - RIGHT) - 4.0, y2 + (14.0 if y2 < TOP + 20.0 else -5.0), name, "", "end")
            )
        return out
