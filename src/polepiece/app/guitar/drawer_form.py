"""The form for one part: fields of its kind, read as they are typed; a fault stands at its field."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from nicegui import ui

from polepiece.app.sheet import bench_units as units
from polepiece.app.widgets.controls import Amount, Choice, Fault, Handler, amount, choice, press, text
from polepiece.bench import grade_slugs
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import grade_words
from polepiece.moves import parse_change
from polepiece.notebook import Part, price_of

KINDS = {
    "bar": "bar magnet", "rods": "rod magnets", "pot": "pot", "capacitor": "capacitor", "cover": "cover",
    "strings": "strings", "other": "something else",
}  # fmt: skip
FINISHES = {"unknown": "not known", "polished": "polished", "rough-cast": "rough cast"}
PLACES = {
    "": "choose where", "long edge, middle": "long edge, middle", "broad face, middle": "broad face, middle",
    "end face, middle": "end face, middle", "pole top": "pole top, built in",
}  # fmt: skip
OTHER_GRADE = "other"
_PRICE = re.compile(r"([0-9][0-9.,]*)\s*([A-Za-z]{3}|€|£)?")
_SIGNS = {"€": "EUR", "£": "GBP"}
PART_CAPACITANCE = replace(units.CAPACITANCE, low=0.01, high=1000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One field that takes a quantity."""

    attr: str
    label: str
    kind: units.Quantity


SIZE = (
    Line(attr="length_mm", label="length, mm or in", kind=units.LENGTH),
    Line(attr="width_mm", label="width, mm or in", kind=units.WIDTH),
    Line(attr="thickness_mm", label="thickness, mm or in", kind=units.THICKNESS),
)
GAUSS = Line(attr="gauss", label="measured, gauss or mT, sign kept", kind=units.BAR_FLUX)
POT = Line(attr="resistance_kohm", label="measured, kΩ", kind=units.POT)
CAPACITOR = Line(attr="capacitance_nf", label="measured, nF", kind=PART_CAPACITANCE)


class PartForm:
    """What is typed of a part; `part` returns it.

    Parameters
    ----------
    on_add : callable
        Called when the part is to be kept.
    """

    def __init__(self, on_add: Handler) -> None:
        self.kind = "bar"
        self.fields: dict[str, tuple[Amount, Fault, Callable[[str], Any]]] = {}
        self.choices: dict[str, Choice] = {}
        text("h2", "Put a part into it")
        with ui.element("div").classes("row"):
            choice("what it is", KINDS, self.kind, self._choose_kind, mark="part-kind")
        self.box = ui.element("div").classes("below")
        press("put it into the drawer", on_add, cls="main", mark="add-part", once=True)
        self.fault = Fault()
        self._show()

    def _choose_kind(self, kind: str) -> None:
        self.kind = kind if kind in KINDS else "other"
        self.fault.clear()
        self._show()

    def _show(self) -> None:
        self.fields, self.choices = {}, {}
        self.box.clear()
        with self.box:
            if self.kind in ("bar", "rods"):
                self._magnet()
            elif self.kind in ("pot", "capacitor"):
                with ui.element("div").classes("row"):
                    self._quantity(POT if self.kind == "pot" else CAPACITOR)
            with ui.element("div").classes("row"):
                self._line("label", "label or marking", str)
                self._line("price", "price as paid, such as 12.50 EUR", _price)
                self._line("note", "note", str)

    def _magnet(self) -> None:
        grades = {"unknown": "not known"} | {one: grade_words(one) for one in grade_slugs()}
        with ui.element("div").classes("row"):
            self.choices["grade"] = choice(
                "grade, as bought", grades | {OTHER_GRADE: "another, named beside"}, "unknown", lambda _: None,
                mark="part-grade",
            )  # fmt: skip
            self._line("grade", "its name, where it is another", _grade)
            self.choices["finish"] = choice("surface", FINISHES, "unknown", lambda _: None, mark="part-finish")
        with ui.element("div").classes("row"):
            for line in SIZE:
                self._quantity(line)
        text("p", "Plastic or brass caliper: steel ones grab. A bare number is in mm; 2.5 in, 1/8 in are understood.",
             "soft small")  # fmt: skip
        with ui.element("div").classes("row"):
            self._quantity(GAUSS)
            self.choices["gauss_at"] = choice("measured where", PLACES, "", lambda _: None, mark="part-gauss-at")

    # --- fields ------------------------------------------------------------------------------------
    def _quantity(self, line: Line) -> None:
        self._line(line.attr, line.label, lambda value: units.read(value, line.kind))

    def _line(self, attr: str, label: str, reader: Callable[[str], Any]) -> None:
        def typed(_: str) -> None:
            self._read(attr)

        with ui.element("div").classes("cell-field"):
            box, fault = amount(label, "", typed, mark=f"part-{attr}"), Fault()
        self.fields[attr] = box, fault, reader

    def _read(self, attr: str) -> Any:
        """Return what a field holds, or None; a fault is said beside it and raised again by `part`."""
        box, fault, reader = self.fields[attr]
        fault.clear()
        if not box.value.strip():
            return None
        try:
            return reader(box.value.strip())
        except PolepieceError as error:
            fault.show(error)
            return error

    def part(self) -> Part:
        """Return the part.

        Raises
        ------
        InputError
            When a field cannot be read, or does not go with another; what is wrong stands at the fields, too.
        """
        found = {attr: self._read(attr) for attr in self.fields}
        wrong = [one for one in found.values() if isinstance(one, PolepieceError)]
        if wrong:
            raise InputError("Not kept yet: see what is said at the fields.")
        amount_, currency = found.pop("price") or (None, "")
        values: dict[str, Any] = {key: value for key, value in found.items() if value is not None}
        if self.kind in ("bar", "rods"):
            values |= self._magnet_values(values)
        return Part(kind=self.kind, price=amount_, currency=currency, **values)  # type: ignore[arg-type]

    def _magnet_values(self, values: Mapping[str, Any]) -> dict[str, Any]:
        grade, own = self.choices["grade"].value, values.get("grade")
        if own is not None and grade not in ("unknown", OTHER_GRADE):
            raise InputError(f"The grade is chosen as {grade_words(grade)} and named {own[0]!r}: leave one out.")
        slug, finish = own or (grade if grade != OTHER_GRADE else None, "")
        if slug is None:
            raise InputError("Another grade is chosen: name it in the field beside, or choose not known.")
        place = self.choices["gauss_at"].value
        if "gauss" in values and not place:
            raise InputError("Choose where the gauss were measured; the same bar reads otherwise at its end and edge.")
        chosen = self.choices["finish"].value
        return {
            "grade": slug, "finish": finish if finish and chosen == "unknown" else chosen,
            "gauss_at": place if "gauss" in values else "",
        }  # fmt: skip

    def clear(self) -> None:
        """Empty every field for the next part of the same kind."""
        self._show()


def _price(text_of: str) -> Any:
    found = _PRICE.fullmatch(text_of)
    if found is None or found[2] is None:
        raise InputError(f"{text_of!r} is no sum with its currency; write 12.50 EUR, or USD, GBP ...")
    return price_of(found[1]), _SIGNS.get(found[2], found[2].upper())


def _grade(text_of: str) -> tuple[str, str]:
    """Read a grade as a change of magnet does where it is known; any other word is kept as it is."""
    try:
        slug, finish = parse_change(f"magnet={text_of}").value
    except PolepieceError:
        return text_of, ""
    return str(slug), finish or ""
