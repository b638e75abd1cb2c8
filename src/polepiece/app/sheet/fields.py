"""The blanks of a work sheet as fields on the page: what was written is kept at once, faults stand at the field."""

from collections.abc import Awaitable, Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial

from nicegui import ui

from polepiece.app.sheet import bench_units as units
from polepiece.app.sheet.log import Figure
from polepiece.app.sheet.stops import TEMPERATURE, entry_of, quantity_of
from polepiece.app.widgets.controls import Amount, Fault, Text, TickBox, amount, text, tick_box
from polepiece.errors import InputError
from polepiece.report import (
    Blank,
    Section,
    Step,
    WorkSheet,
    effect_texts,
    expected_text,
    fit_texts,
    range_text,
    trial_texts,
)

Keep = Callable[[str, str, str, "Figure | None"], Awaitable[None]]  # entry, label, value, as a number
KEPT_AS_WORDS = "It is kept as typed; nothing is judged by it."
SIZES = {"length": units.LENGTH, "width": units.WIDTH, "thickness": units.THICKNESS}


class SheetFields:
    """Everything of a sheet that can be written on.

    Parameters
    ----------
    sheet : WorkSheet
    entries : mapping
        What is written already.
    keep : callable
        Called with every entry that changes.
    """

    def __init__(self, sheet: WorkSheet, entries: Mapping[str, str], keep: Keep) -> None:
        self.sheet, self.entries, self._keep = sheet, entries, keep
        self._shown: dict[str, tuple[str, Callable[[], None]]] = {}  # by entry: its label, and what shows it

    def follow(self, changed: Iterable[str]) -> list[str]:
        """Show what was written on the sheet elsewhere; return the labels of what is shown here."""
        return shown_again(self._shown, changed)

    # --- the bench ---------------------------------------------------------------------------------
    def bench(self) -> None:
        """Put the sections of the bench sheet on the page, in the order of work."""
        for section in self.sheet.sections:
            strings = any(one.string is not None for one in section.blanks)
            with ui.element("section").classes("card sheet-part" + (" stops" if section.key == "stops" else "")):
                text("h2", section.title).props(f"data-part={section.key} tabindex=-1")
                if section.note:
                    text("p", section.note, "soft small")
                if section.key == "stops":
                    with ui.element("ul").classes("bench-screen"):
                        for one in section.steps:
                            text("li", one.text)
                    continue
                self.steps(section.steps, section.key)
                if strings:
                    self._by_string(section)
                elif section.blanks:
                    self._readings(section)
                if section.key == "after":
                    self._effects()
            if section.key == "baseline_strings" or (section.key == "baseline" and not self._has("baseline_strings")):
                self._bar()

    def _has(self, key: str) -> bool:
        return self.sheet.section(key) is not None

    def steps(self, steps: Sequence[Step], place: str) -> None:
        """Put steps to tick on the page."""
        if not steps:
            return
        with ui.element("ul").classes("steps"):
            for one in steps:
                with ui.element("li").classes("bench-screen"), ui.element("label").classes("tick step"):
                    entry = f"step.{place}.{one.key}"
                    box = tick_box(entry in self.entries, partial(self._ticked, entry, one.text), entry)
                    self._shown[entry] = one.text[:60], partial(self._show_tick, entry, box)
                    text("span", ("Check: " if one.kind == "check" else "") + one.text)

    def _show_tick(self, entry: str, box: TickBox) -> None:
        box.show(entry in self.entries)

    async def _ticked(self, entry: str, words: str, on: bool) -> None:
        await self._keep(entry, words[:60], "done" if on else "", None)

    def _readings(self, section: Section) -> None:
        when = "after" if section.key == "after" else "as found"
        with _table(f"{section.title}: readings", ("reading", "should be", when), "readings cards"):
            for blank in section.blanks:
                entry = entry_of(section.key, blank)
                with ui.element("tr"):
                    _head(blank.label, blank.how)
                    with ui.element("td") as cell:
                        cell.props["data-label"] = "should be"
                        text("span", expected_text(blank) or "–")
                        if span := _span(blank):
                            text("span", span, "span")
                    with ui.element("td") as cell:
                        cell.props["data-label"] = when
                        label = blank.label if blank.label.endswith(when) else f"{blank.label}, {when}"
                        self.line(entry, label, quantity_of(blank), unit=blank.unit)
                if blank.key == "dc_resistance":
                    self._temperature(section, when)

    def _temperature(self, section: Section, when: str) -> None:
        with ui.element("tr"):
            _head("temperature at that reading", "5 °C more are 2 % more DC resistance")
            with ui.element("td") as cell:
                cell.props["data-label"] = "should be"
                text("span", "the same both times" if section.key == "after" else "note it")
            with ui.element("td") as cell:
                cell.props["data-label"] = when
                entry = f"{section.key}.{TEMPERATURE}"
                self.line(entry, f"temperature, {when}", units.CELSIUS, unit="°C")

    def _by_string(self, section: Section) -> None:
        when = "after" if "after" in section.key else "as found"
        rows: dict[str, list[Blank]] = {}
        for one in section.blanks:
            rows.setdefault(one.key, []).append(one)
        count = max(len(row) for row in rows.values())
        text("p", "Small: what is expected, with its 90 % range. String 1 is the thin one.", "soft small")
        heads = ("string", *(str(k + 1) for k in range(count)))
        with _table(section.title, heads, "by-string"):
            for row in rows.values():
                with ui.element("tr"):
                    _head(row[0].label, row[0].how)
                    for blank in row:
                        with ui.element("td"):
                            span = range_text(blank)
                            text("span", f"{expected_text(blank).replace(f' {blank.unit}', '')}"
                                 f"{f' ({span})' if span else ''}", "span")  # fmt: skip
                            self.line(entry_of(section.key, blank), f"{blank.label}, string {blank.string}, {when}",
                                      quantity_of(blank), narrow=True)  # fmt: skip

    def _effects(self) -> None:
        if not self.sheet.effects:
            return
        rows = [effect_texts(one) for one in self.sheet.effects]
        again = any(one["again"] for one in rows)
        text("h3", "Predicted, after minus before")
        note = f"{self.sheet.effects_note} Under about 1 dB: smaller than one pick stroke to the next."
        text("p", note, "soft small")
        heads = ("quantity", "this job", "90 % range", *(("as loud as before",) if again else ()), "measured")
        with _table("Predicted, after minus before", heads, "effects cards"):
            for one in rows:
                with ui.element("tr"):
                    _head(f"{one['words']}, {one['unit']}")
                    _cell("this job", one["same"])
                    _cell("90 % range", one["span"] or "–")
                    if again:
                        _cell("as loud as before", one["again"] or "–")
                    with ui.element("td") as cell:
                        cell.props["data-label"] = "measured"
                        kind = units.DECIBEL if one["unit"] == "dB" else None
                        self.line(f"effects.{one['key']}", f"{one['words']}, measured", kind, narrow=True)

    # --- the bar -----------------------------------------------------------------------------------
    def _bar(self) -> None:
        if self.sheet.fit is None:
            return
        fit = fit_texts(self.sheet.fit)
        with ui.element("section").classes("card sheet-part"):
            text("h2", "Does the bar fit?")
            many = f", {fit['bars']} of them" if fit["bars"] > 1 else ""
            text("p", f"{fit['name']}{many}: {fit['verdict']}.")
            if fit["assumed"]:
                text("p", "Sizes marked assumed were not measured; in brackets how far they usually lie. Plastic or "
                     "brass caliper: steel ones grab.", "soft small")  # fmt: skip
            heads = ("size", "old bar", "old, read", "new bar", "new, read", "verdict and what to do")
            with _table("Does the bar fit?", heads, "fit cards"):
                for row in fit["rows"]:
                    with ui.element("tr"):
                        _head(row["dimension"])
                        for side in ("old", "new"):
                            assumed = ", assumed" if row[f"{side}_assumed"] else ""
                            _cell(f"{side} bar", f"{row[side][0]}, {row[side][1]}{assumed}")
                            with ui.element("td") as cell:
                                cell.props["data-label"] = f"{side}, read"
                                entry = f"fit.{row['dimension']}.{side}"
                                self.line(entry, f"{side} bar, {row['dimension']}", SIZES[row["dimension"]],
                                          narrow=True, unit="mm")  # fmt: skip
                        _cell("verdict", f"{row['verdict']}: {row['words']}.")
            if len(self.sheet.bars) > 1:
                self._bars()

    def _bars(self) -> None:
        text("h3", "Bars to try in this one opening, in this order")
        text("p", "The safest first. Screws stay snug between trials; after each bar read gauss and DC, then play it "
             "as it is and as loud as now.", "soft small")  # fmt: skip
        heads = ("", "bar", "level against now, dB", "as loud as now", "gauss, middle pole", "fit", "gauss read",
                 "DC read", "heard")  # fmt: skip
        with _table("Bars to try", heads, "tries cards"):
            for one in (trial_texts(bar) for bar in self.sheet.bars):
                with ui.element("tr"):
                    text("td", str(one["order"]))
                    _head(one["words"] + (" (this sheet's)" if one["chosen"] else ""), one["why"])
                    with ui.element("td") as cell:
                        cell.props["data-label"] = "level against now, dB"
                        text("span", one["level"])
                        text("span", one["span"], "span")
                    _cell("as loud as now", one["reset"])
                    _cell("gauss, middle pole", one["gauss"])
                    _cell("fit", one["fit"])
                    for key, label, kind, unit in (
                        ("gauss", "gauss read", units.FLUX, "gauss"), ("dc", "DC read", units.COIL, "kΩ"),
                        ("heard", "heard", None, ""),
                    ):  # fmt: skip
                        with ui.element("td") as cell:
                            cell.props["data-label"] = label
                            said = f"{one['words']}, {label}"
                            self.line(f"bars.{one['name']}.{key}", said, kind, unit=unit, narrow=True)

    # --- the owner ---------------------------------------------------------------------------------
    def owner(self) -> None:
        """Put what only the owner's page asks for on the page."""
        owner = self.sheet.owner
        if owner.told:
            text("p", f"Told: {'; '.join(owner.told)}.")
        for one in owner.heard:
            text("p", one, "small soft")
        with ui.element("div").classes("row wide-fields"):
            for entry, label in (
                ("owner.words", "in the owner's words"), ("owner.heard", "what the owner hears"),
                ("head.follow-up", "follow-up"),
            ):  # fmt: skip
                self.line(entry, label, None, shown=True)
        text("h3", "Returned with the guitar")
        self.steps(owner.returned, "returned")
        if owner.consents:
            text("h3", "Agreed before work began")
            self.steps(owner.consents, "consents")
        text("h3", "Account, at the workshop's own rates")
        with ui.element("div").classes("row"):
            for one in owner.rates:
                self.line(f"rates.{one}", one, None, shown=True)

    # --- one field ---------------------------------------------------------------------------------
    def line(
        self, entry: str, label: str, kind: "units.Quantity | None", *, unit: str = "", narrow: bool = False,
        shown: bool = False,
    ) -> Amount:  # fmt: skip
        """Put one field on the page; its label is seen with ``shown``, else the table says it."""
        named = f"{label}, in {unit}" if unit else label

        async def typed(value: str) -> None:
            fault.clear()
            figure = _figure(value, kind, fault)
            if value.strip() != self.entries.get(entry, ""):
                await self._keep(entry, label, value, figure)

        with ui.element("div").classes("cell-field"):
            box = amount(named, self.entries.get(entry, ""), typed, mark=entry)
            looks = (("bare", not shown), ("narrow", narrow), ("words", kind is None))
            box.classes(" ".join(name for name, on in looks if on))
            fault = Fault()

        def show() -> None:
            box.show(self.entries.get(entry, ""))
            fault.clear()
            _figure(self.entries.get(entry, ""), kind, fault)

        show()
        self._shown[entry] = label, show
        return box


