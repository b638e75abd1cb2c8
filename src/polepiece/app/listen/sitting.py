"""A trial that is on, of any question: its rule, sounds behind buttons, an answer each, rests for the ears."""

import asyncio
from collections.abc import Awaitable, Callable
from functools import partial
from time import monotonic

from nicegui import ui

from polepiece.app.listen.booth import Booth
from polepiece.app.listen.work import Behinds, Presentations
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.widgets.controls import Fault, Working, press, text
from polepiece.app.widgets.keys import Keys, keyed_press
from polepiece.app.widgets.player import Player
from polepiece.errors import PolepieceError
from polepiece.measure import LISTENING_CAUTION, BlindTrial, Trial, trial_answers, trial_question

REST_AFTER = 600.0  # s of listening
LOOK_AGAIN = 10.0  # s
UNHEARD = 0.5  # s after new sounds are there: a press is the second of a double click, and of nothing that was heard
KEYS = "abc"  # of the answers, in order; 1 to 3 and space belong to the player
HINT = "Keys: 1, 2, 3 choose what is heard, space plays and pauses, the letter on an answer gives it."
REST = "Ten minutes of listening: rest your ears for two before you go on. The trial waits."
PLACES = {"1": "the first", "2": "the second", "3": "the third"}
KeepTrial = Callable[[Trial, str], Awaitable[None]]  # the trial, words for the history
OnOver = Callable[[Trial], object]


class Sitting:
    """One trial in one tab.

    Parameters
    ----------
    trial : Trial
    behinds : Behinds
        What its buttons play.
    keep : callable
        Awaited with the trial after every answer; it may refuse with a `PolepieceError`.
    on_over : callable
        Called with the trial when its rule has ended it.
    """

    def __init__(self, trial: Trial, behinds: Behinds, keep: KeepTrial, on_over: OnOver) -> None:
        self.trial, self.behinds, self._keep, self._on_over = trial, behinds, keep, on_over
        self.client = ui.context.client
        self.booth = Booth()
        self.clock: Callable[[], float] = monotonic
        self.since = self.clock()  # the last rest
        self._busy = True  # sounds are made, or an answer is kept: a press now is of nothing that can be heard
        self.client.on_delete(self.booth.leave)
        text("p", f"Rule: {trial.plan.stopping_rule}", "small soft").mark("sitting-rule")
        self.number = text("p", "", "count").props("role=status").mark("trial-number")
        self.player = Player(label="Blind trial", blind=True).mark("blind-player")
        text("p", trial_question(trial), "asks")
        with ui.element("div").classes("row answers"):
            self.answers = [
                keyed_press(answer_words(trial, one), key, partial(self.answer, one), mark=f"answer-{one}")
                for key, one in zip(KEYS, trial_answers(trial))
            ]
        Keys(list(KEYS[: len(self.answers)]), self._pressed)
        with ui.element("div").classes("notice row").props("role=status").mark("rest") as self.rest:
            text("span", REST)
            press("rested, go on", self._rested, mark="rested")
        self.rest.set_visibility(False)
        self.working, self.fault = Working(floats=True), Fault()
        self.again = press("make these sounds again", self.present, mark="present-again")
        text("p", f"{HINT} {LISTENING_CAUTION}", "small soft")
        ui.timer(LOOK_AGAIN, self.look)
        self._allow(False)

    async def present(self) -> None:
        """Make the sounds of the trial that is on, all of them, and offer them."""
        self.fault.clear()
        self.again.set_visibility(False)
        try:
            made: Presentations = await self.working.follow(
                shared.room().sounds.run("present", self.behinds, self.trial, on_progress=self.working.show_progress)
            )
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
                self.again.set_visibility(True)
            return
        if not alive(self.client):
            return
        states = self.booth.offer(made)
        self.player.show(states, duration=made.frames / made.sample_rate, rate=made.sample_rate)
        await asyncio.sleep(UNHEARD)
        if not alive(self.client):
            return
        self.number.say(number_words(self.trial))
        self._allow(True)

    async def answer(self, answer: str) -> None:
        """Keep an answer and go on, or end."""
        if self._busy:
            return
        self._allow(False)
        self.fault.clear()
        try:
            trial = self.trial.answered(answer)
            await self._keep(trial, "over" if trial.over else f"answer {len(trial.answers)}")
        except PolepieceError as error:
            self.fault.show(error)
            self._allow(True)
            return
        self.trial = trial
        self.booth.leave()
        self.look()
        if trial.over:
            self._on_over(trial)
            return
        await self.present()

    def look(self) -> None:
        """Say when it is time to rest."""
        if self.clock() - self.since >= REST_AFTER:
            self.rest.set_visibility(True)

    def _rested(self) -> None:
        self.since = self.clock()
        self.rest.set_visibility(False)

    async def _pressed(self, key: str) -> None:
        await self.answer(trial_answers(self.trial)[KEYS.index(key)])

    def _allow(self, allowed: bool) -> None:
        self._busy = not allowed
        for one in self.answers:
            one.allow(allowed)


def answer_words(trial: Trial, answer: str) -> str:
    """Return an answer as it stands on its button."""
    return f"X is {answer}" if isinstance(trial, BlindTrial) and trial.plan.kind == "abx" else PLACES[answer]


def number_words(trial: Trial) -> str:
    """Return which trial is on; nothing of what was right."""
    if isinstance(trial, BlindTrial) and trial.plan.stop == "fixed":
        return f"Trial {trial.number} of {trial.plan.trials}. What was right is told after the last."
    return f"Trial {trial.number}. Nothing is told before it ends."
