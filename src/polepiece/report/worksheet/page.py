"""A work sheet as one HTML file to fill in on a tablet or on paper, and as PDF."""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any, Literal

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from polepiece.constants import INCH
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import grade_words
from polepiece.moves import BarFit, SizeCheck, move_words
from polepiece.report import words
from polepiece.report.worksheet.bars import bar_slug
from polepiece.report.worksheet.record import BarTrial, Blank, Effect, Section, WorkSheet
from polepiece.shown_number import signed, true_minus

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = ("a4", "letter")
Part = Literal["both", "bench", "owner"]
NO_PDF = (
    'a PDF needs WeasyPrint, which is not installed: pip install "polepiece[pdf]". '
    "Without it: write .html and print that from a browser."
)
INCH_DIGITS = {"length": 2, "width": 3, "thickness": 3}
MM_DIGITS = {"length": 1, "width": 1, "thickness": 2}


def worksheet_html(
    sheet: WorkSheet, *, paper: Paper | None = None, part: Part = "both", filled: "Mapping[str, str] | None" = None
) -> str:
    """Return a self-contained HTML page: bench sheet, then the owner's sheet on a page of its own.

    Parameters
    ----------
    sheet : WorkSheet
    paper : "a4" or "letter", optional
        Size that is asked of the printer; None leaves it to the printer's own paper.
    part : "both", "bench" or "owner"
    filled : mapping, optional
        What was written into the blanks, by keys such as ``baseline.dc_resistance`` (section and blank, then
        the string where there is one); it stands there as ink. A step that was ticked
        has any text. What the owner's page asks for again is taken from the bench's readings.
    """
    if paper is not None and paper not in PAPERS:
        raise InputError(f"paper is {paper!r}; allowed are {', '.join(PAPERS)}.")
    loader = FileSystemLoader(Path(__file__).parents[1] / "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {"expected": expected_text, "range": range_text, "spoken": move_words}
    return environment.get_template("worksheet.html.j2").render(
        sheet=sheet, paper=paper, part=part, filled=_for_the_owner(sheet, filled or {}),
        sections=[_section(one) for one in sheet.sections],
        fit=None if sheet.fit is None else fit_texts(sheet.fit), effects=[effect_texts(one) for one in sheet.effects],
        bars=[trial_texts(one) for one in sheet.bars],
    )  # fmt: skip


def worksheet_pdf(
    sheet: WorkSheet, *, paper: Paper = "a4", part: Part = "both", filled: "Mapping[str, str] | None" = None
) -> bytes:
    """Return the same page as PDF.

    Raises
    ------
    PolepieceError
        When WeasyPrint, which the extra ``pdf`` brings, is not installed.
    """
    return bytes(worksheet_document(sheet, paper=paper, part=part, filled=filled).write_pdf())


def worksheet_document(
    sheet: WorkSheet, *, paper: Paper = "a4", part: Part = "both", filled: "Mapping[str, str] | None" = None
) -> Any:
    """Return the laid-out document, whose ``pages`` can be counted."""
    try:
        from weasyprint import HTML  # type: ignore[import-untyped]
    except (ImportError, OSError) as error:  # OSError: its system libraries are missing
        raise PolepieceError(f"{NO_PDF} ({error})") from error
    return HTML(string=worksheet_html(sheet, paper=paper, part=part, filled=filled)).render()


_OWNERS = {"gap_bass": "gap_bass", "gap_treble": "gap_treble", "dc": "dc_resistance", "strings": "strings"}
"""Readings of the owner's page, and what the bench calls them."""


def _for_the_owner(sheet: WorkSheet, filled: Mapping[str, str]) -> dict[str, str]:
    """Return what is filled in, the owner's page from the bench's readings where it has none of its own."""
    found = {}
    for was, _ in sheet.owner.before_after:
        key = _OWNERS.get(was.key)
        for side, section in (("before", "baseline"), ("after", "after")):
            if key is not None and f"{section}.{key}" in filled:
                found[f"owner.{was.key}.{side}"] = filled[f"{section}.{key}"]
    return found | dict(filled)


# ------------------------------------------------------------------------------------ numbers in words


def expected_text(blank: Blank) -> str:
    """Return what a reading should be, with its unit, or in words."""
    if blank.expected is None:
        return blank.words
    return true_minus(f"{blank.expected:.{blank.digits}f} {blank.unit}".rstrip())


def range_text(blank: Blank) -> str:
    """Return the ends between which a reading should lie, or nothing."""
    if blank.interval is None:
        return ""
    low, high = blank.interval
    return true_minus(f"{low:.{blank.digits}f} to {high:.{blank.digits}f}")


def both_units(metres: float, digits: tuple[int, int]) -> tuple[str, str]:
    """Return a length in mm and in inches (25.4 mm exactly)."""
    return _half_up(metres * 1e3, digits[0]), _half_up(metres / INCH, digits[1])


def _half_up(value: float, digits: int) -> str:
    """Return 3.175 as 3.18, as people round."""
    return str(Decimal(repr(round(value, 9))).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP))


