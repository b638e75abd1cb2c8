"""The fields of a guitar that can be changed, each made of the same levers as the command line.

A field shows what is there, takes what is typed or chosen, and turns it into ``key=value`` moves; whether they can be
made is decided where the command line decides it, and its words appear under the field.
"""

import re
from collections.abc import Awaitable, Callable, Mapping, Sequence
from functools import partial

from nicegui import ui

from polepiece.app.guitar.drawing import STEP_MM
from polepiece.app.sheet import bench_units
from polepiece.app.widgets.controls import Amount, Choice, Fault, amount, choice, press, text
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Controls, Guitar, Pickup, controls_of, parameter_of, wiring_words
from polepiece.materials import catalogue
from polepiece.moves import apply, parse_changes, plainly
from polepiece.shown_number import MINUS, number, true_minus
from polepiece.typed_number import NUMBER, typed_number

MOST_TURNS = 6  # typed; how far a screw goes is decided where the move is made
_TURNS = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)\s+)?(?P<top>\d+)\s*/\s*(?P<under>\d+)|(?P<plain>\d+(?:[.,]\d+)?|[.,]\d+))"
)
Move = Callable[[Sequence[str]], Awaitable[None]]

CHARGES = {"outside": "charged outside, then put in", "in-place": "charged in place", "unknown": "charge unknown"}
SWAP_NOTE = (
    "A bar that is swapped comes charged outside; choose charged in place if it is charged after assembly. Judge "
    "a swap at its re-set height, not at the old one."
)
COVERS = {"off": "none", "nickel-silver": "nickel silver", "brass": "brass"}
FINISHES = {"polished": "polished", "rough-cast": "rough cast"}
STRING_SETS = {one: one for one in ("9-42", "10-46", "11-49", "12-54")}


def wirings_of(pickup: Pickup) -> dict[str, str]:
    """Return the wirings that a pickup can have and what they are called."""
    return dict(wiring_words(pickup.built))


def covers_of(guitar: Guitar, pickup: str) -> dict[str, str]:
    """Return the covers to choose from: what is there, and metals where such a pickup takes one and no string touches.

    One entry alone, none, where there is nothing to choose.
    """
    chosen = guitar.pickup(pickup)
    there = "off" if chosen.cover is None else chosen.cover.material
    known = COVERS if there != "off" or chosen.built.takes_metal_cover else {}
    return makeable(guitar, pickup, "cover", {there: COVERS.get(there, there), **known}, there)


def makeable(guitar: Guitar, pickup: str, key: str, options: Mapping[str, str], present: str) -> dict[str, str]:
    """Return what is there and, of the options of a lever, those that it does not refuse for this very pickup."""
    out = {}
    for value, words in options.items():
        try:
            if value != present:
                apply(guitar, pickup, parse_changes([f"{key}={value}"]))
        except PolepieceError:
            continue
        out[value] = words
    return out


def height_moves(side: str, now: float, wanted: float) -> list[str]:
    """Return the move that brings a gap ("bass" or "treble") from ``now`` to ``wanted``, both in m."""
    apart = 1e3 * (wanted - now)
    if abs(apart) < 5e-4:
        return []
    return [f"{'lower' if apart > 0 else 'raise'}_{side}={abs(apart):.3f}mm"]


def screw_moves(screw: int, now: float, wanted: float) -> list[str]:
    """Return the move that brings a screw from ``now`` to ``wanted`` above its drawn height, both in m."""
    apart = 1e3 * (wanted - now)
    if abs(apart) < 5e-4:
        return []
    return [f"screw{screw}={'up' if apart > 0 else 'down'} {abs(apart):.4f} mm"]


def turns(up: float, screw_pitch: float) -> str:
    """Return a screw's height as turns from the drawn one; m, m a turn."""
    count = up / screw_pitch
    if abs(count) < 0.005:
        return "as drawn"
    shown = number(abs(count), 3).rstrip("0").rstrip(".")
    return f"{shown} turn {'up' if count > 0 else 'down'}"


def turns_shown(up: float, screw_pitch: float) -> str:
    """Return a screw's height as a field shows it: turns up from the drawn one; m, m a turn."""
    count = round(up / screw_pitch, 3)
    return true_minus(f"{count:+g}") if abs(count) >= 0.005 else "0"


