"""The three numbers of a pickup that a bench looks at first: level, resonance, presence; each with its interval."""

from collections.abc import Mapping
from dataclasses import dataclass

from nicegui import ui

from polepiece.app.widgets.cells import cell, ends
from polepiece.app.widgets.controls import Text, text
from polepiece.bench import State, difference
from polepiece.shown_number import number
from polepiece.sound import band_words


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    key: str
    words: str
    unit: str
    digits: int
    factor: float = 1.0


SHOWN = (
    _Shown(key="level_db", words="level", unit="dB re 1 V", digits=1),
    _Shown(key="resonance_hz", words="resonance", unit="kHz", digits=2, factor=1e-3),
    _Shown(
        key="bands_db.presence", words=f"presence, {band_words('presence', dash='–', kilo=True)}, against the level",
        unit="dB", digits=1,
    ),
)  # fmt: skip


class BigNumbers:
    """Three readouts: the value now, how far it is from what is compared with, and the 90 % interval of that."""

    def __init__(self) -> None:
        self._now: dict[str, Text] = {}
        self._apart: dict[str, Text] = {}
        self._difference: dict[str, float] = {}
        with ui.element("dl").classes("big-numbers").mark("big-numbers") as self.box:
            for one in SHOWN:
                with ui.element("div"):
                    text("dt", one.words)
                    with ui.element("dd"):
                        self._now[one.key] = text("span", "–", "big").mark(f"big-{one.key}")
                        text("span", one.unit, "unit")
                    self._apart[one.key] = text("dd", "", "apart").mark(f"apart-{one.key}")

    def show(self, now: State, stock: "State | None", *, exact: bool) -> None:
        """Show a state; the intervals of the one before are dropped."""
        self.box.classes(remove="stale-numbers") if exact else self.box.classes(add="stale-numbers")
        here = now.numbers()
        self._difference = {} if stock is None or stock is now else difference(stock, now)
        for one in SHOWN:
            value = here.get(one.key)
            self._now[one.key].say("–" if value is None else number(one.factor * value, one.digits))
            self._apart[one.key].say(self._words(one, None))

    def show_interval(self, found: Mapping[str, tuple[float, float]], *, of_difference: bool) -> None:
        """Show 90 % intervals: of the difference, or where there is none of the value itself."""
        for one in SHOWN:
            span = found.get(one.key)
            if span is None:
                continue
            pair = (one.factor * span[0], one.factor * span[1])
            if of_difference:
                self._apart[one.key].say(self._words(one, pair))
            else:
                low, high = sorted(pair)
                self._apart[one.key].say(f"{number(low, one.digits)} to {number(high, one.digits)}")

    def _words(self, one: _Shown, span: "tuple[float, float] | None") -> str:
        value = self._difference.get(one.key)
        if value is None:
            return ""
        unit = one.unit.partition(" ")[0]
        inside = f" ({ends(span, one.digits)})" if span is not None else ""
        return f"{cell(one.factor * value, span, one.digits)} {unit}{inside}"