def shown_again(shown: Mapping[str, tuple[str, Callable[[], None]]], changed: Iterable[str]) -> list[str]:
    """Show those of the entries that have changed; return their labels."""
    here = [shown[one] for one in changed if one in shown]
    for _, show in here:
        show()
    return [label for label, _ in here]


def _figure(value: str, kind: "units.Quantity | None", fault: Fault) -> Figure | None:
    if kind is None or not value.strip():
        return None
    try:
        return Figure(number=units.read(value, kind), unit=kind.unit)
    except InputError as error:
        fault.show(f"{error} {KEPT_AS_WORDS}")
        return None


def _span(blank: Blank) -> str:
    ends = range_text(blank)
    return ", ".join(one for one in (f"{ends} {blank.unit}".strip() if ends else "", blank.basis) if one)


def _head(words: str, how: str = "") -> Text:
    with ui.element("th").props("scope=row"):
        said = text("span", words)
        if how:
            text("span", how, "span")
    return said


def _cell(label: str, words: str) -> None:
    with ui.element("td") as cell:
        cell.props["data-label"] = label
        text("span", words)


@contextmanager
def _table(caption: str, heads: Sequence[str], cls: str) -> Iterator[None]:
    """Put a table with its head round rows."""
    with ui.element("div").classes("scroll bench-screen").props("tabindex=0 role=region") as whole:
        whole.props["aria-label"] = caption
        with ui.element("table").classes(cls):
            with ui.element("thead"), ui.element("tr"):
                for head in heads:
                    text("th", head).props("scope=col")
            with ui.element("tbody"):
                yield
