"""What is asked of a guitar that is entered: a choice of the lines of the parameters, the same in terminal and page.

A question is asked in the words of its line: what it is called, its unit, its words. Everything can be left open; what
is not asked here is assumed, listed, and can be written into the guitar file by hand.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from polepiece.coil import Wiring
from polepiece.guitar.bar_words import charge_words, grade_words
from polepiece.guitar.constructions import CONSTRUCTIONS, Construction
from polepiece.guitar.constructions.construction import COUNTED
from polepiece.guitar.file.answers import STRINGS
from polepiece.guitar.file.layout import CONTROL_KEYS, SHEET_KEYS, parameter_of
from polepiece.guitar.file.said_positions import ASKED, HELP
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import SHEET_METALS
from polepiece.materials import pickup_bars

DONT_KNOW = "don't know"
TEMPLATE = "controls.template"
SHEETS = {"cover": "metal cover", "base_plate": "base plate"}
_METAL = next(one for one in SHEET_KEYS if one.attr == "material")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question; ``attr`` says where its answer goes."""

    attr: str
    of: Literal["guitar", "pickup", "controls"]
    more: bool = False  # asked behind a fold, or not at all in the terminal

    @property
    def line(self) -> Parameter:
        """The line that it asks for; a set of strings for `STRINGS`, the metal of a sheet for a cover or base plate."""
        if self.attr in SHEETS:
            return _METAL
        return parameter_of({STRINGS: "string_set", ASKED: "controls.push_pull"}.get(self.attr, self.attr))

    @property
    def label(self) -> str:
        """What it is called, with the unit of a bare number."""
        if self.attr == STRINGS:
            return "strings: a set, or gauges from string 1 on"
        if self.attr in SHEETS:
            return SHEETS[self.attr]
        if self.attr == ASKED:
            return "positions of the switch, if none of these"
        if self.attr == TEMPLATE:
            return "volumes, tones, switch"
        unit = (
            self.line.unit.word if self.line.kind in ("number", "numbers") and self.line.dimension != "number" else ""
        )
        return f"{self.line.called}, {unit}" if unit else self.line.called

    @property
    def help(self) -> str:
        """What it means, and the range that is taken."""
        line = self.line
        if self.attr == ASKED:
            return HELP
        if line.kind not in ("number", "numbers") or line.low is None or line.high is None:
            return line.meaning
        unit = f" {line.unit.word}" if line.unit.word else ""
        return f"{line.meaning}; {line.low:g} to {line.high:g}{unit}"

    @property
    def words(self) -> Mapping[str, str]:
        """What may be chosen, each with its words; nothing where it is typed."""
        if self.attr == "construction":
            return {one.slug: described(one) for one in CONSTRUCTIONS}
        if self.attr == "magnet.grade":
            usual = [one for one in self.line.choices if one in pickup_bars.LIKELY]
            rest = [one for one in self.line.choices if one not in (*usual, "unknown")]
            return {one: grade_words(one) for one in (*usual, *rest)}
        if self.attr == "magnet.charge":
            return {one: charge_words(one) for one in self.line.choices if one != "unknown"}
        if self.attr in SHEETS:
            return {"none": "none", **{one: one.replace("-", " ") for one in SHEET_METALS}}
        if self.attr == "magnet.flipped":
            return {"no": "no, as the other pickups", "yes": "yes: reverse polarity; reverse wound too, it cancels hum"}
        if self.line.kind != "word":
            return {}
        if self.attr == TEMPLATE:
            return {one: circuit_words(one) for one in self.line.choices}
        return {one: one.replace("-", " ") for one in self.line.choices if one != "unknown"}


def circuit_words(template: str) -> str:
    """Return a template of the controls as it is said: "two volumes, two tones, three-way"."""
    pieces = re.findall(r"(?:one|two|three)-(?:volumes?|tones?)|[a-z]+-way|[a-z][a-z-]*", template)
    return ", ".join(one if one.endswith("way") else one.replace("-", " ") for one in pieces)


def described(one: Construction) -> str:
    """Return what a construction is made of, from its own answers: "two coils, slugs and screws, one bar magnet"."""
    coils = {1: "one coil", 2: "two coils"}.get(len(one.rows), f"{len(one.rows)} coils")
    if one.magnet_is_the_pole:
        poles, magnets = "rod magnets as poles", ", a steel plate under them" if one.has_plate else ""
    else:
        names = list(dict.fromkeys(row.pole.name.removeprefix("second ") for row in one.rows))
        poles = " and ".join(names)
        if one.rows[0].pole.is_blade:
            poles = "two blades" if len(one.rows) > 1 else "one blade"
        elif len(one.rows) > 1 and len(names) == 1:
            poles = f"two rows of {poles}"
        magnets = ", one bar magnet" if one.bars == 1 else f", {COUNTED[one.bars]} bar magnets"
    return f"{coils}, {poles}{magnets}"


