"""How a bar is charged, found from a gauss meter's readings at the pole tops.

The field at the probe is computed for the bar as the file has it: charged outside (charge 1.0), weaker, and in place.
The readings stand somewhere between; what the bar's own constants, the probe's height and the meter leave open is the
interval.
"""

import hashlib
import json
import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from polepiece.arrays import FloatArray
from polepiece.bench import (
    PROBE,
    PROBE_HIGH,
    PROBE_LOW,
    Bench,
    PolePlace,
    drawn_factors,
    field,
    pole_places,
    replace_pickup,
)
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError
from polepiece.guitar import Charge, Guitar, Pickup, ninety_ends
from polepiece.guitar import draws as draws_of
from polepiece.measure import Claim, GaussMeter, PoleReading, Probe, disc_average

Curve = Callable[[Any], Any]
FRACTIONS = (0.2, 0.4, 0.6, 0.8, 1.0)  # states of charge that are solved; between them a monotone curve
APART = 0.03  # in place above outside by less than this share is one state: ferrite
WEAK = 0.9  # charge whose whole interval lies under this is said to be weak
SLIP = 0.3  # a bar charged less is questioned: gauss and millitesla differ by ten (common practice, no source)
UNEVEN = 0.2  # share by which a pole stands out from the others; common practice, no source


def usual_probe(height: float | None = None, size: float = 2e-3) -> Probe:
    """Return a flat probe: ``height`` and its tolerance in m, or where the height is not printed the usual range."""
    if height is None:
        return Probe(height=PROBE, low=PROBE_LOW, high=PROBE_HIGH, size=size)
    slack = min(0.1e-3, height)  # how flat it is laid on; assumption
    return Probe(height=height, low=height - slack, high=height + slack, size=size)


@dataclass(frozen=True, slots=True, kw_only=True)
class PoleFound:
    """One pole: what was read, what was computed, and how it stands to the others."""

    row: str
    pole: int
    read: float  # T, as given
    outside: float  # T, computed with the bar charged outside; + = up
    in_place: float
    share: float  # size of what was read over that of ``outside``
    on_cover: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeFound:
    """What the readings say of the bar.

    Attributes
    ----------
    share, share_interval : field read over the field of the bar charged outside, mean of the poles; 90 %.
    in_place_share : the same of the bar charged in place.
    computed : mean of the sizes, T, that the model has with the bar charged as found; where not told, outside.
    charge : "in-place", a fraction of outside, or None where the readings do not tell.
    fraction : (value, low, high) of the charge, 1 at most, 90 %; None when it is in place or not told.
    reading : (value, low, high) of the mean of the sizes, T: meter, probe and laying on alone.
    polarity : "as in the file", "reversed", "mixed", or "not told" by a meter without sign.
    flags : "weak", "reversed", "mixed", "uneven", "too strong".
    notes : sentences.
    """

    pickup: str
    poles: tuple[PoleFound, ...]
    share: float
    share_interval: tuple[float, float]
    in_place_share: float
    computed: float  # T, mean of the sizes with the bar charged as found (outside where it is not told)
    charge: Charge | None
    fraction: tuple[float, float, float] | None
    reading: tuple[float, float, float]
    polarity: str
    flags: tuple[str, ...]
    notes: tuple[str, ...]
    sha256: str  # of readings, probe and meter as JSON


