"""What is fixed before a trial: its question, its rule in words, which states are played."""

from collections.abc import Mapping
from typing import Any

from nicegui import ui

from polepiece.app.hear.sounds import PHRASE_WORDS, TONES
from polepiece.app.widgets.controls import Fault, OnText, amount, choice, text
from polepiece.auditioning import part_in
from polepiece.errors import InputError, PolepieceError
from polepiece.measure import Kind, PreferencePlan, Quantity, Sounds, ThresholdPlan, TrialPlan

KINDS: dict[Kind, str] = {
    "abx": "match: which of A and B is X?", "pair": "pair: which of two is after?",
    "odd": "odd one: which of three is not like the others?",
}  # fmt: skip
STOPS = {"fixed": "after all trials", "sequential": "as soon as it is settled"}
USUAL = {"fixed": "16", "sequential": "40"}
LEVELS = {"matched": "equally loud", "true": "at their true level"}
QUANTITIES: dict[Quantity, str] = {
    "level": "level: louder or softer", "brightness": "brightness: more or less above 2 kHz",
    "resonance": "resonance: lower",
}  # fmt: skip


class Choices:
    """Values of a form; ``changed`` is called after each."""

    def __init__(self, **values: str) -> None:
        self.values = values

    def pick(self, label: str, name: str, options: Mapping[Any, str], changed: OnText) -> None:
        """Put a select that sets ``name``."""

        def chosen(value: str) -> object:
            self.values[name] = value
            return changed(value)

        choice(label, options, self.values[name], chosen, mark=f"trial-{name}")


class HeardForm:
    """Is it heard: how it is asked, when it ends, how many trials, equally loud or not."""

    def __init__(self) -> None:
        self.set = Choices(kind="abx", stop="fixed", level="matched")
        self.sounds: Sounds = "computed"

    def build(self) -> None:
        """Put its fields and its rule."""
        with ui.element("div").classes("row"):
            self.set.pick("question", "kind", KINDS, self._say)
            self.set.pick("it ends", "stop", STOPS, self._ends)
            self.count = amount("trials", USUAL["fixed"], self._say, mark="trial-count")
            self.set.pick("level", "level", LEVELS, self._say)
        self.rule = text("p", "", "rule").mark("trial-rule")
        self.fault = Fault()
        self._say()

    def planned(self) -> TrialPlan:
        """Return the plan.

        Raises
        ------
        InputError
            For a number of trials that is none or too few.
        """
        return TrialPlan(
            kind=self.set.values["kind"],  # type: ignore[arg-type]  # checked there
            trials=whole(self.count.value, "trials", "16 is usual"),
            stop=self.set.values["stop"],  # type: ignore[arg-type]
            level_matched=self.set.values["level"] == "matched",
            sounds=self.sounds,
        )

    def _ends(self, stop: str) -> None:
        self.count.show(USUAL[stop])
        self._say()

    def _say(self, _: str = "") -> None:
        self.fault.clear()
        try:
            plan = self.planned()
        except PolepieceError as error:
            self.rule.say("")
            self.fault.show(error)
            return
        hears = 100.0 * plan.chance_to_pass(0.9)
        self.rule.say(f"Rule: {plan.stopping_rule} Who is right nine times in ten passes with {hears:.0f} % chance.")


class RankForm:
    """Which is preferred, or has more of what the person names."""

    def build(self) -> None:
        """Put its fields; `say` puts the rule, which depends on the states."""
        with ui.element("div").classes("row"):
            self.word = amount("a word (tighter, warmer); empty: preferred", "", lambda _: None, mark="trial-word")
            self.word.classes("wide")
            self.pairs = amount("pairs at most", "20", self._again, mark="trial-pairs")
            self.repeats = amount("that come again", "4", self._again, mark="trial-again")
        self.rule = text("p", "", "rule").mark("trial-rule")
        self.fault = Fault()
        self.names: tuple[str, ...] = ()

    def say(self, names: "list[str]") -> None:
        """State the rule for these states."""
        self.names = tuple(names)
        self._again()

    def planned(self) -> PreferencePlan:
        """Return the plan.

        Raises
        ------
        InputError
            For fewer than three states, two of one name, or a number that is none.
        """
        return PreferencePlan(
            states=self.names, attribute=self.word.value.strip(),
            pairs=whole(self.pairs.value, "pairs", "20 is usual"),
            again=whole(self.repeats.value, "pairs that come again", "4 is usual"),
        )  # fmt: skip

    def _again(self, _: str = "") -> None:
        self.fault.clear()
        try:
            self.rule.say(f"Rule: {self.planned().stopping_rule}")
        except PolepieceError as error:
            self.rule.say("")
            self.fault.show(error)


class LeastForm:
    """What is the least difference that is heard."""

    def __init__(self) -> None:
        self.set = Choices(quantity="level")

    def build(self) -> None:
        """Put its field and its rule."""
        with ui.element("div").classes("row"):
            self.set.pick("difference in", "quantity", QUANTITIES, lambda _: None)
        text("p", f"Rule: {self.planned().stopping_rule}", "rule").mark("trial-rule")

    def planned(self) -> ThresholdPlan:
        """Return the plan."""
        return ThresholdPlan(quantity=self.set.values["quantity"])  # type: ignore[arg-type]  # checked there


class PlayedForm:
    """What is played in every state: a phrase, straight or through the chain."""

    def __init__(self, phrase: str = "", *, tones: bool = True) -> None:
        self.set = Choices(phrase=phrase if phrase in PHRASE_WORDS else next(iter(PHRASE_WORDS)), tone="cable")
        self._tones = tones

    def build(self) -> None:
        """Put its fields, in a row that is there."""
        self.set.pick("phrase", "phrase", PHRASE_WORDS, lambda _: None)
        if self._tones:
            self.set.pick("amplifier", "tone", TONES, lambda _: None)


class PartForm:
    """Which part of it is played over and over, and matched in loudness; the whole unless one is typed."""

    def build(self) -> None:
        """Put its field, in a row that is there."""
        self.part = amount("only this part, s (such as 1.5-4)", "", lambda _: None, mark="trial-part")

    def words(self) -> str:
        """Return what was typed, once it can be read.

        Raises
        ------
        InputError
            When it is no part.
        """
        part_in(self.part.value)
        return self.part.value.strip()


def whole(words: str, what: str, usual: str) -> int:
    """Return a whole number as it was typed.

    Raises
    ------
    InputError
        For anything else.
    """
    if not (words.strip().isascii() and words.strip().isdigit() and len(words) < 6):
        raise InputError(f"{what} is {words!r}; a whole number is needed, {usual}.")
    return int(words)
