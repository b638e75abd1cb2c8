"""The blind trial of a proof: its rule stated first, sounds behind letters, the result at the end."""

import datetime
import secrets
from collections.abc import Awaitable, Callable
from functools import partial

from nicegui import ui

from polepiece.app.hear.listening import SEED
from polepiece.app.hear.sounds import Wish
from polepiece.app.listen.forms import HeardForm, PlayedForm
from polepiece.app.listen.sitting import Sitting
from polepiece.app.listen.told import tell
from polepiece.app.listen.work import Behinds
from polepiece.app.prove.proofs import Proof
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import positions_with
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, Working, press, text
from polepiece.errors import PolepieceError
from polepiece.evidence import states_heard
from polepiece.guitar import Guitar
from polepiece.measure import LISTENING_CAUTION, BlindTrial, Trial

ABOUT = (
    "Before and after are computed for the same hand, so that nothing but the change differs between them: two takes "
    "played by hand would be told apart by the playing. "
) + LISTENING_CAUTION
Keep = Callable[[BlindTrial | None, str, str, str], Awaitable[None]]  # trial, phrase, position, words


class BlindCard:
    """A trial from its plan to its outcome.

    Parameters
    ----------
    what : Asked
        The change, and the position in which it is heard.
    before, after : Guitar
        The two states.
    proof : Proof
        Its trial is the one that was begun or ended last.
    keep : callable
        Awaited with the trial at every answer, its phrase and position, and words for the history.
    """

    def __init__(self, what: Asked, before: Guitar, after: Guitar, proof: Proof, keep: Keep) -> None:
        self.what, self.states, self.proof, self._keep = what, (before, after), proof, keep
        self.client = ui.context.client
        self.box, self.working, self.fault = ui.element("div"), Working(floats=True), Fault()
        self.show(proof.trial)

    def show(self, trial: BlindTrial | None) -> None:
        """Show the plan, the trial that waits, or the outcome."""
        self.box.clear()
        with self.box:
            if trial is None:
                self._plan()
            elif trial.over:
                self._outcome(trial)
            else:
                self._waits(trial)

    # --- before it ---------------------------------------------------------------------------------
    def _plan(self) -> None:
        text("p", ABOUT, "small soft")
        self.played, self.form = PlayedForm(self.proof.phrase, tones=False), HeardForm()
        with ui.element("div").classes("row"):
            self.played.build()
        self.form.build()
        self.beginning = press("begin by this rule", self._begin, cls="main", mark="trial-begin")

    async def _begin(self) -> None:
        self.fault.clear()
        self.beginning.allow(False)
        phrase, position = self.played.set.values["phrase"], self.what.position
        today = datetime.datetime.now(datetime.UTC).date().isoformat()
        try:
            trial = BlindTrial(plan=self.form.planned(), seed=secrets.randbits(48), date=today)
            await self.working.follow(
                shared.room().sounds.run(
                    "ready", self._behinds(phrase, position), trial, on_progress=self.working.show_progress
                )
            )
            if not alive(self.client):
                return
            await self._keep(trial, phrase, position, f"blind trial begun. {trial.plan.stopping_rule}")
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
                self.beginning.allow(True)
            return
        await self._sit(trial, phrase, position)

    # --- on ----------------------------------------------------------------------------------------
    def _behinds(self, phrase: str, position: str) -> Behinds:
        return Behinds(
            wishes=tuple(
                Wish(
                    guitar=one, pickup=self.what.key.pickup, phrase=phrase, seed=SEED,
                    heard=position if position in positions_with(one, self.what.key.pickup) else None,
                )
                for one in self.states
            )
        )  # fmt: skip

    async def _sit(self, trial: BlindTrial, phrase: str, position: str) -> None:
        async def keep(trial: Trial, words: str) -> None:
            assert isinstance(trial, BlindTrial)
            await self._keep(trial, phrase, position, f"blind trial, {words}")

        def over(trial: Trial) -> None:
            assert isinstance(trial, BlindTrial)
            self.show(trial)

        self.box.clear()
        with self.box:
            sitting = Sitting(trial, self._behinds(phrase, position), keep, over)
            press("give it up: nothing is told of it", self._give_up, cls="quiet", mark="trial-give-up")
        await sitting.present()

    def _waits(self, trial: BlindTrial) -> None:
        text("p", f"A trial is on: {len(trial.answers)} of {trial.plan.trials} answered. {trial.plan.stopping_rule}")
        phrase = PlayedForm(self.proof.phrase, tones=False).set.values["phrase"]
        with ui.element("div").classes("row"):
            press(
                "go on with it", partial(self._sit, trial, phrase, self.proof.heard_in), cls="main", mark="trial-resume"
            )
            press("give it up: nothing is told of it", self._give_up, mark="trial-give-up")

    async def _give_up(self) -> None:
        try:
            await self._keep(None, "", "", "blind trial given up before its end")
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.show(self.proof.trial)

    # --- over --------------------------------------------------------------------------------------
    def _outcome(self, trial: BlindTrial) -> None:
        level = "equally loud" if trial.plan.level_matched else "at their true level"
        key, position = self.what.key, self.proof.heard_in
        of = {"pickup": key.pickup, "changes": list(key.changes), "phrase": self.proof.phrase, "position": position}
        tell(trial, of | states_heard(*self.states))
        where = f", in the position {position}" if position else ""
        text("p", f"{trial.plan.sounds.capitalize()} sounds{where}, {level}, {trial.date}.", "small soft")
        for words in self.proof.trial_words():
            text("p", words, "small")
        press("plan another trial", lambda: self.show(None), mark="trial-another")
