"""Prove: what was computed of a change beside what was measured and heard of it, each with its interval."""

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from fastapi import Query
from nicegui import ui

from polepiece.app.listen import booth
from polepiece.app.prove import proofs
from polepiece.app.prove.blind_card import BlindCard
from polepiece.app.prove.from_listen import FromListen
from polepiece.app.prove.plucks_card import PlucksCard, thirds_of
from polepiece.app.prove.proofs import Proof, Side
from polepiece.app.prove.sweeps_card import SweepsCard
from polepiece.app.prove.verdict import HEAD
from polepiece.app.prove.work import Proved
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Stopped
from polepiece.app.sheet import shelf as sheet_shelf
from polepiece.app.sheet.choice import meant, position_choice, view_of
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, link, press, text
from polepiece.app.widgets.curves import Curve, Curves
from polepiece.app.widgets.place import Place
from polepiece.errors import ChangedMeanwhileError, InputError, PolepieceError
from polepiece.guitar import Guitar
from polepiece.measure import BlindTrial, Entry, Ledger, coverage, readable_ledgers
from polepiece.moves import apply, parse_changes
from polepiece.report import LedgerRow, ledger_csv, ledger_page, ledger_rows

PAGE = Place(
    path="/prove", title="Prove", in_job=True, about="what was computed of a change beside what was measured and heard"
)
WORK_SHEET = "/worksheet"
ABOUT = (
    "A proof is of one change that was made: what was computed of it stands beside what you measured and heard. "
    "Whatever you bring counts; what is missing is said to be missing."
)
READ_IT = (
    "In grey the 90 % interval. Apart: how far computed and measured are from each other, against what both together "
    "allow; up to 1 they agree."
)
NOTHING_YET = "Nothing is proven yet: bring what you have, and make the ledger."


def build() -> None:
    """Register the page and the address of the sounds of a trial."""
    booth.build()

    @theme.page(PAGE)
    async def prove(
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", state: str = "", job: str = "",
        change: list[str] = Query([]),  # noqa: B008
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        there, wanted = meant(desk, job, change)
        desk.look_at(there)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk, chooses_pickup=not wanted):
            view = view_of(
                desk, PAGE.path, lambda what: ProveView(desk, what), state=state, job=job, changes=change, about=ABOUT
            )
            if view is None:
                return
            view.build()
        show_address(ui.context.client, view.address())


