"""Drawer: the parts that are owned, whether each bar fits, and which pairs were never tried."""

import asyncio
from collections.abc import Sequence

from nicegui import ui

from polepiece.app.guitar.drawer_form import KINDS, PartForm
from polepiece.app.guitar.pairings import NEVER, bar_of, pairings
from polepiece.app.pages.worksheet import PAGE as WORK_SHEET
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import Desk
from polepiece.app.sheet.choice import sheet_address
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, amount, choice, link, press, text
from polepiece.app.widgets.digits import INCH_MM
from polepiece.app.widgets.place import Place
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import grade_words
from polepiece.notebook import Part, PartEntry, PartFit, part_fit, part_words
from polepiece.shown_number import number, signed

PAGE = Place(path="/drawer", title="Drawer", about="magnets and parts that are owned, and where they fit")
GOES_IN = ("fits", "shim", "measure first")
MAGNETS = ("bar", "rods")


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def drawer(guitar: str = "", pickup: str = "", against: str = "") -> None:
        desk = Desk.at(guitar, pickup, against)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk, chooses_pickup=False):
            view = DrawerView(desk)
            view.build()
        ui.timer(0.0, view.begin, once=True)


class DrawerView:
    """One tab on the drawer, held against one guitar."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.client = desk, ui.context.client
        self.pairs: dict[tuple[str, str], str] | None = None

    def build(self) -> None:
        """Put everything on the page; what was tried with what comes after."""
        text("p", f"Held against {self.desk.guitar.name}; choose another guitar at the top.", "soft")
        link(self.desk.address("/winding"), "wind a coil, or judge a batch of coils").mark("to-winding")
        self.list = ui.element("div").classes("stack").mark("parts")
        with ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                self.form = PartForm(self._add)
            with ui.element("section").classes("card"):
                self.leaving = ui.element("div")
        self._show()

    async def begin(self) -> None:
        """Find out what was tried with what."""
        book, guitar_id = shared.room().notebook, self.desk.entry.id
        found = await asyncio.to_thread(pairings, book, guitar_id)
        if alive(self.client):
            self.pairs = found
            self._show_list()

    # --- showing -----------------------------------------------------------------------------------
    def _show(self) -> None:
        self._show_list()
        parts = shared.room().notebook.parts(include_retired=True)
        self.leaving.clear()
        with self.leaving:
            self._take_out([one for one in parts if one.retired is None])
            self._gone([one for one in parts if one.retired is not None])

    def _show_list(self) -> None:
        there = shared.room().notebook.parts()
        self.list.clear()
        with self.list:
            if not there:
                text("p", "The drawer is empty. What is in it can be asked for in a plan, and is offered on a work "
                     "sheet.", "notice")  # fmt: skip
            bars = [one for one in there if one.part.kind in MAGNETS]
            others = [one for one in there if one.part.kind not in MAGNETS]
            if bars:
                with ui.element("section").classes("card"):
                    text("h2", "Magnets")
                    self._magnets(bars)
                    self._never(bars)
            if others:
                with ui.element("section").classes("card"):
                    text("h2", "Other parts")
                    self._others(others)

    def _magnets(self, bars: Sequence[PartEntry]) -> None:
        names = [one.name for one in self.desk.guitar.pickups]
        heads = ["part", "size", "gauss, where", "price", *(f"in {name}" for name in names)]
        fits = {one.id: [part_fit(one.part, self.desk.guitar, name) for name in names] for one in bars}
        with (
            ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Magnets"'),
            ui.element("table").classes("cards drawer"),
        ):
            with ui.element("thead"), ui.element("tr"):
                for head in heads:
                    text("th", head).props("scope=col")
            with ui.element("tbody"):
                for one in bars:
                    with ui.element("tr").mark(f"part-row-{one.id}"):
                        self._name(one)
                        _cell("size", *size_of(one.part))
                        _cell("gauss, where", *gauss_of(one.part))
                        _cell("price", price_of(one.part))
                        for fit in fits[one.id]:
                            _cell(f"in {fit.pickup}", _verdict(fit), self._tried(one.part, fit))
        notes: dict[str, list[str]] = {}
        for number_, found in fits.items():
            for fit in found:
                if fit.words and fit.words not in notes:
                    notes[fit.words] = []
                if fit.words and str(number_) not in notes[fit.words]:
                    notes[fit.words].append(str(number_))
        if notes:
            with ui.element("details"):
                text("summary", "What to do where it does not simply fit")
                with ui.element("ul").classes("small"):
                    for words, numbers in notes.items():
                        text("li", f"Part {', '.join(numbers)}: {words}.")

    def _tried(self, part: Part, fit: PartFit) -> str:
        bar = bar_of(part)
        if bar is None or self.pairs is None or fit.verdict in ("no bar here", "not a bar"):
            return ""
        return self.pairs.get((bar, fit.pickup), NEVER)

    def _never(self, bars: Sequence[PartEntry]) -> None:
        """List the pairs of bar and pickup that nobody has tried or computed, if the bar goes in."""
        if self.pairs is None:
            return
        text("h3", "Never tried, never computed")
        found: dict[tuple[str, str], PartFit] = {}
        for one in bars:
            bar = bar_of(one.part)
            for the_pickup in self.desk.guitar.pickups:
                fit = part_fit(one.part, self.desk.guitar, the_pickup.name)
                if bar is not None and fit.verdict in GOES_IN and (bar, the_pickup.name) not in self.pairs:
                    found.setdefault((bar, the_pickup.name), fit)
        if not found:
            text("p", "Every bar here that goes in was in this guitar, tried in it, or computed for it.", "soft")
            return
        with ui.element("ul").mark("never"):
            for bar, pickup in found:
                with ui.element("li"):
                    text("span", f"{grade_words(bar)} in the {pickup} pickup: ")
                    link(self.desk.address("/grades", pickup=pickup), "compare every grade")
                    text("span", " or ")
                    address = sheet_address(WORK_SHEET.path, self.desk.entry.id, pickup, [f"magnet={bar}"])
                    link(address, "open its work sheet")

    def _others(self, parts: Sequence[PartEntry]) -> None:
        with (
            ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Other parts"'),
            ui.element("table").classes("cards drawer"),
        ):
            with ui.element("thead"), ui.element("tr"):
                for head in ("part", "measured", "price"):
                    text("th", head).props("scope=col")
            with ui.element("tbody"):
                for one in parts:
                    with ui.element("tr").mark(f"part-row-{one.id}"):
                        self._name(one)
                        _cell("measured", value_of(one.part))
                        _cell("price", price_of(one.part))

    @staticmethod
    def _name(entry: PartEntry) -> None:
        part = entry.part
        with ui.element("th").props("scope=row"):
            words = grade_words(part.grade) if part.grade and part.grade != "unknown" else KINDS[part.kind]
            if part.kind in MAGNETS and part.grade in (None, "unknown"):
                words = f"{KINDS[part.kind]}, grade not known"
            finish = "" if part.finish == "unknown" else f", {part.finish.replace('-', ' ')}"
            there = "" if entry.count == 1 else f" ({entry.count} there)"
            text("span", f"{entry.id}. {words}{finish}{there}")
            more = [one for one in (part.label, "rods" if part.kind == "rods" else "", part.note) if one]
            if more:
                text("span", "; ".join(more), "span")

    # --- acts --------------------------------------------------------------------------------------
    async def _add(self) -> None:
        self.form.fault.clear()
        try:
            part = self.form.part()
            await shared.written(lambda: shared.room().notebook.add_part(part))
        except PolepieceError as error:
            self.form.fault.show(error)
            return
        self.form.clear()
        self._show()

    def _take_out(self, there: Sequence[PartEntry]) -> None:
        text("h2", "Take a part out of it")
        if not there:
            text("p", "There is nothing in it.", "soft")
            return
        options = {"": "choose a part"} | {str(one.id): f"{one.id}. {part_words(one.part)}"[:70] for one in there}
        with ui.element("div").classes("row"):
            which = choice("part", options, "", lambda _: None, mark="retire-part")
            why = amount("where it went", "", lambda _: None, mark="retire-why")

            async def out() -> None:
                fault.clear()
                try:
                    if not which.value:
                        raise InputError("Choose the part that leaves the drawer.")
                    if not why.value.strip():
                        raise InputError("Say where it went, for example: into the neck of the Harbour Lane, or sold.")
                    number, where = int(which.value), why.value.strip()
                    await shared.written(lambda: shared.room().notebook.retire_part(number, where))
                except PolepieceError as error:
                    fault.show(error)
                    return
                self._show()

            async def one() -> None:
                fault.clear()
                try:
                    if not which.value:
                        raise InputError("Choose the part of which one is used.")
                    number, where = int(which.value), why.value.strip()
                    await shared.written(lambda: shared.room().notebook.use_part(number, where))
                except PolepieceError as error:
                    fault.show(error)
                    return
                self._show()

            press("take it out", out, mark="retire", once=True)
            press("use one of it", one, cls="quiet", mark="use-one", once=True)
        fault = Fault()

    @staticmethod
    def _gone(gone: Sequence[PartEntry]) -> None:
        if not gone:
            return
        with ui.element("details"):
            text("summary", f"has left the drawer: {len(gone)}")
            with ui.element("ul").classes("small"):
                for one in reversed(gone):
                    when = f"{one.retired:%Y-%m-%d}" if one.retired else ""
                    text("li", f"{one.id}. {part_words(one.part)} ({when}: {one.why})")


# ---------------------------------------------------------------------------------------- parts in words


def size_of(part: Part) -> tuple[str, str]:
    """Return the size of a part in mm and in inches; what is not known is a question mark."""
    sizes = (part.length_mm, part.width_mm, part.thickness_mm)
    if all(one is None for one in sizes):
        return "not measured", ""
    mm = " x ".join("?" if one is None else f"{one:.4g}" for one in sizes)
    inch = " x ".join("?" if one is None else f"{one / INCH_MM:.3f}".rstrip("0").rstrip(".") for one in sizes)
    return f"{mm} mm", f"{inch} in"


def gauss_of(part: Part) -> tuple[str, str]:
    """Return the measured gauss with their sign, and where."""
    if part.gauss is None:
        return "not measured", ""
    return f"{signed(part.gauss, 0)} gauss", part.gauss_at


def value_of(part: Part) -> str:
    """Return the measured value of a pot or capacitor."""
    if part.resistance_kohm is not None:
        return f"{number(part.resistance_kohm, 0 if part.resistance_kohm >= 100 else 1)} kΩ"
    if part.capacitance_nf is not None:
        return f"{part.capacitance_nf:.3g} nF"
    return "–" if part.kind not in ("pot", "capacitor") else "not measured"


def price_of(part: Part) -> str:
    """Return the price as it was typed."""
    return "–" if part.price is None else f"{part.price} {part.currency}"


def _verdict(fit: PartFit) -> str:
    return f"{fit.verdict} ({fit.short})" if fit.short else fit.verdict


def _cell(label: str, words: str, more: str = "") -> None:
    with ui.element("td") as cell:
        cell.props["data-label"] = label
        text("span", words)
        if more:
            text("span", more, "span")