def find_charge(
    guitar: Guitar,
    pickup: str,
    readings: Sequence[PoleReading],
    *,
    probe: Probe | None = None,
    meter: GaussMeter | None = None,
    draws: int = 200,
    bench: Bench | None = None,
) -> ChargeFound:
    """Return the state of charge that readings at the pole tops speak for.

    Parameters
    ----------
    guitar : Guitar
        With the grade of the bar; with an unknown one the interval spans the grades.
    pickup : str
    readings : sequence of PoleReading
        Without a row they are of the screws, or of the only row there is.
    probe : Probe, optional
        Default: a flat probe of 2 mm whose element is 0.5 to 1.5 mm above its face.
    meter : GaussMeter, optional
    draws : int
        Of the 90 % interval.
    bench : Bench, optional

    Raises
    ------
    InputError
        When there is no reading, or one of a pole that this pickup does not have.

    Notes
    -----
    With B(c) the computed field at charge c, averaged over the probe, and r the mean of read / B(1) over the poles, the
    charge is that c at which B(c) / B(1) = r. A draw moves B by what the tolerances of bar, steel and contact do to the
    field over the poles (the same draws as every interval), the probe's height within its range, the meter's scale
    within its limits; r moves by the repeatability over the square root of the number of poles.
    """
    bench, meter, probe = bench or Bench(), meter or GaussMeter(), probe or usual_probe()
    the_pickup = guitar.pickup(pickup)
    places = _places(the_pickup, readings)
    reference = _charged(guitar, the_pickup, 1.0)
    outside = _fields(reference, the_pickup, places, probe.height, probe.size, bench)
    in_place = _fields(_charged(guitar, the_pickup, "in-place"), the_pickup, places, probe.height, probe.size, bench)
    read = np.array([one.flux_density for one in readings])
    shares = np.abs(read / outside)
    share, most = float(shares.mean()), float(np.mean(in_place / outside))
    charge_at, share_at = _curves(guitar, the_pickup, places, probe, outside, bench)
    alone, whole = _drawn_shares(reference, the_pickup, share, len(readings), places, probe, meter, draws, bench)
    interval = _ninety(whole)
    poles = tuple(
        PoleFound(
            row=place.row, pole=place.pole, read=float(read[k]), outside=float(outside[k]),
            in_place=float(in_place[k]), share=float(shares[k]), on_cover=place.on_cover,
        )
        for k, place in enumerate(places)
    )  # fmt: skip
    charge, fraction = _judged(share, interval, most, charge_at, whole)
    size = float(np.abs(outside).mean())
    if charge == "in-place":
        size = float(np.abs(in_place).mean())
    elif fraction is not None:
        size *= float(share_at(fraction[0]))
    elif charge is None:  # then the file's own charge stays
        size = float(np.abs(_fields(guitar, the_pickup, places, probe.height, probe.size, bench)).mean())
    polarity = _polarity(readings, read, outside)
    mean = float(np.abs(read).mean())
    meter_only = _ninety(alone)
    flags, notes = _said(the_pickup, poles, charge, fraction, interval, most, polarity)
    return ChargeFound(
        pickup=the_pickup.name, poles=poles, share=share, share_interval=interval, in_place_share=most,
        computed=size, charge=charge,
        fraction=fraction, reading=(mean, mean * meter_only[0] / share, mean * meter_only[1] / share),
        polarity=polarity, flags=flags, notes=notes,
        sha256=readings_hash(readings, probe, meter),
    )  # fmt: skip


def readings_hash(readings: Sequence[PoleReading], probe: Probe, meter: GaussMeter) -> str:
    """Return the SHA-256 of readings, probe and meter as JSON: what stands for a file where there is none."""
    facts = {"readings": [asdict(one) for one in readings], "probe": asdict(probe), "meter": asdict(meter)}
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def field_at_poles(
    guitar: Guitar, pickup: str, readings: Sequence[PoleReading], *, probe: Probe, meter: GaussMeter,
    draws: int = DRAWS, bench: Bench | None = None,
) -> tuple[Claim, Claim]:  # fmt: skip
    """Return the mean size of the field at the poles that were read, T: as computed of the state, and as measured.

    What bar, charge, steel and contact leave open is in the computed interval; probe and meter are in the measured one.
    """
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    places = _places(the_pickup, readings)
    here = np.abs(_fields(guitar, the_pickup, places, probe.height, probe.size, bench))
    bar = drawn_factors(guitar, the_pickup, draws, bench)
    low, high = _ninety(bar[:, [min(one.pole, bar.shape[1]) - 1 for one in places]] @ here / len(here))
    alone, _ = _drawn_shares(guitar, the_pickup, 1.0, len(readings), places, probe, meter, draws, bench)
    read = float(np.mean([abs(one.flux_density) for one in readings]))
    least, most = (read * one for one in _ninety(alone))
    computed = Claim(value=float(here.mean()), low=low, high=high, source="field of the solved magnet over the probe")
    return computed, Claim(value=read, low=least, high=most, source=f"gauss meter, {len(readings)} poles")


