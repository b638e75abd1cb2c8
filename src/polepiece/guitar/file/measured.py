"""[[measured]] of a guitar file: values that carry the interval, the date and the files of their measurement."""

import datetime
import re
from collections.abc import Sequence
from operator import attrgetter

from polepiece.errors import InputError
from polepiece.guitar.file.layout import MEASURED_KEYS, parameter_of
from polepiece.guitar.file.tables import Table, make, read_table
from polepiece.guitar.file.units import show, to_bench
from polepiece.guitar.file.values import Faults, grade_of
from polepiece.guitar.known import KEYS
from polepiece.guitar.records import Measured, Pickup

NEEDED = ("path", "value", "low", "high", "date")
_PATH = re.compile(r"pickups\[(\d{1,2})\]\.(.+)")
_SAME = 1e-6  # share by which value and the key it stands for may differ: they are written with the same digits


def read_measured(tables: Sequence[Table], pickups: Sequence[Pickup], faults: Faults) -> tuple[Measured, ...]:
    """Read [[measured]]; an entry belongs to a key of a pickup, and says the same as that key."""
    found: list[Measured] = []
    for number, table in enumerate(tables):
        here = f"measured[{number}]"
        given = read_table(table, MEASURED_KEYS, here, faults)
        values = {attr: one.value for attr, one in given.items()}
        missing = [name for name in NEEDED if values.get(name) is None]
        for name in missing:
            if name not in table:
                faults.add(f"{here}.{name}", "is missing.")
        if missing:
            continue
        one: Measured = make(Measured, values)
        faults_before = len(faults.found)
        _check(one, here, pickups, faults)
        if one.path in [known.path for known in found]:
            faults.add(f"{here}.path", f'is "{one.path}" again; keep the last measurement only.')
        if len(faults.found) == faults_before:
            found.append(one)
    return tuple(found)


def _check(one: Measured, here: str, pickups: Sequence[Pickup], faults: Faults) -> None:
    place = _PATH.fullmatch(one.path)
    if place is None or int(place[1]) >= len(pickups) or place[2] not in KEYS:
        faults.add(
            f"{here}.path", f'is "{one.path}"; it must be pickups[0 to {max(len(pickups) - 1, 0)}]. and one of '
            f"{', '.join(KEYS)}."
        )  # fmt: skip
        return
    if not 0.0 < one.low <= one.value <= one.high or (one.computed is not None and one.computed <= 0.0):
        faults.add(
            here, f"has {show(one.low)}, {show(one.value)}, {show(one.high)}; low, value, high must rise above 0."
        )
    try:
        datetime.date.fromisoformat(one.date)
    except ValueError:
        faults.add(f"{here}.date", f'is "{one.date}"; write 2026-11-25.')
    if one.bar or one.bar_charge:
        _check_bar(one, here, faults)
    written = _written(pickups[int(place[1])], place[2])
    if written is not None and abs(written / one.value - 1.0) > _SAME:
        faults.add(
            f"{here}.value", f"is {show(one.value)}, but {one.path} is {show(written)}; when the value of the pickup "
            "was changed by hand, take this entry out."
        )  # fmt: skip


def _check_bar(one: Measured, here: str, faults: Faults) -> None:
    """The bar that was in is a grade and a charge as the pickup's own table has them."""
    try:
        grade_of(one.bar)
    except InputError as error:
        faults.add(f"{here}.bar", f'is "{one.bar}"; {error}')
    try:
        known = one.bar_charge in ("in-place", "outside", "unknown") or 0.0 < float(one.bar_charge) <= 1.0
    except ValueError:
        known = False
    if not known:
        faults.add(
            f"{here}.bar_charge", f'is "{one.bar_charge}"; it is in-place, outside, unknown, or a fraction up to 1.'
        )


def _written(pickup: Pickup, key: str) -> float | None:
    """Return what the pickup itself says of a key, in the unit of the key; None where it says nothing."""
    value = attrgetter(KEYS[key])(pickup)
    return float(to_bench(value, parameter_of(KEYS[key]).unit)) if isinstance(value, float) else None
