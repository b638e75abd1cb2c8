"""Prove: what was computed of a change beside what was measured and heard of it, each with its interval."""

import datetime
import json
from collections.abc import Mapping
from dataclasses import asdict
from functools import partial
from typing import Any

import numpy as np
from fastapi import Query
from nicegui import events, run, ui

from polepiece.app import blind, proofs, shared, sheet_shelf, theme
from polepiece.app.addressing import alive, show_address
from polepiece.app.curves import Curve, Curves
from polepiece.app.desk import Desk
from polepiece.app.digits import signed
from polepiece.app.jobs import Stopped
from polepiece.app.pages.hear import LARGEST, STYLE
from polepiece.app.pages.place import Place
from polepiece.app.pages.prove_blind import BlindCard
from polepiece.app.pages.worksheet_choice import Choosing, opened
from polepiece.app.proofs import SIDES, Proof, Recording, Side
from polepiece.app.proving import Proved
from polepiece.app.sheet_shelf import Asked
from polepiece.app.uploads import kept_sound, taken, taken_sound
from polepiece.app.widgets import Fault, Working, file_taker, link, press, table, text
from polepiece.errors import InputError, MeasurementError, PolepieceError
from polepiece.measure import BlindTrial, Ledger, MeasuredPickup, PluckComparison, coverage, estimates_of
from polepiece.report import ledger_csv, ledger_page, ledger_rows
from polepiece.voicing import apply, parse_changes, with_measured

PAGE = Place(path="/prove", title="Prove", about="what was computed of a change beside what was measured and heard")
WORK_SHEET = "/worksheet"
LARGEST_RECORD = 16 * 1024 * 1024
ABOUT = (
    "A proof is of one change that was made: what was computed of it stands beside what you measured and heard. "
    "Whatever you bring counts; what is missing is said to be missing."
)
PLUCKS = (
    "Each open string five times before and five times after the change, two seconds apart, the others muted; the same "
    "gain, place and pick, the guitar straight into the interface. Two takes of one state show what the hand alone "
    "makes."
)
IMPEDANCE = (
    "A sweep of the pickup alone, before and after: the record that “polepiece measure impedance … --save” writes. Its "
    "how-to shows the wiring: one known resistor."
)
LEAST = (
    "Least to show: half the 90 % interval had nothing changed; a smaller change these plucks cannot show. What the "
    "hand did otherwise from one sitting to the next is in no interval."
)
LEARN = (
    "What was measured can stand in the guitar in place of what was assumed; the next predictions then spread by the "
    "measurement."
)
READ_IT = (
    "In grey the 90 % interval; E_n is the distance of computed and measured in their joint uncertainty, up to 1 they "
    "agree (ISO 13528)."
)
PLUCKED = {
    "level_db": "level, about 1 kHz", "bands_db.lows": "lows against the level",
    "bands_db.mids": "mids against the level", "bands_db.highs": "highs against the level",
    "bands_db.presence": "presence against the level", "attack_minus_sustain_db.lows": "attack against sustain, lows",
    "wound_minus_plain_db": "wound against plain strings",
}  # fmt: skip


