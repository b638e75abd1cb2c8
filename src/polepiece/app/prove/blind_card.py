"""The blind trial of a proof: its rule stated first, two sounds behind letters, the result at the end."""

import datetime
import secrets
from collections.abc import Awaitable, Callable
from functools import partial

from nicegui import ui

from polepiece.app.hear.listening import SEED
from polepiece.app.hear.sounds import PHRASE_WORDS, SHELF, Clip, Made, Wish
from polepiece.app.prove import blind
from polepiece.app.prove.proofs import Proof
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.widgets.controls import Fault, Working, amount, choice, press, text
from polepiece.app.widgets.player import Player
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar
from polepiece.measure import ANSWERS, BlindTrial, TrialPlan

KINDS = {"abx": "which of A and B is X?", "pair": "which of two is after?"}
LEVELS = {"matched": "equally loud", "true": "at their true level"}
ABOUT = (
    "Before and after are computed for the same hand, so that nothing but the change differs between them: two takes "
    "played by hand would be told apart by the playing. Headphones, a quiet room, the playback level turned down first."
)
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
        self.trial = proof.trial
        self.client = ui.context.client
        self.kind, self.level = "abx", "matched"
        self.phrase = proof.phrase if proof.phrase in PHRASE_WORDS else next(iter(PHRASE_WORDS))
        self._busy = False  # an answer is being kept, or sounds are made
        self.token = ""
        self.box = ui.element("div")
        self.working, self.fault = Working(), Fault()
        self.client.on_delete(lambda: blind.leave(self.token))
        self.show()

    def show(self) -> None:
        """Show the plan, the trial that is on, or the outcome."""
        self.box.clear()
        with self.box:
            if self.trial is None:
                self._plan()
            elif self.trial.over:
                self._outcome(self.trial)
            elif self.token:
                self._on(self.trial)
            else:
                self._resume(self.trial)

    # --- before it ---------------------------------------------------------------------------------
    def _plan(self) -> None:
        text("p", ABOUT, "small soft")
        with ui.element("div").classes("row"):
            choice("question", KINDS, self.kind, self._choose_kind, mark="trial-kind")
            choice("level", LEVELS, self.level, self._choose_level, mark="trial-level")
            choice("phrase", PHRASE_WORDS, self.phrase, self._choose_phrase, mark="trial-phrase")
            self.count = amount("trials", "16", self._say_rule, mark="trial-count")
        self.rule = text("p", "").mark("trial-rule")
        press("begin by this rule", self._begin, cls="main", mark="trial-begin")
        self._say_rule("16")

    def _choose_kind(self, kind: str) -> None:
        self.kind = kind

    def _choose_level(self, level: str) -> None:
        self.level = level

    def _choose_phrase(self, phrase: str) -> None:
        self.phrase = phrase

    def _planned(self, words: str) -> TrialPlan:
        if not words.strip().isdigit():
            raise InputError(f"trials is {words!r}; a whole number is needed, 16 is usual.")
        return TrialPlan(
            kind="pair" if self.kind == "pair" else "abx",
            trials=int(words),
            level_matched=self.level == "matched",
            sounds="computed",
        )

    def _say_rule(self, words: str) -> None:
        self.fault.clear()
        try:
            plan = self._planned(words)
        except PolepieceError as error:
            self.rule.say("")
            self.fault.show(error)
            return
        hears = 100.0 * plan.chance_to_pass(0.9)
        self.rule.say(f"Rule: {plan.stopping_rule} Who is right nine times in ten passes with {hears:.0f} % chance.")

    async def _begin(self) -> None:
        self.fault.clear()
        try:
            plan = self._planned(self.count.value)
        except PolepieceError as error:
            self.fault.show(error)
            return
        today = datetime.datetime.now(datetime.UTC).date().isoformat()
        trial = BlindTrial(plan=plan, seed=secrets.randbits(48), date=today)
        await self._seat(trial, begun=f"blind trial begun. {plan.stopping_rule}")

    # --- on ----------------------------------------------------------------------------------------
    async def _seat(self, trial: BlindTrial, begun: str = "") -> None:
        """Make both sounds and take a place; with ``begun`` the trial is kept as begun."""
        if self._busy:
            return
        self._busy = True
        try:
            clips = [await self._clip(guitar) for guitar in self.states]
            if not alive(self.client):
                return
            if begun:
                await self._keep(trial, self.phrase, begun)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        finally:
            self._busy = False
        blind.leave(self.token)
        self.listener = blind.Listener(trial=trial, before=clips[0], after=clips[1])
        self.token = blind.seat(self.listener)
        self.trial = trial
        self.show()

    async def _clip(self, guitar: Guitar) -> Clip:
        wish = Wish(guitar=guitar, pickup=self.pickup, phrase=self.phrase, seed=SEED)
        found = SHELF.get(wish.key)
        if found is None:
            made: Made = await self.working.follow(
                shared.room().sounds.run("sound", wish, on_progress=self.working.show_progress)
            )
            SHELF.put(made)
            found = made
        return found.clip

    def _on(self, trial: BlindTrial) -> None:
        text("p", trial.plan.stopping_rule, "small soft")
        self.number = text("p", "", "count").props("role=status").mark("trial-number")
        first = self.listener.before
        self.player = Player(
            self.listener.states(self.token), duration=first.frames / first.sample_rate, rate=first.sample_rate,
            label="Blind trial", blind=True,
        ).mark("blind-player")  # fmt: skip
        text("p", trial.question)
        with ui.element("div").classes("row"):
            for answer in ANSWERS[trial.plan.kind]:
                words = f"it is {blind.LETTER_WORDS[answer].partition(',')[0]}"
                press(words, partial(self._answer, answer), mark=f"answer-{answer}")
        self._say_number()

    def _say_number(self) -> None:
        trial = self.listener.trial
        self.number.say(f"Trial {trial.number} of {trial.plan.trials}. What was right is told after the last.")

    async def _answer(self, answer: str) -> None:
        if self._busy:  # the one before is being kept: this press is of the same hearing
            return
        self._busy = True
        self.fault.clear()
        try:
            trial = self.listener.trial.answered(answer)
            words = "blind trial over" if trial.over else f"blind trial, answer {len(trial.answers)}"
            await self._keep(trial, self.phrase, words)
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            self._busy = False
        self.trial = self.listener.trial = trial
        if trial.over:
            blind.leave(self.token)
            self.token = ""
            self.show()
            return
        first = self.listener.before
        self.player.show(
            self.listener.states(self.token), duration=first.frames / first.sample_rate, rate=first.sample_rate
        )
        self._say_number()

    def _resume(self, trial: BlindTrial) -> None:
        text("p", f"A trial is on: {len(trial.answers)} of {trial.plan.trials} answered. {trial.plan.stopping_rule}")
        with ui.element("div").classes("row"):
            press("go on with it", partial(self._go_on, trial), cls="main", mark="trial-resume")
            press("give it up: nothing is told of it", self._give_up, mark="trial-give-up")

    async def _go_on(self, trial: BlindTrial) -> None:
        await self._seat(trial)

    async def _give_up(self) -> None:
        await self._keep(None, "", "blind trial given up before its end")
        self.trial = self.proof.trial
        self.show()

    # --- over --------------------------------------------------------------------------------------
    def _outcome(self, trial: BlindTrial) -> None:
        found = trial.outcome()
        word = "Heard" if found.heard else "Not shown to be heard"
        low, high = (100.0 * one for one in (found.share.low, found.share.high))
        text("p", f"{word}: {found.right} of {found.trials} right, {found.needed} were needed. By guessing alone that "
             f"many come with {100.0 * found.chance:.1f} % chance; share right {low:.0f} to {high:.0f} %.",
             "notice").mark("trial-outcome")  # fmt: skip
        level = "equally loud" if trial.plan.level_matched else "at their true level"
        text("p", f"{KINDS[trial.plan.kind]}, computed sounds, {level}, {trial.date}.", "small soft")
        for words in self.proof.trial_words():
            text("p", words, "small")
        press("plan another trial", self._another, mark="trial-another")

    def _another(self) -> None:
        self.trial = None
        self.show()
