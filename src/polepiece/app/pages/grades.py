"""Grades: what every magnet grade does in this very pickup, beside what the trade says of it."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any
from urllib.parse import urlencode

import numpy as np
from nicegui import ui

from polepiece import __version__
from polepiece.app.guitar.grade_rows import grade_rows
from polepiece.app.guitar.grade_sheets import BANDS, SCHEMA, csv_rows
from polepiece.app.hear.listening import Listening, Played
from polepiece.app.hear.states import NOW, grade_state
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Stopped
from polepiece.app.widgets import theme
from polepiece.app.widgets.cells import cell, ends
from polepiece.app.widgets.controls import Fault, Working, choice, link, press, text
from polepiece.app.widgets.curves import Curve, Curves, lowest_drawn
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.player import MOST_STATES
from polepiece.errors import PolepieceError
from polepiece.guitar import charge_words, grade_words
from polepiece.materials import constants_hash
from polepiece.report import MOST_CURVES, csv_text, grade_sheet_page
from polepiece.shown_number import signed
from polepiece.sound import band_words, bands_in_a_row

PAGE = Place(path="/grades", title="Grades", about="every grade in this very pickup, beside what the trade says")
GAPS = {"same": "same gap", "reset": "gap re-set to the old level"}
DRAWN = {"difference": "against the bar that is in", "response": "as they are"}
CHARGES = {"": "as the bar that is in", "outside": "charged outside", "in-place": "charged in place"}
Sheet = Mapping[str, Any]

# key of a column -> (head, unit, decimals)
COLUMNS: dict[str, tuple[str, str, int]] = {
    "level_db": ("level", "dB", 1),
    **{f"bands_db.{band}": (band_words(band, dash="–", kilo=True), "dB", 1) for band in BANDS},
    "wound_minus_plain_db": ("wound against plain", "dB", 1),
    "resonance_hz": ("resonance", "Hz", 0),
    "resonance_db": ("its height", "dB", 1),
    "inductance_1khz_h": ("inductance", "H", 2),
}
BAND_NOTE = (
    f"Differences against the bar that is in. Bands ({bands_in_a_row()}) are against the level; "
    "below each number its 90 % interval. Under about 1 dB a difference is smaller "
    "than one pick stroke to the next."
)
CHARGE_NOTE = (
    "Nobody has said how the bar that is in was charged, in the pickup or outside; that moves more than many a grade "
    "step. Look at both below; a gauss reading at the pole tops settles it."
)


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def grades(  # one argument for each part of the address
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", charge: str = "",
        gap: str = "same", sort: str = "",
        curves: str = "", drawn: str = "difference",
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            view = GradesView(desk, charge=charge, gap=gap, sort=sort, curves=curves, drawn=drawn)
            view.build()
        ui.timer(0.0, view.begin, once=True)


class GradesView:
    """One tab on the grades of one pickup."""

    def __init__(self, desk: Desk, *, charge: str, gap: str, sort: str, curves: str, drawn: str) -> None:
        self.desk, self.client = desk, ui.context.client
        self.charge = charge if charge in CHARGES else ""
        self.gap = gap if gap in GAPS else "same"
        self.sort, self.down = sort.lstrip("-"), sort.startswith("-")
        self.picked = [one for one in curves.split(",") if one][:MOST_CURVES]
        self.drawn = drawn if drawn in DRAWN else "difference"
        self.low = lowest_drawn(desk.guitar)
        self.sheet: Sheet | None = None
        self.played: list[str] = []

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page; numbers come later."""
        pickup = self.desk.chosen
        bar = pickup.magnet.grade if pickup.magnet.constants is None else "own constants"
        what = f"{grade_words(bar)}, {charge_words(str(pickup.magnet.charge))}"
        text("p", f"{self.desk.pickup} pickup. In: {what}. Every other bar has its size and place.", "soft")
        if pickup.magnet.charge == "unknown":
            text("p", CHARGE_NOTE, "small")
        if (stay := pickup.built.magnets_stay) is not None:
            text("p", stay.on_the_page_of_grades, "warn")
        with ui.element("div").classes("row"):
            self.charge_choice = choice("other bars", CHARGES, self.charge, self._choose_charge, mark="charge")
            choice("judged at", GAPS, self.gap, self._choose_gap, mark="gap")
        self.working, self.fault = Working(), Fault()
        self.again = press("compute every grade", self._compute, cls="main", mark="compute")
        self.again.set_visibility(False)
        with ui.element("div").classes("plan-two"):
            with ui.element("section").props('aria-label="Bars"') as self.card:
                self.bars = ui.element("div")
                with ui.element("details").classes("card fold"):
                    text("summary", "All numbers")
                    self.caption = text("p", "", "small soft")
                    self.table = ui.element("div")
                    with ui.element("div").classes("row"):
                        press("table as CSV", self._csv, cls="quiet", mark="table-csv")
                        press("one page to share (HTML)", self._page, cls="quiet", mark="share")
                self.trade_note = text("p", "", "small soft")
            with ui.element("section").classes("card beside stays"):
                self.curves = Curves(
                    "Response with each bar", unit="dB", span=6.0, file="grades-response.csv", low=self.low
                )
                choice("drawn", DRAWN, self.drawn, self._choose_drawn, mark="drawn").classes("inline")
                text("p", "Press play in a row: its sound is made and set against the guitar as it is.", "small soft")
                self.listening = Listening(self.desk, Played(), label="Grades", on_change=self._address)
                self.to_hear = ui.element("p")
        self.card.set_visibility(False)

    async def begin(self) -> None:
        """Show what the notebook has of this state, or compute it."""
        self.sheet = self._kept()
        if self.sheet is None:
            await self._compute()
        else:
            self._show()

    # --- numbers -----------------------------------------------------------------------------------
    def _name(self) -> str:
        where = f", heard in {self.desk.position}" if self.desk.position else ""
        return f"every grade in {self.desk.pickup}" + (f", {self.charge}" if self.charge else "") + where

    def _kept(self) -> Sheet | None:
        book = shared.room().notebook
        same = {one.id for one in self.desk.history if one.text == self.desk.state.text}
        for one in reversed(book.predictions(self.desk.entry.id)):
            made = (one.result.get("schema"), one.result.get("version"), one.result.get("constants"))
            if one.change == self._name() and one.state_id in same and made == (SCHEMA, __version__, constants_hash()):
                return one.result
        return None

    async def _compute(self) -> None:
        self.fault.clear()
        self.again.set_visibility(False)
        state, name, charge = self.desk.state, self._name(), self.charge
        job = shared.room().jobs.run(
            "every grade", self.desk.guitar, self.desk.pickup, charge or None, heard=self.desk.heard_in,
            on_progress=self.working.show_progress,
        )  # fmt: skip
        try:
            found: dict[str, Any] = await self.working.follow(job)
            await shared.written(lambda: shared.room().notebook.keep_prediction(state.id, name, found))
        except Stopped:
            if alive(self.client):
                self.again.set_visibility(True)
            return
        except PolepieceError as error:
            self.fault.show(error)
            self.again.set_visibility(True)
            return
        if name == self._name() and alive(self.client):
            self.sheet = found
            self._show()

    # --- showing -----------------------------------------------------------------------------------
    def _show(self) -> None:
        assert self.sheet is not None
        known = [one["grade"] for one in self.sheet["grades"]]
        self.picked = [one for one in self.picked if one in known] or default_curves(self.sheet)
        self.card.set_visibility(True)
        self._show_bars()
        self._show_table()
        self._show_curves()
        self._address()

    def _show_bars(self) -> None:
        assert self.sheet is not None
        self.bars.clear()
        judged = "computed" if self.gap == "same" else "computed at the same gap"
        with self.bars:
            grade_rows(
                self._rows(), self.sheet, gap=self.gap, low=self.low, picked=self.picked, on_play=self._play,
                on_pick=self._pick, moved=moved_words, trade=lambda one: trade_cell(one, judged),
            )  # fmt: skip

    def _rows(self) -> list[Mapping[str, Any]]:
        assert self.sheet is not None
        rows = [one for one in self.sheet["grades"] if one[self.gap] is not None]
        key = self.sort
        if key == "grade":
            rows = sorted(rows, key=lambda one: str(one["grade"]))
        elif key == "lowered_mm":
            rows = sorted(rows, key=lambda one: float(one[self.gap]["lowered_mm"]))
        elif key in COLUMNS:
            rows = sorted(rows, key=lambda one: float(one[self.gap]["difference"].get(key, 0.0)))
        return rows[::-1] if self.down else rows

    def _show_table(self) -> None:
        sheet = self.sheet
        assert sheet is not None
        charge = charge_words(str(sheet["charge"]))
        self.caption.say(f"{GAPS[self.gap].capitalize()}; other bars {charge}. {BAND_NOTE}")
        heads: list[tuple[str, str]] = [("grade", "bar")]
        heads += [("lowered_mm", "move")] if self.gap == "reset" else []
        heads += [(key, f"{words}, {unit}") for key, (words, unit, _) in COLUMNS.items()]
        notes = [str(one["trade"]["note"]) for one in sheet["grades"] if one["trade"] is not None]
        self.trade_note.say(
            f"What the trade says is of a stock full-size humbucker at the same gap, and is judged there"
            f"{', also while the table has the gap re-set' if self.gap == 'reset' else ''}. {notes[0]}"
            if notes
            else ""
        )
        self.table.clear()
        with (
            self.table,
            ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Every grade"'),
            ui.element("table").classes("grades cards"),
        ):
            with ui.element("thead"), ui.element("tr"):
                for key, words in heads:
                    self._head(key, words, "" if key == "grade" else "n")
            for one in self._rows():
                with ui.element("tbody"):
                    self._row(one, heads)

    def _head(self, key: str, words: str, cls: str) -> None:
        here = key == self.sort
        with ui.element("th").classes(cls).props("scope=col") as head:
            head.props["aria-sort"] = ("descending" if self.down else "ascending") if here else "none"
            button = press(words, partial(self._sort_by, key), cls="sorter", mark=f"sort-{key}")
            button.props["aria-label"] = f"{words}: sort"

    def _row(self, one: Mapping[str, Any], heads: Sequence[tuple[str, str]]) -> None:
        slug, side = str(one["grade"]), one[self.gap]
        with ui.element("tr"):
            with ui.element("th").props("scope=row"):
                text("span", grade_words(slug))
                if self.sheet is not None and slug == self.sheet["in_place_of"]:
                    text("span", " (in)", "soft")
            for key, head in heads[1:]:
                with ui.element("td").classes("n") as place:
                    place.props["data-label"] = head
                    if key == "lowered_mm":
                        text("span", moved_words(float(side["lowered_mm"])))
                        continue
                    value, interval = side["difference"].get(key), side["interval"].get(key)
                    if value is None:
                        text("span", "–").props["aria-label"] = "no resonance to compare"
                        continue
                    digits = COLUMNS[key][2]
                    text("span", cell(value, interval, digits) if digits == 1 else signed(value, digits))
                    text("span", ends(interval, digits), "span")

    def _show_curves(self) -> None:
        sheet = self.sheet
        assert sheet is not None
        frequency = np.array(sheet["frequency_hz"])
        before = np.array(sheet["before"]["response_db"])
        base = before if self.drawn == "difference" else np.zeros_like(before)
        lines = [Curve(name="as it is", look="now", frequency=frequency, level_db=before - base)]
        by_grade = {one["grade"]: one for one in sheet["grades"]}
        for n, slug in enumerate(self.picked):
            side = by_grade[slug][self.gap] or by_grade[slug]["same"]
            lines.append(
                Curve(
                    name=grade_words(slug), look=str(n + 1), frequency=frequency,
                    level_db=np.array(side["response_db"]) - base,
                )
            )  # fmt: skip
        self.curves.show(lines, apart=self.drawn == "difference")

    # --- acts --------------------------------------------------------------------------------------
    def address(self) -> str:
        """Return the address that shows the same."""
        query = {"charge": self.charge, "gap": self.gap, "drawn": self.drawn, "curves": ",".join(self.picked)}
        query["sort"] = ("-" if self.down else "") + self.sort
        kept = {key: value for key, value in query.items() if value not in ("", "same", "difference")}
        return self.desk.address(PAGE.path) + (f"&{urlencode(kept)}" if kept else "")

    def _address(self) -> None:
        show_address(self.client, self.address())

    def _sort_by(self, key: str) -> None:
        self.down = not self.down if key == self.sort else key != "grade"
        self.sort = key
        self._show_bars()
        self._show_table()
        self._address()

    async def _choose_charge(self, charge: str) -> None:
        if self.working.job is not None:
            self.working.job.stop()
        self.charge = charge
        self.sheet = self._kept()
        if self.sheet is None:
            self.card.set_visibility(False)
            await self._compute()
        else:
            self._show()

    def _choose_gap(self, gap: str) -> None:
        self.gap = gap
        if self.sheet is not None:
            self._show()

    def _choose_drawn(self, drawn: str) -> None:
        self.drawn = drawn
        if self.sheet is not None:
            self._show_curves()
            self._address()

    def _pick(self, slug: str, on: bool) -> None:
        self.picked = [one for one in self.picked if one != slug] + ([slug] if on else [])
        if len(self.picked) > MOST_CURVES:
            self.picked = self.picked[-MOST_CURVES:]
            self._show_bars()
        self._show_curves()
        self._address()

    async def _play(self, slug: str) -> None:
        if self.sheet is None:
            return
        side = next(one[self.gap] for one in self.sheet["grades"] if one["grade"] == slug)
        state = grade_state(slug, self.sheet["charge"], 1e-3 * float(side["lowered_mm"]))
        others = [one for one in self.played if one != state]
        self.played = [*others[-(MOST_STATES - 2) :], state]
        self.listening.want([NOW, *self.played])
        self._link_to_hear()
        await self.listening.make()
        self.listening.player.choose(state)
        self.listening.player.play()

    def _link_to_hear(self) -> None:
        self.to_hear.clear()
        query = urlencode([("state", one) for one in [NOW, *self.played]])
        with self.to_hear:
            link(f"{self.desk.address('/hear')}&{query}", "hear these with your own recording")

    def _csv(self) -> None:
        if self.sheet is not None:
            ui.download.content(csv_text(csv_rows(self.sheet)).encode(), f"grades-{self.desk.pickup}.csv", "text/csv")

    def _page(self) -> None:
        if self.sheet is not None:
            page = grade_sheet_page(self.desk.guitar, self.sheet, name=grade_words)
            ui.download.content(page.encode(), f"grades-{self.desk.pickup}.html", "text/html")


