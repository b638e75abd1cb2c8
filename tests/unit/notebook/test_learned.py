"""What was learned: the notebook's tables against a plain count over the same records; what came and went."""

import random
import sqlite3
from pathlib import Path

from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    check_notebook,
    counted_lines,
    export_notebook,
    grade_lines,
    grade_means,
    grades_proven,
    import_archive,
    open_notebook,
    read_notebook,
    unproven_swaps,
)
from tests.unit.notebook.conftest import FILE
from tests.unit.notebook.ledgers import GRADES, drawn_ledger, plain_count, with_bar

WITHIN = (0.2, 0.41, 1.0, 3.0)


def season(notebook: Notebook, guitar: Guitar, seed: int, swaps: int = 30) -> tuple[dict[int, dict], set[int]]:
    """Swap bars at random, prove some, undo some; return ledgers that count by their change, and unproven states."""
    draw = random.Random(seed)
    book = [notebook.add_guitar(guitar, name=f"guitar {k}") for k in range(3)]
    counting: dict[tuple, dict] = {}
    unproven: set[int] = set()
    for _ in range(swaps):
        entry = notebook.guitar_entry(draw.choice(book).id)
        now = notebook.guitar(entry.id)
        pickup = draw.choice(["neck", "bridge"])
        there = now.pickup(pickup).magnet
        grades = [one for one in GRADES if one.removesuffix("-rough-cast") != there.grade]
        grade = draw.choice(grades)
        state = notebook.record(entry.id, with_bar(now, pickup, grade), why=f"{grade} in")
        proof = False
        for _ in range(draw.choice((0, 0, 1, 2))):
            ledger = drawn_ledger(draw, pickup, (f"magnet={grade}", "lower=0.2mm")).to_dict()
            kept_with = draw.choice((entry.state_id, state.id))
            notebook.keep_ledger(entry.id, ledger, state_id=kept_with)
            counting[entry.id, kept_with, pickup, grade] = ledger | {"grade": grade}
            proof = proof or any(one["measured"] or one["heard"] for one in ledger["entries"])
        if draw.random() < 0.25:
            notebook.undo(entry.id)
            if draw.random() < 0.3:
                notebook.redo(entry.id)
                unproven |= set() if proof else {state.id}
        elif not proof:
            unproven.add(state.id)
    return counting, unproven


def test_counts_are_those_of_a_plain_count(notebook: Notebook, guitar: Guitar) -> None:
    counting, unproven = season(notebook, guitar, seed=5)
    found = {(one.key, one.of): [one.total, one.below, *one.within] for one in counted_lines(notebook, WITHIN)}
    assert found == plain_count(counting.values(), WITHIN)
    assert {one.state_id for one in unproven_swaps(notebook, count=100).rows} == unproven
    for grade in GRADES:
        mine = [one for one in counting.values() if one["grade"] == grade]
        lines = [line for one in mine for line in one["entries"] if line["measured"] or line["heard"]]
        assert grade_lines(notebook, grade, count=1000).total == len(lines)
        by_key = {(one.key, one.of): one.total for one in grade_means(notebook, grade)}
        assert sum(by_key.values()) == len(lines)
        places = sum(count for one, _, count in grades_proven(notebook) if one == grade)
        assert places == len(mine)


@FILE
def test_entries_that_come_later_are_counted_too(notebook: Notebook, guitar: Guitar) -> None:
    """By asking between them, and by one question at the end, the same comes out."""
    season(notebook, guitar, seed=1, swaps=8)
    first = unproven_swaps(notebook).total
    season(notebook, guitar, seed=2, swaps=8)
    again = {(one.key, one.of): one.within for one in counted_lines(notebook, WITHIN)}
    later = unproven_swaps(notebook).total
    assert first <= later and later > 0
    with open_notebook(notebook.path.with_name("other.sqlite")) as other:
        season(other, guitar, seed=1, swaps=8)
        season(other, guitar, seed=2, swaps=8)
        assert {(one.key, one.of): one.within for one in counted_lines(other, WITHIN)} == again
        assert unproven_swaps(other).total == later


def test_pages_hold_every_row_once(notebook: Notebook, guitar: Guitar) -> None:
    season(notebook, guitar, seed=7, swaps=40)
    whole = unproven_swaps(notebook, count=1000)
    rows = [one for first in range(0, whole.total, 4) for one in unproven_swaps(notebook, first=first, count=4).rows]
    assert rows == list(whole.rows) and len(rows) == whole.total > 8
    assert [one.state_id for one in rows] == sorted((one.state_id for one in rows), reverse=True)


def test_an_archive_brings_what_was_learned(notebook: Notebook, guitar: Guitar, tmp_path: Path) -> None:
    season(notebook, guitar, seed=9, swaps=10)
    path = export_notebook(notebook, tmp_path / "all.zip")
    with open_notebook(tmp_path / "other.sqlite") as other:
        import_archive(other, path)
        assert counted_lines(other, WITHIN) == counted_lines(notebook, WITHIN)
        assert unproven_swaps(other).total == unproven_swaps(notebook).total


def test_tables_that_were_counted_are_no_damage_and_add_no_entry(notebook: Notebook, guitar: Guitar) -> None:
    season(notebook, guitar, seed=3, swaps=6)
    before = len(notebook.log())
    counted_lines(notebook, WITHIN)
    assert len(notebook.log()) == before
    assert check_notebook(notebook.path).faults == ()


def test_a_notebook_that_is_only_read_says_what_is_not_counted(notebook: Notebook, guitar: Guitar) -> None:
    season(notebook, guitar, seed=3, swaps=4)
    notebook.reading = "it is read only"
    found = unproven_swaps(notebook)
    assert (found.total, found.left) == (0, len(notebook.log()))


@FILE
def test_damaged_figures_of_ledgers_are_passed_over(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    good = drawn_ledger(random.Random(0), "neck", ("magnet=alnico-3",)).to_dict()
    for entries in (
        ["x"],
        [{}],
        [{"key": 1, "measured": {"value": "x"}}],
        [{"measured": {"value": 1, "low": 2, "high": 0}}],
    ):
        notebook.keep_ledger(entry.id, good | {"entries": entries, "change": ["magnet=nonsense"]})
    assert counted_lines(notebook, WITHIN) == ()
    with sqlite3.connect(notebook.path) as file:
        assert file.execute("SELECT count(*) FROM ledger_heads").fetchone() == (4,)
    file.close()
    assert read_notebook(notebook.path) is not None
