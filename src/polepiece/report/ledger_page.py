"""The ledger of a change to keep and share: rows in words, a table of numbers, one HTML file."""

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from polepiece.measure import Claim, Entry, Ledger
from polepiece.moves import move_words
from polepiece.shown_number import true_minus

_SCALES = {"ohm": (1e-3, "kΩ"), "N": (1e3, "mN"), "thresholds": (1.0, "× what is just heard")}
_MOST_PLACES = {"Hz": 0, "H": 3, "kΩ": 2}  # decimals that a bench has a use for; of dB and the rest one
UNSEEN = "by less than the digits shown"
COLUMNS = (
    "key", "quantity", "of", "unit", "computed", "computed_low", "computed_high", "measured", "measured_low",
    "measured_high", "share_right", "share_right_low", "share_right_high", "normalised_error", "inside", "word", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerRow:
    """One line of a ledger in words, bench units, digits as the intervals allow; "" where there is nothing."""

    quantity: str
    of: str
    computed: str
    computed_span: str
    measured: str
    measured_span: str
    heard: str
    heard_span: str
    error: str  # the normalised error
    inside: str
    word: str
    note: str


def ledger_rows(ledger: Ledger) -> list[LedgerRow]:
    """Return the lines of a ledger as they are shown."""
    return [_row(one) for one in ledger.entries]


def _row(one: Entry) -> LedgerRow:
    scale, unit = _SCALES.get(one.unit, (1.0, one.unit))
    signed = one.of == "difference" and one.key != "heard"
    computed, measured = (_texts(claim, scale, unit, signed=signed) for claim in (one.computed, one.measured))
    heard = ("", "")
    if one.heard is not None:
        low, high = (f"{100 * x:.0f}" for x in (one.heard.low, one.heard.high))
        heard = f"{100 * one.heard.value:.0f} % right", f"{low} to {high} %"
    error = one.normalised_error
    inside = "" if one.inside is None else "yes" if one.inside else "no"
    return LedgerRow(
        quantity=one.words, of=one.of, computed=computed[0], computed_span=computed[1], measured=measured[0],
        measured_span=measured[1], heard=heard[0], heard_span=heard[1],
        error="" if error is None else f"{error:.2f}" if math.isfinite(error) else "infinite", inside=inside,
        word=one.word, note=one.note or (UNSEEN if one.word == "disagrees" and computed == measured else ""),
    )  # fmt: skip


def _texts(claim: Claim | None, scale: float, unit: str, *, signed: bool) -> tuple[str, str]:
    """Return value and interval with the digits that the width allows and a bench has a use for."""
    if claim is None:
        return "", ""
    half, most = 0.5 * scale * (claim.high - claim.low), _MOST_PLACES.get(unit, 1)
    places = most if half <= 0.0 else max(0, min(most, 1 - math.floor(math.log10(half))))

    def text(value: float) -> str:
        shown = round(scale * value, places) + 0.0
        return true_minus(f"{shown:{'+' if signed and shown else ''}.{places}f}")

    least = 0.5 * 10.0**-places
    if signed and scale * max(abs(claim.low), abs(claim.high)) < least:
        return f"{text(claim.value)} {unit}", f"within ±{least:g}"
    return f"{text(claim.value)} {unit}", f"{text(claim.low)} to {text(claim.high)}"


def ledger_csv(ledger: Ledger) -> str:
    """Return the lines as a table of plain numbers, SI units as named; 90 % intervals."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in ledger.entries:
        claims = [
            value
            for claim in (one.computed, one.measured, one.heard)
            for value in (("", "", "") if claim is None else (claim.value, claim.low, claim.high))
        ]
        error = "" if one.normalised_error is None else one.normalised_error
        inside = "" if one.inside is None else str(one.inside).lower()
        writer.writerow([one.key, one.words, one.of, one.unit, *claims, error, inside, one.word, one.note])
    return out.getvalue()


def ledger_page(ledger: Ledger) -> str:
    """Return a self-contained HTML page; no outside request."""
    loader = FileSystemLoader(Path(__file__).with_name("templates"))
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.get_template("ledger.html.j2").render(
        ledger=ledger, rows=ledger_rows(ledger), done=", ".join(map(move_words, ledger.change)) or "no change"
    )