def wiring_words(one: Construction) -> Mapping[str, str]:
    """Return how the coils of such a pickup can be joined, each in words; of a split, which coil stays on."""
    return {
        way: f"split, the {_coil_words(one, way)} stays on" if one.coil_left_by(way) else way.replace("-", " ")
        for way in one.wirings
    }


def _coil_words(one: Construction, way: Wiring) -> str:
    """Return a coil as a person can tell it from the other: of two rows of screws by which of them is the first."""
    if len([row for row in one.rows if row.pole.turns]) < 2:
        return one.coil_left_by(way)
    return f"coil of the {'first' if one.coil_left_by(way) == one.coils[1] else 'second'} row"


def trade_class(one: Construction) -> str:
    """Return under which plain name of the trade a construction is looked for."""
    if any(row.half for row in one.rows):
        return "split coil, a coil for each half of the strings"
    if any(row.pole.is_blade for row in one.rows):
        return "blades and rails"
    if len(one.rows) > 1:
        return "humbucker, two coils beside one another"
    if one.magnet_is_the_pole:
        return "single coil with rod magnets"
    return "single coil with steel poles and bars"


def _asked(of: Literal["guitar", "pickup", "controls"], *attrs: str, more: bool = False) -> tuple[Question, ...]:
    return tuple(Question(attr=one, of=of, more=more) for one in attrs)


OF_PICKUP = (
    *_asked("pickup", "position", "construction", "magnet.grade", "gap_bass", "gap_treble", "resistance"),
    *_asked(
        "pickup",
        "magnet.charge",
        "wound",
        "magnet.flipped",
        "coil.wire_awg",
        "distance_from_bridge",
        "wiring",
        more=True,
    ),
    *_asked("pickup", *SHEETS),
)
_SIZES = (
    "poles.count", "poles.pole_spacing", "poles.row_offset", "poles.rod_diameter", "poles.rod_lengths",
    "poles.slug_diameter",
    "poles.slug_height", "poles.screw_diameter", "poles.head_diameter", "poles.blade_thickness", "poles.blade_length",
    "poles.blade_bottom", "poles.blade_top", "poles.plate_thickness", "poles.plate_width", "poles.plate_length",
    "poles.keeper_x_min", "poles.keeper_x_max", "poles.keeper_length", "magnet.length", "magnet.width",
    "magnet.thickness", "magnet.outer_width", "coil.inner_half_x", "coil.inner_half_y", "coil.outer_half_x",
    "coil.outer_half_y", "coil.bottom", "coil.top",
)  # fmt: skip
SIZES = _asked("pickup", *_SIZES, more=True)
"""Sizes of the parts of a pickup, for who has a caliper; each construction has some of them: `sizes_of`."""


def sizes_of(one: Construction) -> tuple[Question, ...]:
    """Return the sizes that a pickup built so has."""
    return tuple(size for size in SIZES if not size.attr.startswith(one.lacks))


OF_GUITAR = (
    *_asked("guitar", "name", STRINGS, "tuning", "scale_length"),
    *_asked("guitar", "string_age", "fingerboard_radius", more=True),
)
OF_CONTROLS = tuple(
    one for one in (
        *_asked("controls", TEMPLATE, "controls.volume_pot", "controls.tone_pot", "controls.tone_cap"),
        *_asked("controls", ASKED, "controls.volume_setting", "controls.tone_setting", "controls.push_pull",
                "controls.cable_capacitance", "controls.input_resistance", more=True),
    ) if one.attr == ASKED or one.attr.removeprefix("controls.") in {line.attr for line in CONTROL_KEYS}
)  # fmt: skip
QUESTIONS = (*OF_GUITAR, *OF_PICKUP, *OF_CONTROLS)
"""What is asked of every guitar; sizes are not."""


def question_at(path: str) -> tuple[str, int | None]:
    """Return the attribute of the question that a fault or caution belongs to, and the place of its pickup.

    ``path`` is that of a guitar file. ("", place) where no question asks for it.
    """
    head, _, rest = path.partition("].")
    place = int(head.removeprefix("pickups[").rstrip("]")) if head.startswith("pickups[") else None
    inner = rest if place is not None else path
    if place is None and inner.split("[")[0] in ("strings", "string_set"):
        return STRINGS, None
    if place is None and inner.split("[")[0] == ASKED:
        return ASKED, None
    of = (*OF_PICKUP, *SIZES) if place is not None else (*OF_GUITAR, *OF_CONTROLS)
    for one in (one for one in of if one.attr != ASKED):
        if one.attr in SHEETS:
            if re.split(r"[.\[]", inner)[0] == one.attr:
                return one.attr, place
            continue
        home = one.attr.rpartition(".")[0]
        name = inner.partition("[")[0] if not home or one.line.kind == "texts" else inner
        start = f"{home}." if home else ""
        known = {start + key for key in (*one.line.names(), one.line.stem, *one.line.aliases)}
        if name in known or (one.attr == "coil.wire_awg" and inner.endswith("wire_awg")):
            return one.attr, place
    return "", place
