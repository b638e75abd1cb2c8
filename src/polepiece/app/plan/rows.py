"""One row of a plan: what a bench asks of it at a glance, and all the rest one press away."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nicegui import ui

from polepiece.app.widgets.cells import ends
from polepiece.app.widgets.controls import Handler, OnTick, Press, link, press, text, tick_box
from polepiece.app.widgets.whisker import axis, reach_of, whisker
from polepiece.bench import QUANTITIES
from polepiece.guitar import assumed_words
from polepiece.moves import move_words
from polepiece.notebook import JobEntry
from polepiece.planning import Bar, Plan, Row, answer_row, cost_of, interval_of, read_plan
from polepiece.shown_number import minus_in_words, signed

BANDS = ("lows", "mids", "highs", "presence")
COLUMNS = 6
Interval = tuple[str, float, tuple[float, float] | None] | None  # of `planning.interval_of`


def plan_of(job: "JobEntry | None") -> Plan | None:
    """Return the plan that was kept last for a job; None where there is none."""
    return None if job is None or job.plan is None else read_plan(job.plan)


def quantities(keys: Iterable[str]) -> str:
    """Return quantities in a word or two each."""
    return ", ".join(QUANTITIES[key].short for key in keys if key in QUANTITIES)


def moves_of(row: "Row | Bar") -> str:
    """Return what is done in a row, in words."""
    if not row.change:
        return "do nothing"
    moves = [move_words(one) for one in row.change]
    then = [f"then {move_words(row.then)}"] if row.then else []
    also = row.also if isinstance(row, Row) else None
    other = [f"{also[0]}: {', '.join(move_words(one) for one in also[1])}"] if also else []
    return ", ".join([*moves, *then, *other])


@dataclass(frozen=True, slots=True, kw_only=True)
class RowActs:
    """What can be done with a row, and where its links lead; an empty address is no link."""

    on_tick: OnTick
    on_choose: Handler
    hear: str
    sheet: str


def head_of_table(reach: float) -> None:
    """Put the heads of the columns into the table that is open, the axis of all whiskers among them."""
    with ui.element("thead"), ui.element("tr"):
        for head in ("curve", "what to do"):
            text("th", head).props("scope=col")
        with ui.element("th").props("scope=col").classes("whisker-head"):
            text("span", "what changes, 90 % interval", "hidden-visually")
            text("span", "change, dB", "unit")
            axis(reach)
        for head in ("heard", "time", "more"):
            text("th", head, "hidden-visually" if head == "more" else "").props("scope=col")


def reach_of_rows(rows: Iterable[Row]) -> float:
    """Return how far the axis of these rows goes, dB."""
    found = [interval_of(row) for row in rows if row.change]
    spans = [(value, value) if span is None else span for key, value, span in _shown(found)]
    return reach_of(spans)


def _shown(found: Iterable[Interval]) -> "list[tuple[str, float, tuple[float, float] | None]]":
    return [one for one in found if one is not None and QUANTITIES[one[0]].unit == "dB"]


class Ticked:
    """The box of a row, and the line that its curve has; so that a tick changes nothing else on the page."""

    def __init__(self, row: Row, words: str, look: str, on_tick: OnTick) -> None:
        with ui.element("label").classes("tick"):
            self.box = tick_box(bool(look), on_tick, f"tick-{row.rank}")
            self.box.props["aria-label"] = f"curve of row {row.rank}, {words}"
            text("span", str(row.rank))
            self.line = ui.html("", sanitize=False)
        self._look = ""
        self.show(look)

    def show(self, look: str) -> None:
        """Show it with the line of this look; empty: not ticked."""
        self.box.show(bool(look))
        if look != self._look:
            self._look = look
            line = f'<line x1="0" y1="4" x2="22" y2="4" class="curve c-{look}"/>'
            drawn = f'<svg class="sample" viewBox="0 0 22 8" aria-hidden="true">{line}</svg>'
            self.line.set_content(drawn if look else "")


def row_in(row: Row, *, job: JobEntry | None, acts: RowActs, reach: float, look: str) -> Ticked | None:
    """Put a row into the table that is open: one line, and everything else folded away below it; return its box."""
    words, said = moves_of(row), answer_row(row)
    chosen = job is not None and job.change == f"{row.pickup}: {words}"
    with ui.element("tbody").classes("chosen" if chosen else "").mark(f"row-{row.rank}"):
        with ui.element("tr"):
            with ui.element("td").classes("rank"):
                box = Ticked(row, words, look, acts.on_tick) if row.change else None
            with ui.element("th").props("scope=row"):
                text("span", said.do if row.change else words)
                if chosen:
                    text("span", "chosen", "verdict agrees")
                if said.worse:
                    text("span", f"worse: {minus_in_words(said.worse)}", "span worse")
            _what(row, said.get, reach)
            _cell("heard", said.heard if row.change else "–", f"heard-{said.heard}")
            with ui.element("td") as place:
                place.props["data-label"] = "time"
                text("span", f"{row.minutes} min" if row.minutes else "–")
                text("span", cost_of(row) if row.change else "", "span")
            with ui.element("td").classes("go"):
                if row.change:
                    heard = link(acts.hear, "hear").mark(f"hear-{row.rank}")
                    heard.props["aria-label"] = f"hear before and after: row {row.rank}, {words}"
                unfold = press("more", lambda: None, cls="quiet", mark=f"more-{row.rank}")
        with ui.element("tr").classes("more") as below, ui.element("td").props(f"colspan={COLUMNS}"):
            if row.change:
                _acts(row, words, chosen, acts)
            _details(row)
        _folds(unfold, below, f"row {row.rank}, {words}")
    return box


def _folds(button: Press, below: ui.element, words: str) -> None:
    """Let a button fold and unfold what is below its row."""

    def show(open_: bool) -> None:
        below.set_visibility(open_)
        button.say("less" if open_ else "more")
        button.props["aria-expanded"] = "true" if open_ else "false"
        button.props["aria-label"] = f"{button.words} of {words}"
        button.update()

    show(False)
    button.on("click", lambda: show(not below.visible), args=[])


def _what(row: Row, get: str, reach: float) -> None:
    """What changes: its name and size, and the whisker of it."""
    with ui.element("td").classes("what") as place:
        place.props["data-label"] = "what changes"
        found = interval_of(row) if row.change else None
        if found is None:
            text("span", minus_in_words(get) if row.change else "–", "small")
            return
        key, value, span = found
        quantity = QUANTITIES[key]
        text("span", f"{quantity.short} {signed(value)} {quantity.unit}", "said")
        if quantity.unit == "dB":
            whisker(value, span, reach, f"90 % interval {ends(span)} dB" if span else "no interval")
        elif span is not None:
            text("span", f"{ends(span)} {quantity.unit}", "span")


def _acts(row: Row, words: str, chosen: bool, acts: RowActs) -> None:
    with ui.element("div").classes("row-acts"):
        if not chosen:
            button = press("choose this one", acts.on_choose, cls="quiet", mark=f"choose-{row.rank}")
            button.props["aria-label"] = f"choose this one: row {row.rank}, {words}"
        link(acts.hear, "hear before and after", "act")
        if acts.sheet:
            link(acts.sheet, "work sheet", "act").mark(f"sheet-{row.rank}")


def _details(row: Row) -> None:
    text("p", _kinds(row), "small soft")
    text("p", minus_in_words(row.why), "small")
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
        ("heard side by side from", f"{row.threshold:g} {row.threshold_unit} ({row.threshold_source})"),
        ("fit", row.fit), ("way back", row.way_back), ("risk", row.risk),
    ]  # fmt: skip
    if row.hangs_on:
        facts.append(("hangs on", assumed_words(row.hangs_on)))
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


def _cell(label: str, words: str, cls: str = "") -> None:
    with ui.element("td").classes(cls) as place:
        place.props["data-label"] = label
        text("span", words)
