"""The answer of a plan as lines of a terminal, 80 columns wide."""

from itertools import product, zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from polepiece.planning import Answer, AnswerRow, Plan

WIDTH = 80
WORDS = 250  # what is read before the screwdriver is in the hand again
NUMBER, DO, GET, HEARD, TIME = 3, 29, 24, 7, 14  # columns, with a space between what to do, what you get and the rest
HEADS = ("", "what to do", "what you get", "heard", "time")


def answer_lines(plan: "Plan", *, assumed: int = 0) -> list[str]:
    """Return the answer; with what was understood before it at most `WORDS` words.

    ``assumed`` is how many values nobody has said.
    """
    from polepiece.planning import answer_of

    room = WORDS - sum(len(f'"{one.text}": {one.words}.'.split()) for one in plan.said)
    for most, asides in product((4, 3, 2, 1), (2, 1, 0)):  # a row is worth more than what is no row
        lines = lines_of(answer_of(plan, most=most, asides=asides), assumed=assumed)
        if len(" ".join(lines).split()) <= room:
            break
    return lines


def lines_of(answer: "Answer", *, assumed: int = 0) -> list[str]:
    """Return a whole answer."""
    out = [*_paragraph(answer.title), ""] if answer.title else []
    out += _paragraph(answer.start)
    for one in answer.repair:
        out += ["", *_paragraph(one)]
    for text in (answer.rule_out, *answer.not_computed):
        out += ["", *_paragraph(text)] if text else []
    if answer.rows:
        out += ["", *_cells(HEADS)]
        for row in answer.rows:
            out += _row(row, first=row is answer.rows[0])
    for text in (answer.bars, *answer.parted):
        out += _indented(text)
    maybe = any(row.heard == "maybe" for row in answer.rows)
    said = [answer.order, '"Maybe" is side by side.' if maybe else "", answer.hangs_on]
    out += ["", *_paragraph(" ".join(one for one in said if one))] if any(said) else []
    return out + _last(answer, assumed)


def _last(answer: "Answer", assumed: int) -> list[str]:
    why = f"Why: --why {answer.rows[0].rank}." if answer.rows else ""
    told = f"{assumed} assumed values: --assumed." if assumed else ""
    said = " ".join(one for one in (why, answer.more, told) if one)
    return _paragraph(said) if said else []


def _row(row: "AnswerRow", *, first: bool) -> list[str]:
    lines = _cells((str(row.rank), row.do, row.get, row.heard, row.time))
    worse = "" if first or not row.worse else f"worse: {row.worse}"  # of the first it is said above
    return lines + _indented(worse)


def _cells(cells: tuple[str, ...]) -> list[str]:
    widths = (NUMBER, DO, GET, HEARD, TIME)
    columns = [wrap(text, width) or [""] for text, width in zip(cells, (*(w - 1 for w in widths[:3]), HEARD, TIME))]
    lines = zip_longest(*columns, fillvalue="")
    return ["".join(cell.ljust(width) for cell, width in zip(line, widths)).rstrip() for line in lines]


def _paragraph(text: str) -> list[str]:
    return wrap(text, WIDTH, break_long_words=False, break_on_hyphens=False)


def _indented(text: str) -> list[str]:
    if not text:
        return []
    head = " " * NUMBER
    return wrap(text, WIDTH, initial_indent=head, subsequent_indent=head, break_on_hyphens=False)