class ProveView:
    """One tab on one proof."""

    def __init__(self, desk: Desk, what: Asked) -> None:
        self.desk, self.what, self.client = desk, what, ui.context.client
        book, key = shared.room().notebook, what.key
        self.base = book.state_guitar(what.base.id)
        self.after = apply(self.base, key.pickup, parse_changes(key.changes))
        self.proof: Proof = proofs.proof_of(book, key)
        self.entries = sheet_shelf.written(key).entries
        self.ledger = proofs.last_ledger(book, key)

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page."""
        with ui.element("section").classes("card").props('aria-label="What is proven"'):
            text("p", self.what.key.words, "change")
            with ui.element("p").classes("small soft"):
                text("span", f"Before it: the guitar as it was on {self.what.base.at:%Y-%m-%d %H:%M} UTC. ")
                link(f"{WORK_SHEET}?{self.what.query()}", "its work sheet")
                text("span", " · ")
                link(PAGE.path + f"?guitar={self.desk.entry.id}", "prove another change")
            position_choice(self.desk, self.what, PAGE.path)
        with ui.element("section").classes("answer").props('aria-label="Verdict"'):
            self.verdict = text("p", "", "said-first").mark("verdict")
        with ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                PlucksCard(self.what, self.base, self.proof, self._keep, self._draw).build()
            with ui.element("section").classes("card"):
                states: dict[Side, Guitar] = {"before": self.base, "after": self.after}
                SweepsCard(self.desk, self.what, self.proof, self.entries, self._keep, states, WORK_SHEET).build()
        with ui.element("section").classes("card after"):
            text("h2", "Blind listening")
            self.blind = BlindCard(self.what, self.base, self.after, self.proof, self._keep_trial)
            FromListen(self.what, self.base, self.proof, self._keep, lambda: self.blind.show(self.proof.trial)).build()
        with ui.element("section").classes("card after").mark("ledger-card"):
            text("h2", "Ledger: computed, measured, heard")
            self.make = press("make the ledger", self._make, cls="main", mark="make-ledger")
            self.working, self.fault = Working(), Fault()
            self.curves = Curves("Change of the response", unit="dB", span=6.0, file="change.csv")
            self.curves.box.set_visibility(False)
            self.shown = ui.element("div").classes("stack")
        self._show_ledger()
        self._draw()

    def address(self) -> str:
        """Return the address that shows the same proof."""
        return f"{PAGE.path}?{self.what.query()}"

    # --- the trial ---------------------------------------------------------------------------------
    async def _keep_trial(self, trial: BlindTrial | None, phrase: str, position: str, words: str) -> None:
        """Keep a trial as far as it is.

        Raises
        ------
        ChangedMeanwhileError
            When another tab has gone on with it, or begun another one.
        """
        there = proofs.proof_of(shared.room().notebook, self.what.key).trial
        going = None if there is None or there.over else there
        if trial is not None and (trial.answers or going is not None):
            before = None if not trial.answers else replace(trial, answers=trial.answers[:-1])
            if going != before:
                raise ChangedMeanwhileError("this trial went on in another tab; reload this page.")
        value = None if trial is None else trial.to_dict() | {"phrase": phrase, "position": position}
        await self._keep("trial", value, words)

    async def _keep(self, entry: str, value: Any, words: str) -> None:
        """Keep one entry; it is on the disk when this returns."""
        book, what = shared.room().notebook, self.what
        await shared.written(lambda: proofs.keep(book, what.key, what.base.id, entry, value, words))
        self.proof.put(entry, value)

    # --- the ledger --------------------------------------------------------------------------------
    async def _make(self) -> None:
        self.fault.clear()
        self.make.allow(False)
        book, what = shared.room().notebook, self.what
        try:
            proof, entries = proofs.proof_of(book, what.key), sheet_shelf.written(what.key).entries  # of all tabs
            evidence = proofs.evidence_of(proof, entries, what.position)
            today = datetime.datetime.now(datetime.UTC).date().isoformat()
            job = shared.room().jobs.run(
                "proof",
                self.base,
                what.key.pickup,
                what.key.changes,
                evidence,
                today,
                heard=what.position or None,
                on_progress=self.working.show_progress,
            )
            found: Proved = await self.working.follow(job)
            await shared.written(
                lambda: book.keep_ledger(what.key.guitar_id, found.ledger.to_dict(), state_id=what.base.id)
            )
        except (Stopped, PolepieceError) as error:
            if alive(self.client):
                self.fault.show(error)
            return
        finally:
            self.make.allow(True)
        if not alive(self.client):
            return
        self.ledger = found.ledger
        self._show_ledger()
        self._draw(found)

    def _draw(self, found: Proved | None = None) -> None:
        """Draw the computed change where it is at hand, and the measured third octaves with their interval over it."""
        thirds = [] if self.proof.plucks is None else thirds_of(self.proof.plucks)
        curves: list[Curve] = []
        if found is not None:
            curves = [Curve(name="computed", look="now", frequency=found.frequency, level_db=found.change_db)]
        if len(thirds) > 1:  # where both are known
            hertz, *values = np.array(thirds).T
            f = hertz if found is None else found.frequency
            f = f[(f >= hertz[0]) & (f <= hertz[-1])]
            curves = [
                Curve(name=one.name, look=one.look, frequency=f, level_db=np.interp(f, one.frequency, one.level_db))
                for one in curves
            ] + [
                Curve(name=name, look=look, frequency=f, level_db=np.interp(np.log(f), np.log(hertz), value))
                for name, look, value in zip(("measured", "90 % from", "90 % to"), ("1", "2", "2"), values)
            ]
        self.curves.box.set_visibility(bool(curves))
        self.curves.show(curves, apart=True)

    def _show_ledger(self) -> None:
        self.shown.clear()
        ledger = self.ledger
        self.verdict.say(verdict_of(ledger))
        if ledger is None:
            return
        with self.shown:
            made = f"Made {ledger.date}, polepiece {ledger.provenance.get('version')}."
            text("p", f"{made} {READ_IT}", "small soft")
            for words in (one for one in ledger.notes if not one.startswith(HEAD)):
                text("p", words, "warn" if words.startswith("STOP") else "small")
            _ledger(ledger)
            with ui.element("div").classes("row"):
                press("ledger as CSV", self._csv, mark="ledger-csv")
                press("ledger as a page to share", self._page, mark="ledger-html")
            text("p", _over_all(), "small").mark("coverage")

    def _csv(self) -> None:
        if self.ledger is not None:
            ui.download.content(ledger_csv(self.ledger).encode(), "ledger.csv", "text/csv")

    def _page(self) -> None:
        if self.ledger is not None:
            ui.download.content(ledger_page(self.ledger).encode(), "ledger.html", "text/html")


def verdict_of(ledger: Ledger | None) -> str:
    """Return the one verdict of a ledger; of one that was made before there were any, what its lines come to."""
    if ledger is None:
        return NOTHING_YET
    said = next((one.removeprefix(HEAD) for one in ledger.notes if one.startswith(HEAD)), "")
    if said:
        return said[:1].upper() + said[1:]
    words = [one.word for one in ledger.entries if one.measured is not None]
    counts = ", ".join(f"{words.count(word)} × {word}" for word in dict.fromkeys(words))
    return f"Of its lines: {counts}." if counts else "Nothing was measured of it yet."


def _ledger(ledger: Ledger) -> None:
    """What was measured or heard beside what was computed of it; what was computed alone is folded."""
    every = list(zip(ledger_rows(ledger), ledger.entries))
    beside = [one for one in every if one[1].measured is not None or one[1].heard is not None or one[1].key == "heard"]
    alone = [one for one in every if one not in beside]
    _ledger_table(beside, "Ledger")
    if alone:
        with ui.element("details"):
            text("summary", f"Computed, and not measured: {len(alone)} more")
            _ledger_table(alone, "Computed, and not measured")


def _ledger_table(lines: Sequence[tuple[LedgerRow, Entry]], name: str) -> None:
    with (
        ui.element("div").classes("scroll").props("tabindex=0 role=region") as whole,
        ui.element("table").classes("cards").mark("ledger"),
    ):
        whole.props["aria-label"] = name
        heads = ("quantity", "of", "computed", "measured", "heard", "apart", "so")
        with ui.element("thead"), ui.element("tr"):
            for head in heads:
                text("th", head, "n" if head in heads[2:6] else "").props("scope=col")
        with ui.element("tbody"):
            for row, _ in lines:
                with ui.element("tr"):
                    text("th", row.quantity).props("scope=row")
                    _cell("of", row.of)
                    _cell("computed", row.computed, row.computed_span)
                    _cell("measured", row.measured, row.measured_span)
                    _cell("heard", row.heard, row.heard_span)
                    _cell("apart", row.error)
                    with ui.element("td") as cell:
                        cell.props["data-label"] = "so"
                        text("span", row.word, f"verdict {row.word.replace(' ', '-')}")
                        if row.note:
                            text("span", row.note, "span")


def _cell(label: str, words: str, span: str = "") -> None:
    with ui.element("td").classes("" if label == "of" else "n") as cell:
        cell.props["data-label"] = label
        text("span", words or "–")
        if span:
            text("span", span, "span")


def _over_all() -> str:
    """Return how often computed intervals held, over all ledgers of the notebook."""
    every = readable_ledgers(note.body for note in shared.room().notebook.ledgers(last=True))
    try:
        return f"Over all ledgers of this notebook: {coverage(every).words}"
    except InputError:
        return "Over all ledgers of this notebook: nothing was measured that was computed."
