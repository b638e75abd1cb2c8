"""The answer of a plan: one sentence to tell a customer, a few rows for the bench, and what is not worth it.

Records of text, made from the rows and from nothing else, so that terminal, page and report say the same. Why, every
interval and threshold, positions and refusals stay in the rows.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from polepiece.bench import HARDLY, HEARD_WORDS, threshold_of
from polepiece.guitar import assumed_words, grade_words
from polepiece.moves import pickup_words
from polepiece.planning.answer_rows import (
    AnswerRow,
    answer_row,
    better_of,
    cost_of,
    heard_of,
    interval_of,
    is_bar,
    moves_in_words,
    said_of_row,
    worse_of,
)
from polepiece.planning.gate import Finding
from polepiece.planning.record import Plan, Row
from polepiece.planning.said import once_said
from polepiece.planning.words import unhelpful_together

MOST_ROWS = 4
NOT_WORTH = ("hardly", "no")  # to open a pickup or to solder for
MOST_PARTED = 2
SHOWN = 0.05  # in the unit of a quantity: less is shown as 0.0
CURES = "Benches fit"  # how `bars.cure_words` begins
QUICK = 5  # minutes; a cable that is hardly heard may still be tried
ENOUGH = 2  # rows that are heard; beside them none is said that is hardly heard
_STRENGTH = {1: " (slight)", 3: " (strong)"}
_TIMES = {1: "A minute"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is said of a plan; a text that does not apply is empty."""

    title: str
    told: str  # to a customer: the first paragraph without what is in brackets
    start: str
    repair: tuple[str, ...]
    rule_out: str
    rows: tuple[AnswerRow, ...]
    bars: str  # that no bar is worth opening it for
    parted: tuple[str, ...]  # where trade and computation part
    not_computed: tuple[str, ...]
    order: str
    hangs_on: str
    more: str


def answer_of(plan: Plan, *, most: int = MOST_ROWS, asides: int = MOST_PARTED) -> Answer:
    """Return the answer of a plan, with at most so many rows, and so many sentences on what is no row of it."""
    rows = worth_saying(plan)
    bar = _best_bar(plan, rows)
    bars = _bars(plan, rows, bar)
    aside = [one for one in plan.parted if not (bars and one.startswith(CURES))]  # said with the bars
    beside = [one for one in aside if one.startswith(CURES) and any(map(is_bar, rows[:most]))]  # of a bar that is shown
    aside = [one for one in aside if one not in beside]
    parted = [*beside, *aside[:asides], *(row.parted for row in rows[:most])]
    start = _start(plan, rows)
    return Answer(
        title=_title(plan), start=start, told=_without_brackets(start),
        repair=tuple(_repair(one) for one in plan.repair_first),
        rule_out=_rule_out(plan), rows=tuple(answer_row(row) for row in rows[:most]),
        bars=bars, parted=tuple(unhelpful_together(once_said(one for one in parted if one)[:MOST_PARTED])),
        not_computed=tuple(_not_computed(one) for one in plan.advice if _says_computed(one)), order=_order(rows),
        hangs_on=_hangs(rows), more=_more(plan, min(len(rows), most)),
    )  # fmt: skip


def advice_first(rows: Iterable[Row]) -> list[Row]:
    """Return rows numbered anew, those that are advice before the others."""
    rows = list(rows)
    said = _worth(rows)
    return [replace(row, rank=rank) for rank, row in enumerate((*said, *(r for r in rows if r not in said)), start=1)]


def worth_saying(plan: Plan) -> list[Row]:
    """Return the rows that are advice: nothing that is opened, soldered or bought for what is hardly heard."""
    return _worth(plan.rows)


def _worth(rows: Iterable[Row]) -> list[Row]:
    rows = [row for row in rows if row.change]
    rows = [row for row in rows if not (is_bar(row) and heard_of(row) in NOT_WORTH)]
    rows = [row for row in rows if row.free or heard_of(row) not in NOT_WORTH or (_quick(row) and not row.worse)]
    heard = [row for row in rows if heard_of(row) != "no" and not _either_way(row)]
    clear = [row for row in heard if heard_of(row) not in NOT_WORTH]
    if len(clear) < ENOUGH:
        return heard or [row for row in rows[:1] if not _nothing(row)]
    ahead = [row for row in heard[:1] if row.free and row not in clear and not any(one.free for one in clear)]
    return [*ahead, *clear]  # the free move that goes half the way stays before what takes a control out


