"""Readings out of a meter's table as evidence of a change: before it, after it, or both in one table."""

from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.measure import (
    DirectReading,
    Estimate,
    PoleReading,
    ReadTable,
    direct_resistance,
    half_width,
    meter_readings,
    one_value,
    pole_readings,
)
from polepiece.meter_accuracy import LCR_ACCURACY

AT = {120.0: "inductance_120hz_h", 1000.0: "inductance_1khz_h"}  # Hz, line of the ledger
SIDES = ("before", "after")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tabled:
    """What a table says of one side of a change."""

    metered: tuple[Estimate, ...] = ()
    direct: DirectReading | None = None
    gauss: tuple[PoleReading, ...] = ()
    notes: tuple[str, ...] = ()


def metered_inductance(name: str, henry: float) -> Estimate:
    """Return an inductance that a usual LCR meter shows, with its limits (`LCR_ACCURACY`), as a line of a ledger.

    Parameters
    ----------
    name : str
        Of the line.
    henry : float
        H, series.
    """
    half = half_width(0.0, [LCR_ACCURACY * henry])
    return Estimate(name=name, value=henry, low=henry - half, high=henry + half, unit="H")


def tabled(table: ReadTable, *, temperature: float = 20.0) -> Tabled:
    """Return what a table says of one side: pole tops, inductance at 120 Hz and 1 kHz, direct resistance.

    Parameters
    ----------
    table : ReadTable
        Its rows of one pickup and one side.
    temperature : float
        Degrees C at which the resistance was read, where the table does not say.

    Raises
    ------
    InputError
        When nothing in it has a line in a ledger, or a reading cannot be one.
    """
    metered, notes = [], []
    if table.unused:
        notes.append(f"{table.name}: columns that were not used: {', '.join(table.unused)}.")
    if table.has("frequency", "inductance"):
        for one in meter_readings(table):
            if one.frequency in AT:
                metered.append(metered_inductance(AT[one.frequency], one.inductance))
            else:
                notes.append(
                    f"{table.name}: {one.inductance:.4g} H at {one.frequency:g} Hz is compared with nothing: a ledger "
                    "has lines for 120 Hz and 1 kHz."
                )
    named = [one.name for one in metered]
    if twice := sorted({one for one in named if named.count(one) > 1}):
        raise InputError(
            f"{table.name}: {', '.join(twice)} is read twice; give the mean, or say of each row whether it is from "
            "before or after."
        )
    ohms, degrees = one_value(table, "direct resistance"), one_value(table, "temperature")
    direct = None if ohms is None else direct_resistance(ohms, temperature=temperature if degrees is None else degrees)
    gauss = pole_readings(table) if table.has("pole", "flux density") else ()
    if not metered and direct is None and not gauss:
        raise InputError(
            f"{table.name} holds nothing that a ledger compares: pole and flux density, inductance at 120 Hz or 1 kHz, "
            "direct resistance."
        )
    return Tabled(metered=tuple(metered), direct=direct, gauss=gauss, notes=tuple(notes))


def both_sides(table: ReadTable, pickup: str) -> dict[str, ReadTable]:
    """Return the rows before and after, of a table that names the side in a column.

    Raises
    ------
    InputError
        When it names no side, or a row has another word for it.
    """
    mine = table.of(pickup)
    if not table.has("side"):
        raise InputError(
            f"{table.name} does not say which of its rows are from before the change and which from after: give it as "
            '--table-before or --table-after, or name the column that does: --column "HEAD=side".'
        )
    words = {row.words.get("side", "").strip().lower() for row in mine.rows}
    if strange := sorted(words - set(SIDES)):
        raise InputError(f"{table.name}: the side is {strange[0]!r} in a row; allowed are before and after.")
    return {side: mine.of(side=side) for side in SIDES if side in words}
