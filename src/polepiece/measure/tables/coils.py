"""A batch of coils as a table: a coil a row, with its resistance and inductance, and what else was read of it."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.materials import copper_factor
from polepiece.measure.meters.electrical import MeterReading
from polepiece.measure.tables.columns import UNITS, Meaning, column_of, plain_head
from polepiece.measure.tables.grid import Grid
from polepiece.measure.tables.readings import MOST_FAULTS, ReadRow, ReadTable

RESISTANCE = ("r", "resistance")  # heads that mean the direct one where a coil a row is read; an LCR meter's R is not
TEST_FREQUENCY = 120.0  # Hz, where no column says it
OHMS = (100.0, 50e3)  # of one coil or pickup
HENRIES = (0.05, 100.0)
RESONANCES = (500.0, 50e3)  # Hz, of a coil with nothing or a probe connected
TURNS = (100.0, 20000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredCoil:
    """What was read of one coil, SI; None was not read. ``resistance`` is at 20 degC."""

    name: str
    row: int  # in its file
    resistance: float
    inductance: float | None = None
    frequency: float = TEST_FREQUENCY
    quality: float | None = None
    resonance: float | None = None
    turns: float | None = None


def coil_heads(grid: Grid) -> dict[str, str]:
    """Return what the heads of a batch mean beyond `column_of`: a plain R is the direct resistance."""
    said = {}
    for place, head in enumerate(grid.rows[0][1]):
        column = column_of(place, head, {})
        if column.meaning != "not used":
            continue
        words = plain_head(head).replace("[", " ").replace("]", " ").replace("(", " ").replace(")", " ")
        name, _, unit = " ".join(words.replace("/", " ").split()).partition(" ")
        if name in RESISTANCE and (not unit or unit in UNITS["direct resistance"]):
            said[plain_head(head)] = f"direct resistance {unit}".strip()
    return said


def batch_notes(table: ReadTable) -> str:
    """Return what was not read of a batch, and what was taken because nobody said it, in sentences; or ""."""
    said = [f"Not used: {', '.join(table.unused)}."] if table.unused else []
    if table.has("inductance") and not all(
        "frequency" in one.values for one in table.rows if "inductance" in one.values
    ):
        said.append(
            f"No test frequency was said; L is taken as read at {TEST_FREQUENCY:g} Hz, where a short between layers is "
            "not told from missing turns."
        )
    return " ".join(said)


def measured_coils(table: ReadTable) -> tuple[MeasuredCoil, ...]:
    """Return the coils of a batch.

    Parameters
    ----------
    table : ReadTable
        A coil a row: its name, direct resistance, inductance (series mode, with its test frequency, else 120 Hz); the
        resonance, Q, counted turns and temperature where they are there.

    Raises
    ------
    InputError
        When no column holds a resistance, a coil is named twice, or a value is none of a coil: with its row.
    """
    if not table.has("direct resistance"):
        raise InputError(
            f"{table.name} has no column of direct resistance; its columns are "
            f'{", ".join(repr(one.head) for one in table.columns)}. Say which it is: --column "HEAD=direct resistance '
            'kohm".'
        )
    coils, faults = [], []
    for row in table.rows:
        if "direct resistance" not in row.values:
            if {"inductance", "resonance", "turns"} & set(row.values):
                faults.append(f"{table.name}, row {row.number}: direct resistance is missing.")
            continue
        try:
            coils.append(_coil(row))
        except InputError as error:
            faults.append(f"{table.name}, row {row.number}: {error}")
    twice = sorted(name for name, count in Counter(one.name for one in coils).items() if count > 1)
    if twice:
        faults.append(f"{table.name}: {', '.join(twice[:4])} is there twice; give each coil a name of its own.")
    if not coils and not faults:
        faults.append(f"{table.name} has no row with a resistance.")
    if faults:
        raise InputError("\n".join(faults[:MOST_FAULTS]))
    return tuple(coils)


def _coil(row: ReadRow) -> MeasuredCoil:
    values = row.values
    name = row.words.get("coil") or row.words.get("pickup") or (f"{values['pole']:.0f}" if "pole" in values else "")
    resistance = _within("direct resistance", values["direct resistance"], OHMS, "ohm", "kohm where ohm is meant")
    inductance, frequency = values.get("inductance"), values.get("frequency", TEST_FREQUENCY)
    if inductance is not None:
        MeterReading(frequency=frequency, inductance=max(inductance, 0.2))  # its own words for a frequency
        _within("inductance", inductance, HENRIES, "H", "mH where H is meant")
    quality, loss = values.get("quality"), values.get("loss")
    if quality is None and loss:
        quality = 1.0 / loss  # definition of the loss tangent
    return MeasuredCoil(
        name=name or f"row {row.number}", row=row.number, inductance=inductance, frequency=frequency, quality=quality,
        resistance=resistance / copper_factor(values.get("temperature", 20.0)),
        resonance=_maybe("resonance", values, RESONANCES, "Hz", "kHz where Hz is meant"),
        turns=_maybe("turns", values, TURNS, "turns", "those of both coils"),
    )  # fmt: skip


def _maybe(
    name: Meaning, values: Mapping[Meaning, float], span: tuple[float, float], unit: str, slip: str
) -> float | None:
    value = values.get(name)
    return None if value is None else _within(name, value, span, unit, slip)


def _within(name: str, value: float, span: tuple[float, float], unit: str, slip: str) -> float:
    if not span[0] <= value <= span[1]:
        raise InputError(f"{name} is {value:g} {unit}; coils have {span[0]:g} to {span[1]:g} {unit}. Is it {slip}?")
    return value
