"""Every lever of the bench in one table: how its value reads, what it does, what the job is.

``lower`` always makes gaps larger and ``raise`` smaller; a screw goes ``up`` (anticlockwise, nearer to its
string) or ``down``; ``tilt`` names the side that comes up. No value can be read both ways.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import product
from typing import Any, get_args

from polepiece.guitar import (
    OWN,
    SHEET_METALS,
    Guitar,
    charge_words,
    controls_of,
    grade_words,
    owner_of,
    parameter_of,
    row_gaps,
    show,
)
from polepiece.moves import by_hand as hands
from polepiece.moves import lever_acts as acts
from polepiece.moves import lever_values as values
from polepiece.moves.by_hand import Hand, Movement, marked_farad, marked_ohm, pickup_words
from polepiece.moves.lever_acts import Act, RowOfScrews
from polepiece.moves.lever_values import Read, Value

To = Callable[[Guitar, int, Value], str]
ROWS: tuple[RowOfScrews, ...] = tuple(row for row in get_args(RowOfScrews) if row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One lever: its key, how its value reads, what it does, and what the job is."""

    key: str
    kind: str
    read: Read
    act: Act
    direction: str  # "" = told by the value
    to: To
    example: str
    free: bool = False
    opens_pickup: bool = False
    solder: bool = False
    minutes: int = 5
    cost: str = "none"
    risk: str = "low"
    way_back: str = "turn it back"
    strings_off: bool = False
    attr: str = ""  # of the controls, where it is one of them
    tries: tuple[str, ...] = ()  # values that a plan tries, those that are sold or set (common practice, no source)
    hand: Hand | None = None  # how it is done by hand; None: told by direction and outcome
    loses: Mapping[Value, str] = field(default_factory=dict)  # by value ("" any other): what is gone then, for a player

    @property
    def own(self) -> bool:
        """Whether a pickup may have one for itself: "bridge volume=7"."""
        return self.attr in OWN

    def by_hand(self, before: Guitar, after: Guitar, pickup: str, value: Value) -> Movement:
        """Return what a hand does, in words."""
        if self.hand is not None:
            return self.hand(before, after, pickup, value)
        place = after.pickups.index(after.pickup(pickup))
        move = f"{self.direction} {self.to(after, place, value)}".strip()
        return Movement(move=move, whose="" if self.attr else pickup_words(pickup))

    def lost(self, value: Value) -> str:
        """Return what a player misses afterwards; empty where nothing is gone."""
        return self.loses.get(value if isinstance(value, (str, type(None))) else "", self.loses.get("", ""))


# ---------------------------------------------------------------- words of the outcome


def _to_gaps(guitar: Guitar, place: int, _: Value) -> str:
    pickup = guitar.pickups[place]
    return f"gap bass {pickup.gap_bass * 1e3:.3g} mm, treble {pickup.gap_treble * 1e3:.3g} mm"


def _to_screws(*numbers: int, row: RowOfScrews = "") -> To:
    """Say where these screws (none named = all) of a row are afterwards."""

    def to(guitar: Guitar, place: int, _: Value) -> str:
        pickup = guitar.pickups[place]
        raised = getattr(pickup.poles, acts.turned_by(pickup, row))
        gaps = row_gaps(pickup, raised)
        turned = numbers or range(1, pickup.poles.count + 1)
        ups = ", ".join(f"{raised[one - 1] / pickup.poles.screw_pitch:+.2f}" for one in turned)
        gap = ", ".join(f"{gaps[one - 1] * 1e3:.2f}" for one in turned)
        which = f"screw {numbers[0]}" if len(numbers) == 1 else "screws, string 1 first,"
        which = f"{row} row: {which}" if row else which
        return f"{which} at {ups} turn from the drawn height (+ is up, anticlockwise), gap {gap} mm"

    return to


def _to_magnet(guitar: Guitar, place: int, _: Value) -> str:
    magnet = guitar.pickups[place].magnet
    turned = ", turned end for end" if magnet.flipped else ""
    surface = magnet.finish.replace("-", " ")
    return f"{grade_words(magnet.grade)}, {surface}, {charge_words(str(magnet.charge))}{turned}"


def _to_word(words: str) -> To:
    return lambda _guitar, _place, value: f"{words} {value}"


def _to_side(guitar: Guitar, place: int, side: Value) -> str:
    return f"{guitar.pickups[place].built.what_faces} to the {side}"


def _to_control(words: str, attr: str) -> To:
    key = parameter_of(f"controls.{attr}")

    def to(guitar: Guitar, place: int, set_to: Value) -> str:
        pickup = guitar.pickups[place].name
        netlist = bool(guitar.controls.elements) and attr in OWN
        value = set_to if netlist else getattr(controls_of(guitar, pickup), attr)
        own = not netlist and owner_of(guitar, attr, pickup) is not None
        whose = f"{pickup}: " if own else ""
        if value is None:
            return f"{whose}no {words}"
        if isinstance(value, str):
            return f"{whose}{words} {value}"
        return f"{whose}{words} {show(Decimal(repr(value)) / key.unit.factor)} {key.unit.word}".rstrip()

    return to