# ---------------------------------------------------------------- computed fields


def _places(pickup: Pickup, readings: Sequence[PoleReading]) -> list[PolePlace]:
    """Return where each reading was taken."""
    there = {(one.row, one.pole): one for one in pole_places(pickup)}
    first = next(iter(there))[0]
    out, faults = [], []
    for one in readings:
        place = there.get((one.row or first, one.pole))
        if place is None:
            rows = ", ".join(dict.fromkeys(row for row, _ in there))
            faults.append(
                f"{pickup.name} has no pole {one.pole} among its {one.row or first}; it has {rows}, "
                f"1 (under the thin string) to {pickup.poles.count} each."
            )
        else:
            out.append(place)
    if not readings:
        faults.append("there is no reading.")
    if faults:
        raise InputError("\n".join(faults))
    return out


def _charged(guitar: Guitar, pickup: Pickup, charge: Charge) -> Guitar:
    """Return the guitar with the bar charged so, and nothing read of it."""
    return replace_pickup(guitar, replace(pickup, magnet=replace(pickup.magnet, charge=charge, measured_gauss=())))


def _fields(
    guitar: Guitar, pickup: Pickup, places: Sequence[PolePlace], height: float, size: float, bench: Bench
) -> FloatArray:
    """Return the vertical flux density at each place averaged over the probe (n,), T."""
    offsets, weights = disc_average(size)
    points = [(one.x + dx, one.y + dy, one.face + height) for one in places for dx, dy in offsets]
    flux = field(guitar, pickup.name, np.array(points), bench=bench).flux_density[:, 2]
    return np.asarray(flux.reshape(len(places), len(weights)) @ weights)


def _curves(
    guitar: Guitar, pickup: Pickup, places: Sequence[PolePlace], probe: Probe, outside: FloatArray, bench: Bench
) -> tuple[Curve, Curve]:
    """Return charge over share of the field, and share over charge: monotone, both through 0 and 1."""
    shares = [0.0]
    for fraction in FRACTIONS[:-1]:
        weaker = _fields(_charged(guitar, pickup, fraction), pickup, places, probe.height, probe.size, bench)
        shares.append(float(np.mean(weaker / outside)))
    shares.append(1.0)
    charges = np.array([0.0, *FRACTIONS])
    return PchipInterpolator(np.array(shares), charges), PchipInterpolator(charges, np.array(shares))


