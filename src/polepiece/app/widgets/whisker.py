"""Intervals on one axis: a whisker a row, the axis once above them. SVG that scales with its cell."""

import math
from collections.abc import Iterable

from nicegui import ui

from polepiece.shown_number import true_minus

WIDTH, HEIGHT = 200.0, 16.0  # of the drawing, stretched to its cell
EDGE = 12.0  # of it beyond the ends of the axis, for its numbers
LEAST = 2.0  # dB: a small change is not to look large
STEPS = (1.0, 2.0, 5.0, 10.0, 20.0)

Span = tuple[float, float]


def reach_of(spans: Iterable[Span]) -> float:
    """Return how far an axis goes to both sides so that all of these are on it, dB: a whole number of its steps."""
    largest = max((abs(end) for span in spans for end in span), default=0.0)
    most = max(LEAST, largest)
    step = step_of(most)
    return step * math.ceil(most / step - 1e-9)


def step_of(reach: float) -> float:
    """Return the step between the ticks of an axis: at most three to a side."""
    return next((one for one in STEPS if reach / one <= 3.0 + 1e-9), STEPS[-1])


def axis(reach: float) -> ui.html:
    """Return the axis with its numbers; its unit stands above it."""
    step = step_of(reach)
    ticks = [k * step for k in range(-round(reach // step), round(reach // step) + 1)]
    numbers = "".join(f'<text x="{_x(at, reach):.1f}" y="11" text-anchor="middle">{_number(at)}</text>' for at in ticks)
    return _drawn(numbers + _marks(ticks, reach, 13.0, HEIGHT), "axis", "")


def whisker(value: float, span: "Span | None", reach: float, words: str) -> ui.html:
    """Return one value with its 90 % interval on the axis that goes ``reach`` to both sides.

    ``words`` say the same for those who do not see it.
    """
    step = step_of(reach)
    ticks = [k * step for k in range(-round(reach // step), round(reach // step) + 1)]
    inside = ""
    if span is not None:
        low, high = (_x(one, reach) for one in sorted(span))
        inside = f'<line class="bar" x1="{low:.1f}" x2="{max(high, low + 1.5):.1f}" y1="8" y2="8"/>'
    point = f'<circle class="value" cx="{_x(value, reach):.1f}" cy="8" r="4.2"/>'
    return _drawn(_marks(ticks, reach, 2.0, 14.0) + inside + point, "whisker", words)


def _marks(ticks: "list[float]", reach: float, top: float, bottom: float) -> str:
    return "".join(
        f'<line class="{"zero" if at == 0.0 else "tick"}" x1="{_x(at, reach):.1f}" x2="{_x(at, reach):.1f}" '
        f'y1="{top:g}" y2="{bottom:g}"/>'
        for at in ticks
    )


def _x(value: float, reach: float) -> float:
    share = min(max(value / reach, -1.0), 1.0)
    return WIDTH / 2 + share * (WIDTH / 2 - EDGE)


def _number(value: float) -> str:
    return "0" if value == 0.0 else true_minus(f"{value:+g}")


def _drawn(inside: str, kind: str, words: str) -> ui.html:
    """Numbers alone go into the text of the drawing; the words go into an attribute, escaped by the element."""
    seen = 'aria-hidden="true"'
    made = ui.html(
        f'<svg class="{kind}" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" {seen}>{inside}</svg>', sanitize=False
    ).classes(f"{kind}-hold")
    if words:
        made.props("role=img")
        made.props["aria-label"] = words
    return made
