"""A charge that was found, handed over to the guitar."""

from dataclasses import replace

from polepiece.errors import InputError
from polepiece.evidence.charge_found import ChargeFound
from polepiece.evidence.measured import digits
from polepiece.guitar import Guitar, Measured, known, parameter_of

_READING = parameter_of("magnet.measured_gauss")
FILE_LEAST, FILE_MOST = _READING.limits(_READING.unit)  # gauss that a guitar file takes at a pole top


def with_charge(guitar: Guitar, found: ChargeFound, *, date: str) -> Guitar:
    """Return the guitar with the charge that was found, and the readings, of one pickup; both measured, with date.

    The draws of a prediction take the strength of the field from the readings: the bar makes the field that the meter
    read, whatever its own constants are within their spread. Where the readings do not tell the charge, it stays as the
    file has it, and only the strength is handed over; where the file does not know it either, the readings are kept and
    nothing is made of them.

    Raises
    ------
    InputError
        When the bar stands the other way round, is mixed or stronger than it can be: the file is wrong about it.
    """
    pickup = guitar.pickup(found.pickup)
    wrong = {"reversed", "mixed", "too strong"} & set(found.flags)
    if wrong:
        raise InputError(
            f"the poles of {pickup.name} are {wrong.pop()}: mend the file first (magnet.flipped, grade), or read again."
        )
    charge = found.charge
    if charge is None:
        charge = pickup.magnet.charge
    elif not isinstance(charge, str):
        charge = max(digits(charge), 0.01)
    rows = {one.row for one in found.poles}
    row = "screws" if "screws" in rows else found.poles[0].row
    gauss: list[float | None] = [None] * pickup.poles.count
    for one in found.poles:
        if one.row == row:
            gauss[one.pole - 1] = round(1e4 * one.read, 1)
    if any(one is not None and not FILE_LEAST <= abs(one) <= FILE_MOST for one in gauss):
        raise InputError(f"readings under {FILE_LEAST:g} or over {FILE_MOST:g} gauss are not kept in a guitar file.")
    moved = replace(pickup, magnet=replace(pickup.magnet, charge=charge, measured_gauss=tuple(gauss)))
    base = f"pickups[{known.place_of(guitar, pickup)}]."
    value, low, high = (digits(1e4 * one) for one in found.reading)
    read = Measured(
        path=base + known.GAUSS, value=value, low=low, high=high, computed=digits(1e4 * found.computed), date=date,
        method=f"gauss meter, {len(found.poles)} poles", files=(found.sha256,),
    )  # fmt: skip
    entries = [] if charge == "unknown" else [read]
    if found.fraction is not None and not isinstance(charge, str):
        least, most = (digits(one) for one in found.fraction[1:])
        entries.append(
            replace(
                read, path=base + known.CHARGE, value=charge, low=min(least, charge), high=max(most, charge),
                computed=None,
            )
        )  # fmt: skip
    return known.with_entries(guitar, moved, entries, settled=() if found.charge is None else (known.CHARGE,))