# ---------------------------------------------------------------- the table

_OPEN: Mapping[str, Any] = {
    "opens_pickup": True,
    "strings_off": True,
    "minutes": 45,
    "risk": "medium: coil leads, wax, cover",
}
_BAR_BACK = "old bar bagged and marked, back in the same way round"
POTS = ("250k", "300k", "500k", "1M")
_SOLDER: Mapping[str, Any] = {"solder": True, "minutes": 20, "way_back": "keep the old part, solder it back"}
_LEADS: Mapping[str, Any] = {"solder": True, "minutes": 20, "way_back": "solder the leads back"}


def _height(key: str, sign: int, *, bass: bool, treble: bool) -> Lever:
    act = acts.move_body(sign, bass=bass, treble=treble)
    way = "lower" if sign > 0 else "raise"
    part = "" if bass and treble else "bass side" if bass else "treble side"
    return Lever(
        key=key,
        kind="height",
        read=values.read_distance,
        act=act,
        direction=way,
        to=_to_gaps,
        free=True,
        example=f"{key}=0.5mm",
        hand=hands.side(part, "down" if sign > 0 else "up"),
    )


def _screw(key: str, *numbers: int, row: RowOfScrews = "") -> Lever:
    example = f"{key}=up 0.5 turn"
    act = acts.turn_screws(*numbers, row=row)
    return Lever(
        key=key,
        kind="screws",
        read=values.read_screw,
        act=act,
        direction="",
        to=_to_screws(*numbers, row=row),
        free=True,
        example=example,
        hand=hands.turned(*numbers, row=row),
    )


def _control(key: str, kind: str, words: str, example: str, *attrs: str, **job: Any) -> Lever:
    read, act, to = values.read_control(attrs[0]), acts.set_controls(*attrs), _to_control(words, attrs[0])
    return Lever(
        key=key,
        kind=kind,
        read=read,
        act=act,
        direction=job.pop("direction", "fit"),
        to=to,
        example=example,
        attr=attrs[0],
        **job,
    )


