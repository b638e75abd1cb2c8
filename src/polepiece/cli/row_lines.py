"""Rows of a plan as lines of a terminal, 80 columns wide: one in full, and many with a line each."""

from collections.abc import Iterable
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from polepiece.cli.answer_lines import WIDTH
from polepiece.cli.console import signed

if TYPE_CHECKING:
    from polepiece.planning import Plan, Row

HEAD, LABEL = 3, 12  # columns of the number, and of what a line is about
DO, HEARD = 50, 7


def row_lines(row: "Row") -> list[str]:
    """Return one row in full: why, intervals, positions, way back and risk, each under its own word."""
    if not row.change:
        return [*_about("", f"{row.rank}  {row.why}")]
    from polepiece.guitar import assumed_words

    settle = f"; to settle it: {row.settle}" if row.settle else ""
    hangs = f"{assumed_words(row.hangs_on or '')}{settle}"
    parts = (
        ("why", row.why),
        ("interval", _spans(row)),
        ("strings", ", ".join(map(str, row.strings))),
        ("then", row.to),
        ("besides", "; ".join(row.loses)),
        ("trade", row.parted),
        ("heard in", "; ".join(row.heard_in)),
        ("elsewhere", "; ".join(one.words for one in row.other_positions)),
        ("fit", "" if row.fit == "n/a" else row.fit),
        ("way back", f"{row.way_back}. Risk: {row.risk}"),
        ("assumes", hangs if row.hangs_on else ""),
        ("heard from", f"{row.threshold:g} {row.threshold_unit}: {row.threshold_source}"),
        ("typed", moves(row)),
    )
    lines = short_line(row)
    for label, text in parts:
        lines += _about(label, text) if text else []
    return lines


def short_line(row: "Row") -> list[str]:
    """Return a row in one line where 80 columns allow, else in two: number, what is done, heard, minutes and cost."""
    from polepiece.planning import cost_of

    first, *more = wrap(row.done or moves(row), DO, break_on_hyphens=False) or [""]
    tail = f"{row.heard or row.likely_heard:<{HEARD}}{row.minutes} min, {cost_of(row)}"
    room = WIDTH - HEAD - DO - 1
    fitting = tail if len(tail) <= room else wrap(tail, room)[0]
    left = tail[len(fitting) :].strip()
    out = [f"{row.rank:<{HEAD - 1}} {first:<{DO}} {fitting}".rstrip()]
    for number in range(max(len(more), bool(left))):
        text = more[number] if number < len(more) else ""
        out.append(f"{'':<{HEAD}}{text:<{DO}} {' ' * HEARD + left if number == 0 and left else ''}".rstrip())
    return out


def all_lines(plan: "Plan") -> list[str]:
    """Return everything behind an answer: causes, rows in full, all others with a line each, what was refused."""
    out = ["", "Rule out first"]
    for cause in plan.cheap_causes:
        out += _about("", f"{cause.cause}: {cause.check} ({cause.why}).")
    out += ["", "What benches begin with"] if plan.advice else []
    for advice in plan.advice:
        out += _about("", f"{advice[:1].upper()}{advice[1:]}")
    out += ["", "Rows in full"] if plan.rows else []
    for row in plan.rows:
        out += [*row_lines(row), ""]
    if plan.rest:
        out += [f"What else points the right way, out of {plan.considered} moves considered"]
        for row in plan.rest:
            out += short_line(row)
        out += [""]
    return out + _afterwards(plan)


def moves(row: "Row") -> str:
    """Return what is done in a row, ready to type: the height move beside a bar included."""
    if not row.change:
        return "do nothing"
    then = [row.then] if row.then else []
    other = [f"{row.also[0]}: {', '.join(row.also[1])}"] if row.also else []
    return ", ".join([*row.change, *then]) + "".join(f"; {one}" for one in other)


def words(keys: Iterable[str]) -> str:
    """Return quantities in words, without what is in brackets; what is none of them as it is."""
    from polepiece.bench import QUANTITIES

    return ", ".join(QUANTITIES[key].words.partition(" (")[0] if key in QUANTITIES else key for key in keys)


def _spans(row: Any) -> str:
    """Return the 90 % intervals of what gets better and worse, where they were computed."""
    from polepiece.bench import QUANTITIES

    reset = row.use == "re-set" and row.effect_at_old_level is not None
    effect, interval = (
        (row.effect_at_old_level, row.interval_at_old_level) if reset else (row.effect, row.interval)
    )  # fmt: skip
    named = [(key, QUANTITIES[key].number) for key in (*row.better, *row.worse) if key in QUANTITIES]
    spans = [
        f"{words([key])} {signed(effect[at], interval[at])}" for key, at in named if at in interval and at in effect
    ]
    return f"{', '.join(spans)}; dB, 90 %" if spans else ""


def _afterwards(plan: "Plan") -> list[str]:
    from polepiece.planning import ONLY_FITTED

    out = []
    for head, bars in (
        ("Bars to have on the bench, in the order to try them", plan.bars_advised),
        (ONLY_FITTED, plan.bars_only_fitted),
    ):
        lines = [
            f"{one.order}. {one.grade} ({one.pickup})" + (f", then {one.then}" if one.then else "") + one.heard_words
            for one in bars
        ]
        out += [head, *_about("", "; ".join(lines)), ""] if lines else []
    if plan.refused:
        out += ["Refused"]
        for one in plan.refused:
            alike = f" ({one.alike} more for the same reason)" if one.alike else ""
            what = ", ".join(one.change)
            out += _about("", f"{one.reason if what in one.reason else f'{what}: {one.reason}'}{alike}")
    return [*out, *(wrap(plan.few, WIDTH) if plan.few else [])]


def _about(label: str, text: str) -> list[str]:
    head = " " * HEAD + label.ljust(LABEL) if label else " " * HEAD
    return wrap(
        text, WIDTH, initial_indent=head, subsequent_indent=" " * (HEAD + (LABEL if label else 0)),
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
