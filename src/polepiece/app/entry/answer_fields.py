"""Fields for questions: a line, a select or drawn radio buttons, each with a place for what is wrong with it."""

from collections.abc import Callable, Iterable, Mapping
from functools import cache

from nicegui import ui

from polepiece.app.entry.folded_pictures import FoldedPictures
from polepiece.app.widgets.controls import Amount, Choice, Fault, amount, choice, text
from polepiece.app.widgets.picture_choice import Pictured
from polepiece.guitar import QUESTIONS, Question, construction_of, trade_class
from polepiece.report import construction_drawing

DONT_KNOW = "don't know"


@cache
def pictures() -> Mapping[str, tuple[Pictured, ...]]:
    """Return every construction, drawn with the sizes that are assumed of it, by its plain name of the trade."""
    asked = next(one for one in QUESTIONS if one.attr == "construction")
    out: dict[str, tuple[Pictured, ...]] = {}
    for slug, words in asked.words.items():
        drawn = Pictured(key=slug, name=slug.replace("-", " "), words=words, svg=construction_drawing(slug))
        kind = trade_class(construction_of(slug))
        out[kind] = (*out.get(kind, ()), drawn)
    return out


class AnswerFields:
    """The fields of some questions, and what is said beside them.

    Parameters
    ----------
    answers : mapping
        What they show at first, by attribute.
    on_change : callable
        Called when one was answered.
    mark : str
        Begins the mark of every field.
    """

    def __init__(self, answers: Mapping[str, str], on_change: Callable[[], object], mark: str) -> None:
        self.answers = dict(answers)
        self.asked: set[str] = set()  # what a person has answered or left since
        self._on_change, self._mark = on_change, mark
        self.faults: dict[str, Fault] = {}

    def _taken(self, attr: str) -> Callable[[str], object]:
        def take(value: str) -> object:
            self.answers[attr] = value
            self.asked.add(attr)
            return self._on_change()

        return take

    def mark(self, attr: str) -> str:
        """Return the mark of a field."""
        return f"{self._mark}-{attr.rpartition('.')[2]}"

    def row(self, questions: Iterable[Question]) -> None:
        """Put fields beside one another."""
        with ui.element("div").classes("row fields"):
            for one in questions:
                self.field(one)

    def field(self, one: Question, options: Mapping[str, str] | None = None) -> "Amount | Choice":
        """Put one field down, with what is said of it; ``options`` in place of the question's words."""
        words = one.words if options is None else options
        made: Amount | Choice
        with ui.element("div").classes("cell-field broad" if one.line.kind.startswith("text") else "cell-field"):
            if words:
                open_ = {} if one.attr == "position" else {"": DONT_KNOW}
                value = self.answers.get(one.attr, "")
                known = open_ | dict(words)
                if value not in known:  # a file may say more than is offered, such as a charge of 0.8
                    known[value] = value
                made = choice(one.label, known, value, self._taken(one.attr), mark=self.mark(one.attr))
            else:
                made = amount(
                    one.label, self.answers.get(one.attr, ""), self._taken(one.attr), mark=self.mark(one.attr)
                )
            made.props["title"] = one.help
            self.faults[one.attr] = Fault()
        return made

    def drawn(self, one: Question, group: str) -> None:
        """Put the drawn radio buttons of the constructions down."""
        FoldedPictures(
            "how it is built", pictures(), self.answers.get(one.attr, ""), self._taken(one.attr), group=group,
            mark=self.mark(one.attr),
        )  # fmt: skip
        self.faults[one.attr] = Fault()

    def say(self, faults: Mapping[str, list[str]]) -> list[str]:
        """Say what is wrong beside its field; return what belongs to none."""
        for attr, line in self.faults.items():
            line.show("\n".join(faults.get(attr, [])))
        return [one for attr, said in faults.items() if attr not in self.faults for one in said]


def help_line(words: str) -> None:
    """Put a line of help down."""
    text("p", words, "soft small")