_ALL: tuple[Lever, ...] = (
    # The order is the order in which a bench works, and in which changes are applied.
    Lever(
        key="magnet", kind="magnet", read=values.read_grade, act=acts.swap_magnet, direction="swap", to=_to_magnet,
        example="magnet=alnico-3", cost="one bar", way_back=_BAR_BACK, **_OPEN,
        hand=hands.bar_in,
    ),
    Lever(
        key="finish", kind="magnet", read=values.one_of("polished", "rough-cast"), act=acts.swap_finish,
        direction="swap", to=_to_magnet, example="finish=rough-cast", cost="one bar", way_back=_BAR_BACK, **_OPEN,
        hand=hands.bar_in,
    ),
    Lever(
        key="flip", kind="flip", read=values.one_of("yes"), act=acts.flip_magnet, direction="turn over",
        to=_to_magnet, example="flip=yes", way_back="turn it over again", **_OPEN,
        hand=hands.bar_turned,
    ),
    Lever(
        key="charge", kind="charge", read=values.read_charge, act=acts.recharge, direction="recharge", to=_to_magnet,
        example="charge=in-place", minutes=30, cost="a magnetiser",
        risk="high: the aged state of the magnet is gone", way_back="none",
        hand=hands.recharged,
    ),
    Lever(
        key="cover", kind="cover", read=values.one_of("on", "off", *SHEET_METALS), act=acts.put_cover, direction="",
        to=_to_word("cover"), example="cover=off", solder=True, opens_pickup=True, strings_off=True, minutes=60,
        cost="none, or one cover", risk="medium: heat, wax, squeal", way_back="solder the cover back on",
        hand=hands.covered, loses={"off": "less shielding against hum", "": "may squeal at high gain"},
    ),
    Lever(
        key="wiring", kind="wiring",
        read=values.one_of("series", "parallel", "split-screws", "split-slugs", "out-of-phase"), act=acts.rewire,
        direction="connect", to=_to_word("wiring"), example="wiring=parallel", **_LEADS,
        hand=hands.rewired,
    ),
    Lever(
        key="screws_face", kind="orientation", read=values.one_of("neck", "bridge"), act=acts.turn_round,
        direction="turn round", to=_to_side, example="screws_face=bridge", free=True, minutes=20,
        strings_off=True, way_back="turn it round again",
        hand=hands.faced,
    ),
    _height("lower", +1, bass=True, treble=True),
    _height("raise", -1, bass=True, treble=True),
    _height("lower_bass", +1, bass=True, treble=False),
    _height("raise_bass", -1, bass=True, treble=False),
    _height("lower_treble", +1, bass=False, treble=True),
    _height("raise_treble", -1, bass=False, treble=True),
    Lever(
        key="tilt", kind="height", read=values.read_tilt, act=acts.tilt_body, direction="tilt", to=_to_gaps,
        example="tilt=treble up 0.3mm", free=True, way_back="turn both screws back",
        hand=hands.tilted,
    ),
    Lever(
        key="body_down_screws_up", kind="height", read=values.read_distance, act=acts.body_down_screws_up,
        direction="lower", to=_to_screws(), example="body_down_screws_up=0.5mm", free=True, minutes=10,
        hand=hands.body_down,
    ),
    _screw("screws"),
    *(_screw(f"screw{number}", number) for number in range(1, 13)),
    *(  # of two rows of screws, each by the end of the strings that it is nearer to
        _screw(f"{row}_screw{number or 's'}", *((number,) if number else ()), row=row)
        for row, number in product(ROWS, range(13))
    ),
    _control(
        "volume", "settings", "volume at", "volume=9", "volume_setting", free=True, minutes=1, direction="set",
        tries=("9", "8", "7", "6"),
        hand=hands.control("volume_setting", "volume", hands.at),
    ),
    _control(
        "tone", "settings", "tone at", "tone=8", "tone_setting", free=True, minutes=1, direction="set",
        tries=("9", "8", "7", "6", "5", "4", "3", "2"),
        hand=hands.control("tone_setting", "tone", hands.at),
    ),
    _control(
        "selector", "settings", "selector on", "selector=both", "selector", free=True, minutes=1, direction="set",
        hand=hands.control("selector", "selector", hands.at),
    ),
    _control(
        "cable", "cable", "cable of", "cable=300pF", "cable_capacitance", cost="a cable",
        tries=("200pF", "300pF", "400pF", "700pF", "1000pF"), minutes=1, way_back="plug the old one in",
        hand=hands.cabled,
    ),
    _control(
        "input", "input", "input of", "input=500k", "input_resistance", cost="another input", minutes=1,
        way_back="plug back",
        hand=hands.control("input_resistance", "input of", marked_ohm),
    ),
    _control(
        "shunt", "shunt", "resistor across the pickup", "shunt=220k", "shunt_resistor", cost="one resistor",
        minutes=10, tries=("100k", "150k", "220k", "330k", "470k"), way_back="unclip it",
        hand=hands.control("shunt_resistor", "resistor across the leads,", marked_ohm),
    ),
    _control(
        "volume_pot", "pots", "volume pot", "volume_pot=250k", "volume_pot", "volume_pot_measured", cost="one pot",
        tries=POTS, **_SOLDER,
        hand=hands.control("volume_pot", "volume pot", marked_ohm),
    ),
    _control(
        "tone_pot", "pots", "tone pot", "tone_pot=250k", "tone_pot", "tone_pot_measured", cost="one pot",
        tries=(*POTS, "none"), **_SOLDER,
        hand=hands.control("tone_pot", "tone pot", marked_ohm, gone="taken out of the circuit"),
        loses={None: "no tone control any more"},
    ),
    _control(
        "tone_cap", "capacitor", "tone capacitor", "tone_cap=10n", "tone_cap", cost="one capacitor",
        tries=("4.7nF", "10nF", "15nF", "22nF", "33nF", "47nF"), **_SOLDER,
        hand=hands.control("tone_cap", "tone capacitor", marked_farad),
    ),
    _control(
        "tone_tap", "wiring", "tone control tapped", "tone_tap=after", "tone_tap", direction="connect",
        tries=("after", "before"), **_LEADS,
        hand=hands.control("tone_tap", "tone control tapped", hands.at),
    ),
    _control(
        "bleed", "bleed", "treble bleed", "bleed=150p", "bleed_cap", cost="one capacitor",
        tries=("150pF", "330pF", "680pF", "1nF", "none"), **_SOLDER,
        hand=hands.control("bleed_cap", "treble bleed", marked_farad, way=" across the volume pot"),
    ),
    _control(
        "bleed_resistor", "bleed", "bleed resistor", "bleed_resistor=150k", "bleed_resistor", cost="one resistor",
        **_SOLDER,
        hand=hands.control("bleed_resistor", "bleed resistor", marked_ohm, way=" beside the bleed capacitor"),
    ),
    Lever(
        key="strings", kind="strings", read=values.read_string_set, act=acts.fit_strings, direction="fit",
        to=_to_word("strings"), example="strings=11-49", tries=("9-42", "10-46", "11-49", "12-54"), cost="one set",
        minutes=30, strings_off=True, way_back="the old gauge again",
        hand=hands.strung, loses={"": "action and intonation to redo"},
    ),
    Lever(
        key="string_wrap", kind="strings",
        read=values.one_of("nickel-plated-steel", "pure-nickel", "stainless", "bronze"), act=acts.fit_wrap,
        direction="fit", to=_to_word("wound strings of"), example="string_wrap=pure-nickel",
        tries=("nickel-plated-steel", "pure-nickel", "stainless"), cost="one set", minutes=30, strings_off=True,
        way_back="the old material again",
    ),
)  # fmt: skip

LEVERS: dict[str, Lever] = {lever.key: lever for lever in _ALL}
ORDER: dict[str, int] = {lever.key: place for place, lever in enumerate(_ALL)}
