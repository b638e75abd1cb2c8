"""Faults before voicing: what must be repaired first.

Any finding of `fault_gate` stops the plan: a swap for a dead coil helps nobody. Rules and figures here are
common practice, no source, unless a line says otherwise.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import median

from polepiece.coil import between_leads, winding_resistance
from polepiece.guitar import (
    Complaint,
    Guitar,
    Pickup,
    positions_of,
)
from polepiece.materials import catalogue, copper_factor
from polepiece.pickup import anatomy
from polepiece.planning.complaints import spelled_out, sudden, word_of
from polepiece.planning.faults import FAULT_NAMED, FAULT_OF, PHASE
from polepiece.planning.spoken import read

BASIS = "common practice, no source"
COIL_MISMATCH = 0.10  # two coils of one pickup; more is a fault or a winding meant to be unequal
HALF_OF_EXPECTED = 0.62  # of the resistance that the turns say: half, with 24 % to spare for wire and turns
OPEN_OF_EXPECTED = 1.8
SUM_MISMATCH = 0.05  # coil by coil against the whole, beyond meter and temperature
SUDDEN, THIN_HUM = "it changed suddenly", "thin and humming"  # names of their words
WEAK_POLE = 0.6  # gauss of one pole against the median of all


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One fault that is likely: its name, what to check, and why it is suspected."""

    fault: str
    check: str
    why: str
    pickup: str | None = None
    cure: str = ""
    basis: str = BASIS
    by: str = ""  # who looks after it
    caution: str = ""


def fault_words(text: str) -> tuple[str, ...]:
    """Return the names of the faults that words point to; "no hum" points to none."""
    words = [one.word for one in read(text).items if one.word is not None]
    found = [FAULT_OF[one.name].name for one in words if one.kind == "fault"]
    if any(one.sudden for one in read(text).items):
        found = [FAULT_OF[SUDDEN].name, *found]
    if {"thin", "weak"} & {one.name for one in words} and FAULT_OF["hum"].name in found:
        found = [FAULT_OF[THIN_HUM].name, *(one for one in found if one != FAULT_OF["hum"].name)]
    return tuple(dict.fromkeys(found))


def fault_gate(guitar: Guitar, complaints: Iterable[Complaint] = ()) -> tuple[Finding, ...]:
    """Return every fault that readings and words point to; empty when the way to voicing is free.

    Parameters
    ----------
    guitar : Guitar
        Its symptoms and the readings of its pickups are looked at.
    complaints : iterable of Complaint
        Words that name a fault, "suddenly ...", and thin together with humming on one pickup.

    Raises
    ------
    InputError
        When a complaint word is not known.
    """
    complaints = spelled_out(complaints, guitar)
    found = [_by_word(fault, text, None) for text in guitar.symptoms for fault in fault_words(text)]
    for text in guitar.symptoms:
        if not fault_words(text) and text.strip() and not _denied(text):
            found.append(
                Finding(
                    fault="a symptom was written down",
                    check=f'find out what "{text}" is before anything is changed',
                    why=f'the file says "{text}" under symptoms',
                )
            )
    found += _by_complaints(complaints)
    for pickup in guitar.pickups:
        found += [*_coils(pickup), *_resistance(guitar, pickup), *_poles(pickup)]
    once: dict[tuple[str, str | None], Finding] = {}
    for one in found:
        once.setdefault((one.fault, one.pickup), _switches_first(one, guitar))
    return tuple(once.values())


def _switches_first(one: Finding, guitar: Guitar) -> Finding:
    """Where a knob or a switch exchanges leads on purpose, that comes before a meter and an iron."""
    on_purpose = [position.name for position in positions_of(guitar) if position.turned]
    if one.fault != PHASE or not on_purpose:
        return one
    names = on_purpose[0] if len(on_purpose) == 1 else f"{on_purpose[0]} and {len(on_purpose) - 1} more"
    return replace(
        one, check=f"in which position it is hollow: {names} exchanges leads on purpose; in any other, {one.check}"
    )


def _denied(text: str) -> bool:
    """Tell whether a symptom only says what is not there: "no hum"."""
    found = read(text)
    return bool(found.items) and all(one.word is None for one in found.items)


def _by_word(fault: str, text: str, pickup: str | None) -> Finding:
    one = FAULT_NAMED[fault]
    return Finding(
        fault=fault, check=one.check, why=f'it was said: "{text}"', pickup=pickup, cure=one.cure, by=one.by,
        caution=one.caution,
    )  # fmt: skip


def _by_complaints(complaints: tuple[Complaint, ...]) -> list[Finding]:
    found = []
    for pickup in {one.pickup: None for one in complaints}:
        here = [one.word for one in complaints if one.pickup == pickup]
        words = [word_of(sudden(one)[1]) for one in here]
        names = {one.name for one in words}
        if {"thin", "weak"} & names and "hum" in names:
            found.append(_by_word(FAULT_OF[THIN_HUM].name, " and ".join(here), pickup))
        for text, word in zip(here, words):
            if sudden(text)[0]:
                found.append(_by_word(FAULT_OF[SUDDEN].name, text, pickup))
            if word.kind == "fault":
                found.append(_by_word(FAULT_OF[word.name].name, text, pickup))
    return found