def default_curves(sheet: Sheet) -> list[str]:
    """Return what is drawn when nothing was chosen: the weakest, a middle and the strongest bar."""
    ranked = sorted(sheet["grades"], key=lambda one: float(one["same"]["difference"]["level_db"]))
    names = [str(one["grade"]) for one in ranked if one["grade"] != sheet["in_place_of"]]
    return list(dict.fromkeys([names[0], names[len(names) // 2], names[-1]])) if names else []


def moved_words(lowered_mm: float) -> str:
    """Return the height move beside a bar."""
    if abs(lowered_mm) < 0.005:
        return "as it is"
    return f"{'lower' if lowered_mm > 0 else 'raise'} {abs(lowered_mm):.2f} mm"


def trade_cell(trade: Mapping[str, Any], judged: str = "computed") -> None:
    """Show what the trade says: the saying, how sure the trade is, and what these numbers say of it."""
    with ui.element("ul").classes("says").props('aria-label="What the trade says"'):
        text("li", "The trade says (common practice, no source):", "soft")
        for column in ("level", "lows", "mids", "highs", "where"):
            if not trade.get(column):
                continue
            verdict = str(trade["verdicts"].get(column, "not computed"))
            with ui.element("li"):
                text("span", f"{column}: {trade[column]} ")
                text("span", f"({trade['strengths'].get(column, '')}) ", "soft")
                badge = text("span", f"{judged}: {verdict}", f"verdict {verdict.replace(' ', '-')}")
                found = trade.get("found", {}).get(column, [])
                badge.props["title"] = "; ".join([*found, trade.get("why_not", {}).get(column, "")]).strip("; ")
