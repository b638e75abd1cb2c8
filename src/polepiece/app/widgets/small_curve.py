"""A curve as small as a word: a difference over log frequency, on one scale for all that stand together."""

from collections.abc import Iterable

import numpy as np
from nicegui import ui

from polepiece.app.widgets.curves import HIGH
from polepiece.arrays import FloatArray

WIDTH, HEIGHT = 132.0, 34.0
POINTS = 60
LEAST = 1.0  # dB to each side: a small difference is not to look large


def reach_of_curves(curves: Iterable[FloatArray]) -> float:
    """Return how far the scale of some differences goes to both sides, dB."""
    return max([LEAST, *(float(np.max(np.abs(one))) for one in curves if len(one))])


def small_curve(frequency: FloatArray, difference_db: FloatArray, *, low: float, reach: float, words: str) -> ui.html:
    """Return the drawing of one difference from ``low`` Hz on; ``words`` say it for those who do not see it."""
    at = np.geomspace(low, HIGH, POINTS)
    level = np.interp(np.log(at), np.log(frequency), difference_db)
    x = np.linspace(0.0, WIDTH, POINTS)
    y = HEIGHT / 2 - np.clip(level / reach, -1.0, 1.0) * (HEIGHT / 2 - 2.0)
    path = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y))
    drawn = (
        f'<svg class="small-curve" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" aria-hidden="true">'
        f'<line class="zero" x1="0" x2="{WIDTH:g}" y1="{HEIGHT / 2:g}" y2="{HEIGHT / 2:g}"/>'
        f'<path class="curve c-now" d="{path}"/></svg>'
    )
    made = ui.html(drawn, sanitize=False).props("role=img")
    made.props["aria-label"] = words
    return made
