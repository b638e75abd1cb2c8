"""What each lever does to the record: a guitar, the place of a pickup and a value give another guitar."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Literal

from polepiece.coil import Wiring
from polepiece.errors import InputError
from polepiece.guitar import (
    OVER_COVER,
    PLACES,
    Assumption,
    Guitar,
    Magnet,
    Pickup,
    Sheet,
    as_place,
    defaults,
    has_own_poles,
    key_of,
    key_path,
    over_cover,
    owner_of,
    parameter_of,
    pole_words,
    position_named,
    row_gaps,
    safe_gaps,
    string_gaps,
    string_set,
    unchecked,
    with_controls,
)
from polepiece.moves.fit import EPSILON
from polepiece.moves.lever_values import ScrewMove, Value
from polepiece.pickup import rewired_resistance

RowOfScrews = Literal["", "neck", "bridge"]  # of two rows: the one nearer to that end of the strings
MOST_TURNS_UP = 3.0  # engagement of a pole screw ends about here (common practice, no source)
FLANGE = 0.8e-3  # m of bobbin above the winding on which a screw head seats; assumption, 0.5-1.5 mm
_GAP = parameter_of("gap_bass")
LARGEST_GAP = _GAP.in_si(_GAP.high)

Act = Callable[[Guitar, int, Value], Guitar]


def with_pickup(guitar: Guitar, place: int, **values: Any) -> Guitar:
    """Return the guitar with other values in one pickup."""
    pickups = list(guitar.pickups)
    pickups[place] = replace(pickups[place], **values)
    return replace(guitar, pickups=tuple(pickups))


def _on_the_way(guitar: Guitar, place: int, **values: Any) -> Guitar:
    """Return the guitar with other heights in one pickup; who applies all the changes checks the outcome."""
    moved = unchecked(guitar.pickups[place], **values)
    return replace(guitar, pickups=(*guitar.pickups[:place], moved, *guitar.pickups[place + 1 :]))


def _with_magnet(guitar: Guitar, place: int, **values: Any) -> Guitar:
    old = guitar.pickups[place].magnet
    magnet = replace(old, measured_gauss=(), **values)
    known = {name: key_path(place, f"magnet.{name}") for name in values if name != "constants"}
    gone = [key_path(place, "magnet.measured_gauss")]
    gone += [path for name, path in known.items() if values[name] != getattr(old, name)]
    moved = with_pickup(guitar, place, magnet=magnet)
    if any(values[name] != getattr(old, name) for name in ("grade", "finish", "charge") if name in values):
        moved = with_pickup(moved, place, inductance=None)  # read with the other bar; [[measured]] says which
    return _unmeasured(_settled(moved, *known.values()), *gone)


def _settled(guitar: Guitar, *paths: str) -> Guitar:
    """Drop assumptions about values that a change has set."""
    if not any(one.path in paths for one in guitar.assumed):
        return guitar
    return replace(guitar, assumed=tuple(one for one in guitar.assumed if one.path not in paths))


def _unmeasured(guitar: Guitar, *paths: str) -> Guitar:
    """Drop what was measured of values that a change has moved."""
    if not any(one.path in paths for one in guitar.measured):
        return guitar
    return replace(guitar, measured=tuple(one for one in guitar.measured if one.path not in paths))


def _shifted(guitar: Guitar, path: str, by_mm: float, value: str) -> Guitar:
    """Carry an assumption along with a value that a change has moved."""

    def moved(one: Assumption) -> Assumption:
        low = None if one.low is None else round(one.low + by_mm, 9)
        high = None if one.high is None else round(one.high + by_mm, 9)
        return replace(one, value=value, low=low, high=high)

    if not any(one.path == path for one in guitar.assumed):
        return guitar
    return replace(guitar, assumed=tuple(moved(one) if one.path == path else one for one in guitar.assumed))


def move_body(sign: int, *, bass: bool, treble: bool) -> Act:
    """Return the act of a height screw: +1 lowers (gaps grow), -1 raises."""

    def act(guitar: Guitar, place: int, distance: float) -> Guitar:
        pickup = guitar.pickups[place]
        for side, moves in (("gap_bass", bass), ("gap_treble", treble)):
            if not moves:
                continue
            gap = round(getattr(pickup, side) + sign * distance, 12)
            guitar = _on_the_way(guitar, place, **{side: gap})
            guitar = _shifted(guitar, key_path(place, side), sign * distance * 1e3, f"{gap * 1e3:.4g} mm (moved)")
        return guitar

    return act


def tilt_body(guitar: Guitar, place: int, treble_up: float) -> Guitar:
    """Turn the body about its middle: the treble side nearer by ``treble_up`` and the bass side further by as much."""
    sign = -1 if treble_up > 0 else +1
    risen = move_body(sign, bass=False, treble=True)(guitar, place, abs(treble_up))
    return move_body(-sign, bass=True, treble=False)(risen, place, abs(treble_up))


def check_gaps(before: Pickup, after: Pickup, strings: int) -> None:
    """Refuse changes that bring a string under the smallest gap that is ever planned, or past 8 mm.

    Raises
    ------
    InputError
        When a gap has become smaller and is under its limit, or larger and over 8 mm; when a string touches the cover.
    """
    own = has_own_poles(after, strings)
    for number, over in enumerate(over_cover(after), start=1):
        if over < OVER_COVER - EPSILON:
            raise InputError(
                f"{_who(number, own)} of {after.name} would touch the cover: its underside would be "
                f"{over * 1e3:.3g} mm over it; "
                f"under {OVER_COVER * 1e3:.3g} mm (pressed at the last fret) nothing is planned."
            )
    for number, (was, gap, safe) in enumerate(zip(string_gaps(before), string_gaps(after), safe_gaps(after)), start=1):
        far = f"{gap * 1e3:.3g} mm from its pole" if own else f"{gap * 1e3:.3g} mm from {pole_words(number)}"
        if gap < min(safe, was) - EPSILON:
            raise InputError(
                f"{_who(number, own)} of {after.name} would be {far}; "
                f"under {safe * 1e3:.3g} mm (pressed at the last fret) nothing is planned."
            )
        if gap > max(LARGEST_GAP, was) + EPSILON:
            raise InputError(f"{_who(number, own)} of {after.name} would be {far}; at most {LARGEST_GAP * 1e3:.3g} mm.")


def _who(number: int, own: bool) -> str:
    return f"string {number}" if own else "a string"


def _screw_seat(pickup: Pickup) -> float:
    """Return how far down (negative) a screw can go before its head sits on the bobbin, m."""
    return min(pickup.coils[-1].top + FLANGE - pickup.poles.screw_top, 0.0)


def turned_by(pickup: Pickup, row: RowOfScrews) -> str:
    """Return the field of `Poles` that says how far the screws of a row are up; "" is the row that gaps are taken to.

    Raises
    ------
    InputError
        When it has no screws, or one row only and a row is named.
    """
    if not pickup.built.has_screws:
        raise InputError(f"{pickup.name} is a {pickup.built.words}; it has no pole screws to turn.")
    if not row:
        return pickup.built.measured_row.pole.turned_by
    if row not in pickup.screw_rows:
        raise InputError(f"{pickup.name} has one row of screws; leave the row out: screws=, screw3=.")
    return pickup.screw_rows[row]


def turn_screws(*numbers: int, row: RowOfScrews = "") -> Act:
    """Return the act of turning these screws (none named = all) of one row."""

    def act(guitar: Guitar, place: int, move: ScrewMove) -> Guitar:
        pickup = guitar.pickups[place]
        thread = pickup.poles.screw_pitch
        up = move.metres(thread)
        attr = turned_by(pickup, row)
        raised = list(getattr(pickup.poles, attr))
        for number in numbers or range(1, pickup.poles.count + 1):
            if number > pickup.poles.count:
                raise InputError(f"{pickup.name} has {pickup.poles.count} pole screws; there is no screw {number}.")
            height = round(raised[number - 1] + up, 12)
            if height > MOST_TURNS_UP * thread + EPSILON:
                raise InputError(
                    f"screw {number} of {pickup.name} would be {height / thread:.3g} turns up; "
                    f"its thread holds for about {MOST_TURNS_UP:.0f}."
                )
            seat = _screw_seat(pickup)
            if height < seat - EPSILON and up < 0:
                raise InputError(
                    f"screw {number} of {pickup.name} would be {-height / thread:.3g} turns down; "
                    f"its head sits on the bobbin after {-seat / thread:.2g}."
                )
            raised[number - 1] = height
        if row and attr != pickup.built.measured_row.pole.turned_by:
            _check_other_row(pickup, raised, numbers)
        poles = replace(pickup.poles, **{attr: tuple(raised)})  # type: ignore[arg-type]
        moved = _on_the_way(guitar, place, poles=poles)
        path = key_path(place, f"poles.{attr}")
        words = " ".join(f"{one * 1e3:.3g}" for one in raised) + " mm up (moved)"
        return _shifted(moved, path, 0.0, words)

    return act


def _check_other_row(pickup: Pickup, raised: Sequence[float], numbers: tuple[int, ...]) -> None:
    """Refuse a screw of the row that gaps are not taken to, as near to its string as no pole may be."""
    gaps = row_gaps(pickup, raised)
    for number in numbers or range(1, len(raised) + 1):
        gap, least = gaps[number - 1], safe_gaps(pickup)[number - 1]
        if gap < least - EPSILON:
            raise InputError(
                f"string {number} of {pickup.name} would be {gap * 1e3:.3g} mm from the screw of that row; "
                f"at least {least * 1e3:.3g} mm."
            )


def body_down_screws_up(guitar: Guitar, place: int, distance: float) -> Guitar:
    """Lower the body and raise every screw by the same: the screws stay where they are to the strings."""
    lowered = move_body(+1, bass=True, treble=True)(guitar, place, distance)
    return turn_screws()(lowered, place, ScrewMove(amount=distance, unit="m"))


def swap_magnet(guitar: Guitar, place: int, value: tuple[str, str | None]) -> Guitar:
    """Put in another bar: a bought bar is charged outside, whatever the old one was."""
    grade, finish = value
    return _with_magnet(
        guitar,
        place,
        grade=grade,
        finish=finish or "polished",
        charge="outside",
        constants=None,
        pure_recoil=False,
    )


def swap_finish(guitar: Guitar, place: int, finish: str) -> Guitar:
    """Put in a bar of the same grade with another surface; it comes charged outside."""
    magnet = guitar.pickups[place].magnet
    if magnet.grade.startswith("ceramic") and finish == "rough-cast":
        raise InputError("rough cast is a finish of an alnico; ferrite is pressed and ground.")
    return _with_magnet(guitar, place, finish=finish, charge="outside")


def flip_magnet(guitar: Guitar, place: int, _: str) -> Guitar:
    """Turn the bar end for end; it passes through air, so in-place becomes outside."""
    pickup = guitar.pickups[place]
    if (stay := pickup.built.magnets_stay) is not None:
        raise InputError(f"{pickup.name} is a {pickup.built.words}; {stay.no_flip}")
    magnet = pickup.magnet
    return _with_magnet(guitar, place, flipped=not magnet.flipped, charge=charge_in_air(magnet))


def charge_in_air(magnet: Magnet) -> str | float:
    """Return the charge of a bar after it has been out of its pickup."""
    return "outside" if magnet.charge in ("in-place", "unknown") else magnet.charge


def recharge(guitar: Guitar, place: int, charge: str | float) -> Guitar:
    """Set the state of charge."""
    return _with_magnet(guitar, place, charge=charge)


def put_cover(guitar: Guitar, place: int, word: str) -> Guitar:
    """Put a cover on or take it off; ``on`` is nickel silver."""
    pickup = guitar.pickups[place]
    cover = None
    if word != "off":
        material = "nickel-silver" if word == "on" else word
        small = {name: round(value * 1e-3, 9) for name, value in pickup.built.cover.items()}
        cover = Sheet(material=material, **small)  # type: ignore[arg-type]
        if pickup.cover is not None and word == "on":
            cover = pickup.cover
        elif pickup.cover is not None:  # of the same sizes; what was known of the old metal is not of this one
            old = {"resistivity": None, "permeability": None, "reversible_permeability": None}
            cover = replace(pickup.cover, material=material, **old)  # type: ignore[arg-type]
    return _settled(with_pickup(guitar, place, cover=cover), f"pickups[{place}].cover")


def rewire(guitar: Guitar, place: int, wiring: Wiring) -> Guitar:
    """Connect the coils otherwise; a resistance read between the leads becomes what it would be then."""
    pickup = guitar.pickups[place]
    if len(pickup.built.wirings) == 1:
        phase = ' For phase against another pickup exchange its leads: wound = "reverse" in the guitar file.'
        raise InputError(
            f"{pickup.name} is a {pickup.built.words} with one coil; {wiring} needs two."
            + (phase if wiring == "out-of-phase" else "")
        )
    if wiring == "out-of-phase" and pickup.lead == "two-conductor":
        raise InputError(
            f"{pickup.name} has a two-conductor lead: swapping its leads makes braid and cover live. "
            "Turn the bar instead (flip=yes)."
        )
    ratio = rewired_resistance(pickup, wiring)
    read = None if pickup.resistance is None else pickup.resistance * ratio
    inductance = pickup.inductance if wiring == pickup.wiring else None
    moved = with_pickup(guitar, place, wiring=wiring, resistance=read, inductance=inductance)
    path = key_path(place, "resistance")
    told = tuple(
        replace(one, value=one.value * ratio, low=one.low * ratio, high=one.high * ratio) if one.path == path else one
        for one in moved.measured
    )
    return _settled(replace(moved, measured=told), key_path(place, "wiring"))


def turn_round(guitar: Guitar, place: int, facing: str) -> Guitar:
    """Turn the pickup round in its ring."""
    pickup = guitar.pickups[place]
    if not pickup.built.screws_on_one_side:
        raise InputError(f"{pickup.name} is a {pickup.built.words}: it looks alike both ways round.")
    return _settled(with_pickup(guitar, place, screws_face=facing), key_path(place, "screws_face"))


def set_controls(*names: str) -> Act:
    """Return an act that sets the first of these controls and forgets the measured value in the others.

    The pickup's own control where it has one, else the one behind the switch.
    """

    def act(guitar: Guitar, place: int, value: Value) -> Guitar:
        if names[0] == "selector":
            value = position_named(guitar, as_place(value)).name if as_place(value) not in PLACES else as_place(value)
        values: dict[str, Any] = {names[0]: value} | dict.fromkeys(names[1:])
        if guitar.controls.elements:
            values = {names[0]: value}
        pickup = guitar.pickups[place].name
        own = guitar.controls.elements or owner_of(guitar, names[0], pickup) is not None
        moved = with_controls(guitar, pickup, **values)
        return moved if own else _settled(moved, key_of(f"controls.{names[0]}"))

    return act


def fit_strings(guitar: Guitar, _: int, name: str) -> Guitar:
    """Fit another set; the tuning stays."""
    strings = string_set(name, guitar.tuning, guitar.scale_length)
    fitted = replace(guitar, strings=strings, string_set=name, string_age="new")
    fitted = _settled(fitted, key_of("string_set"), key_of("string_age"))
    own = tuple(one for one in fitted.assumed if not one.path.startswith("strings"))
    return replace(fitted, assumed=(*own, defaults.STRING_SET_SPREAD.assumption("strings")))


def fit_wrap(guitar: Guitar, _: int, wrap: str) -> Guitar:
    """Fit the same gauges with another wrap wire."""
    strings = tuple(
        one if one.core_diameter >= one.diameter else replace(one, wrap=wrap)  # type: ignore[arg-type]
        for one in guitar.strings
    )
    return _settled(replace(guitar, strings=strings, string_age="new"), key_of("string_age"))
