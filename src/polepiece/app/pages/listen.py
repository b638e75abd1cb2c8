"""Listen: is it heard, which is preferred, what is the least that is heard; blind, by a rule that is stated first."""

import datetime
import secrets
from functools import partial
from typing import Any

from fastapi import Query
from nicegui import ui

from polepiece.app.hear.listening import SEED
from polepiece.app.hear.sounds import Take, Wish
from polepiece.app.hear.states import NOW, guitar_in, words_of
from polepiece.app.listen import booth, kept_trials
from polepiece.app.listen.forms import HeardForm, LeastForm, PartForm, PlayedForm, RankForm
from polepiece.app.listen.kept_trials import KeptTrial
from polepiece.app.listen.sitting import Sitting
from polepiece.app.listen.states_form import ListForm, PairForm
from polepiece.app.listen.takes_form import TakesForm, takes_of
from polepiece.app.listen.told import tell
from polepiece.app.listen.work import Behinds
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, link, press, text
from polepiece.app.widgets.place import Place
from polepiece.auditioning import part_in
from polepiece.errors import PolepieceError
from polepiece.evidence import states_heard
from polepiece.measure import LISTENING_CAUTION, BlindTrial, PreferenceTrial, ThresholdPlan, ThresholdTrial, Trial
from polepiece.sound import PHRASES

PAGE = Place(path="/listen", title="Listen", about="blind: is it heard, which is preferred, the least that you hear")
QUESTIONS = {"heard": "Is it heard?", "rank": "Which is preferred?", "least": "What is the least you hear?"}
ABOUT = {
    "heard": "Before and after, computed for one hand so that nothing but the change differs, or own takes.",
    "rank": "Three to nine states meet in pairs; in each you choose the one you prefer, or that has more of your word.",
    "least": "Three sounds, one of them differs; the difference shrinks as you are right and grows as you are not.",
}
LATELY = 12  # trials on record that are shown


