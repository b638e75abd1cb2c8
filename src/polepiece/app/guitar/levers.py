"""The fields of a guitar that can be changed, each made of the same levers as the command line.

A field shows what is there, takes what is typed or chosen, and turns it into ``key=value`` moves; whether they can be
made is decided where the command line decides it, and its words appear under the field.
"""

import re
from collections.abc import Awaitable, Callable, Mapping, Sequence

from nicegui import ui

from polepiece.app.guitar.drawing import STEP_MM
from polepiece.app.sheet import bench_units
from polepiece.app.widgets.controls import Amount, Choice, Fault, amount, choice, press, text
from polepiece.errors import PolepieceError
from polepiece.guitar import Controls, Guitar, Pickup, controls_of, parameter_of
from polepiece.materials import catalogue
from polepiece.moves import plainly
from polepiece.shown_number import number
from polepiece.typed_number import NUMBER

Move = Callable[[Sequence[str]], Awaitable[None]]

WIRINGS = {"series": "series", "parallel": "parallel", "out-of-phase": "out of phase"}
CHARGES = {"outside": "charged outside, then put in", "in-place": "charged in place", "unknown": "charge unknown"}
SWAP_NOTE = (
    "A bar that is swapped comes charged outside; choose charged in place if it is charged after assembly. Judge "
    "a swap at its re-set height, not at the old one."
)
COVERS = {"off": "none", "nickel-silver": "nickel silver", "brass": "brass"}
STRING_SETS = ("9-42", "10-46", "11-49", "12-54")


def wirings_of(pickup: Pickup) -> dict[str, str]:
    """Return the wirings that a pickup can have and what they are called."""
    built = pickup.built
    return {one: WIRINGS.get(one) or f"split: {built.coil_left_by(one)} alone" for one in built.wirings}


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
    def heights(self) -> None:
        """Gaps of both ends, and every pole screw."""
        text("h2", "Height")
        text("p", "Gap: string pressed at the last fret, its underside to the pole top.", "soft small")
        for side in ("bass", "treble"):
            self._gap(side)
        if self.chosen.built.has_screws:
            text("h3", "Pole screws")
            fault = Fault()
            with ui.element("div").classes("screws"):
                for k in range(self.chosen.poles.count):
                    self._screw(k + 1, fault)

    def _gap(self, side: str) -> None:
        attr = f"gap_{side}"

        async def typed(value: str) -> None:
            try:
                wanted = 1e-3 * bench_units.read(value, bench_units.GAP)
            except PolepieceError as error:
                fault.show(error)
                return
            await self.do(height_moves(side, getattr(self.chosen, attr), wanted), fault)

        with ui.element("div").classes("row gap-row"):
            box = amount(f"gap, {side} side, mm", "", typed, mark=f"gap-{side}")
            press(
                f"raise {STEP_MM:g} mm", lambda: self.do([f"raise_{side}={STEP_MM:g}mm"], fault), mark=f"raise-{side}"
            )
            press(
                f"lower {STEP_MM:g} mm", lambda: self.do([f"lower_{side}={STEP_MM:g}mm"], fault), mark=f"lower-{side}"
            )
        fault = Fault()
        self._keep(box, lambda: f"{1e3 * getattr(self.chosen, attr):.2f}")

    def _screw(self, screw: int, fault: Fault) -> None:
        step = "0.125 turn"
        with ui.element("div").classes("screw"):
            text("span", f"screw {screw}", "name")
            where = text("span", "", "where")
            press("up ⅛ turn", lambda: self.do([f"screw{screw}=up {step}"], fault), cls="quiet", mark=f"up-{screw}")
            press(
                "down ⅛ turn", lambda: self.do([f"screw{screw}=down {step}"], fault), cls="quiet", mark=f"down-{screw}"
            )
        self._showers.append(
            lambda: where.say(turns(self.chosen.poles.screw_raise[screw - 1], self.chosen.poles.screw_pitch))
        )
        self._showers[-1]()

    # --- magnet ------------------------------------------------------------------------------------
    def magnet(self) -> None:
        """Grade, finish, charge, and the way round."""
        text("h2", "Magnet")
        fault = Fault()
        grades = {one.slug: one.name for one in catalogue.magnets()}
        with ui.element("div").classes("row"):
            self._choice("grade", lambda: self._with_present(grades, self.chosen.magnet.grade),
                         lambda: self.chosen.magnet.grade, "magnet", fault)  # fmt: skip
            self._choice("surface", lambda: {"polished": "polished", "rough-cast": "rough cast"},
                         lambda: self.chosen.magnet.finish, "finish", fault)  # fmt: skip
            self._choice("charge", self._charges, lambda: str(self.chosen.magnet.charge), "charge", fault)
            press("turn the bar end for end", lambda: self.do(["flip=yes"], fault), mark="flip")
        way = text("p", "", "soft small")
        self._showers.append(lambda: way.say(_way_round(self.chosen)))
        self._showers[-1]()
        text("p", SWAP_NOTE, "soft small")

    def _charges(self) -> dict[str, str]:
        charge = self.chosen.magnet.charge
        if isinstance(charge, float):
            return CHARGES | {str(charge): f"{100 * charge:.0f} % charged"}
        return CHARGES

    # --- controls ----------------------------------------------------------------------------------
    def controls(self) -> None:
        """Pots, capacitors, cable, wiring, cover, strings."""
        text("h2", "Controls, cable and wiring")
        fault = Fault()
        with ui.element("div").classes("row"):
            for key, label, attr in _CONTROLS:
                self._control(key, label, attr, fault)
            self._choice("tone taken", lambda: {"before": "before the volume", "after": "after the volume"},
                         lambda: controls_of(self.guitar, self.chosen.name).tone_tap, "tone_tap", fault)  # fmt: skip
            if len(self.chosen.built.wirings) > 1:
                self._choice("wiring", lambda: wirings_of(self.chosen), lambda: self.chosen.wiring, "wiring", fault)
            if self.chosen.built.screws_on_one_side:
                self._choice("screws to the", lambda: {"neck": "neck", "bridge": "bridge"},
                             lambda: self.chosen.screws_face, "screws_face", fault)  # fmt: skip
            self._choice("cover", lambda: COVERS, self._cover, "cover", fault)
            sets = {one: one for one in STRING_SETS}
            self._choice("string set", lambda: self._with_present(sets, self.guitar.string_set),
                         lambda: self.guitar.string_set, "strings", fault)  # fmt: skip

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
