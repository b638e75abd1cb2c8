"""Response curves: log frequency with decade labels, dB; told apart by dashes as well as by colour.

Drawn in the browser as SVG by ``curves.js``: its colours follow the theme by style sheet, its text can be read and
searched, it needs no chart library, and a redraw is one path. The pointer, or the arrow keys, read values off it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from nicegui import ui

from polepiece.app.widgets.controls import press, text
from polepiece.arrays import FloatArray
from polepiece.guitar import Guitar
from polepiece.report import csv_text
from polepiece.shown_number import number

LOW, HIGH = 20.0, 20e3  # Hz, what is drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """One curve: ``frequency`` and ``level_db`` have shape (f,).

    ``look`` names its colour and dashes: "now" and "stock" mean the same on every page (the guitar as it is now, and
    what it is compared with); "0" to "5" are for other states.
    """

    name: str
    look: str
    frequency: FloatArray
    level_db: FloatArray


class Chart(ui.element, component="curves.js"):
    """The drawing alone; see `Curves`."""

    def __init__(self, *, title: str, unit: str, span: float, low: float) -> None:
        super().__init__()
        self.props["title"], self.props["unit"], self.props["span"], self.props["low"] = title, unit, span, low
        self.props["frequency"], self.props["curves"] = "", []
        self.props["stale"], self.props["near"], self.props["version"] = False, False, 0

    def show(self, curves: Sequence[Curve], *, stale: bool, near: bool) -> None:
        """Draw these curves, all on one grid of frequencies."""
        if curves:
            inside = (curves[0].frequency >= self.props["low"]) & (curves[0].frequency <= HIGH)
            self.props["frequency"] = listed(curves[0].frequency[inside], 1)
            self.props["curves"] = [
                {"name": c.name, "look": c.look, "values": listed(c.level_db[inside], 2)} for c in curves
            ]
        self.props["stale"], self.props["near"] = stale, near
        self.props["version"] += 1
        self.update()


class Curves:
    """A figure of curves: drawing, legend, reading line, a summary in words, and the data as CSV.

    Parameters
    ----------
    title : str
        What is drawn.
    unit : str
        Of the vertical axis.
    span : float
        Least height of the axis, dB, so that small differences do not look large.
    file : str
        Name of the CSV file.
    low : float
        Where the axis of frequency begins, Hz.
    """

    def __init__(
        self, title: str, *, unit: str = "dB re 1 V s/m", span: float = 20.0, file: str = "response.csv",
        low: float = LOW,
    ) -> None:  # fmt: skip
        self.curves: tuple[Curve, ...] = ()
        self._file = file
        with ui.element("figure").classes("curves") as self.box:
            self.chart = Chart(title=title, unit=unit, span=span, low=low).mark("chart")
            with ui.element("figcaption"):
                self.summary = text("p", "", "summary hidden-visually")
                press("data as CSV", self._download, mark="csv", cls="quiet")

    def show(
        self, curves: Sequence[Curve], *, stale: bool = False, near: bool = False, span: "float | None" = None,
        apart: bool = False,
    ) -> None:  # fmt: skip
        """Draw; ``stale`` greys what is not exact (yet), or with ``near`` dashes what is near it; ``span`` as above.

        With ``apart`` the curves are differences, and are said so in words.
        """
        self.curves = tuple(curves)
        if span is not None:
            self.chart.props["span"] = span
        self.chart.show(self.curves, stale=stale, near=near)
        self.summary.say(" ".join(described(one, self.chart.props["low"], apart=apart) for one in self.curves))

    def grey(self) -> None:
        """Grey what is drawn: better numbers are on their way."""
        if not self.chart.props["stale"] or self.chart.props["near"]:
            self.chart.props["stale"], self.chart.props["near"] = True, False
            self.chart.update()

    def _download(self) -> None:
        ui.download.content(csv_of(self.curves).encode(), self._file, "text/csv")


def listed(values: FloatArray, digits: int) -> str:
    """Return numbers with a blank between them: one string is looked through once on its way, a list many times."""
    return " ".join(f"{value:.{digits}f}" for value in values.tolist())


def lowest_drawn(guitar: Guitar) -> float:
    """Return where the axis of frequency begins, Hz: under the lowest open string, 80 Hz with six strings as usual."""
    lowest = min((one.pitch for one in guitar.strings if one.pitch is not None), default=80.0)
    return next((one for one in (80.0, 50.0, 30.0) if lowest >= one), LOW)


def described(curve: Curve, low: float = LOW, *, apart: bool = False) -> str:
    """Return what a curve looks like in a sentence, for those who do not see it.

    Parameters
    ----------
    curve : Curve
    low : float
        Where the axis begins, Hz: nothing is said of what is not drawn.
    apart : bool
        A difference is furthest from 0 somewhere, a response highest.
    """
    f, level = curve.frequency, curve.level_db
    inside = (f >= low) & (f <= HIGH)
    f, level = f[inside], level[inside]
    if apart and float(np.max(np.abs(level))) < 0.05:
        return f"{curve.name}: 0.0 dB throughout."
    top = int(np.argmax(np.abs(level) if apart else level))
    at = {hertz: float(np.interp(np.log(hertz), np.log(f), level)) for hertz in (100.0, 1000.0, 5000.0)}
    values = ", ".join(f"{number(value)} dB at {hertz / 1e3:g} kHz" for hertz, value in at.items())
    where = "furthest from 0" if apart else "highest"
    return f"{curve.name}: {where} at {f[top] / 1e3:.2g} kHz with {number(float(level[top]))} dB; {values}."


def csv_of(curves: Sequence[Curve]) -> str:
    """Return the data behind curves on one grid as CSV."""
    frequency = curves[0].frequency if curves else ()
    rows = [[f"{f:.2f}", *(f"{curve.level_db[k]:.3f}" for curve in curves)] for k, f in enumerate(frequency)]
    return csv_text([["frequency_hz", *(f"{curve.name} (dB)" for curve in curves)], *rows])
