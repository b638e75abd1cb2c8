"""One bar a row: what it ends up doing in this pickup, in a sentence and a small curve; what people say of it below."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np
from nicegui import ui

from polepiece.app.widgets.controls import press, text, tick_box
from polepiece.app.widgets.small_curve import reach_of_curves, small_curve
from polepiece.bench import difference_words
from polepiece.guitar import grade_words
from polepiece.shown_number import minus_in_words

Grade = Mapping[str, Any]


def grade_rows(
    rows: Sequence[Grade], sheet: Mapping[str, Any], *, gap: str, low: float, picked: Sequence[str],
    on_play: Callable[[str], Any], on_pick: Callable[[str, bool], Any], moved: Callable[[float], str],
    trade: Callable[[Mapping[str, Any]], None],
) -> None:  # fmt: skip
    """Put the bars on the page, in this order."""
    frequency, before = np.array(sheet["frequency_hz"]), np.array(sheet["before"]["response_db"])
    apart = {str(one["grade"]): np.array(one[gap]["response_db"]) - before for one in rows}
    inside = frequency >= low
    reach = reach_of_curves([one[inside] for one in apart.values()])
    with ui.element("ul").classes("bars"):
        for one in rows:
            slug = str(one["grade"])
            with ui.element("li").classes("card"):
                _row(one, slug, gap, slug == sheet["in_place_of"], moved)
                small_curve(
                    frequency, apart[slug], low=low, reach=reach,
                    words=f"{grade_words(slug)}: change of the response, scale {reach:.1f} dB to each side",
                )  # fmt: skip
                with ui.element("div").classes("row-acts"):
                    play = press("play", partial(on_play, slug), cls="quiet", mark=f"play-{slug}")
                    play.props["aria-label"] = f"play {grade_words(slug)}"
                    with ui.element("label").classes("tick"):
                        box = tick_box(slug in picked, partial(on_pick, slug), f"curve-{slug}")
                        box.props["aria-label"] = f"curve of {grade_words(slug)}"
                        text("span", "curve")
                if one["trade"] is not None:
                    with ui.element("details").classes("people"):
                        text("summary", "what people say").props["aria-label"] = (
                            f"what people say of {grade_words(slug)}"
                        )
                        trade(one["trade"])
    text("p", f"Small curves: change of the response from {low:g} Hz up, {reach:.1f} dB to each side of the line.",
         "small soft")  # fmt: skip


def _row(one: Grade, slug: str, gap: str, is_in: bool, moved: Callable[[float], str]) -> None:
    side = one[gap]
    with ui.element("div").classes("what-it-does"):
        with ui.element("h3"):
            text("span", grade_words(slug))
            if is_in:
                text("span", " (in)", "soft")
        said = sentence_of(side)
        if gap == "reset":
            said = f"{moved(float(side['lowered_mm']))}: then {said[:1].lower()}{said[1:]}"
        text("p", said[:1].upper() + said[1:])


def sentence_of(side: Mapping[str, Any]) -> str:
    """Return what a bar ends up doing, in a sentence."""
    interval = {key: (float(span[0]), float(span[1])) for key, span in side["interval"].items()}
    return f"{minus_in_words(difference_words(side['difference'], interval))}."