def build() -> None:
    """Register the page and the address of the sounds of a trial."""
    blind.build()

    @ui.page(PAGE.path, title=theme.title(PAGE))
    async def prove(
        guitar: str = "", pickup: str = "", against: str = "", state: str = "", job: str = "",
        change: list[str] = Query([]),  # noqa: B008
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against)
        ui.add_head_html(STYLE)
        with theme.frame(PAGE, desk, chooses_pickup=not change):
            fault = Fault()
            try:
                found = opened(desk, state=state, job=job, changes=change)
                view = None if found is None else ProveView(desk, found)
            except PolepieceError as error:
                fault.show(error)
                view = None
            if view is None:
                Choosing(desk, PAGE.path, about=ABOUT).build()
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
                text("span", f"Before it: state {self.what.base.id} of {self.what.base.at:%Y-%m-%d}. ")
                link(f"{WORK_SHEET}?{self.what.query()}", "its work sheet")
                text("span", " · ")
                link(PAGE.path + f"?guitar={self.desk.entry.id}", "prove another change")
        with ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                text("h2", "Plucks before and after")
                text("p", PLUCKS, "small soft")
                self._takers()
            with ui.element("section").classes("card"):
                text("h2", "Instruments")
                self._instruments()
        with ui.element("section").classes("card after"):
            text("h2", "Blind listening")
            key = self.what.key
            self.blind = BlindCard(key.pickup, self.base, self.after, self.proof.trial, self._keep_trial)
        with ui.element("section").classes("card after").mark("ledger-card"):
            text("h2", "Ledger: computed, measured, heard")
            self.make = press("make the ledger", self._make, cls="main", mark="make-ledger")
            self.working, self.fault = Working(), Fault()
            self.curves = Curves("Change of the response", unit="dB", span=6.0, file="change.csv")
            self.curves.box.set_visibility(False)
            self.shown = ui.element("div").classes("stack")
        self._show_ledger()

    def address(self) -> str:
        """Return the address that shows the same proof."""
        return f"{PAGE.path}?{self.what.query()}"

    # --- plucks ------------------------------------------------------------------------------------
    def _takers(self) -> None:
        self.lists: dict[str, ui.element] = {}
        self.takers: dict[str, ui.upload] = {}
        self.pluck_fault = Fault()
        for side in SIDES:
            with ui.element("div").classes("row"):
                self.takers[side] = file_taker(
                    f"recordings {side} …", partial(self._recorded, side),
                    lambda: self.pluck_fault.show(_too_large("a recording", LARGEST)),
                    accept=".wav,.flac,.aif,.aiff", most=LARGEST, mark=f"plucks-{side}",
                )  # fmt: skip
            self.lists[side] = ui.element("ul").classes("picked")
        self.pluck_working = Working()
        self.compare = press("compare the plucks", self._compare, mark="compare-plucks")
        self.compared = ui.element("div").mark("plucks-result")
        self._show_recordings()
        self._show_plucks()

    async def _recorded(self, side: Side, event: events.UploadEventArguments) -> None:
        self.pluck_fault.clear()
        name = event.file.name
        try:
            data, found = await taken_sound(event, LARGEST, "Give several shorter ones.")
            if found is None:  # the server is going down
                return
            digest = await kept_sound(data, found, f"{name[:60]}, plucks {side}", self.what.base.id)
            there = [one for one in self.proof.recordings.get(side, ()) if one.sha256 != digest]
            await self._keep_recordings(side, (*there, Recording(sha256=digest, name=name[:120])))
        except PolepieceError as error:
            self.pluck_fault.show(error)
        finally:
            self.takers[side].reset()

    async def _keep_recordings(self, side: Side, found: tuple[Recording, ...]) -> None:
        names = ", ".join(one.name for one in found) or "none"
        await self._keep(f"recordings.{side}", [asdict(one) for one in found], f"plucks {side}: {names}")
        self._show_recordings()

    async def _drop(self, side: Side, gone: Recording) -> None:
        await self._keep_recordings(side, tuple(one for one in self.proof.recordings[side] if one != gone))

    def _show_recordings(self) -> None:
        for side in SIDES:
            self.lists[side].clear()
            with self.lists[side]:
                for one in self.proof.recordings.get(side, ()):
                    with ui.element("li"):
                        text("span", f"{side}: {one.name}")
                        button = press("remove", partial(self._drop, side, one), cls="quiet")
                        button.props["aria-label"] = f"remove {one.name}, {side}"
        self.compare.allow(all(self.proof.recordings.get(side) for side in SIDES))

    async def _compare(self) -> None:
        self.pluck_fault.clear()
        book = shared.room().notebook
        self.compare.allow(False)
        try:
            takes = [[(one.name, book.sound(one.sha256)) for one in self.proof.recordings[side]] for side in SIDES]
            job = shared.room().jobs.run("plucks", self.base, *takes, on_progress=self.pluck_working.told)
            found: PluckComparison = await self.pluck_working.follow(job)
            await self._keep("plucks", found.to_dict(), "plucks compared")
        except PolepieceError as error:
            if alive(self.client):
                self.pluck_fault.show(error)
            return
        finally:
            self.compare.allow(True)
        if alive(self.client):
            self._show_plucks()

    def _show_plucks(self) -> None:
        self.compared.clear()
        record = self.proof.plucks
        if record is None:
            return
        named = {one.name: one for one in estimates_of(record)}
        least = {one["name"]: float(one["least"]) for one in record["estimates"]}
        rows = [
            (words, signed(named[name].value), f"{signed(named[name].low)} to {signed(named[name].high)}",
             f"{least[name]:.1f}", "not shown" if named[name].low <= 0.0 <= named[name].high else "changed")
            for name, words in PLUCKED.items() if name in named
        ]  # fmt: skip
        with self.compared:
            table("After less before, dB", ("quantity", "change", "90 %", "least to show", ""), rows)
            text("p", LEAST, "small soft")
            for words in record.get("notes", ()):
                text("p", str(words), "small")

    # --- instruments -------------------------------------------------------------------------------
    def _instruments(self) -> None:
        with ui.element("p").classes("small"):
            text("span", "Multimeter and gauss meter are read off the ")
            link(f"{WORK_SHEET}?{self.what.query()}", "work sheet")
            text("span", f": {self._read()}.")
        text("p", IMPEDANCE, "small soft")
        self.record_fault = Fault()
        self.record_takers = {
            side: file_taker(
                f"sweep {side} (record) …", partial(self._swept, side),
                lambda: self.record_fault.show(_too_large("a record", LARGEST_RECORD)),
                accept=".json", most=LARGEST_RECORD, mark=f"sweep-{side}",
            )
            for side in SIDES
        }  # fmt: skip
        self.records = ui.element("div").mark("sweeps")
        self._show_sweeps()

    def _read(self) -> str:
        out = []
        for side in SIDES:
            direct = proofs.direct_in(self.entries, side)
            poles = proofs.poles_in(self.entries, side)
            out += [f"DC {direct.read.value / 1e3:.2f} kΩ {side}"] if direct is not None else []
            out += [f"{len(poles)} poles {side}"] if poles else []
        return "; ".join(out) or "nothing is read yet"

    async def _swept(self, side: Side, event: events.UploadEventArguments) -> None:
        self.record_fault.clear()
        name = event.file.name
        try:
            record = _record_in(await taken(event, LARGEST_RECORD, "A record of a sweep is smaller."), name)
            await self._keep(f"impedance.{side}", record, f"sweep {side}: {name[:80]}")
        except PolepieceError as error:
            self.record_fault.show(error)
        finally:
            self.record_takers[side].reset()
        self._show_sweeps()

    def _show_sweeps(self) -> None:
        self.records.clear()
        with self.records:
            for side in SIDES:
                record = self.proof.impedance.get(side)
                if record is None:
                    continue
                found = MeasuredPickup.from_dict(record)
                told = ", ".join(f"{words} {_interval(found, name, unit, scale)}" for name, words, unit, scale in (
                    ("resistance", "DC", "kΩ", 1e-3), ("inductance_120_hz", "L at 120 Hz", "H", 1.0),
                    ("resonance", "resonance alone", "kHz", 1e-3),
                ))  # fmt: skip
                text("p", f"Sweep {side}, {found.date}: {told}.", "small")
                with ui.element("div").classes("row"):
                    press("take it back", partial(self._unsweep, side), cls="quiet").props["aria-label"] = (
                        f"take the sweep {side} back"
                    )
            if self.proof.impedance:
                text("p", LEARN, "small soft")
                press("write the last sweep into the guitar as measured", self._learn, mark="learn")

    async def _unsweep(self, side: Side) -> None:
        await self._keep(f"impedance.{side}", None, f"sweep {side} taken back")
        self._show_sweeps()

    async def _learn(self) -> None:
        self.record_fault.clear()
        side: Side = "after" if "after" in self.proof.impedance else "before"
        found = MeasuredPickup.from_dict(self.proof.impedance[side])
        pickup = self.what.key.pickup
        try:
            learnt = await run.io_bound(with_measured, self.desk.guitar, pickup, found)
            if learnt is None:  # the server is going down
                return
            await self.desk.record(learnt, f"{pickup}: as measured by the sweep of {found.date}")
        except PolepieceError as error:
            self.record_fault.show(error)
            return
        with self.records:
            text("p", f"Recorded as state {self.desk.state.id}; undo it on the Guitar page.", "notice").mark("learnt")

    # --- the trial ---------------------------------------------------------------------------------
    async def _keep_trial(self, trial: BlindTrial | None, words: str) -> None:
        await self._keep("trial", None if trial is None else trial.to_dict(), words)

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
            evidence = proofs.evidence_of(self.proof, self.entries)
            today = datetime.datetime.now(datetime.UTC).date().isoformat()
            job = shared.room().jobs.run(
                "proof", self.base, what.key.pickup, what.key.changes, evidence, today, on_progress=self.working.told
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

    def _draw(self, found: Proved) -> None:
        """Draw the computed change, and the measured third octaves with their interval over it."""
        f, computed = found.frequency, found.change_db
        measured: list[Curve] = []
        thirds = [] if self.proof.plucks is None else _thirds(self.proof.plucks)
        if len(thirds) > 1:  # where both are known
            hertz, *values = np.array(thirds).T
            inside = (f >= hertz[0]) & (f <= hertz[-1])
            f, computed = f[inside], computed[inside]
            measured = [
                Curve(name=name, look=look, frequency=f, level_db=np.interp(np.log(f), np.log(hertz), value))
                for name, look, value in zip(("measured", "90 % from", "90 % to"), ("0", "2", "2"), values)
            ]
        curves = [Curve(name="computed", look="now", frequency=f, level_db=computed), *measured]
        self.curves.box.set_visibility(True)
        self.curves.show(curves)

    def _show_ledger(self) -> None:
        self.shown.clear()
        ledger = self.ledger
        if ledger is None:
            with self.shown:
                text("p", "Nothing is proven yet. Bring what you have and make the ledger.", "soft")
            return
        with self.shown:
            made = f"Made {ledger.date}, polepiece {ledger.provenance.get('version')}."
            text("p", f"{made} {READ_IT}", "small soft")
            for words in ledger.notes:
                text("p", words, "warn" if words.startswith("STOP") else "small")
            _ledger_table(ledger)
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


def _ledger_table(ledger: Ledger) -> None:
    with (
        ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Ledger"'),
        ui.element("table").classes("cards").mark("ledger"),
    ):
        heads = ("quantity", "of", "computed", "measured", "heard", "E_n", "so")
        with ui.element("thead"), ui.element("tr"):
            for head in heads:
                text("th", head, "n" if head in heads[2:6] else "").props("scope=col")
        with ui.element("tbody"):
            for row in ledger_rows(ledger):
                with ui.element("tr"):
                    text("th", row.quantity).props("scope=row")
                    _cell("of", row.of)
                    _cell("computed", row.computed, row.computed_span)
                    _cell("measured", row.measured, row.measured_span)
                    _cell("heard", row.heard, row.heard_span)
                    _cell("E_n", row.error)
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
    every = []
    for note in shared.room().notebook.ledgers():
        try:
            every.append(Ledger.from_dict(note.body or {}))
        except PolepieceError:
            continue
    try:
        return f"Over all ledgers of this notebook: {coverage(every).words}"
    except InputError:
        return "Over all ledgers of this notebook: nothing was measured that was computed."


def _thirds(record: Mapping[str, Any]) -> list[tuple[float, float, float, float]]:
    """Return middle frequency, change and its interval of each third octave of a comparison."""
    head = "third_octave_db."
    found = [one for one in estimates_of(record) if one.name.startswith(head)]
    return sorted((float(one.name.removeprefix(head)), one.value, one.low, one.high) for one in found)


def _interval(found: MeasuredPickup, name: str, unit: str, scale: float) -> str:
    one = next((each for each in found.estimates if each.name == name), None)
    if one is None or not one.told:
        return "not told"
    return f"{scale * one.value:.3g} {unit} ({scale * one.low:.3g} to {scale * one.high:.3g})"


def _record_in(data: bytes, name: str) -> dict[str, Any]:
    """Return the record of a sweep from its file.

    Raises
    ------
    MeasurementError
        When it is something else.
    """
    try:
        body = json.loads(data)
    except (UnicodeDecodeError, ValueError, RecursionError):
        raise MeasurementError(
            f"{name} is not JSON; what “polepiece measure impedance … --save” wrote is read."
        ) from None
    if not isinstance(body, dict):
        raise MeasurementError(f"{name} is not the record of a measured pickup.")
    try:
        MeasuredPickup.from_dict(body)
    except PolepieceError as error:
        raise MeasurementError(f"{name}: {error}") from None
    return body


def _too_large(name: str, most: int) -> str:
    return f"{name} was not taken: at most {most >> 20} MiB, of the kinds that the button names."
