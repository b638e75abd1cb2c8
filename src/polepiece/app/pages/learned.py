"""Learned: what is unproven, how good predictions were, what a grade did so far, which bars to keep."""

import asyncio
from collections.abc import Awaitable, Callable

from nicegui import ui

from polepiece.app.guitar.calibration_drawing import calibration_drawing
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, choice, press, table, text
from polepiece.app.widgets.place import Place
from polepiece.bench import QUANTITIES
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import grade_words
from polepiece.measure import added, calibration, multiples
from polepiece.notebook import (
    PAGE as ROWS,
)
from polepiece.notebook import (
    Counted,
    Mean,
    Paged,
    Swap,
    Told,
    counted_lines,
    grade_lines,
    grade_means,
    grades_proven,
    owned_bars,
    unproven_swaps,
)
from polepiece.planning import DRAWER_RULE, DrawerSet, drawer_set
from polepiece.shown_number import true_minus

PAGE = Place(
    path="/learned", title="What was learned", about="unproven swaps, how good predictions were, what grades did",
    linked=False,
)  # fmt: skip
NOT_INDEPENDENT = (
    "A measured value counts as inside when it is no farther from the computed one than both intervals together allow. "
    "Of several ledgers of one change the last counts; values of one swap are not quite independent of one another."
)
NO_LEDGER = "No ledger has a computed and a measured value yet: prove a change, with a meter, plucks or blind."


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def learned(guitar: str = "", pickup: str = "") -> None:
        desk = Desk.at(guitar, pickup)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            view = LearnedView(desk)
            view.build()
        ui.timer(0.0, view.begin, once=True)


