"""The form of a complaint: words of the bench, how strong, and what must not be done."""

from collections.abc import Sequence
from functools import partial

from nicegui import ui

from polepiece.app.listen.kept_trials import ear_in
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.controls import Fault, Handler, OnTick, amount, choice, press, text, tick_box
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Complaint, grade_words
from polepiece.notebook import JobEntry
from polepiece.planning import (
    WORDS,
    Constraints,
    Understood,
    complaints_of,
    parse_complaint,
    parse_constraints,
    read_complaint,
    read_complaints,
    said_both,
    understood_of,
)

STRENGTHS = {"slight": "slight", "clear": "clear", "strong": "strong"}
BY_NUMBER = {1: "slight", 2: "clear", 3: "strong"}
FLAGS = {
    "keep-output": "keep the output", "reversible-only": "reversible only", "do-not-open": "do not open the pickup",
    "no-solder": "no soldering", "keep-strings": "keep the strings", "magnetiser": "there is a magnetiser",
}  # fmt: skip
BUDGETS = {"": "nothing said", "budget=none": "nothing to be bought", "budget=small": "small parts only"}
WHOLE = "guitar"


class PlanForm:
    """What is complained of and what is asked for; `read` returns both.

    Parameters
    ----------
    desk : Desk
    job : JobEntry, optional
        Whose words are shown at first; else those of the guitar file.
    on_make : callable
        Called when the plan is wanted.
    """

    def __init__(self, desk: Desk, job: "JobEntry | None", on_make: Handler) -> None:
        self.desk = desk
        self.told: list[str] = _told(desk, job)
        asked = [] if job is None else [one.strip() for one in job.constraints.split(";") if one.strip()]
        self.flags = {one for one in asked if one in FLAGS}
        self.owned = any(one.startswith("owned=") for one in asked)
        self.budget = next((one for one in asked if one.startswith("budget=")), "")
        self.prices = [one for one in asked if one.startswith("price-")]
        self.limits = [one for one in asked if one not in FLAGS and "=" not in one]  # in own words
        self.own_ear, self.by_ear = ear_in(shared.room().notebook), True
        self.said: tuple[Understood, ...] = ()  # of what was read last
        self.word, self.strength, self.where = "muddy", "clear", desk.pickup
        with ui.element("section").classes("card").props('aria-label="Complaint"'):
            self._complaints()
            self._constraints()
            self.make = press("make the plan", on_make, cls="main", mark="make-plan")

    # --- what is on it -----------------------------------------------------------------------------
    def _complaints(self) -> None:
        text("h2", "What is wrong?")
        self.list = ui.element("ul").classes("picked").mark("complaints")
        self.fault = Fault()
        words = "in your own words, such as: the bridge is too thin; the G is loud with both on"
        self.own = amount(words, "", self._add_own, mark="own-words").classes("long")
        with ui.element("div").classes("row"):
            choice("where", self._places(), self.where, partial(setattr, self, "where"), mark="where")
            self.word_choice = choice("how it sounds", words_offered(), self.word, self._choose_word, mark="word")
            choice("how strong", STRENGTHS, self.strength, partial(setattr, self, "strength"), mark="strength")
            press("add", self._add, mark="add-complaint")
        self.means = text("p", meaning(self.word), "small soft").props("role=status")
        self._show_list()

    def _constraints(self) -> None:
        with ui.element("details") as self.limits_fold:
            text("summary", "Limits, and what is at hand")
            with ui.element("div").classes("ticks"):
                for key, words in FLAGS.items():
                    self._tick(words, key in self.flags, partial(self._flag, key), f"flag-{key}")
                bars = owned_bars()
                words = "only bars from the drawer: " + (", ".join(grade_words(one) for one in bars) or "it is empty")
                self._tick(words, self.owned, self._own_bars, "flag-owned")
                if self.own_ear is not None:
                    said = f"{self.own_ear.words[:1].lower()}{self.own_ear.words[1:].rstrip('.')}"
                    self._tick(said, True, partial(setattr, self, "by_ear"), "by-own-ear")
            with ui.element("div").classes("row"):
                known = dict(BUDGETS) | ({self.budget: self.budget} if self.budget not in BUDGETS else {})
                choice("budget", known, self.budget, partial(setattr, self, "budget"), mark="budget")
                self.sum = amount("or a sum and prices, such as 20; bar 8; pot 6", "", self._sum, mark="sum")
                self.sum.classes("wide")
            self.sum_fault = Fault()
            words = "limits in your own words, such as: leave the bridge alone, under an hour"
            self.own_limits = amount(words, "; ".join(self.limits), self._say_limits, mark="own-limits")
            self.own_limits.classes("long")
            self.limits_fault = Fault()

    def _tick(self, words: str, on: bool, act: OnTick, mark: str) -> None:
        with ui.element("label").classes("tick"):
            tick_box(on, act, mark)
            text("span", words)

    def _places(self) -> dict[str, str]:
        return {one.name: f"{one.name} pickup" for one in self.desk.guitar.pickups} | {WHOLE: "whole guitar"}

    def _show_list(self) -> None:
        self.list.clear()
        with self.list:
            if not self.told:
                text("li", "nothing yet: say it below in your own words, or choose a word and press add", "soft")
            for one in self.told:
                with ui.element("li"):
                    text("span", one)
                    button = press("remove", partial(self._remove, one), cls="quiet")
                    button.props["aria-label"] = f"remove {one}"

    # --- acts --------------------------------------------------------------------------------------
    def _choose_word(self, word: str) -> None:
        self.word = word
        self.means.say(meaning(word))

    def _add(self) -> None:
        self._take(f"{self.where}: {self.word}, {self.strength}")

    def _add_own(self, words: str) -> None:
        """Read a sentence as the command line does: a limit that is said with the complaint becomes one."""
        said = words.strip().replace(";", ",")  # jobs are kept with their complaints joined by ";"
        if not said:
            return
        told, limits = said_both([said], None, self.desk.guitar)
        if all(self._take(one if self._named(one) else f"{self.where}: {one}") for one in told or ()):
            self.own.show("")
            if limits:
                self._say_limits("; ".join(dict.fromkeys([*self.limits, *limits])))
                self.own_limits.show("; ".join(self.limits))
                self.limits_fold.props["open"] = True
                self.limits_fold.update()

    def _named(self, words: str) -> bool:
        """Tell whether the words say where by themselves."""
        if ":" in words:
            return True
        try:
            return any(one.target.words != WHOLE for one in read_complaint(words, self.desk.guitar).items)
        except PolepieceError:
            return False  # it is said when it is taken

    def _take(self, words: str) -> bool:
        self.fault.clear()
        try:
            parse_complaint(words, self.desk.guitar)
        except PolepieceError as error:
            self.fault.show(error)
            return False
        where = words.partition(":")[0] + ":" + words.partition(":")[2].partition(",")[0]
        self.told = [one for one in self.told if not one.startswith(where)] + [words.strip()]
        self._show_list()
        return True

    def _remove(self, words: str) -> None:
        self.told = [one for one in self.told if one != words]
        self._show_list()

    def _flag(self, key: str, on: bool) -> None:
        self.flags = self.flags | {key} if on else self.flags - {key}

    def _own_bars(self, on: bool) -> None:
        self.owned = on

    def _sum(self, words: str) -> None:
        """Read "20; bar 8; pot 6": a budget and prices in the shop's own money."""
        self.sum_fault.clear()
        parts = [one.split() for one in words.replace(";", "\n").splitlines() if one.strip()]
        texts = [f"budget={one[0]}" if len(one) == 1 else f"price-{one[0]}={one[-1]}" for one in parts]
        try:
            parse_constraints(texts)
        except PolepieceError as error:
            self.sum_fault.show(error)
            return
        self.budget = next((one for one in texts if one.startswith("budget=")), self.budget)
        self.prices = [one for one in texts if one.startswith("price-")]

    def _say_limits(self, words: str) -> None:
        """Read "leave the bridge alone, no soldering"."""
        self.limits_fault.clear()
        asked = [one.strip() for one in words.split(";") if one.strip()]
        try:
            parse_constraints(asked, self.desk.guitar)
        except PolepieceError as error:
            self.limits_fault.show(error)
            return
        self.limits = asked

    # --- reading -----------------------------------------------------------------------------------
    def complaint_words(self) -> str:
        """Return the complaints as they were said."""
        return "; ".join(self.told)

    def texts(self) -> list[str]:
        """Return the constraints as the command line writes them."""
        out = [key for key in FLAGS if key in self.flags]
        if self.owned:
            out.append(f"owned={','.join(owned_bars())}")
        return [*out, *([self.budget] if self.budget else []), *self.prices, *self.limits]

    def read(self) -> tuple[tuple[Complaint, ...], Constraints]:
        """Return complaints and constraints.

        Raises
        ------
        InputError
            When nothing is complained of.
        """
        if not self.told:
            raise InputError("Nothing is complained of yet: choose a word and press add.")
        readings = read_complaints(self.told, self.desk.guitar)
        limits = parse_constraints(self.texts(), self.desk.guitar)
        self.said = understood_of((*readings, *limits.readings))
        return tuple(one for reading in readings for one in complaints_of(reading)), limits


