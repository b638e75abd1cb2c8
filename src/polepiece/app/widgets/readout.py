"""The numbers of a state beside those it is compared with: level, bands, resonance, and string by string."""

from collections.abc import Mapping, Sequence

import numpy as np
from nicegui import ui

from polepiece.app.widgets.controls import Text, text
from polepiece.app.widgets.digits import span
from polepiece.bench import State, difference
from polepiece.guitar import Pickup, string_gaps
from polepiece.shown_number import number, signed
from polepiece.sound import RESPONSE_BANDS, band_words

Interval = Mapping[str, tuple[float, float]]

ROWS: tuple[tuple[str, str, str, int, float], ...] = (  # key, words, unit, decimals, factor to the unit
    ("level_db", "level", "dB re 1 V", 1, 1.0),
    *(
        (f"bands_db.{band}", f"{band}, {band_words(band, dash='–', kilo=True)}, against the level", "dB", 1, 1.0)
        for band in RESPONSE_BANDS
    ),
    ("wound_minus_plain_db", "wound strings against plain", "dB", 1, 1.0),
    ("resonance_hz", "resonance with controls and cable", "kHz", 2, 1e-3),
    ("resonance_db", "its height over the plateau", "dB", 1, 1.0),
    ("inductance_1khz_h", "inductance at 1 kHz", "H", 2, 1.0),
    ("dc_resistance_ohm", "DC resistance at 20 °C", "kΩ", 2, 1e-3),
)
STRINGS: tuple[tuple[str, str, int, float], ...] = (  # key, heading, decimals, factor
    ("string_balance_db", "balance, dB", 1, 1.0),
    ("field_mt", "field, mT", 1, 1.0),
    ("string_pull_n", "pull, mN", 1, -1e3),  # shown towards the pickup
    ("partial_shift_cents", "pitch, cents", 1, 1.0),
)


class Readout:
    """Two tables that are filled again and again without being built again."""

    def __init__(self, strings: int) -> None:
        self.cells: dict[tuple[str, str], Text] = {}
        with ui.element("div") as self.box:
            self._pickup_table()
            self._string_table(strings)

    def _pickup_table(self) -> None:
        heads = ("", "now", "compared with", "difference", "90 % interval of it")
        with _table("The pickup with the controls and cable of this guitar", heads, "wide-names"):
            for key, words, unit, _, _ in ROWS:
                with ui.element("tr"):
                    text("th", f"{words}, {unit}").props("scope=row")
                    for column in ("now", "stock", "difference", "interval"):
                        self.cells[key, column] = text("td", "–", "n")

    def _string_table(self, strings: int) -> None:
        heads = ["string", "gap, mm"]
        for _, words, _, _ in STRINGS:
            heads += [words, "change"]
        with _table("String by string; pull is towards the pickup", heads, "many"):
            for k in range(1, strings + 1):
                with ui.element("tr"):
                    text("th", str(k)).props("scope=row")
                    self.cells[f"gap.{k}", "now"] = text("td", "–", "n")
                    for key, _, _, _ in STRINGS:
                        self.cells[f"{key}.{k}", "now"] = text("td", "–", "n")
                        self.cells[f"{key}.{k}", "difference"] = text("td", "–", "n")

    def show(self, now: State, stock: "State | None", gaps: Sequence[float], *, stale: bool) -> None:
        """Fill in a state, and its difference to the one it is compared with; the interval of before is dropped."""
        self.box.classes(add="stale-numbers") if stale else self.box.classes(remove="stale-numbers")
        here = now.numbers()
        there = {} if stock is None else stock.numbers()
        apart = {} if stock is None else difference(stock, now)
        for key, _, _, digits, factor in ROWS:
            self._put(key, "now", here, digits, factor, number)
            self._put(key, "stock", there, digits, factor, number)
            self._put(key, "difference", apart, digits, factor, signed)
            self.cells[key, "interval"].say("–")
        for k, gap in enumerate(gaps, start=1):
            self.cells[f"gap.{k}", "now"].say(number(1e3 * gap, 2))
            for name, _, digits, factor in STRINGS:
                self._put(f"{name}.{k}", "now", here, digits, factor, number)
                self._put(f"{name}.{k}", "difference", apart, digits, factor, signed)

    def show_interval(self, interval: Interval) -> None:
        """Fill in the 90 % intervals of the differences."""
        for key, _, _, digits, factor in ROWS:
            one = interval.get(key)
            self.cells[key, "interval"].say(span(None if one is None else (factor * one[0], factor * one[1]), digits))

    def _put(
        self, key: str, column: str, values: Mapping[str, float], digits: int, factor: float, how: "object"
    ) -> None:
        value = values.get(key)
        shown = "–" if value is None else how(factor * value, digits)  # type: ignore[operator]
        self.cells[key, column].say(shown)


def _table(caption: str, heads: Sequence[str], cls: str = "") -> ui.element:
    """Return the body of a table whose heads are there."""
    with ui.element("div").classes(f"scroll {cls}").props("tabindex=0 role=region") as box, ui.element("table"):
        box.props["aria-label"] = caption
        text("caption", caption)
        with ui.element("thead"), ui.element("tr"):
            for k, head in enumerate(heads):
                text("th" if head else "td", head, "n" if k else "").props("scope=col" if head else "")
        return ui.element("tbody")


def gaps_of(pickup: Pickup, strings: int) -> tuple[float, ...]:
    """Return the gap of every string to the pole under it, m: raised screws and the arch of the fingerboard included.

    Where there are more or fewer poles than strings, between those of the two nearest poles.
    """
    gaps = string_gaps(pickup)
    if len(gaps) == strings:
        return gaps
    here, there = (np.linspace(0.0, 1.0, count) for count in (strings, len(gaps)))
    return tuple(float(one) for one in np.interp(here, there, np.array(gaps)))
