"""The form of a guitar: pickups, circuit, strings; read after every answer, with faults and cautions beside them."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from nicegui import ui

from polepiece.app.entry.answer_fields import DONT_KNOW, AnswerFields, help_line
from polepiece.app.entry.draft import Draft
from polepiece.app.entry.templates_offered import TEMPLATE, offered
from polepiece.app.widgets.controls import Choice, Text, press, text
from polepiece.guitar import (
    MOST_ENTERED,
    OF_CONTROLS,
    OF_GUITAR,
    OF_PICKUP,
    POSITIONS_HELP,
    SIZES,
    STRINGS,
    Entered,
    Guitar,
    Slot,
    answers_of,
    cautions,
    construction_of,
    entered,
    pickup_answers,
    question_at,
    sentence_in_words,
    sizes_of,
    wiring_words,
    without_keys,
)
from polepiece.report import pickup_drawing

FIRST = ("neck", "bridge")
GAPS = ("gap_bass", "gap_treble")
SHEETS = ("cover", "base_plate")
STRINGS_HELP = (
    "A set by its name (10-46, or tens), or the gauges one by one, the thin string first: 10 13 17 26w 36 46. Leave it "
    "empty where it is not known."
)
SIZES_HELP = (
    "For who has it open and a plastic or brass caliper at hand; what is left open is as usual for such a pickup."
)
WIRING = "wiring"
_PATH, _NAME = re.compile(r"\w*(\[\d+\])?"), re.compile(r"\w*")
MORE_CONTROLS = "another switch, knobs, cable and amplifier"
KNOBS_HELP = (
    "A knob that pulls: the pickup and what it does, several with a semicolon between. Such as bridge: split-screws; "
    "neck: phase (its leads exchanged). Of two knobs of one pickup say what both do: bridge: split-screws + parallel = "
    "parallel."
)
TUNING_HELP = (
    'Notes from string 1, the thin one (E4 B3 G3 D3 A2 E2), or as players say it: DADGBE, "drop D". Empty: as usual.'
)


@dataclass(slots=True, kw_only=True)
class Card:
    """One pickup on the page. Mutable: the page's own."""

    fields: AnswerFields
    was: int | None
    number: int
    title: Text | None = None
    box: ui.element | None = None
    odd: ui.element | None = None
    drawing: ui.html | None = None
    wiring: Choice | None = None
    sizes: ui.element | None = None
    built: str = ""  # the construction whose sizes and wirings are offered
    shown: str = field(default="")

    @property
    def slot(self) -> Slot:
        """What is answered."""
        return Slot(answers=self.fields.answers, was=self.was)