def build() -> None:
    """Register the page and the address of its sounds."""
    booth.build()

    @theme.page(PAGE)
    async def listen(
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", question: str = "heard",
        state: list[str] = Query([]),  # noqa: B008
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        question = question if question in QUESTIONS else "heard"
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            view = ListenView(desk, question, state)
            view.build()
        show_address(ui.context.client, desk.address(PAGE.path, question=question))


class ListenView:
    """One tab that listens blind."""

    def __init__(self, desk: Desk, question: str, states: list[str]) -> None:
        self.desk, self.question, self.client = desk, question, ui.context.client
        self.asked = [one for one in states if _can_be(desk, one)]

    def build(self) -> None:
        """Put everything on the page."""
        with ui.element("nav").classes("questions").props('aria-label="Question"'):
            for key, words in QUESTIONS.items():
                there = link(self.desk.address(PAGE.path, question=key), words)
                if key == self.question:
                    there.props["aria-current"] = "page"
        with ui.element("section").classes("card").props('aria-label="Trial"'):
            self.box, self.working, self.fault = ui.element("div"), Working(floats=True), Fault()
        with ui.element("section").classes("card after"):
            text("h2", "On record")
            self.record = ui.element("ul").classes("trials").mark("on-record")
        self._show_record()
        going = kept_trials.going_in(shared.room().notebook, self.desk.entry.id)
        self._plan() if going is None else self._resume(going)

    # --- before it ---------------------------------------------------------------------------------
    def _plan(self) -> None:
        self.box.clear()
        self.played = PlayedForm()
        with self.box:
            text("p", ABOUT[self.question], "small soft")
            if self.question == "heard":
                self.states: PairForm | ListForm | None = PairForm(self.desk, self.asked)
                self.states.build()
                self.form: HeardForm | RankForm | LeastForm = HeardForm()
                self.takes = TakesForm(self.desk, self._sounds)
                self.takes.build()
                self._played()
                self.form.build()
            elif self.question == "rank":
                ranked = self.form = RankForm()
                listed = self.states = ListForm(self.desk, self.asked, lambda _: ranked.say(listed.names))
                hold = ui.element("div")
                self._played()
                ranked.build()
                with hold:
                    listed.build()
            else:
                self.states, self.form = None, LeastForm()
                self._played()
                self.form.build()
            self.beginning = press("begin by this rule", self._begin, cls="main", mark="trial-begin")
            text("p", LISTENING_CAUTION, "small soft")

    def _played(self) -> None:
        with ui.element("div").classes("row") as self.phrases:
            self.played.build()
        self.part = PartForm()
        with ui.element("div").classes("row"):
            self.part.build()

    def _sounds(self, kind: str) -> None:
        assert isinstance(self.form, HeardForm)
        self.form.sounds = "recorded" if kind == "recorded" else "computed"
        self.phrases.set_visibility(kind == "computed")

    async def _begin(self) -> None:
        self.fault.clear()
        self.beginning.allow(False)
        states = [NOW] if self.states is None else list(self.states.states)
        today = datetime.datetime.now(datetime.UTC).date().isoformat()
        seed = secrets.randbits(48)
        try:
            takes = self.takes.takes() if self.question == "heard" else ()
            of = self._of(states, takes)
            behinds = self._behinds(of)
            trial = await trial_of(self.form, seed, today, behinds)
            await self.working.follow(
                shared.room().sounds.run("ready", behinds, trial, on_progress=self.working.show_progress)
            )
            if not alive(self.client):
                return
            await self._keep(of, self.desk.state.id, trial, "begun")
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
                self.beginning.allow(True)
            return
        self._show_record()
        await self._sit(trial, of, behinds, self.desk.state.id)

    def _of(self, states: list[str], takes: tuple[Take, ...]) -> dict[str, Any]:
        """Return what is listened to, as the record carries it: the command line's facts, and the page's own states."""
        words = [words_of(self.desk, one) for one in states]
        return {
            "guitar": self.desk.guitar.name, "pickup": self.desk.pickup,
            "changes": [] if self.question == "least" else words if self.question == "rank" else [" → ".join(words)],
            "phrase": "" if takes else self.played.set.values["phrase"],
            "chain": "cable" if takes else self.played.set.values["tone"],
            "takes": [one.name for one in takes], "take_hashes": [one.digest for one in takes],
            "part": self.part.words(), "states": states, "position": self.desk.position,
            **(states_heard(*(guitar_in(self.desk, one) for one in states)) if self.question == "heard" else {}),
        }  # fmt: skip

    def _behinds(self, of: dict[str, Any]) -> Behinds:
        part = part_in(str(of.get("part") or ""))
        if part is not None and of["phrase"]:
            part.check(PHRASES[of["phrase"]].duration)
        if of.get("take_hashes"):
            return Behinds(wishes=(), takes=takes_of(self.desk, list(of["take_hashes"])), part=part)
        wishes = []
        for state in of["states"]:
            guitar = guitar_in(self.desk, state)
            wishes.append(
                Wish(
                    guitar=guitar, pickup=of["pickup"], phrase=of["phrase"], seed=SEED, tone=of["chain"],
                    heard=self.desk.heard_of(guitar),
                )
            )  # fmt: skip
        return Behinds(wishes=tuple(wishes), names=tuple(words_of(self.desk, one) for one in of["states"]), part=part)

    # --- on ----------------------------------------------------------------------------------------
    async def _sit(self, trial: Trial, of: dict[str, Any], behinds: Behinds, state_id: int) -> None:
        self.box.clear()
        with self.box:
            sitting = Sitting(trial, behinds, partial(self._keep, of, state_id), partial(self._tell, of))
            press(
                "give it up: nothing is told of it", lambda: self._give_up(sitting.trial, of, state_id), cls="quiet",
                mark="trial-give-up",
            )  # fmt: skip
        self.sitting = sitting
        await sitting.present()

    async def _keep(
        self, of: dict[str, Any], state_id: int, trial: Trial, words: str, *, given_up: bool = False
    ) -> None:
        book, guitar = shared.room().notebook, self.desk.entry.id
        await shared.written(
            lambda: kept_trials.keep_trial(book, guitar, state_id, trial, of, words, given_up=given_up)
        )

    def _resume(self, going: KeptTrial) -> None:
        trial, of = going.trial, dict(going.of)
        same = going.state_id == self.desk.state.id or bool(of.get("take_hashes"))  # what is recorded stays as it is
        with self.box:
            text("p", f"A trial is on: {of['pickup']}, {', '.join(of['changes']) or 'as it is'}; "
                 f"{len(trial.answers)} answered. {trial.plan.stopping_rule}")  # fmt: skip
            if not same:
                text("p", "The guitar has been changed since it was begun, so its sounds would not be those of before.")
            with ui.element("div").classes("row"):
                if same:
                    press("go on with it", partial(self._go_on, going), cls="main", mark="trial-resume")
                press(
                    "give it up: nothing is told of it",
                    partial(self._give_up, trial, of, going.state_id or self.desk.state.id), mark="trial-give-up",
                )  # fmt: skip

    async def _go_on(self, going: KeptTrial) -> None:
        of = dict(going.of)
        self.fault.clear()
        self.desk.pickup, self.desk.position = str(of["pickup"]), str(of.get("position") or "")
        try:
            behinds = self._behinds(of)
        except PolepieceError as error:
            self.fault.show(error)
            return
        await self._sit(going.trial, of, behinds, self.desk.state.id)

    async def _give_up(self, trial: Trial, of: dict[str, Any], state_id: int) -> None:
        count = len(trial.answers)
        try:
            await self._keep(of, state_id, trial, f"given up after {count} answers", given_up=True)
        except PolepieceError as error:
            self.fault.show(error)
            return
        self._show_record()
        self._plan()

    # --- over --------------------------------------------------------------------------------------
    def _tell(self, of: dict[str, Any], trial: Trial) -> None:
        self.box.clear()
        with self.box:
            tell(trial, of)
            with ui.element("div").classes("row after"):
                press("plan another trial", self._plan, mark="trial-another")
        self._show_record()

    def _show_record(self) -> None:
        kept = kept_trials.trials_in(shared.room().notebook, self.desk.entry.id)
        self.record.clear()
        with self.record:
            for one in reversed(kept[-LATELY:]):
                text("li", one.words)
            if not kept:
                text("li", "No trial of this guitar yet; one that is begun stays here, given up or not.", "soft")


async def trial_of(form: "HeardForm | RankForm | LeastForm", seed: int, today: str, behinds: Behinds) -> Trial:
    """Return the trial that a form plans; a staircase of resonance goes no further than the guitar can."""
    if isinstance(form, HeardForm):
        return BlindTrial(plan=form.planned(), seed=seed, date=today)
    if isinstance(form, RankForm):
        return PreferenceTrial(plan=form.planned(), seed=seed, date=today)
    plan = form.planned()
    if plan.quantity == "resonance":  # how far it goes depends on the guitar
        largest = await shared.room().sounds.run("reach", behinds.wishes[0], plan.quantity)
        plan = ThresholdPlan.within(plan.quantity, largest)
    return ThresholdTrial(plan=plan, seed=seed, date=today)


def _can_be(desk: Desk, state: str) -> bool:
    try:
        guitar_in(desk, state)
    except PolepieceError:
        return False
    return True
