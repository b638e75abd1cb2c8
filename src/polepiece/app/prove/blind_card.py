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
from polepiece.app.widgets.controls import Fault, press, text
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar
from polepiece.measure import LISTENING_CAUTION, BlindTrial, Trial

ABOUT = (
    "Before and after are computed for the same hand, so that nothing but the change differs between them: two takes "
    "played by hand would be told apart by the playing. "
) + LISTENING_CAUTION
Keep = Callable[[BlindTrial | None, str, str], Awaitable[None]]


class BlindCard:
    """A trial from its plan to its outcome.

    Parameters
    ----------
    pickup : str
    before, after : Guitar
        The two states.
    proof : Proof
        Its trial is the one that was begun or ended last.
    keep : callable
        Awaited with the trial at every answer, its phrase, and words for the history.
    """

    def __init__(self, pickup: str, before: Guitar, after: Guitar, proof: Proof, keep: Keep) -> None:
        self.pickup, self.states, self.proof, self._keep = pickup, (before, after), proof, keep
        self.box, self.fault = ui.element("div"), Fault()
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
        press("begin by this rule", self._begin, cls="main", mark="trial-begin")

    async def _begin(self) -> None:
        self.fault.clear()
        phrase = self.played.set.values["phrase"]
        today = datetime.datetime.now(datetime.UTC).date().isoformat()
        try:
            trial = BlindTrial(plan=self.form.planned(), seed=secrets.randbits(48), date=today)
            await self._keep(trial, phrase, f"blind trial begun. {trial.plan.stopping_rule}")
        except PolepieceError as error:
            self.fault.show(error)
            return
        await self._sit(trial, phrase)

    # --- on ----------------------------------------------------------------------------------------
    async def _sit(self, trial: BlindTrial, phrase: str) -> None:
        wishes = [Wish(guitar=one, pickup=self.pickup, phrase=phrase, seed=SEED) for one in self.states]

        async def keep(trial: Trial, words: str) -> None:
            assert isinstance(trial, BlindTrial)
            await self._keep(trial, phrase, f"blind trial, {words}")

        def over(trial: Trial) -> None:
            assert isinstance(trial, BlindTrial)
            self.show(trial)

        self.box.clear()
        with self.box:
            sitting = Sitting(trial, Behinds(wishes=tuple(wishes)), keep, over)
            press("give it up: nothing is told of it", self._give_up, cls="quiet", mark="trial-give-up")
        await sitting.present()

    def _waits(self, trial: BlindTrial) -> None:
        text("p", f"A trial is on: {len(trial.answers)} of {trial.plan.trials} answered. {trial.plan.stopping_rule}")
        phrase = PlayedForm(self.proof.phrase, tones=False).set.values["phrase"]
        with ui.element("div").classes("row"):
            press("go on with it", partial(self._sit, trial, phrase), cls="main", mark="trial-resume")
            press("give it up: nothing is told of it", self._give_up, mark="trial-give-up")

    async def _give_up(self) -> None:
        try:
            await self._keep(None, "", "blind trial given up before its end")
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.show(self.proof.trial)

    # --- over --------------------------------------------------------------------------------------
    def _outcome(self, trial: BlindTrial) -> None:
        level = "equally loud" if trial.plan.level_matched else "at their true level"
        tell(trial, {"pickup": self.pickup, "phrase": self.proof.phrase})
        text("p", f"Computed sounds, {level}, {trial.date}.", "small soft")
        for words in self.proof.trial_words():
            text("p", words, "small")
        press("plan another trial", lambda: self.show(None), mark="trial-another")
