"""What a plan says in words: its sentence first, then what to check, and below the rows what was refused and why."""

from collections.abc import Sequence

from nicegui import ui

from polepiece.app.widgets.controls import text
from polepiece.moves import plainly
from polepiece.planning import Answer, Cause, Finding, Plan, Refusal, Understood
from polepiece.shown_number import minus_in_words


def with_signs(words: str) -> str:
    """Return a sentence with the minus and the arrow of print."""
    return minus_in_words(words).replace("->", "→")


def sentence(plan: Plan, answer: Answer) -> None:
    """The answer in a sentence, and what costs next to nothing to rule out before."""
    with ui.element("section").classes("answer").props('aria-label="Answer"').mark("answer"):
        text("p", with_signs(answer.start), "said-first")
        if plan.cheap_causes:
            _causes(plan.cheap_causes, answer.rule_out)


def below_rows(plan: Plan, answer: Answer) -> None:
    """What else is said of the rows."""
    _each(answer.order, answer.bars, *answer.parted)
    more = [one for one in (answer.hangs_on, *plan.advice) if one]
    if more:
        with ui.element("details"):
            text("summary", "What benches also do, and what is assumed", "small")
            _each(*more)


def _each(*said: str) -> None:
    for words in said:
        if words:
            text("p", with_signs(words[:1].upper() + words[1:]), "small")


def how_understood(said: Sequence[Understood]) -> None:
    """Say what was understood of the words that were typed, and what was not used."""
    for one in said:
        text("p", f"“{one.text}”: {one.words}.", "small").mark("understood")


def repair(findings: Sequence[Finding]) -> None:
    """A fault that comes before any voicing."""
    with ui.element("section").classes("warn").props("role=status").mark("repair-first"):
        text("h2", "Repair first; no voicing before that")
        for one in findings:
            where = f" ({one.pickup})" if one.pickup else ""
            text("h3", f"{one.fault}{where}")
            text("p", f"{one.why}. Check: {one.check}.")
            for head, words in (("Cure", one.cure), ("By", one.by), ("Caution", one.caution)):
                if words:
                    text("p", f"{head}: {words}.")
            text("p", f"Basis: {one.basis}", "small soft")


def _causes(causes: Sequence[Cause], words: str) -> None:
    with ui.element("details").classes("causes"):
        text("summary", words or "Rule out first, it costs next to nothing")
        with ui.element("ul"):
            for one in causes:
                with ui.element("li"):
                    text("strong", one.cause)
                    text("span", f": {one.check} ({one.why})")


def refusals(refused: Sequence[Refusal]) -> None:
    """What is not offered, and why: folded."""
    if not refused:
        return
    with ui.element("details").classes("card"):
        text("summary", f"What was refused, and why ({sum(1 + one.alike for one in refused)})")
        with ui.element("ul").classes("small"):
            for one in refused:
                what = ", ".join(one.change)
                words = one.reason if what in one.reason else f"{what}: {one.reason}"
                alike = f" ({one.alike} more for the same reason)" if one.alike else ""
                text("li", plainly(words) + alike)