def _drawn_shares(
    guitar: Guitar, pickup: Pickup, share: float, count: int, places: Sequence[PolePlace], probe: Probe,
    meter: GaussMeter, draws: int, bench: Bench,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Return the share of the field in every draw (d,): by meter and probe alone, and by the bar's constants too."""
    heights = np.array([probe.low, probe.height, probe.high])
    sizes = [float(np.abs(_fields(guitar, pickup, places, h, probe.size, bench)).mean()) for h in heights]
    bent = np.polyfit(heights - probe.height, np.log(sizes), 2) if probe.low < probe.high else np.zeros(3)
    bar = drawn_factors(guitar, guitar.pickup(pickup.name), draws, bench)
    bar = bar[:, [min(one.pole, bar.shape[1]) - 1 for one in places]].mean(axis=1)
    alone = []
    for draw in draws_of(draws, bench.seed):
        height = draw.value("probe height", probe.height, probe.low, probe.high) - probe.height
        scale = 1.0 + meter.scale_tolerance * (2.0 * draw.share("gauss meter scale") - 1.0)
        again = 1.0 + meter.repeatability / math.sqrt(count) * draw.deviate("gauss meter repeatability")
        alone.append(share * again / (scale * math.exp(float(np.polyval(bent, height)) - float(bent[2]))))
    return np.array(alone), np.array(alone) / bar


def _ninety(values: FloatArray) -> tuple[float, float]:
    low, high = ninety_ends(values)
    return float(low), float(high)


# ---------------------------------------------------------------- what it says


def _judged(
    share: float, interval: tuple[float, float], most: float, charge_at: Curve, whole: FloatArray
) -> tuple[Charge | None, tuple[float, float, float] | None]:
    """Return the charge, and its fraction with interval where it is one."""
    low, high = interval
    if low > max(most, 1.0):
        return None, None
    if high >= most > 1.0 + APART:
        return ("in-place" if low > 1.0 else None), None
    if low > 1.0 and most > 1.0 + APART:
        return None, None
    value = float(charge_at(min(share, 1.0)))
    least, upper = _ninety(charge_at(np.minimum(whole, 1.0)))
    return value, (value, min(least, value), max(upper, value))


def _polarity(readings: Sequence[PoleReading], read: FloatArray, outside: FloatArray) -> str:
    if not all(one.signed for one in readings):
        return "not told"
    same = np.sign(read) == np.sign(outside)
    return "as in the file" if same.all() else "mixed" if same.any() else "reversed"


def _said(
    pickup: Pickup, poles: Sequence[PoleFound], charge: Charge | None, fraction: tuple[float, float, float] | None,
    interval: tuple[float, float], most: float, polarity: str,
) -> tuple[tuple[str, ...], tuple[str, ...]]:  # fmt: skip
    """Return flags and sentences."""
    flags, notes = [], []
    low = interval[0]
    if fraction is not None and fraction[2] < WEAK:
        flags.append("weak")
        notes.append("The bar is weak: partly discharged, or another grade than the file says; a spare bar will tell.")
        if fraction[2] < SLIP:
            notes.append("So weak a bar is rare: a slip of ten (G for mT, a decimal point), or the probe on its edge?")
    if low > max(most, 1.0):
        flags.append("too strong")
        notes.append(
            "More field than this bar can make, however it is charged: another grade, a probe nearer than said, or "
            "mT typed as G?"
        )
    elif charge is None and low <= 1.0:
        notes.append(
            "Charged outside and charged in place both lie in the interval. The probe's height (its data sheet), more "
            "poles and a reading of the bar's grade would narrow it."
        )
    elif charge is None:
        notes.append(
            "More than charged outside and less than charged in place, neither within the interval: charged in place "
            "by a weak pulse, weakened since, or steel and contacts other than the file has them."
        )
    if polarity == "reversed":
        flags.append("reversed")
        notes.append(
            "Every pole reads the other way round than the file says: the bar is turned end for end (magnet.flipped), "
            "or this meter counts the other way: check it on a marked magnet. Phase with the other pickups hangs on it."
        )
    elif polarity == "mixed":
        flags.append("mixed")
        which = ", ".join(f"{one.row} {one.pole}" for one in poles if one.read * one.outside < 0.0)
        notes.append(f"Some poles read the other way round ({which}): probe turned over, or a rod the wrong way up?")
    elif polarity == "not told":
        notes.append("No sign was given: the meter is taken as unsigned, so polarity is not told. A compass tells it.")
    middle = float(np.median([one.share for one in poles]))
    odd = [f"{one.row} {one.pole} {100 * (one.share / middle - 1):+.0f} %" for one in poles
           if abs(one.share / middle - 1.0) > UNEVEN]  # fmt: skip
    if odd and len(poles) > 2:
        flags.append("uneven")
        notes.append(f"Not like the others: {', '.join(odd)}. Lay the probe on again, flat and in the middle.")
    if pickup.magnet.grade == "unknown":
        notes.append("The grade is not known: the interval spans the grades, and the charge hangs on it.")
    if any(one.on_cover for one in poles):
        notes.append("The probe lay on the cover, as the file has one; on a bare pole the field is much higher.")
    return tuple(flags), tuple(notes)
