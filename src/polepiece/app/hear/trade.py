"""Words of the trade between two states that are heard: the very ones that the command line says, as a table."""

from collections.abc import Sequence

from nicegui import ui

from polepiece.app.hear.sounds import TONES
from polepiece.app.widgets.controls import table, text
from polepiece.auditioning import CHAINS, KINDS, TradeWord
from polepiece.shown_number import signed

HEADS = ("through", "lows at once", "centre", "hard to soft", "in words")
NOTHING = "nothing to name"
ABOUT = (
    "Of a low string struck hard and softly and a slow chord, the same for both states: lows of the first 60 ms "
    "against the next 400; centre of the spectrum; how much louder the hard stroke comes out."
)


def trade_table(found: Sequence[TradeWord]) -> ui.element:
    """Put the table on the page: a row a chain, its words last."""
    rows = []
    for chain in CHAINS:
        here = {one.key: one for one in found if one.chain == chain}
        figures = [f"{signed(here[key].difference, 0 if kind.unit == '%' else 1)} {kind.unit}"
                   for key, kind in KINDS.items()]  # fmt: skip
        words = ", ".join(one.word for one in here.values() if one.word) or NOTHING
        rows.append((TONES[chain], *figures, words))
    made = table("In words of the trade", HEADS, rows)
    text("p", ABOUT, "small soft")
    return made
