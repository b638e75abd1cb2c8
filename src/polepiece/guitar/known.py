"""What measurements told of a pickup, as the draws need it: `Guitar.measured` in place of an assumed spread."""

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.guitar.file.layout import key_of, key_path
from polepiece.guitar.file.values import grade_of
from polepiece.guitar.gauges import drawn_gauge
from polepiece.guitar.records import Guitar, Measured, Pickup
from polepiece.guitar.spread import Draw, factor_at
from polepiece.materials import catalogue
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY

KEYS = {key_of(attr): attr for attr in (
    "resistance", "inductance", "capacitance", "magnet.charge", "magnet.measured_gauss",
)}  # fmt: skip
"""Keys of a pickup that may have an entry, and what they say of it; the path of one is ``pickups[0].`` and the key."""
RESISTANCE, INDUCTANCE, CAPACITANCE, CHARGE, GAUSS = KEYS
SWEPT = (RESISTANCE, INDUCTANCE, CAPACITANCE)
METER = 0.9 * METER_ACCURACY  # half a 90 % interval of a resistance without an entry: limits of a multimeter
LCR = 0.9 * LCR_ACCURACY  # the same of an inductance: limits of a hand-held LCR meter


def place_of(guitar: Guitar, pickup: Pickup) -> int:
    """Return the place of a pickup by its name (``pickup`` may be a changed copy of it)."""
    return [one.name for one in guitar.pickups].index(pickup.name)


def reading_of(guitar: Guitar, pickup: Pickup, key: str) -> Measured | None:
    """Return what was measured of one key of ``pickup``, or None; an inductance that was typed counts as a meter's."""
    path = f"pickups[{place_of(guitar, pickup)}].{key}"
    entry = next((one for one in guitar.measured if one.path == path), None)
    if entry is None and key == INDUCTANCE and pickup.inductance is not None:
        return _typed(path, pickup, pickup.inductance)
    return entry


def _typed(path: str, pickup: Pickup, value: float) -> Measured:
    return Measured(
        path=path, value=value, low=value * (1.0 - LCR), high=value * (1.0 + LCR), date="",
        method="typed: a hand-held LCR meter", frequency=pickup.inductance_frequency,
    )  # fmt: skip


def remembered(guitar: Guitar, place: int) -> Guitar:
    """Return the guitar that keeps a typed inductance, and the pickup it belongs to, through changes of that pickup."""
    pickup = guitar.pickups[place]
    path = f"pickups[{place}].{INDUCTANCE}"
    if pickup.inductance is None or any(one.path == path for one in guitar.measured):
        return guitar
    entry = replace(_typed(path, pickup, pickup.inductance), pickup=pickup)
    return replace(guitar, measured=(*guitar.measured, entry))


def as_typed(guitar: Guitar, place: int) -> Guitar:
    """Return the guitar without what `remembered` kept where the pickup still is what the value was read of.

    Where it is not (another bar, cover or wiring, screws turned) the value stays with the pickup of then alone.
    """
    pickup = guitar.pickups[place]
    entry = reading_of(guitar, pickup, INDUCTANCE)
    if entry is None or entry.pickup is None:
        return guitar
    if pickup.inductance is not None and as_measured(guitar, pickup) == pickup:
        return replace(guitar, measured=tuple(one for one in guitar.measured if one is not entry))
    moved = replace(pickup, inductance=None)
    return replace(guitar, pickups=tuple(moved if at == place else one for at, one in enumerate(guitar.pickups)))


def with_entries(
    guitar: Guitar, moved: Pickup, entries: Iterable[Measured] = (), *, settled: Iterable[str] = ()
) -> Guitar:
    """Return the guitar with a pickup in place of its namesake and with entries in place of older ones.

    ``settled`` names the keys of the pickup that are assumed no more; an entry of one that is not among the new ones
    goes as well.
    """
    place = place_of(guitar, moved)
    gone = {f"pickups[{place}].{key}" for key in settled}
    new = tuple(entries)
    paths = gone | {one.path for one in new}
    return replace(
        guitar,
        pickups=tuple(moved if at == place else one for at, one in enumerate(guitar.pickups)),
        assumed=tuple(one for one in guitar.assumed if one.path not in gone),
        measured=(*(one for one in guitar.measured if one.path not in paths), *new),
    )


def drawn_factor(guitar: Guitar, pickup: Pickup, key: str, draw: Draw) -> float:
    """Return a factor on a measured value of median 1, spread as its 90 % interval; 1 where nothing was measured.

    Resistance, inductance and capacitance of one sweep share the tolerance of its resistor, L and C the opposite way;
    they are drawn together, with the correlations that their entries carry.
    """
    one = reading_of(guitar, pickup, key)
    if one is None:
        return 1.0
    deviate = draw.deviate(f"measured {key}")
    if key in SWEPT:
        others = tuple(reading_of(guitar, pickup, name) for name in SWEPT)
        deviate = float(_root(others)[SWEPT.index(key)] @ [draw.deviate(f"measured {name}") for name in SWEPT])
    return factor_at(deviate, one.low / one.value, one.high / one.value)