class EntryForm:
    """Everything that is asked; `read` says what came of it.

    Parameters
    ----------
    was : Guitar, optional
        The guitar that is edited.
    on_read : callable
        Called with what came of the answers after each of them.
    begun : Draft, optional
        What was typed of a new guitar before.
    """

    def __init__(
        self, was: Guitar | None, on_read: Callable[[Entered], object], begun: Draft | None = None
    ) -> None:  # fmt: skip
        self.was, self._on_read = was, on_read
        self.told = False  # what is missing is said once somebody wanted to be done
        self._count = self._offered_for = 0
        self._begun = begun
        known = {} if was is None else answers_of(was)
        known |= {} if begun is None else begun.of_guitar
        asked = {one.attr for one in (*OF_GUITAR, *OF_CONTROLS)}
        self.of_guitar = AnswerFields({k: v for k, v in known.items() if k in asked}, self.changed, "guitar")
        self.cards: list[Card] = []
        self.template: Choice | None = None

    # --- building ----------------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page."""
        with ui.element("section").classes("card"):
            text("h2", "The guitar")
            named = [one for one in OF_GUITAR if one.attr in ("name", "scale_length")]
            self.of_guitar.row(named)
            self.odd = {"": ui.element("div")}
        self.pickups = ui.element("div").classes("stack")
        with self.pickups:
            if self._begun is not None:
                for answers in self._begun.pickups:
                    self._card(_asked(answers), None)
            elif self.was is None:
                for where in FIRST:
                    self._card({"position": where}, None)
            else:
                for place in range(len(self.was.pickups)):
                    self._card(self._known(place), place)
        press("add a pickup", self._add, mark="add-pickup", once=True)
        with ui.element("section").classes("card"):
            text("h2", "Strings")
            help_line(STRINGS_HELP)
            self.of_guitar.row([one for one in OF_GUITAR if one.attr in (STRINGS, "tuning")])
            help_line(TUNING_HELP)
            self.odd[STRINGS] = ui.element("div")
            self._more([one for one in OF_GUITAR if one.more], "more of the guitar")
        with ui.element("section").classes("card"):
            text("h2", "Circuit")
            self._circuit()
        self.changed()

    def _known(self, place: int) -> dict[str, str]:
        assert self.was is not None
        return _asked(pickup_answers(self.was, place))

    def _circuit(self) -> None:
        first = [one for one in OF_CONTROLS if not one.more]
        with ui.element("div").classes("row fields"):
            for one in first:
                made = self.of_guitar.field(one)
                if one.attr == TEMPLATE and isinstance(made, Choice):
                    self.template = made
        self.odd["controls"] = ui.element("div")
        self._more([one for one in OF_CONTROLS if one.more], MORE_CONTROLS, POSITIONS_HELP, KNOBS_HELP)

    def _more(self, questions: Sequence[object], words: str, *told: str) -> None:
        with ui.element("details"):
            text("summary", words)
            self.of_guitar.row(questions)  # type: ignore[arg-type]
            for one in told:
                help_line(one)

    def _card(self, answers: Mapping[str, str], was: int | None) -> None:
        self._count += 1
        fields = AnswerFields(answers, self.changed, f"pickup-{self._count}")
        card = Card(fields=fields, was=was, number=self._count)
        asked = {one.attr: one for one in OF_PICKUP}
        with ui.element("section").classes("card").mark(f"pickup-card-{self._count}") as card.box:
            card.title = text("h2", "")
            with ui.element("div").classes("row fields"):
                fields.field(asked["position"])
                fields.field(asked["magnet.grade"])
                fields.field(asked["resistance"])
            fields.drawn(asked["construction"], f"built-{self._count}")
            with ui.element("div").classes("row fields"):
                for attr in GAPS:
                    fields.field(asked[attr])
                for attr in SHEETS:
                    fields.field(asked[attr])
            help_line(f"Gap: {asked['gap_bass'].line.meaning.rpartition(',')[0]}.")
            card.odd = ui.element("div")
            with ui.element("details"):
                text("summary", "more of this pickup").props["aria-label"] = (
                    f"more of this pickup, number {self._count}"
                )
                with ui.element("div").classes("row fields"):
                    for one in [one for one in OF_PICKUP if one.more]:
                        made = fields.field(one)
                        if one.attr == WIRING and isinstance(made, Choice):
                            card.wiring = made
                card.sizes = ui.element("div")
            card.drawing = ui.html("", sanitize=False).classes("views")
            press("remove this pickup", lambda: self._remove(card), cls="quiet", mark=f"remove-{self._count}")
        self.cards.append(card)

    def _add(self) -> None:
        if len(self.cards) < MOST_ENTERED:
            with self.pickups:
                self._card({"position": "middle"}, None)
            self.changed()

    def _remove(self, card: Card) -> None:
        if len(self.cards) > 1 and card.box is not None:
            self.cards.remove(card)
            card.box.delete()
            self.changed()

    # --- reading -----------------------------------------------------------------------------------
    @property
    def typed(self) -> Draft:
        """What is answered so far."""
        return Draft(of_guitar=self.of_guitar.answers, pickups=[one.fields.answers for one in self.cards])

    def read(self) -> Entered:
        """Return what comes of the answers."""
        return entered(self.of_guitar.answers, [one.slot for one in self.cards], was=self.was)

    def changed(self) -> None:
        """Read everything again and say what there is to say."""
        for card in self.cards:
            self._offer_parts(card)
        found = self.read()
        names = [str(card.fields.answers.get("position") or card.number) for card in self.cards]
        self._say_faults(found, names)
        odd: dict[str, list[str]] = {}
        for one in () if found.guitar is None else cautions(found.guitar):
            odd.setdefault(_beside(one), []).append(sentence_in_words(one, names))
        for place, card in enumerate(self.cards):
            self._show_card(card, found.guitar, place)
            assert card.odd is not None
            _say_odd(card.odd, odd.get(f"pickups[{place}]", []))
        for of, box in self.odd.items():
            _say_odd(box, odd.get(of, []))
        self._offer_templates(found)
        self._on_read(found)

    def _offer_parts(self, card: Card) -> None:
        """Offer the wirings and the sizes that the chosen construction has; what was said of others is dropped."""
        slug, answers = card.fields.answers.get("construction", ""), card.fields.answers
        if not slug or slug == card.built or card.sizes is None or card.wiring is None:
            return
        card.built, built = slug, construction_of(slug)
        sizes, wirings = sizes_of(built), wiring_words(built)
        for one in SIZES:
            if one not in sizes:
                answers.pop(one.attr, None)
                card.fields.faults.pop(one.attr, None)
        if answers.get(WIRING, "") not in ("", *wirings):
            answers[WIRING] = ""
        card.wiring.offer({"": DONT_KNOW} | dict(wirings), answers.get(WIRING, ""))
        card.sizes.clear()
        with card.sizes, ui.element("details"):
            text("summary", "sizes of its parts").props["aria-label"] = f"sizes of its parts, number {card.number}"
            help_line(SIZES_HELP)
            card.fields.row(sizes)

    def _offer_templates(self, found: Entered) -> None:
        """Offer the circuits that this number of pickups can have; one that does not fit any more can be left."""
        if self.template is None or self._offered_for == len(self.cards):
            return
        answers, slots = self.of_guitar.answers, [one.slot for one in self.cards]
        guitar = found.guitar or entered(answers | {TEMPLATE: ""}, slots, was=self.was).guitar
        if guitar is not None:
            self._offered_for, chosen = len(self.cards), answers.get(TEMPLATE, "")
            line = next(one.line for one in OF_CONTROLS if one.attr == TEMPLATE)
            self.template.offer({"": DONT_KNOW} | dict(offered(guitar, line, chosen)), chosen)

    def _say_faults(self, found: Entered, names: Sequence[str]) -> None:
        by_place: dict[int | None, dict[str, list[str]]] = {}
        for one in found.faults:
            attr, place = question_at(one.path)
            missing = one.sentence.startswith("is missing")
            if missing and not self.told:
                continue
            said = "Choose how it is built." if missing and attr == "construction" else (
                without_keys(sentence_in_words(one.words, names))
            )  # fmt: skip
            by_place.setdefault(place, {}).setdefault(attr, []).append(said)
        self.rest = self.of_guitar.say(by_place.get(None, {}))
        for place, card in enumerate(self.cards):
            self.rest += card.fields.say(by_place.get(place, {}))

    def _show_card(self, card: Card, guitar: Guitar | None, place: int) -> None:
        assert card.title is not None and card.drawing is not None
        where = card.fields.answers.get("position", "")
        card.title.say(f"{where[:1].upper()}{where[1:]} pickup" if where else "Pickup")
        if guitar is not None:
            name = guitar.pickups[place].name
            side, top, _ = pickup_drawing(guitar, name)
            if side + top != card.shown:
                card.shown = side + top
                card.drawing.set_content(side + top)
            card.title.say(f"{name[:1].upper()}{name[1:]} pickup")


def _asked(answers: Mapping[str, str]) -> dict[str, str]:
    """Return those answers of a pickup that the form asks for."""
    asked = {one.attr for one in (*OF_PICKUP, *SIZES)}
    return {attr: said for attr, said in answers.items() if attr in asked}


def _beside(caution: str) -> str:
    """Return beside what a caution stands: "pickups[1]", the strings, "controls", or "" for the guitar."""
    whole, first = (found[0] for found in (_PATH.match(caution), _NAME.match(caution)) if found is not None)
    return {"pickups": whole, "strings": STRINGS, "tuning": STRINGS, "controls": "controls"}.get(first, "")


def _say_odd(box: ui.element, odd: Sequence[str]) -> None:
    """Say what is possible but odd beside the fields it is about."""
    box.clear()
    with box:
        for sentence in odd:
            text("p", f"Look at this again: {sentence}", "notice").props("role=status")
