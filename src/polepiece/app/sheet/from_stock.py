"""What a change takes out of the drawer, and the old bar that goes into it: asked where stock is kept, undone too."""

from collections.abc import Callable
from dataclasses import dataclass

from nicegui import ui

from polepiece.app.server import shared
from polepiece.app.sheet.log import Moved
from polepiece.app.widgets.controls import Choice, choice, text
from polepiece.errors import NotebookError
from polepiece.guitar import Guitar, grade_words
from polepiece.moves import Change
from polepiece.notebook import Notebook, Part, PartEntry, part_words
from polepiece.planning import bar_name

BY_HAND = "not out of the drawer"
POTS = {"volume_pot": "pot", "tone_pot": "pot", "tone_cap": "capacitor"}
CLOSE = 0.25  # share by which a part's measured value may lie off what was planned: pots of 20 % are sold, and some age


@dataclass(slots=True)
class Need:
    """One part that a change takes, and which of the drawer may be meant."""

    words: str
    count: int
    offered: list[PartEntry]
    field: Choice | None = None


def needs_of(guitar: Guitar, pickup: str, changes: tuple[Change, ...], parts: list[PartEntry]) -> list[Need]:
    """Return what changes take out of the drawer, of what is in it."""
    out = []
    for one in changes:
        if one.key == "magnet":
            name, count = bar_name(one), guitar.pickup(pickup).built.bars
            offered = [each for each in parts if each.part.kind == "bar" and name_of(each.part) == name]
            words = f"bar of {grade_words(name)}" + (f", {count} of them" if count > 1 else "")
        elif one.key in POTS and isinstance(one.value, int | float):
            count, kind, words = 1, POTS[one.key], f"{one.key.replace('_', ' ')}, {one.text.partition('=')[2]}"
            offered = [each for each in parts if each.part.kind == kind and _near(each.part, float(one.value))]
        else:
            continue
        offered = [each for each in offered if each.count >= count]
        if offered:
            out.append(Need(words=words, count=count, offered=offered))
    return out


def name_of(part: Part) -> str:
    """Return the bar that a part is, as a change names it."""
    return f"{part.grade}-rough-cast" if part.finish == "rough-cast" else part.grade or ""


def _near(part: Part, wanted: float) -> bool:
    """Tell whether a part may be the one that was planned; one without a value may be."""
    found = None if part.resistance_kohm is None else 1e3 * part.resistance_kohm
    if part.kind == "capacitor":
        found = None if part.capacitance_nf is None else 1e-9 * part.capacitance_nf
    return found is None or abs(found / wanted - 1.0) <= CLOSE


class FromStock:
    """What goes with the change: a choice for each part it takes, and where the old bar goes.

    Parameters
    ----------
    guitar : Guitar
        Before the change.
    pickup : str
    changes : tuple of Change
    """

    def __init__(self, guitar: Guitar, pickup: str, changes: tuple[Change, ...]) -> None:
        magnet = guitar.pickup(pickup).magnet
        parts = shared.room().notebook.parts()
        self.needs = needs_of(guitar, pickup, changes, parts)
        self.count = guitar.pickup(pickup).built.bars
        self.old = Part(kind="bar", grade=magnet.grade, finish=magnet.finish, note=f"out of {pickup}"[:200])
        swaps = any(one.key == "magnet" for one in changes)
        self.goes: Choice | None = None
        if not self.needs and not (swaps and parts):
            return
        with ui.element("div").classes("row").mark("from-stock"):
            for one in self.needs:
                offered = {"": BY_HAND} | {
                    str(each.id): f"{each.id}. {part_words(each.part)}, {each.count} there"[:90] for each in one.offered
                }
                one.field = choice(one.words, offered, str(one.offered[0].id), lambda _: None, mark="stock-taken")
            if swaps:
                where = {"": "to the player", "drawer": "into the drawer"}
                old = "old bar" + (f", {grade_words(name_of(self.old))}" if magnet.grade != "unknown" else "")
                self.goes = choice(old, where, "", lambda _: None, mark="stock-old")
        if self.needs:
            text("p", "What is chosen here leaves the drawer when the change is recorded.", "soft small")

    def act(self, why: str) -> Callable[[Notebook], Moved | None]:
        """Return what is to be done in the notebook, as it is chosen now: takes the parts, or says why it cannot."""
        chosen = [(int(one.field.value), one.count) for one in self.needs if one.field is not None and one.field.value]
        keeps = self.goes is not None and self.goes.value == "drawer"
        old, count = self.old, self.count

        def moved(book: Notebook) -> Moved | None:
            taken: list[PartEntry] = []
            try:
                for number, many in chosen:
                    taken.append(book.use_part(number, why, many))
            except NotebookError:
                for one, (_, many) in zip(taken, chosen, strict=False):
                    book.give_back(one.id, f"not done after all: {why}", many)
                raise
            kept = [_kept(book, old, count, why)] if keeps else []
            if not taken and not kept:
                return None
            return Moved(taken=tuple(one.uuid for one in taken), kept=tuple(one.uuid for one in kept), count=count)

        return moved


def _kept(book: Notebook, old: Part, count: int, why: str) -> PartEntry:
    """Put the old bar into the drawer: with those of its kind, or as a part of its own."""
    same = [one for one in book.parts() if one.part.kind == "bar" and name_of(one.part) == name_of(old)
            and one.part.gauss is None and one.part.length_mm is None]  # fmt: skip
    if same and old.grade != "unknown":
        return book.give_back(same[0].id, f"out of it: {why}", count)
    made = book.add_part(old)
    return book.give_back(made.id, f"out of it: {why}", count - 1) if count > 1 else made


def taken_back(book: Notebook, moved: Moved, why: str) -> None:
    """Put back what a change has taken, and take out what it has kept; a part that is gone meanwhile stays gone."""
    known = {one.uuid: one for one in book.parts()}
    for uuid in moved.taken:
        if uuid in known:
            book.give_back(known[uuid].id, why, moved.count if known[uuid].part.kind == "bar" else 1)
    for uuid in moved.kept:
        if uuid in known and known[uuid].count >= moved.count:
            book.use_part(known[uuid].id, why, moved.count)