def words_offered() -> dict[str, str]:
    """Return every complaint word that the plan knows, faults last."""
    ordered = [one for one in WORDS if one.kind != "fault"] + [one for one in WORDS if one.kind == "fault"]
    return {one.name: one.name + (" (a fault)" if one.kind == "fault" else "") for one in ordered}


def meaning(word: str) -> str:
    """Return what a bench usually means by a word, what stands for it, and its other names."""
    found = next((one for one in WORDS if one.name == word), None)
    if found is None:
        return ""
    whole = [one for one in found.synonyms if one.rpartition(" ")[2] not in ("the", "a")][:4]  # no halves of a phrase
    also = f" Also said: {', '.join(whole)}." if whole else ""
    computed = found.stands_for.replace("low_level", "the low end at the amplifier")
    return f"“{found.name}” usually means: {found.means}.{also} Computed for it: {computed}."


def owned_bars() -> list[str]:
    """Return the grades of the bars in the drawer."""
    found: list[str] = []
    for one in shared.room().notebook.parts():
        if one.part.kind == "bar" and one.part.grade:
            name = one.part.grade + ("-rough-cast" if one.part.finish == "rough-cast" else "")
            try:
                parse_constraints([f"owned={name}"])
            except PolepieceError:
                continue  # a grade in the shop's own words, which the catalogue does not know
            found.append(name)
    return list(dict.fromkeys(found))


def limits_in_words(constraints: str) -> str:
    """Return the constraints of a job as the form words them."""
    known = FLAGS | BUDGETS
    return "; ".join(known.get(one, one) for one in (each.strip() for each in constraints.split(";")) if one)


def _told(desk: Desk, job: "JobEntry | None") -> list[str]:
    if job is not None:
        return _parsed([one.strip() for one in job.complaints.split(";") if one.strip()], desk)
    return [
        f"{one.pickup or WHOLE}: {one.word}, {BY_NUMBER.get(one.strength, 'clear')}" for one in desk.guitar.complaints
    ]


def _parsed(texts: Sequence[str], desk: Desk) -> list[str]:
    """Return those that are still understood of this guitar."""
    out = []
    for one in texts:
        try:
            parse_complaint(one, desk.guitar)
        except PolepieceError:
            continue
        out.append(one)
    return out
