"""What the readings of a work sheet say: when to lay the tools down, and what to look at again.

Limits are those of the sheet: common practice, no source. Copper's change with temperature is of `materials`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from polepiece.app.sheet import bench_units as units
from polepiece.errors import InputError
from polepiece.guitar import Pickup, safe_gaps
from polepiece.materials import copper_factor
from polepiece.report import SAME_DC, Blank, WorkSheet
from polepiece.shown_number import number

HALVES = 0.10  # the two coils of a pair read further apart than this: look for shorted turns (common practice)
HALF_KEYS = ("dc_slug", "dc_screw")  # entries of the two coils, in their order
TEMPERATURE = "temperature"
_OPEN = re.compile(r"open|ol|o\.?l\.?|over|no reading|none|inf\w*|∞|ok|yes", re.IGNORECASE)
_NORTH, _SOUTH = re.compile(r"\bn(orth)?\b", re.IGNORECASE), re.compile(r"\bs(outh)?\b", re.IGNORECASE)
_KINDS = {"kΩ": units.COIL, "H": units.INDUCTANCE, "gauss": units.FLUX, "mm": units.GAP, "nF": units.CAPACITANCE}
_BY_KEY = {
    "dc_slug": units.HALF_COIL, "dc_screw": units.HALF_COIL, "volume_pot": units.POT, "tone_pot": units.POT,
    "shunt": units.RESISTOR, "screw_height": units.SCREW, "second_screw_height": units.SCREW,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing the readings say; ``stop`` where it is a limit of the sheet."""

    stop: bool
    words: str
    entries: tuple[str, ...]  # the readings it rests on


def quantity_of(blank: Blank) -> units.Quantity | None:
    """Return what is read into a blank, or None where it takes words."""
    return _BY_KEY.get(blank.key) or _KINDS.get(blank.unit)


def findings(sheet: WorkSheet, entries: Mapping[str, str], pickup: Pickup) -> list[Finding]:
    """Return what the readings of a pickup say, stops first."""
    out: list[Finding] = []
    coils = zip(HALF_KEYS, (f"DC of the {one}" for one in pickup.built.coils)) if len(pickup.coils) == 2 else ()
    for key, words in (("dc_resistance", "DC resistance"), *coils):
        out += _coil(sheet, entries, key, words)
    out += _isolation(entries)
    out += _gaps(entries, pickup)
    out += _halves(entries)
    out += _way_round(sheet, entries)
    out += _ranges(sheet, entries)
    return sorted(out, key=lambda one: not one.stop)


def figure(entries: Mapping[str, str], entry: str, kind: units.Quantity) -> float | None:
    """Return a reading as a number, or None where there is none or it cannot be read."""
    try:
        return units.read(entries[entry], kind) if entry in entries else None
    except InputError:
        return None


def reads_open(said: str) -> bool | None:
    """Tell whether a meter between coil and plate read open, as it should; None where nothing was read."""
    return _OPEN.match(said.strip()) is not None if said.strip() else None


def _coil(sheet: WorkSheet, entries: Mapping[str, str], key: str, words: str) -> list[Finding]:
    """Return whether a coil reads as before, at the temperature of before where both are known."""
    kind = units.COIL if key == "dc_resistance" else units.HALF_COIL
    names = f"baseline.{key}", f"after.{key}"
    was, now = (figure(entries, one, kind) for one in names)
    if was is None or now is None:
        return []
    planned = [_blank(sheet, one) for one in names]
    ratio = 1.0
    if key == "dc_resistance" and all(one is not None and one.expected for one in planned):
        ratio = (planned[1].expected or 1.0) / (planned[0].expected or 1.0)  # type: ignore[union-attr]
    degrees = [figure(entries, f"{one}.{TEMPERATURE}", units.CELSIUS) for one in ("baseline", "after")]
    same = ""
    if degrees[0] is not None and degrees[1] is not None:
        now *= copper_factor(degrees[0]) / copper_factor(degrees[1])
        same = f" (brought to {number(degrees[0], 0)} °C)"
    change = now / (was * ratio) - 1.0
    if abs(change) <= SAME_DC + 1e-9:
        return []
    wired = "" if abs(ratio - 1.0) < 1e-6 else f", which connected otherwise should be {was * ratio:.2f} kΩ"
    cold = "" if same else " Same temperature? 5 °C are 2 % already; type both temperatures."
    return [
        Finding(
            stop=True, entries=names,
            words=f"{words} is {100 * change:+.1f} % off: {was:.2f} kΩ before{wired}, {now:.2f} kΩ after{same}; more "
            f"than 2 %. Lay the tools down: a lead pinched, a turn shorted, a joint.{cold}",
        )
    ]  # fmt: skip


