"""Words of the trade through clean, edge and driven, as lines of a terminal and as JSON."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from polepiece.auditioning import TradeWord
    from polepiece.bench import Bench
    from polepiece.guitar import Guitar
    from polepiece.moves import Change

HEADS = ("through", "lows at once", "centre", "hard to soft", "in words")
WIDTHS = (9, 14, 9, 14, 34)


def found_words(
    guitar: "Guitar", pickup: str, changes: "Sequence[Change]", *, position: str | None, bench: "Bench | None"
) -> "tuple[tuple[TradeWord, ...], str]":
    """Return what is found, or nothing and why not."""
    from polepiece.auditioning import trade_words
    from polepiece.errors import InputError, MeasurementError

    try:
        return trade_words(guitar, pickup, changes, position=position, bench=bench), ""
    except (InputError, MeasurementError) as error:
        return (), f"Through the chains: not computed: {error}"


def trade_lines(found: "Sequence[TradeWord]", why_not: str = "") -> list[str]:
    """Return a line a chain: the three quantities and the words for them."""
    from polepiece.auditioning import CHAINS, KINDS

    if not found:
        return [why_not] if why_not else []
    out = [_cells(HEADS)]
    for chain in CHAINS:
        here = {one.key: one for one in found if one.chain == chain}
        figures = [_figure(here[key].difference, KINDS[key].unit) for key in KINDS]
        words = ", ".join(one.word for one in here.values() if one.word) or "nothing to name"
        out.append(_cells((chain, *figures, words)))
    return out


def trade_body(found: "Sequence[TradeWord]") -> list[dict[str, Any]]:
    """Return them as JSON values."""
    from dataclasses import asdict

    from polepiece.auditioning import KINDS

    return [{**asdict(one), "unit": KINDS[one.key].unit, "word": one.word or None} for one in found]


def _figure(value: float, unit: str) -> str:
    digits = 0 if unit == "%" else 1
    return f"{round(value, digits) + 0.0:+.{digits}f} {unit}"


def _cells(cells: Sequence[str]) -> str:
    return "".join(cell.ljust(width) for cell, width in zip(cells, WIDTHS)).rstrip()
