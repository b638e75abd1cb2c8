"""What a trial that is over says: in plain words, and as raw answers to take away."""

import json
from collections.abc import Mapping
from typing import Any

from nicegui import ui

from polepiece.app.widgets.controls import press, text
from polepiece.errors import PolepieceError
from polepiece.measure import Trial, answers_csv, result_of


def outcome_lines(trial: Trial) -> list[str]:
    """Return the result in sentences; of a staircase that bounds nothing, that."""
    try:
        return result_of(trial)[0]
    except PolepieceError as error:
        words = str(error)
        return [words[:1].upper() + words[1:]]


def tell(trial: Trial, of: Mapping[str, Any]) -> None:
    """Show the result, and offer the raw answers with what was played."""
    first, *rest = outcome_lines(trial)
    text("p", first, "notice").props("role=status").mark("trial-outcome")
    for line in rest:
        text("p", line, "small")
    with ui.element("div").classes("row"):
        press("answers as CSV", lambda: _give(answers_csv(trial), "answers.csv", "text/csv"), mark="trial-csv")
        press("record as JSON", lambda: _give(record(trial, of), "trial.json", "application/json"), mark="trial-json")


def record(trial: Trial, of: Mapping[str, Any]) -> str:
    """Return the record as `polepiece trial result` reads it."""
    return json.dumps(trial.to_dict() | {"of": dict(of)}, indent=1, allow_nan=False) + "\n"


def _give(words: str, name: str, kind: str) -> None:
    ui.download.content(words.encode(), name, kind)
