"""How good predictions were, as a drawing: the share that was found over the share that the intervals say."""

from nicegui import ui

from polepiece.measure import Calibration

SIZE, EDGE = 220.0, 30.0


def calibration_drawing(found: Calibration) -> ui.html:
    """Return the drawing: the straight line of intervals that keep their word, found shares with their intervals."""

    def at(share: float) -> float:
        return EDGE + share * (SIZE - 2.0 * EDGE)

    def up(share: float) -> float:
        return SIZE - at(share)

    ticks = "".join(
        f'<line class="tick" x1="{at(one):.1f}" x2="{at(one):.1f}" y1="{up(0):.1f}" y2="{up(1):.1f}"/>'
        f'<line class="tick" x1="{at(0):.1f}" x2="{at(1):.1f}" y1="{up(one):.1f}" y2="{up(one):.1f}"/>'
        f'<text x="{at(one):.1f}" y="{up(0) + 14:.1f}" text-anchor="middle">{100 * one:.0f}</text>'
        f'<text x="{at(0) - 4:.1f}" y="{up(one) + 4:.1f}" text-anchor="end">{100 * one:.0f}</text>'
        for one in (0.0, 0.5, 0.9)
    )
    word = f'<line class="zero" x1="{at(0):.1f}" y1="{up(0):.1f}" x2="{at(1):.1f}" y2="{up(1):.1f}"/>'
    points = "".join(
        f'<line class="bar" x1="{at(one.level):.1f}" x2="{at(one.level):.1f}" y1="{up(one.low):.1f}" '
        f'y2="{up(one.high):.1f}"/>'
        f'<circle class="value" cx="{at(one.level):.1f}" cy="{up(one.found):.1f}" r="3.6"/>'
        for one in found.shares
    )
    title = f'<text x="{SIZE / 2:.0f}" y="{SIZE - 2:.0f}" text-anchor="middle">% that the intervals say</text>'
    side = f'<text transform="translate(9 {SIZE / 2:.0f}) rotate(-90)" text-anchor="middle">% found inside</text>'
    made = ui.html(
        f'<svg class="whisker axis" style="max-width:320px" viewBox="0 0 {SIZE:g} {SIZE:g}" aria-hidden="true">'
        f"{ticks}{word}{points}{title}{side}</svg>",
        sanitize=False,
    ).props("role=img")
    made.props["aria-label"] = "; ".join(
        f"{one.found:.0%} found inside intervals of {one.level:.0%}" for one in found.shares
    )
    return made