def _coils(pickup: Pickup) -> list[Finding]:
    found = []
    halves = pickup.coil_resistances
    if len(halves) == 2 and max(halves) > 0 and abs(halves[0] - halves[1]) / max(halves) > COIL_MISMATCH:
        found.append(
            Finding(
                fault="the two coils disagree",
                check="measure each coil again, leads off; look for shorted turns or a wrong coil",
                why=f"{halves[0] / 1e3:.3g} and {halves[1] / 1e3:.3g} kohm differ by more than 10 %",
                pickup=pickup.name,
                cure="repair or rewind; if the coils are meant to be unequal, give the whole resistance alone",
            )
        )
    if pickup.coil_to_plate_open is False:
        found.append(
            Finding(
                fault="a coil touches the base plate",
                check="ohmmeter from each coil lead to the base plate: it must read open",
                why="coil to plate does not read open",
                pickup=pickup.name,
                cure="free the lead or the winding from the plate before anything else",
            )
        )
    if len(halves) == 2 and pickup.resistance is not None and pickup.wiring in ("series", "out-of-phase"):
        total = sum(halves)
        if abs(pickup.resistance - total) > SUM_MISMATCH * total:
            found.append(
                Finding(
                    fault="whole and halves do not add up",
                    check="read across the pickup with its leads off the pots, then coil by coil",
                    why=f"the coils add up to {total / 1e3:.3g} kohm, the pickup reads "
                    f"{pickup.resistance / 1e3:.3g} kohm",
                    pickup=pickup.name,
                    cure="read at the jack, a pot lies across it; a stuck split reads half",
                )
            )
    return found


def expected_resistance(pickup: Pickup) -> float:
    """Return what the turns and wire of the file say between the leads, ohm at the pickup's temperature."""
    warm = copper_factor(pickup.temperature)
    each = []
    for coil, shape in zip(pickup.coils, anatomy(pickup).coils):
        wire = catalogue.wire(coil.wire_awg, coil.wire_build)
        each.append(warm * winding_resistance(shape.mean_turn, coil.turns, wire.resistance_per_metre()))
    return between_leads(each, pickup.wiring)


def _resistance(guitar: Guitar, pickup: Pickup) -> list[Finding]:
    read = pickup.resistance
    if read is None:
        return []
    place = guitar.pickups.index(pickup)
    assumed = any(one.path.startswith(f"pickups[{place}]") and "turns" in one.path for one in guitar.assumed)
    full = pickup.wiring in ("series", "out-of-phase")
    half = full and read < pickup.built.lowest_usual_resistance
    words = f"{read / 1e3:.3g} kohm is about half of what a {pickup.built.words} reads"
    if not assumed:
        expected = expected_resistance(pickup)
        half = half or read < HALF_OF_EXPECTED * expected
        words = f"{read / 1e3:.3g} kohm; turns and wire say about {expected / 1e3:.2g} kohm"
        if read > OPEN_OF_EXPECTED * expected:
            return [
                Finding(
                    fault="the resistance is far too high",
                    check="read again with clean probes, leads off; a broken wire reads high or open",
                    why=words,
                    pickup=pickup.name,
                    cure="repair or rewind the coil, or correct turns and wire in the file",
                )
            ]
    if not half:
        return []
    return [
        Finding(
            fault="half of the resistance is missing",
            check="ohmmeter across each coil alone, leads off the pots; split switch; was it read at the jack "
            "with a pot or both pickups in parallel?",
            why=words,
            pickup=pickup.name,
            cure="repair the coil or the switch; or give the reading taken with the leads off",
        )
    ]


def _poles(pickup: Pickup) -> list[Finding]:
    gauss = [one for one in pickup.magnet.measured_gauss if one is not None]
    if len(gauss) < 3:
        return []
    listed = ", ".join(f"{one:.0f}" for one in gauss)
    look = "look from below; read again with the probe flat on each pole; compass along the row"
    if min(gauss) < 0 < max(gauss):
        return [
            Finding(
                fault="poles of one row point both ways",
                check=look,
                why=f"gauss at the poles: {listed}",
                pickup=pickup.name,
                cure="a rod or a piece of a broken bar sits the wrong way round, or the probe was turned",
            )
        ]
    size = [abs(one) for one in gauss]
    if min(size) < WEAK_POLE * median(size):
        return [
            Finding(
                fault="one pole is much weaker than the others",
                check=look,
                why=f"gauss at the poles: {listed}; the weakest has under 60 % of the middle one",
                pickup=pickup.name,
                cure="a cracked, short or displaced bar; a pole that does not touch",
            )
        ]
    return []