@lru_cache(maxsize=256)
def _root(entries: "tuple[Measured | None, ...]") -> FloatArray:
    """Return the matrix (3, 3) that makes correlated deviates of R, L, C from independent ones.

    Entries of different recordings are independent, whatever they once said of one another.
    """
    alike = np.eye(len(SWEPT))
    for at, one in enumerate(entries):
        for other, said in zip(entries[:at], ("with_resistance", "with_inductance")):
            if one is not None and other is not None and (one.files, one.date) == (other.files, other.date):
                alike[at, entries.index(other)] = alike[entries.index(other), at] = getattr(one, said)
    size, axes = np.linalg.eigh(alike)
    root: FloatArray = axes * np.sqrt(
        np.maximum(size, 0.0)
    )  # digits written down may leave it a hair short of positive
    return np.asarray(root @ axes.T / np.linalg.norm(root, axis=1)[:, None])


def resistance_known(pickup: Pickup) -> bool:
    """Say whether the pickup's resistance, or that of its coils, was read by a meter."""
    return bool(
        pickup.resistance is not None
        or pickup.coil_resistances
        or any(one.resistance is not None for one in pickup.coils)
    )


def wire_factors(pickup: Pickup) -> tuple[float, float]:
    """Return the factors on the ohms a metre that the diameter tolerance of the wire allows."""
    wire = catalogue.wire(pickup.coils[0].wire_awg, pickup.coils[0].wire_build)
    low, high = wire.resistance_spread
    return low / wire.resistance_per_metre(), high / wire.resistance_per_metre()


def drawn_resistance(guitar: Guitar, pickup: Pickup, draw: Draw) -> float:
    """Return a factor on the direct-current resistance, of median 1: that of its meter, or of turns and wire."""
    if resistance_known(pickup):
        if reading_of(guitar, pickup, RESISTANCE) is None:
            return draw.factor("read resistance", 1.0 - METER, 1.0 + METER)
        return drawn_factor(guitar, pickup, RESISTANCE, draw)
    return drawn_turns(guitar, pickup, draw) * drawn_wire(guitar, pickup, draw)


def drawn_wire(guitar: Guitar, pickup: Pickup, draw: Draw) -> float:
    """Return a factor on the ohms a metre: the tolerance of a gauge, and the gauge itself where nobody read it."""
    return draw.factor("wire", *wire_factors(pickup)) * drawn_gauge(guitar, pickup, draw)


def drawn_turns(guitar: Guitar, pickup: Pickup, draw: Draw) -> float:
    """Return a factor on the turns of all coils, 1 in the nominal guitar and of median 1 where the gauge is known.

    A resistance is turns times the length of one times the wire's ohms a metre: where it was measured, thick wire means
    more turns, thin wire fewer, as far as the wire's tolerance goes, and its gauge where that is not known. Without a
    resistance the turns are those of the file; where they were assumed, they lie in the range that was assumed.
    """
    if resistance_known(pickup):
        return drawn_resistance(guitar, pickup, draw) / drawn_wire(guitar, pickup, draw)
    place = place_of(guitar, pickup)
    assumed = next((one for one in guitar.assumed if one.path == key_path(place, "coil.turns")), None)
    if assumed is None or assumed.low is None or assumed.high is None:
        return 1.0
    nominal = pickup.coils[0].turns
    return draw.factor("turns", min(assumed.low / nominal, 1.0), max(assumed.high / nominal, 1.0))


def bar_of(pickup: Pickup) -> tuple[str, str]:
    """Return grade and charge of the bar that is in, as texts of an entry; empty for constants of its own."""
    magnet = pickup.magnet
    if magnet.constants is not None:
        return "", ""
    return magnet.grade + ("-rough-cast" if magnet.finish == "rough-cast" else ""), str(magnet.charge)


def as_measured(guitar: Guitar, pickup: Pickup) -> Pickup:
    """Return the pickup as it was when its inductance was measured; ``pickup`` where it is still that.

    An entry of the file says which bar was in; a value that was typed here keeps the whole pickup.
    """
    one = reading_of(guitar, pickup, INDUCTANCE)
    if one is not None and one.pickup is not None:
        then, now = one.pickup, pickup.magnet
        magnet = replace(then.magnet, flipped=now.flipped, measured_gauss=now.measured_gauss)  # neither moves it
        return replace(
            pickup, magnet=magnet, poles=then.poles, coils=then.coils, base_plate=then.base_plate,
            cover=then.cover, wiring=then.wiring, resistance=then.resistance,
        )  # fmt: skip
    if one is None or not one.bar or (one.bar, one.bar_charge) == bar_of(pickup):
        return pickup
    grade, finish = grade_of(one.bar)
    word = one.bar_charge
    charge: Any = word if word in ("in-place", "outside", "unknown") else float(word)
    surface: Any = finish or "polished"
    magnet = replace(
        pickup.magnet, grade=grade, finish=surface, constants=None, charge=charge, measured_gauss=(), pure_recoil=False
    )
    return replace(pickup, magnet=magnet)


def field_ratio(guitar: Guitar, pickup: Pickup) -> tuple[float, float, float] | None:
    """Return measured over computed field at the pole tops with its 90 % range: (ratio, low, high).

    None where no reading of the bar that is in now is there; every change of the bar takes its readings away.
    """
    one = reading_of(guitar, pickup, GAUSS)
    if one is None or one.computed is None or not pickup.magnet.measured_gauss:
        return None
    return one.value / one.computed, one.low / one.computed, one.high / one.computed
