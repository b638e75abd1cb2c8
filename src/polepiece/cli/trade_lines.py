"""Words of the trade through clean, edge and driven, as lines of a terminal and as JSON."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from polepiece.cli.console import table

if TYPE_CHECKING:
    from rich.table import Table

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
    from polepiece.auditioning import KINDS

    if not found:
        return [why_not] if why_not else []
    units = ["", *(f" {one.unit}" for one in KINDS.values()), ""]
    rows = [[cell + unit for cell, unit in zip(row, units)] for row in _rows(found)]
    return [_cells(HEADS), *map(_cells, rows)]


def trade_sheet(found: "Sequence[TradeWord]", why_not: str = "") -> "list[Table | str]":
    """Return the same for a page to keep: a table with its units in the heads, or why there is none."""
    from polepiece.auditioning import KINDS

    if not found:
        return [why_not] if why_not else []
    units = ["", *(f", {one.unit}" for one in KINDS.values()), ""]
    heads = [head + unit for head, unit in zip(HEADS, units)]
    return [table("Words of the trade, after against before", heads, _rows(found))]


def _rows(found: "Sequence[TradeWord]") -> list[list[str]]:
    from polepiece.auditioning import CHAINS, KINDS

    out = []
    for chain in CHAINS:
        here = {one.key: one for one in found if one.chain == chain}
        figures = [_figure(here[key].difference, KINDS[key].unit) for key in KINDS]
        words = ", ".join(one.word for one in here.values() if one.word) or "nothing to name"
        out.append([chain, *figures, words])
    return out


def trade_body(found: "Sequence[TradeWord]") -> list[dict[str, Any]]:
    """Return them as JSON values."""
    from dataclasses import asdict

    from polepiece.auditioning import KINDS

    return [{**asdict(one), "unit": KINDS[one.key].unit, "word": one.word or None} for one in found]


def _figure(value: float, unit: str) -> str:
    digits = 0 if unit == "%" else 1
    return f"{round(value, digits) + 0.0:+.{digits}f}"


def _cells(cells: Sequence[str]) -> str:
    return "".join(cell.ljust(width) for cell, width in zip(cells, WIDTHS)).rstrip()
