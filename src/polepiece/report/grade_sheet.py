"""Every grade in one pickup on one page to share: table, curves, what the trade says; one file, no outside request."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from polepiece.guitar import Guitar
from polepiece.report import curves, words
from polepiece.shown_number import signed
from polepiece.sound import bands_in_a_row

COLUMNS = {
    "level_db": ("level, dB", 1), "bands_db.lows": ("lows, dB", 1), "bands_db.mids": ("mids, dB", 1),
    "bands_db.highs": ("highs, dB", 1), "bands_db.presence": ("presence, dB", 1),
    "wound_minus_plain_db": ("wound against plain, dB", 1), "resonance_hz": ("resonance, Hz", 0),
    "resonance_db": ("its height, dB", 1), "inductance_1khz_h": ("inductance, H", 2),
}  # fmt: skip
SIDES = {"same": "At the same gap", "reset": "With the gap re-set to the old level"}
SAID = ("level", "lows", "mids", "highs", "where")


def grade_sheet_page(guitar: Guitar, sheet: Mapping[str, Any], *, name: Callable[[str], str] = str) -> str:
    """Return a self-contained HTML page.

    Parameters
    ----------
    guitar : Guitar
        For its name and what was assumed of it.
    sheet : mapping
        A grade sheet: ``pickup, in_place_of, charge, version, constants, seed, frequency_hz, before`` and ``grades``,
        each with ``grade, same, reset`` (``difference, interval, lowered_mm, response_db``) and ``trade``.
    name : callable
        Turns a grade's slug into words.
    """
    loader = FileSystemLoader(Path(__file__).with_name("templates"))
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    drawn = _curves(sheet, name)
    tables = [
        {"title": title, "reset": side == "reset", "rows": [_row(one, side, sheet, name) for one in sheet["grades"]]}
        for side, title in SIDES.items()
        if all(one[side] is not None for one in sheet["grades"])
    ]
    notes = [one["trade"]["note"] for one in sheet["grades"] if one["trade"] is not None]
    return environment.get_template("grade_sheet.html.j2").render(
        guitar=guitar, sheet=sheet, bands=bands_in_a_row(), present=name(str(sheet["in_place_of"])), tables=tables,
        heads=[head for head, _ in COLUMNS.values()], note=notes[0] if notes else "",
        trade=[(name(str(one["grade"])), _sayings(one["trade"])) for one in sheet["grades"] if one["trade"]],
        chart=Markup(curves.chart(drawn, title="Response against the bar that is in", unit="dB", span=6.0)),
        samples=[(Markup(curves.sample(k)), one.name) for k, one in enumerate(drawn)], csv=curves.curves_csv(drawn),
        assumed=[(a.path, a.value, words.span_of(a.low, a.high), a.settle, a.basis) for a in guitar.assumed],
    )  # fmt: skip


def _row(one: Mapping[str, Any], side: str, sheet: Mapping[str, Any], name: Callable[[str], str]) -> dict[str, Any]:
    cells = []
    for key, (head, digits) in COLUMNS.items():
        value, interval = one[side]["difference"].get(key), one[side]["interval"].get(key)
        pair = None if interval is None else (float(interval[0]), float(interval[1]))
        if value is None:
            cells.append((head, "–", ""))
        elif digits == 1:
            cells.append((head, signed(value), words.spread(pair)))
        else:
            span = "" if pair is None else f"{signed(pair[0], digits)} to {signed(pair[1], digits)}"
            cells.append((head, signed(value, digits), span))
    move = float(one[side]["lowered_mm"])
    return {
        "name": name(str(one["grade"])), "present": one["grade"] == sheet["in_place_of"], "cells": cells,
        "move": f"{'lower' if move > 0 else 'raise'} {abs(move):.2f} mm" if move else "as it is",
    }  # fmt: skip


def _sayings(trade: Mapping[str, Any]) -> list[tuple[str, str, str, str]]:
    return [
        (column, str(trade[column]), str(trade["strengths"].get(column, "")),
         str(trade["verdicts"].get(column, "not computed")))
        for column in SAID if trade.get(column)
    ]  # fmt: skip


def _curves(sheet: Mapping[str, Any], name: Callable[[str], str]) -> list[curves.Curve]:
    """Return the bar that is in and, by level, the others that span the range."""
    frequency, before = np.array(sheet["frequency_hz"]), np.array(sheet["before"]["response_db"])
    ranked = sorted(sheet["grades"], key=lambda one: float(one["same"]["difference"]["level_db"]))
    ranked = [one for one in ranked if one["grade"] != sheet["in_place_of"]]
    chosen = (
        {round(v) for v in np.linspace(0, len(ranked) - 1, min(curves.MOST_CURVES, len(ranked)))} if ranked else set()
    )
    drawn = [curves.Curve(name="the bar that is in", frequency=frequency, level_db=0.0 * before)]
    return drawn + [
        curves.Curve(
            name=name(str(ranked[k]["grade"])), frequency=frequency,
            level_db=np.array(ranked[k]["same"]["response_db"]) - before,
        )
        for k in sorted(chosen)
    ]  # fmt: skip