def _either_way(row: Row) -> bool:
    """Tell whether the interval of what decides reaches as far as half a threshold the wrong way: no advice."""
    shown = interval_of(row)
    key, value, span = shown or ("level", 0.0, None)
    if span is None:
        return False
    wrong = -span[0] if value > 0 else span[1]
    return wrong >= HARDLY * threshold_of(key)


def _nothing(row: Row) -> bool:
    """Tell whether what decides does not move by a figure that is shown: "+0.0 dB (+0.0 to +0.0)" is no advice."""
    shown = interval_of(row)
    ends = [] if shown is None else [shown[1], *(shown[2] or ())]
    return bool(ends) and all(abs(one) < SHOWN for one in ends)


def _quick(row: Row) -> bool:
    return row.minutes <= QUICK and heard_of(row) == "hardly"


def _title(plan: Plan) -> str:
    said = []
    for one in plan.complaints:
        where = pickup_words(one.pickup) if one.pickup else "guitar"
        said.append(f"{where}, {one.word}{_STRENGTH.get(one.strength, '')}{_heard_in(plan, one.pickup)}")
    return _capital("; ".join(dict.fromkeys(said))) + "." if said else ""


def _heard_in(plan: Plan, pickup: str | None) -> str:
    """Say in which position of the switches the rows of a pickup are judged, where that is not the pickup by itself."""
    rows = [row for row in plan.rows if row.change and pickup in (None, row.pickup)]
    at = {row.position for row in rows}
    apart = len(at) == 1 and at.isdisjoint(("", *(row.pickup for row in rows)))
    return f", heard in the position {at.pop()}" if apart else ""


def _start(plan: Plan, rows: list[Row]) -> str:
    if plan.verdict == "repair-first":
        return "Repair first; no voicing before that."
    if not rows and plan.constraints:
        return "Nothing that the limits allow helps: see what they refuse (--all), or look for the cause elsewhere."
    if not rows:
        return "Nothing that can be changed here helps: leave it as it is, and look for the cause elsewhere."
    first = rows[0]
    job = f"{first.done_in_full or moves_in_words(first)}. {_effort(first)}."
    what = said_of_row(first)
    heard = HEARD_WORDS[heard_of(first)]
    louder = [row for row in rows if heard_of(row) not in NOT_WORTH]
    dearer = [row for row in louder if first not in louder and first.free and not any(one.free for one in louder)]
    head = "Free, so try it first" if dearer else "Start here"
    if not louder:
        head = "Nothing here is likely to be heard. The nearest"
    parts = [f"{head}: {job}", f"{_capital(what)}: {heard}." if what else f"{_capital(heard)}."]
    if better := better_of(first):
        parts.append(f"Also {once_little(better)}.")
    if worse := worse_of(first):
        parts.append(f"Worse: {once_little(worse)}.")
    if dearer:
        parts.append(f"What is heard costs more: row {dearer[0].rank}.")
    return " ".join(parts)


def _effort(row: Row) -> str:
    minutes = _TIMES.get(row.minutes, f"{row.minutes} minutes")
    return f"{minutes}, {cost_of(row)}"


def _repair(one: Finding) -> str:
    """Say a fault: why, what to check, what mends it, whose work it is, and what may hurt."""
    more = (("Cure", one.cure), ("By", one.by), ("Caution", one.caution))
    said = "".join(f" {head}: {text}." for head, text in more if text)
    return f"{_capital(one.fault)}: {one.why}. Check: {one.check}.{said}"


def _rule_out(plan: Plan) -> str:
    names = [one.cause for one in plan.cheap_causes]
    return f"Rule out first: {'; '.join(names)}." if names else ""


