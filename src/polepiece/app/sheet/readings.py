"""What was read on a work sheet, as the guitar will have it: the readings that its file has a place for."""

from collections.abc import Mapping
from dataclasses import fields, replace

from polepiece.app.sheet import bench_units as units
from polepiece.app.sheet.stops import TEMPERATURE, figure, reads_open
from polepiece.evidence import Readings, with_readings
from polepiece.guitar import Guitar
from polepiece.moves import Change, apply
from polepiece.report import WorkSheet
from polepiece.shown_number import number

WORDS = {
    "resistance": ("DC resistance", "kΩ", 1e3, 2), "coil_resistances": ("DC of each coil", "kΩ", 1e3, 2),
    "coil_to_plate_open": ("coil to plate", "", 1.0, 0), "inductance": ("inductance", "H", 1.0, 2),
    "gap_bass": ("gap, bass side", "mm", 1e-3, 2), "gap_treble": ("gap, treble side", "mm", 1e-3, 2),
    "pole_gauss": ("gauss", "", 1.0, 0), "volume_pot": ("volume pot", "kΩ", 1e3, 0),
    "tone_pot": ("tone pot", "kΩ", 1e3, 0), "tone_cap": ("tone capacitor", "nF", 1e-9, 1),
    "bleed_cap": ("bleed capacitor", "nF", 1e-9, 2), "shunt_resistor": ("resistor", "kΩ", 1e3, 0),
}  # fmt: skip


def readings_in(sheet: WorkSheet, entries: Mapping[str, str], section: str) -> Readings:
    """Return what was read before ("baseline") or after ("after"); what cannot be read as a number is left out."""

    def read(key: str, kind: units.Quantity, unit: float) -> float | None:
        found = figure(entries, f"{section}.{key}", kind)
        return None if found is None else float(f"{abs(found) * unit:.9g}")

    coils = read("dc_slug", units.HALF_COIL, 1e3), read("dc_screw", units.HALF_COIL, 1e3)
    degrees = figure(entries, f"{section}.{TEMPERATURE}", units.CELSIUS)
    return Readings(
        resistance=read("dc_resistance", units.COIL, 1e3),
        coil_resistances=None if coils[0] is None or coils[1] is None else (coils[0], coils[1]),
        temperature=20.0 if degrees is None else degrees,
        coil_to_plate_open=reads_open(entries.get(f"{section}.isolation", "")),
        inductance=read("inductance_120hz_h", units.INDUCTANCE, 1.0),
        gap_bass=read("gap_bass", units.GAP, 1e-3), gap_treble=read("gap_treble", units.GAP, 1e-3),
        pole_gauss=_poles(sheet, entries, f"{section}_strings"),
        volume_pot=read("volume_pot", units.POT, 1e3), tone_pot=read("tone_pot", units.POT, 1e3),
        tone_cap=read("tone_cap", units.CAPACITANCE, 1e-9), bleed_cap=read("bleed", units.CAPACITANCE, 1e-9),
        shunt_resistor=read("shunt", units.RESISTOR, 1e3),
    )  # fmt: skip


def _poles(sheet: WorkSheet, entries: Mapping[str, str], section: str) -> tuple[float | None, ...]:
    """Return the gauss of the first row of poles that was read."""
    part = sheet.section(section)
    rows: dict[str, list[float | None]] = {}
    for one in () if part is None else part.blanks:
        if one.key.startswith("pole_gauss."):
            rows.setdefault(one.key, []).append(figure(entries, f"{section}.{one.key}.{one.string}", units.FLUX))
    return next((tuple(row) for row in rows.values() if any(one is not None for one in row)), ())


def done_and_read(
    guitar: Guitar, pickup: str, changes: tuple[Change, ...], sheet: WorkSheet, entries: Mapping[str, str]
) -> Guitar:
    """Return the guitar after the job: as it was found, the changes made to that, then what was read after.

    Raises
    ------
    InputError
        When a change cannot be made.
    """
    found = with_readings(guitar, pickup, readings_in(sheet, entries, "baseline"))
    return with_readings(apply(found, pickup, changes), pickup, readings_in(sheet, entries, "after"))


def readings_words(readings: Readings) -> list[str]:
    """Return what was read, one line each."""
    out = []
    for name, (words, unit, factor, digits) in WORDS.items():
        value = getattr(readings, name)
        if value is None or value == ():
            continue
        if isinstance(value, bool):
            shown = "open" if value else "not open"
        elif isinstance(value, tuple):
            shown = ", ".join("–" if one is None else number(one / factor, digits) for one in value)
        else:
            shown = number(value / factor, digits)
        warm = f" at {readings.temperature:g} °C" if name == "resistance" else ""
        out.append(f"{words} {shown} {unit}".rstrip() + warm)
    return out


def last_read(before: Readings, after: Readings) -> Readings:
    """Return of every quantity what was read last."""
    kept = {one.name: getattr(before, one.name) for one in fields(Readings) if getattr(after, one.name) in (None, ())}
    if after.resistance is None and after.coil_resistances is None:
        kept["temperature"] = before.temperature
    return replace(after, **kept)


def nothing_read(readings: Readings) -> bool:
    """Tell whether there is no reading at all; a temperature alone is none."""
    return replace(readings, temperature=20.0) == Readings()