def turns_typed(said: str) -> float:
    """Read turns up from the drawn height: "0.25", "+1/8", "-1 1/4", "½ down".

    Raises
    ------
    InputError
        When it is no number of turns that a screw has.
    """
    plain = said.strip().lower().replace(MINUS, "-").removesuffix("turns").removesuffix("turn").strip()
    for letter, words in {"⅛": " 1/8", "¼": " 1/4", "½": " 1/2", "¾": " 3/4"}.items():
        plain = plain.replace(letter, words)
    down = plain.endswith("down")
    found = _TURNS.fullmatch(plain.removesuffix("down").removesuffix("up").strip())
    if found is None or found["under"] == "0":
        raise InputError(f"{said.strip()!r:.60} is no number of turns; write turns up, such as 0.25, -1/8 or 1 1/4.")
    count = float(found["whole"] or 0) + (int(found["top"]) / int(found["under"]) if found["top"] else 0.0)
    count = float(typed_number(found["plain"])) if found["plain"] else count
    if count > MOST_TURNS:
        raise InputError(f"{said.strip()!r:.60} is more than {MOST_TURNS} turns. Is it in millimetres?")
    return -count if down or found["sign"] == "-" else count


class Levers:
    """All fields of one pickup and its guitar.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    move : callable
        Awaited with the moves; raises `PolepieceError` in words.
    """

    def __init__(self, guitar: Guitar, pickup: str, move: Move) -> None:
        self.guitar, self.pickup, self._move = guitar, pickup, move
        self._showers: list[Callable[[], None]] = []

    @property
    def chosen(self) -> Pickup:
        """The pickup as it is now."""
        return self.guitar.pickup(self.pickup)

    def show(self, guitar: Guitar) -> None:
        """Show what is there now in every field."""
        self.guitar = guitar
        for one in self._showers:
            one()

    async def do(self, moves: Sequence[str], fault: Fault) -> None:
        """Make moves; what is refused is said under the field, which shows again what is there."""
        fault.clear()
        try:
            await self._move(moves)
        except PolepieceError as error:
            fault.show(plainly(str(error)))
            self.show(self.guitar)

    # --- heights -----------------------------------------------------------------------------------
    @property
    def screws(self) -> int:
        """How many poles of it can be turned."""
        return self.chosen.poles.count if self.chosen.built.has_screws else 0

    def gap_field(self, side: str, fault: Fault) -> Amount:
        """Return the field of one end's gap."""
        attr = f"gap_{side}"

        async def typed(value: str) -> None:
            try:
                wanted = 1e-3 * bench_units.read(value, bench_units.GAP)
            except PolepieceError as error:
                fault.show(error)
                return
            await self.do(height_moves(side, getattr(self.chosen, attr), wanted), fault)

        box = amount(f"gap, {side} side, mm", "", typed, mark=f"gap-{side}")
        self._keep(box, lambda: f"{1e3 * getattr(self.chosen, attr):.2f}")
        return box

    def screw_field(self, screw: int, fault: Fault) -> Amount:
        """Return the field of one pole screw: turns up from the drawn height."""

        async def typed(value: str) -> None:
            poles = self.chosen.poles
            try:
                wanted = turns_typed(value) * poles.screw_pitch
            except PolepieceError as error:
                fault.show(error)
                return
            await self.do(screw_moves(screw, poles.screw_raise[screw - 1], wanted), fault)

        box = amount(f"screw {screw}, turns up", "", typed, mark=f"screw-{screw}").classes("turns")
        self._keep(box, lambda: turns_shown(self.chosen.poles.screw_raise[screw - 1], self.chosen.poles.screw_pitch))
        return box

    def steps(self) -> None:
        """Both ends and every screw by one step at a time, for hands that would rather press than type."""
        fault = Fault()
        with ui.element("div").classes("screws"):
            for side in ("bass", "treble"):
                self._steps(f"{side} side", side, f"{STEP_MM:g} mm", fault)
            for screw in range(1, self.screws + 1):
                self._screw(screw, fault)

    def _steps(self, words: str, side: str, step: str, fault: Fault) -> None:
        with ui.element("div").classes("screw"):
            text("span", words, "name")
            where = text("span", "", "where")
            for way in ("raise", "lower"):
                act = partial(self.do, [f"{way}_{side}={step.replace(' ', '')}"], fault)
                press(f"{way} {step}", act, cls="quiet", mark=f"{way}-{side}")
        self._showers.append(lambda: where.say(f"{1e3 * getattr(self.chosen, f'gap_{side}'):.2f} mm"))
        self._showers[-1]()

    def _screw(self, screw: int, fault: Fault) -> None:
        step = "0.125 turn"
        with ui.element("div").classes("screw"):
            text("span", f"screw {screw}", "name")
            where = text("span", "", "where")
            for way in ("up", "down"):
                act = partial(self.do, [f"screw{screw}={way} {step}"], fault)
                press(f"{way} ⅛ turn", act, cls="quiet", mark=f"{way}-{screw}")
        self._showers.append(
            lambda: where.say(turns(self.chosen.poles.screw_raise[screw - 1], self.chosen.poles.screw_pitch))
        )
        self._showers[-1]()

    # --- magnet ------------------------------------------------------------------------------------
    def grade(self) -> None:
        """The grade alone, where magnets can be exchanged."""
        fault = Fault()
        grades = {one.slug: one.name for one in catalogue.magnets()}
        self._choice(
            "magnets" if self.chosen.built.magnet_is_the_pole else "bar",
            lambda: self._with_present(grades, self.chosen.magnet.grade), lambda: self.chosen.magnet.grade, "magnet",
            fault,
        )  # fmt: skip

    def magnet(self) -> None:
        """Finish, charge, and the way round, as far as it has them."""
        fault = Fault()
        with ui.element("div").classes("row"):
            self._choice("surface", lambda: self._makeable("finish", FINISHES, self.chosen.magnet.finish),
                         lambda: self.chosen.magnet.finish, "finish", fault)  # fmt: skip
            self._choice("charge", self._charges, lambda: str(self.chosen.magnet.charge), "charge", fault)
            if self.chosen.built.bars:
                press("turn the bar end for end", lambda: self.do(["flip=yes"], fault), mark="flip", once=True)
        if self.chosen.built.bars:
            way = text("p", "", "soft small")
            self._showers.append(lambda: way.say(_way_round(self.chosen)))
            self._showers[-1]()
            text("p", SWAP_NOTE, "soft small")

    def _charges(self) -> dict[str, str]:
        charge = self.chosen.magnet.charge
        if isinstance(charge, float):
            return self._makeable("charge", CHARGES | {str(charge): f"{100 * charge:.0f} % charged"}, str(charge))
        return self._makeable("charge", CHARGES, charge)

    # --- controls ----------------------------------------------------------------------------------
    def controls(self) -> None:
        """Pots, capacitors, cable, wiring, cover, strings: what there is; what could be added is folded below it."""
        fault = Fault()
        there = [one for one in _CONTROLS if self._has(one[2])]
        absent = [one for one in _CONTROLS if one not in there]
        with ui.element("div").classes("row"):
            for key, label, attr in there:
                self._control(key, label, attr, fault)
            if self._has("tone_pot"):
                taken = {"before": "before the volume", "after": "after the volume"}
                self._choice(
                    "tone taken", lambda: taken, lambda: controls_of(self.guitar, self.chosen.name).tone_tap,
                    "tone_tap", fault,
                )  # fmt: skip
            if len(self.chosen.built.wirings) > 1:
                self._choice("coils", lambda: wirings_of(self.chosen), lambda: self.chosen.wiring, "wiring", fault)
            if self.chosen.built.screws_on_one_side:
                faces = {"neck": "towards the neck", "bridge": "towards the bridge"}
                self._choice(self.chosen.built.faces, lambda: faces,
                             lambda: self.chosen.screws_face, "screws_face", fault)  # fmt: skip
            if self._cover() != "off":
                self._choice("cover", self._covers, self._cover, "cover", fault)
            self._choice("string set", lambda: self._makeable("strings", self._sets(), self.guitar.string_set),
                         lambda: self.guitar.string_set, "strings", fault)  # fmt: skip
        bare = self._cover() == "off" and len(self._covers()) > 1
        if absent or bare:
            with ui.element("details"):
                text("summary", "What is not fitted, to try it")
                with ui.element("div").classes("row"):
                    for key, label, attr in absent:
                        self._control(key, label, attr, fault)
                    if bare:
                        self._choice("cover", self._covers, self._cover, "cover", fault)

    def _covers(self) -> dict[str, str]:
        return covers_of(self.guitar, self.pickup)

    def _has(self, attr: str) -> bool:
        """Tell whether the guitar has a part; a tone control's capacitor and setting go with its pot."""
        controls = controls_of(self.guitar, self.chosen.name)
        if attr in ("tone_cap", "tone_setting"):
            attr = "tone_pot"
        if attr == "volume_setting":
            attr = "volume_pot"
        return getattr(controls, attr) is not None

    def _cover(self) -> str:
        return "off" if self.chosen.cover is None else self.chosen.cover.material

    def _control(self, key: str, label: str, attr: str, fault: Fault) -> None:
        unit = parameter_of(f"controls.{attr}").unit.word

        async def typed(value: str) -> None:
            bare = re.fullmatch(NUMBER, value.strip()) is not None
            await self.do([f"{key}={value.strip() or 'none'}{unit if bare else ''}"], fault)

        box = amount(label, "", typed, mark=f"control-{key}")
        self._keep(box, lambda: _shown(controls_of(self.guitar, self.chosen.name), attr))

    # --- helpers -----------------------------------------------------------------------------------
    def _makeable(self, key: str, options: Mapping[str, str], present: str) -> dict[str, str]:
        return makeable(self.guitar, self.pickup, key, self._with_present(options, present), present)

    def _sets(self) -> dict[str, str]:
        there = self.guitar.string_set
        return dict(STRING_SETS) if there in STRING_SETS else {there: self.guitar.strings_called, **STRING_SETS}

    @staticmethod
    def _with_present(options: Mapping[str, str], present: str) -> dict[str, str]:
        """Let the present value be among the options although nobody would choose it."""
        return {present: present, **options} if present not in options else dict(options)

    def _choice(
        self, label: str, options: Callable[[], Mapping[str, str]], now: Callable[[], str], key: str, fault: Fault
    ) -> None:
        async def chosen(value: str) -> None:
            if value != now():
                await self.do([f"{key}={value}"], fault)

        box = choice(label, options(), now(), chosen, mark=f"lever-{key}")
        self._showers.append(lambda: _offer(box, options(), now()))

    def _keep(self, box: Amount, now: Callable[[], str]) -> None:
        self._showers.append(lambda: box.show(now()))
        box.show(now())