def _size(check: SizeCheck, value: float, ends: tuple[float, float]) -> tuple[str, str]:
    digits = MM_DIGITS[check.dimension], INCH_DIGITS[check.dimension]
    mm, inch = both_units(value, digits)
    if ends[1] - ends[0] < 1e-9:
        return f"{mm} mm", f"{inch} in"
    (low_mm, low_inch), (high_mm, high_inch) = (both_units(one, digits) for one in ends)
    return f"{mm} mm ({low_mm} to {high_mm})", f"{inch} in ({low_inch} to {high_inch})"


def fit_texts(fit: BarFit) -> dict[str, Any]:
    """Return the fit of a bar as it stands in a table, sizes in mm and inches."""

    rows = []
    for one in fit.checks:
        rows.append(
            {
                "dimension": one.dimension, "old": _size(one, one.here, one.here_range), "verdict": one.verdict,
                "new": _size(one, one.new, one.new_range), "words": one.words, "old_assumed": one.here_assumed,
                "new_assumed": one.new_assumed,
            }
        )  # fmt: skip
    return {
        "rows": rows, "verdict": fit.verdict, "name": _bar_name(fit), "bars": fit.bars, "assumed": fit.assumed,
        "through": fit.magnetised_through,
    }  # fmt: skip


def _bar_name(fit: BarFit) -> str:
    return grade_words(bar_slug(fit.grade, fit.finish))


def trial_texts(trial: BarTrial) -> dict[str, Any]:
    """Return a bar to try as it stands in a table."""

    return {
        "order": trial.order, "name": trial.name, "words": grade_words(trial.name), "chosen": trial.chosen,
        "reset": trial.reset, "why": trial.why,
        "level": signed(trial.level_db), "span": words.spread(trial.interval),
        "gauss": f"{trial.pole_gauss:.0f}", "fit": trial.fit.verdict,
    }  # fmt: skip


def effect_texts(effect: Effect) -> dict[str, str]:
    """Return an effect as it stands in a table."""

    def shown(value: float) -> str:
        if effect.unit == "Hz":
            return signed(round(value, -1), 0) if abs(value) >= 5.0 else "0"
        return signed(value)

    span = ""
    if effect.interval is not None:
        low, high = effect.interval
        span = f"{shown(low)} to {shown(high)}" if effect.unit == "Hz" else words.spread(effect.interval)
    again = "" if effect.change_at_old_level is None else shown(effect.change_at_old_level)
    return {
        "key": effect.key, "words": effect.words, "unit": effect.unit, "same": shown(effect.change), "span": span,
        "again": again,
    }  # fmt: skip


# ----------------------------------------------------------------------------------------- string tables


def _section(section: Section) -> dict[str, Any]:
    """Return a section with its readings by string as rows of a table."""
    rows: dict[str, list[Blank]] = {}
    for one in section.blanks:
        if one.string is not None:
            rows.setdefault(one.key, []).append(one)
    width = max((len(one) for one in rows.values()), default=0)
    return {
        "key": section.key, "title": section.title, "note": section.note, "steps": section.steps, "count": width,
        "blanks": [one for one in section.blanks if one.string is None],
        "strings": [
            {"label": row[0].label, "how": row[0].how, "cells": [*row, *[None] * (width - len(row))]}
            for row in rows.values()
        ],
    }  # fmt: skip