class LearnedView:
    """One tab on what was learned."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.client = desk, ui.context.client
        self.proven: tuple[tuple[str, str, int], ...] = ()
        self.chosen, self.first, self.first_line = ("", ""), 0, 0

    def build(self) -> None:
        """Put everything on the page; the figures come with what is read of the notebook."""
        with ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                text("h2", "How good were the predictions?")
                self.good = ui.element("div").mark("calibration")
            with ui.element("section").classes("card"):
                text("h2", "Swaps without a proof")
                self.open = ui.element("div").mark("unproven-swaps")
        with ui.element("section").classes("card after"):
            text("h2", "What did a grade do so far?")
            self.grades = ui.element("div").mark("grade-told")
        with ui.element("section").classes("card after"):
            text("h2", f"Bars to keep for the {self.desk.pickup} pickup")
            text("p", DRAWER_RULE, "small soft")
            press("work it out", self._keep, mark="bars-to-keep")
            self.working, self.fault = Working(), Fault()
            self.bars = ui.element("div").mark("bars-told")
        for box in (self.good, self.open, self.grades):
            with box:
                text("p", "Looking through the notebook …", "soft")

    async def begin(self) -> None:
        """Read the notebook off the event loop: entries that are new are looked through first."""
        book = shared.room().notebook
        try:
            counts = await asyncio.to_thread(counted_lines, book, multiples())
            self.proven = await asyncio.to_thread(grades_proven, book)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        if not alive(self.client):
            return
        self._show_good(counts)
        await self._show_open(0)
        if self.proven:
            self.chosen = self.proven[0][:2]
        await self._show_grade(0)

    # --- predictions -------------------------------------------------------------------------------
    def _show_good(self, counts: tuple[Counted, ...]) -> None:
        self.good.clear()
        with self.good:
            try:
                found = calibration(
                    added(one.within for one in counts), sum(one.total for one in counts),
                    sum(one.below for one in counts),
                )  # fmt: skip
            except InputError:
                text("p", NO_LEDGER, "soft")
                return
            text("p", found.words)
            calibration_drawing(found)
            rows = [(one.words, one.of, str(one.total), str(one.within[4]), str(one.within[8])) for one in counts]
            heads = ("quantity", "of", "values", "inside 50 %", "inside 90 %")
            with ui.element("details"):
                text("summary", "by quantity")
                table("By quantity", heads, rows, left=2)
            text("p", NOT_INDEPENDENT, "small soft")

    # --- swaps -------------------------------------------------------------------------------------
    async def _show_open(self, first: int) -> None:
        book = shared.room().notebook
        found: Paged[Swap] = await asyncio.to_thread(unproven_swaps, book, first=first)
        if not alive(self.client):
            return
        self.open.clear()
        with self.open:
            if not found.total:
                text("p", "None: every bar that was put in has a ledger, or none was put in yet.", "soft")
                return
            text("p", f"{found.total} in all: what was heard of them may be hope.", "small")
            with ui.element("ul"):
                for one in found.rows:
                    text("li", f"{one.at:%Y-%m-%d}, {one.guitar}, {one.pickup}: {grade_words(one.grade_before)} to "
                         f"{grade_words(one.grade_after)} ({one.why})")  # fmt: skip
            self._pages(found.first, found.total, self._show_open, "swaps")

    # --- grades ------------------------------------------------------------------------------------
    async def _show_grade(self, first: int) -> None:
        book = shared.room().notebook
        means: tuple[Mean, ...] = ()
        lines: Paged[Told] | None = None
        if self.proven:
            grade, place = self.chosen
            means = await asyncio.to_thread(grade_means, book, grade, place)
            lines = await asyncio.to_thread(grade_lines, book, grade, place, first=first)
        if not alive(self.client):
            return
        self.grades.clear()
        with self.grades:
            if lines is None:
                text("p", NO_LEDGER, "soft")
                return
            options = {f"{grade}|{place}": f"{grade_words(grade)} in {place} pickups ({count})"
                       for grade, place, count in self.proven}  # fmt: skip
            choice("grade and place", options, "|".join(self.chosen), self._choose, mark="choose-grade")
            rows = [(one.words, one.of, one.unit, str(one.total), _figure(one.computed), _figure(one.measured),
                     f"{one.agreed} / {one.disagreed}") for one in means]  # fmt: skip
            heads = ("quantity", "of", "unit", "n", "computed, mean", "measured, mean", "agrees / disagrees")
            table("In the mean", heads, rows, left=3)
            told = [(one.date, one.guitar, one.words, one.of, _span(one.computed), _span(one.measured), one.word)
                    for one in lines.rows]  # fmt: skip
            heads = ("date", "guitar", "quantity", "of", "computed [90 %]", "measured, heard [90 %]", "so")
            table("Line by line", heads, told, left=4)
            self._pages(lines.first, lines.total, self._show_grade, "lines")

    async def _choose(self, value: str) -> None:
        grade, _, place = value.partition("|")
        self.chosen = (grade, place)
        await self._show_grade(0)

    def _pages(self, first: int, total: int, show: Callable[[int], Awaitable[None]], mark: str) -> None:
        if total <= ROWS:
            return
        with ui.element("div").classes("row"):
            text("span", f"{first + 1} to {min(first + ROWS, total)} of {total}", "small")
            if first:
                press("before", lambda: show(max(first - ROWS, 0)), mark=f"{mark}-before", cls="quiet")
            if first + ROWS < total:
                press("after", lambda: show(first + ROWS), mark=f"{mark}-after", cls="quiet")

    # --- bars --------------------------------------------------------------------------------------
    async def _keep(self) -> None:
        self.fault.clear()
        if self.working.job is not None:
            return
        desk = self.desk
        stay = desk.guitar.pickup(desk.pickup).built.magnets_stay
        if stay is not None:
            self.fault.show(f"{desk.pickup}: {stay.reason}; no bar can be kept for it.")
            return
        try:
            job = shared.room().jobs.run("grades", desk.guitar, desk.pickup, on_progress=self.working.show_progress)
            found, _ = await self.working.follow(job)
            parts = shared.room().notebook.parts(include_retired=True)
            prices = {one.part.grade: one.part.price for one in parts if one.part.grade and one.part.price is not None}
            chosen = drawer_set(found, owned=owned_bars(parts), prices=prices)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        if alive(self.client):
            self._show_bars(chosen)

    def _show_bars(self, chosen: DrawerSet) -> None:
        self.bars.clear()
        with self.bars:
            rows = []
            for one in chosen.voices:
                cost = "owned" if one.owned else "price not known" if one.price is None else f"{one.price:f}"
                moved = QUANTITIES[one.quantity].moved_words(one.difference)
                rows.append(
                    (grade_words(one.grade), f"{one.apart:.1f}", f"{moved} than {grade_words(one.nearest)}", cost)
                )
            if rows:
                table("Bars to keep, in this order", ("bar", "apart, × what is just heard", "by", "cost"), rows)
            else:
                text("p", "No other bar is heard to differ from the one that is in.")
            for grade, other, apart in chosen.same:
                text(
                    "p",
                    f"{grade_words(grade)} is like {grade_words(other)} ({apart:.1f} × what is just heard).",
                    "small soft",
                )


def _figure(value: float | None) -> str:
    return "–" if value is None else true_minus(f"{value:.3g}")


def _span(claim: "tuple[float, float, float] | None") -> str:
    return "–" if claim is None else true_minus(f"{claim[0]:.3g} [{claim[1]:.3g} to {claim[2]:.3g}]")