def _offer(box: Choice, options: Mapping[str, str], value: str) -> None:
    box.offer(options, value)


_CONTROLS: tuple[tuple[str, str, str], ...] = (  # lever, label, attribute
    ("volume_pot", "volume pot", "volume_pot"),
    ("tone_pot", "tone pot", "tone_pot"),
    ("tone_cap", "tone capacitor", "tone_cap"),
    ("bleed", "treble bleed capacitor", "bleed_cap"),
    ("bleed_resistor", "treble bleed resistor", "bleed_resistor"),
    ("shunt", "resistor across the pickup", "shunt_resistor"),
    ("cable", "cable", "cable_capacitance"),
    ("input", "amplifier input", "input_resistance"),
    ("volume", "volume set to (0–10)", "volume_setting"),
    ("tone", "tone set to (0–10)", "tone_setting"),
)


def _shown(controls: Controls, attr: str) -> str:
    value, unit = getattr(controls, attr), parameter_of(f"controls.{attr}").unit
    return "none" if value is None else f"{value / float(unit.factor):.4g} {unit.word.replace('ohm', 'Ω')}".rstrip()


def _way_round(pickup: Pickup) -> str:
    turned = "turned end for end" if pickup.magnet.flipped else "as drawn"
    return f"The bar lies {turned}; turning it changes nothing of this pickup alone, only its phase with others."