def _best_bar(plan: Plan, rows: Iterable[Row]) -> Row | None:
    """Return the best bar where none is advice; None where one is, or none helps."""
    if any(is_bar(row) for row in rows):
        return None
    bars = [row for row in (*plan.rows, *plan.rest) if is_bar(row)]
    wanted = [one.change for one in plan.bars_to_have]
    return min(bars, key=lambda row: wanted.index(row.change) if row.change in wanted else len(wanted), default=None)


def _says_computed(advice: str) -> bool:
    return advice.startswith(("Computed", "Said")) or "ot computed" in advice


def _not_computed(advice: str) -> str:
    """Return the sentences of an advice that speak of what is computed and what is not."""
    if not advice.partition(": ")[1] or advice.startswith(("Computed", "Said")):
        return advice
    head, _, text = advice.partition(": ")
    said = "; ".join(one.rstrip(".") for one in text.split(". ") if "ot computed" in one)
    said = re.sub(r"^(\w+): not computed", lambda found: f"{found[1].lower()} is not computed", said)
    return _capital(f"{head}: {said}.")


def _bars(plan: Plan, rows: list[Row], best: Row | None) -> str:
    if plan.verdict != "plan" or not rows:
        return ""
    names = dict.fromkeys(row.pickup for row in rows)
    what = f"No bar is worth opening the {' or the '.join(map(pickup_words, names))} for"
    if best is None:
        asked = any(is_bar(row) for row in rows) or plan.constraints or not _tried_bars(plan)
        if asked:
            return ""
    elif heard_of(best) not in NOT_WORTH:
        return ""
    fitted = [one for one in plan.parted if one.startswith(CURES)]  # says which, and whether they are heard
    if len(fitted) > 1:
        return f"{what}: what benches fit against it is hardly heard, or makes it worse, as computed."
    if fitted:
        return f"{what}: {'; '.join(one[:1].lower() + one[1:].rstrip('.') for one in fitted)}."
    if best is None:
        return f"{what}: none helps."
    return f"{what}; the best, {_bar_name(best)}, is {HEARD_WORDS[heard_of(best)]}."


def _tried_bars(plan: Plan) -> bool:
    return not any(one.change and one.change[0].startswith("magnet=...") for one in plan.refused)


def _bar_name(row: Row) -> str:
    for text in row.change:
        key, _, value = text.partition("=")
        if key == "magnet":
            return grade_words(value)
    return "its own grade again"


def _order(rows: list[Row]) -> str:
    if not rows:
        return ""
    if all(heard_of(row) == "no" for row in rows):
        return "By itself it is not worth doing: look for the cause elsewhere first."
    if len(rows) == 1:
        return "Do it, play it, come back and ask again."
    return f"Do {rows[0].rank}, play it, come back: rows are alternatives, not a sum."


def _hangs(rows: list[Row]) -> str:
    own = [row for row in rows if is_bar(row) and row.cost == "none" and "computed for" in row.fit]
    said = [f"Row {rows[0].rank} assumes {assumed_words(rows[0].hangs_on)}."] if rows and rows[0].hangs_on else []
    said += [f"How large is the bar you have? Row {row.rank} is {row.fit.partition(';')[0]}." for row in own[:1]]
    return " ".join(said)


def _more(plan: Plan, count: int) -> str:
    others = sum(1 for row in (*plan.rows, *plan.rest) if row.change) - count
    refused = sum(1 + one.alike for one in plan.refused)
    parts = [f"{others} more rows" if others else "", f"{refused} refused" if refused else ""]
    said = ", ".join(one for one in parts if one)
    return f"{said}: --all." if said else ""


def listed(items: Iterable[str]) -> str:
    """Return words as a list: "a, b and c"."""
    *first, last = list(items)
    return f"{', '.join(first)} and {last}" if first else last


def once_little(items: list[str]) -> str:
    """Return words as a list that says "a little" once where all of them are."""
    head = "a little "
    if len(items) > 1 and all(one.startswith(head) for one in items):
        return head + listed(one.removeprefix(head) for one in items)
    return listed(items)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _without_brackets(text: str) -> str:
    out, depth = [], 0
    for letter in text:
        depth += letter == "("
        if not depth:
            out.append(letter)
        depth -= letter == ")"
    return "".join(out).replace("  ", " ").replace(" :", ":").replace(" .", ".").replace(" ,", ",")