def _isolation(entries: Mapping[str, str]) -> list[Finding]:
    out = []
    for section in ("baseline", "after"):
        said = entries.get(f"{section}.isolation", "").strip()
        if reads_open(said) is False:
            out.append(
                Finding(
                    stop=True, entries=(f"{section}.isolation",),
                    words=f"Coil to plate reads “{said}” {'before' if section == 'baseline' else 'after'}, not open. "
                    "If a braided lead joins them, part it and read again; otherwise lay the tools down.",
                )
            )  # fmt: skip
    return out


def _gaps(entries: Mapping[str, str], pickup: Pickup) -> list[Finding]:
    out = []
    for side, safe in (("bass", safe_gaps(pickup)[-1]), ("treble", safe_gaps(pickup)[0])):
        least = 1e3 * safe
        for section in ("baseline", "after"):
            name = f"{section}.gap_{side}"
            found = figure(entries, name, units.GAP)
            if found is not None and found < least - 1e-9:
                out.append(
                    Finding(
                        stop=section == "after", entries=(name,),
                        words=f"Gap on the {side} side is {found:.1f} mm; nothing is planned under {least:.1f} mm: a "
                        "string pressed at the last fret may touch, or the magnets pull it out of tune.",
                    )
                )  # fmt: skip
    return out


def _halves(entries: Mapping[str, str]) -> list[Finding]:
    names = "baseline.dc_slug", "baseline.dc_screw"
    one, other = (figure(entries, name, units.HALF_COIL) for name in names)
    if one is None or other is None or abs(one - other) <= HALVES * max(one, other):
        return []
    words = (
        f"The two coils read {one:.2f} and {other:.2f} kΩ, more than 10 % apart. Some are wound so; if it is not known "
        "of this one, look for shorted turns before any voicing."
    )
    return [Finding(stop=False, words=words, entries=names)]


def _way_round(sheet: WorkSheet, entries: Mapping[str, str]) -> list[Finding]:
    """Return whether polarity and phase came out as the job wants them."""
    out = []
    for blank in (one for section in sheet.sections if section.key == "after" for one in section.blanks):
        read = _pole if blank.key == "polarity" else _phase if blank.key.startswith("phase.") else None
        if read is None:
            continue
        names = f"baseline.{blank.key}", f"after.{blank.key}"
        was, now = (read(entries.get(one, "")) for one in names)
        if was is None or now is None:
            continue
        if (was == now) != (blank.words == "as before"):
            out.append(
                Finding(
                    stop=False, entries=names,
                    words=f"{blank.label[:1].upper()}{blank.label[1:]} should be {blank.words}; it was "
                    f"“{entries[names[0]]}” and is “{entries[names[1]]}”. The bar lies the other way round, or two "
                    "leads are swapped.",
                )
            )  # fmt: skip
    return out


def _pole(said: str) -> str | None:
    north, south = bool(_NORTH.search(said)), bool(_SOUTH.search(said))
    return None if north == south else "N" if north else "S"


def _phase(said: str) -> str | None:
    plain = said.strip().lower()
    if plain.startswith("out"):
        return "out"
    return "in" if plain.startswith("in") else None


def _ranges(sheet: WorkSheet, entries: Mapping[str, str]) -> list[Finding]:
    """Return the computed readings whose 90 % range was missed: the record, or the reading, is to be looked at."""
    out = []
    for section in sheet.sections:
        for blank in section.blanks:
            kind = quantity_of(blank)
            if kind is None or blank.interval is None or blank.basis not in ("computed", "from the file"):
                continue
            name = entry_of(section.key, blank)
            found = figure(entries, name, kind)
            low, high = blank.interval
            if found is None or low <= abs(found) <= high:
                continue
            where = "" if blank.string is None else f", string {blank.string}"
            out.append(
                Finding(
                    stop=False, entries=(name,),
                    words=f"{blank.label}{where}, {'after' if 'after' in section.key else 'before'}: "
                    f"{abs(found):.{blank.digits}f} {blank.unit} lies outside {low:.{blank.digits}f} to "
                    f"{high:.{blank.digits}f} {blank.unit} ({blank.basis}). Read it again; if it stays, put it into "
                    "the guitar file.",
                )
            )  # fmt: skip
    return out


def entry_of(section: str, blank: Blank) -> str:
    """Return the key of what is written into a blank, as the printed sheet knows it."""
    return f"{section}.{blank.key}" + ("" if blank.string is None else f".{blank.string}")


def _blank(sheet: WorkSheet, entry: str) -> Blank | None:
    section = sheet.section(entry.partition(".")[0])
    blanks = () if section is None else section.blanks
    return next((one for one in blanks if entry == entry_of(section.key, one)), None) if section else None
