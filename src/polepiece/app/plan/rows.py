"""One row of a plan: what a bench asks of it at a glance, and all the rest one press away."""

from collections.abc import Iterable, Mapping

from nicegui import ui

from polepiece.app.widgets.cells import cell, ends
from polepiece.app.widgets.controls import Handler, OnTick, link, press, text, tick_box
from polepiece.bench import QUANTITIES
from polepiece.moves import move_words
from polepiece.notebook import JobEntry
from polepiece.planning import Bar, Plan, Row, answer_row, read_plan
from polepiece.shown_number import minus_in_words, signed

BANDS = ("lows", "mids", "highs", "presence")
COLUMNS = 9


def plan_of(job: "JobEntry | None") -> Plan | None:
    """Return the plan that was kept last for a job; None where there is none."""
    return None if job is None or job.plan is None else read_plan(job.plan)


def quantities(keys: Iterable[str]) -> str:
    """Return quantities in words, without what is in brackets."""
    return ", ".join(QUANTITIES[key].words.partition(" (")[0] for key in keys if key in QUANTITIES)


def moves_of(row: "Row | Bar") -> str:
    """Return what is done in a row, in words."""
    if not row.change:
        return "do nothing"
    moves = [move_words(one) for one in row.change]
    then = [f"then {move_words(row.then)}"] if row.then else []
    also = row.also if isinstance(row, Row) else None
    other = [f"{also[0]}: {', '.join(move_words(one) for one in also[1])}"] if also else []
    return ", ".join([*moves, *then, *other])


def row_in(
    row: Row, *, job: JobEntry | None, ticked: bool, on_tick: OnTick, on_choose: Handler, hear: str,
    sheet: str, several: bool = False,
) -> None:  # fmt: skip
    """Put a row into the table that is open: a line of figures, and a line with everything else folded away."""
    words, said = moves_of(row), answer_row(row)
    chosen = job is not None and job.change == f"{row.pickup}: {words}"
    with ui.element("tbody").classes("chosen" if chosen else "").mark(f"row-{row.rank}"):
        with ui.element("tr"):
            with ui.element("td") as place:
                place.props["data-label"] = "rank"
                text("span", str(row.rank))
            with ui.element("th").props("scope=row"):
                text("span", said.do if row.change else words)
                text("span", _kinds(row), "span")
            _cell("better", minus_in_words(said.get) if row.change else "–")
            _cell("worse", said.worse or "–", "worse" if said.worse else "")
            with ui.element("td").classes("n") as place:
                place.props["data-label"] = "level, dB"
                value, interval = level_of(row)
                text("span", "–" if value is None else cell(value, interval))
                text("span", ends(interval), "span")
            _cell("likely heard", said.heard if row.change else "–")
            _cell("strings", _strings(row.strings))
            _cell("cost", row.cost)
            _cell("time", f"{row.minutes} min" if row.minutes else "–")
        with ui.element("tr").classes("more"), ui.element("td").props(f"colspan={COLUMNS}"):
            if row.change:
                _acts(row, words, ticked, chosen, on_tick, on_choose, hear, sheet)
            _details(row, words)


def level_of(row: Row) -> "tuple[float | None, tuple[float, float] | None]":
    """Return the level difference by which a row is judged, None where it has none, and its interval."""
    if row.use == "re-set" and row.effect_at_old_level is not None:
        effect, found = row.effect_at_old_level, row.interval_at_old_level.get("level_db")
    else:
        effect, found = row.effect, row.interval.get("level_db")
    return effect.get("level_db"), found


def _acts(
    row: Row, words: str, ticked: bool, chosen: bool, on_tick: OnTick, on_choose: Handler, hear: str,
    sheet: str,
) -> None:  # fmt: skip
    with ui.element("div").classes("row-acts"):
        with ui.element("label").classes("tick"):
            box = tick_box(ticked, on_tick, f"tick-{row.rank}")
            box.props["aria-label"] = f"curve of row {row.rank}, {words}"
            text("span", "curve")
        link(hear, "hear before and after", "act").mark(f"hear-{row.rank}")
        if chosen:
            text("span", "chosen", "verdict agrees")
        else:
            button = press("choose this one", on_choose, cls="quiet", mark=f"choose-{row.rank}")
            button.props["aria-label"] = f"choose this one: row {row.rank}, {words}"
        if sheet:
            link(sheet, "work sheet", "act").mark(f"sheet-{row.rank}")


def _details(row: Row, words: str) -> None:
    text("p", row.why, "small")
    with ui.element("details"):
        text("summary", "numbers, fit, way back, risk").props["aria-label"] = f"numbers, fit, way back, risk of {words}"
        with ui.element("dl").classes("facts small"):
            for name, value in _facts(row):
                text("dt", name)
                text("dd", value)


def _facts(row: Row) -> list[tuple[str, str]]:
    facts = [("where things are then", row.to)]
    facts.append(("at the same gap", _figures(row.effect, row.interval)))
    if row.effect_at_old_level is not None:
        reset = _figures(row.effect_at_old_level, row.interval_at_old_level)
        facts.append(("gap re-set to the old level", reset))
    facts += [_position(one.words) for one in row.other_positions]
    facts += [
        ("stays", quantities(row.unchanged)),
        ("heard is judged against", f"{row.threshold:g} {row.threshold_unit} ({row.threshold_source})"),
        ("fit", row.fit), ("way back", row.way_back), ("risk", row.risk),
    ]  # fmt: skip
    if row.hangs_on:
        value = row.hangs_on.rsplit(".", 1)[-1].replace("_", " ")
        facts.append(("hangs on", f"what was assumed for the {value} ({row.hangs_on})"))
        facts.append(("to settle that", row.settle or ""))
    return [(name, value) for name, value in facts if value and value != "n/a"]


def _position(words: str) -> tuple[str, str]:
    """Split "both on: level -0.2 dB" at its colon."""
    name, _, moved = words.partition(": ")
    return name, minus_in_words(moved or name)


def _figures(effect: Mapping[str, float], interval: Mapping[str, tuple[float, float]]) -> str:
    out = []
    named = {"level": "level_db", **{band: f"bands_db.{band}" for band in BANDS}}
    for name, key in {**named, "wound against plain": "wound_minus_plain_db"}.items():
        value = effect.get(key)
        if value is None:
            continue
        pair = interval.get(key)
        out.append(f"{name} {signed(value)} dB" + (f" ({ends(pair)})" if pair is not None else ""))
    hertz = effect.get("resonance_hz")
    if hertz is not None:
        out.append(f"resonance {signed(hertz, 0)} Hz")
    return "; ".join(out)


def _kinds(row: Row) -> str:
    if not row.change:
        return ""
    words = [row.pickup, *(["free"] if row.free else []), "reversible" if row.reversible else "not reversible"]
    use = {"re-set": "gap re-set to the old level", "as it is": "gap left as it is"}.get(row.use)
    return ", ".join([*words, *([use] if use else [])])


def _strings(strings: "tuple[int, ...]") -> str:
    if not strings:
        return "–"
    return "all" if len(strings) >= 6 else ", ".join(str(one) for one in strings)


def _cell(label: str, words: str, cls: str = "") -> None:
    with ui.element("td").classes(cls) as place:
        place.props["data-label"] = label
        text("span", words)
