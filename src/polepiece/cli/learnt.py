"""What a measurement taught, for people: intervals before and after it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from polepiece.cli.console import table
from polepiece.cli.progress import working

if TYPE_CHECKING:
    from polepiece.evidence import Narrowed
    from polepiece.guitar import Guitar

_WORDS = {
    "level_db": ("level, dB", 1, 1.0), "bands_db.lows": ("lows against the level, dB", 2, 1.0),
    "bands_db.mids": ("mids against the level, dB", 2, 1.0), "bands_db.highs": ("highs against the level, dB", 2, 1.0),
    "bands_db.presence": ("presence against the level, dB", 2, 1.0), "resonance_hz": ("resonance, Hz", 0, 1.0),
    "resonance_db": ("its height, dB", 1, 1.0), "inductance_120hz_h": ("inductance at 120 Hz, H", 2, 1.0),
    "dc_resistance_ohm": ("DC resistance, kohm", 2, 1e-3),
}  # fmt: skip


def learnt(before: "Guitar", after: "Guitar", pickup: str, change: Sequence[str]) -> "tuple[Narrowed, ...]":
    """Compute both intervals; with progress."""
    from polepiece.evidence import narrowed
    from polepiece.moves import parse_changes

    with working("what is known now"):
        return narrowed(before, after, pickup, parse_changes(change))


def learnt_body(found: "Sequence[Narrowed]") -> list[dict[str, Any]]:
    """Return the intervals as the JSON shape."""
    return [{"key": one.key, "interval_before": one.before, "interval_after": one.after} for one in found]


def learnt_table(found: "Sequence[Narrowed]", change: Sequence[str]) -> Any:
    """Return the intervals as a table."""
    rows = []
    for one in found:
        words, n, factor = _WORDS[one.key]
        spans = [f"{factor * low:.{n}f} to {factor * high:.{n}f}" for low, high in (one.before, one.after)]
        was, now = one.widths
        rows.append((words, *spans, "-" if was <= 0.0 else f"{100 * now / was:.0f} %"))
    of = f"difference of {', '.join(change)}" if change else "the pickup as it is"
    return table(f"90 % intervals, {of}", ("", "before the measurement", "with it", "width left"), rows)
