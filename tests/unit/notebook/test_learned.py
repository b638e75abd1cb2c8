"""What was learned: the notebook's tables against a plain count over the same records; what came and went."""

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from polepiece.errors import DamagedNotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Place,
    Server,
    backup_to,
    check_notebook,
    counted_lines,
    export_notebook,
    grade_lines,
    grade_means,
    grades_proven,
    import_archive,
    open_notebook,
    read_notebook,
    rescue,
    restore,
    unproven_swaps,
)
from polepiece.notebook.dialect import PostgresRaw, Raw
from polepiece.notebook.learned_seals import counted_faults
from tests.unit.notebook.conftest import FILE, SERVER
from tests.unit.notebook.ledgers import GRADES, drawn_ledger, plain_count, with_bar
from tests.unit.notebook.test_chain import without_triggers

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


def hostile(draw: random.Random) -> Iterator[tuple[str, dict[str, Any]]]:
    """Ledgers that a merge may bring and that no index, sum or text of a server takes as they are."""
    good = drawn_ledger(draw, "neck", ("magnet=alnico-3",)).to_dict()
    line = next(one for one in good["entries"] if one["measured"] and one["computed"])
    nulls, long = "a\0b", "".join(chr(draw.randrange(0x4E00, 0x9000)) for _ in range(3000))
    for name, changed in (
        ("null character", {"words": nulls, "key": nulls}),
        ("number of 400 digits", {"measured": {"value": 10**400, "low": 0, "high": 10**401}}),
        ("squares that no float holds", {"measured": {"value": -1e308, "low": -1.7e308, "high": 1e308}}),
        ("zero below zero", {"measured": {"value": -0.0, "low": -1, "high": 1}}),
        ("names that are none", {"key": {"a": [1] * 5000}, "unit": None, "judged": None}),
    ):
        yield name, good | {"entries": [line | changed] * 2}
    yield "a long change", good | {"change": ["magnet=alnico-3", long]}
    yield "a long name", good | {"pickup": long}
    yield "a change that is none", good | {"change": [None, 3, {"a": 1}, "magnet=" + long, "magnet=,/"]}


def test_whatever_a_ledger_holds_the_others_are_counted(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    names = []
    for name, body in hostile(random.Random(4)):
        notebook.write_note(entry.id, "proof", state_id=entry.state_id, sort="swap", body=body)  # as a merge brings it
        names.append(name)
    fine = drawn_ledger(random.Random(0), "bridge", ("magnet=alnico-5",)).to_dict()
    notebook.keep_ledger(entry.id, fine, state_id=entry.state_id)
    lines = [one for one in fine["entries"] if one["measured"] or one["heard"]]
    assert len(grade_lines(notebook, "alnico-5", "bridge").rows) == len(lines) > 0
    assert grade_lines(notebook, "alnico-3").total >= 2
    assert {grade for grade, _, _ in grades_proven(notebook)} <= {"alnico-3", "alnico-5", "unknown"}
    for one in grade_means(notebook, "alnico-3"):
        assert one.measured is None or abs(one.measured) < 1e100  # what no sum holds was left out
    assert check_notebook(notebook.path).faults == ()


def test_a_ledger_whose_judgement_is_none_is_kept(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    good = drawn_ledger(random.Random(0), "neck", ("magnet=alnico-3",)).to_dict()
    kept = notebook.keep_ledger(entry.id, good | {"entries": [{"judged": None}, {"judged": {"word": 3}}, 7]})
    assert kept.text.endswith("nothing measured")


CHANGES = (
    "UPDATE ledger_lines SET measured = measured + 1",
    "UPDATE ledger_lines SET of = 'after it'",
    "DELETE FROM ledger_lines WHERE id = (SELECT max(id) FROM ledger_lines)",
    "UPDATE ledger_heads SET place = 'bridge'",
    "UPDATE swaps SET grade_after = 'alnico-2' WHERE id = (SELECT min(id) FROM swaps)",
    "DELETE FROM swaps WHERE id = (SELECT max(id) FROM swaps)",
    "DELETE FROM learned_marks WHERE what = 'proven'",
    "UPDATE learned_marks SET of_id = 1 WHERE what = 'proven'",
    "INSERT INTO learned_marks (id, what, of_id) VALUES (999, 'proven', 1)",
    "DELETE FROM learned_marks WHERE what = 'looked'",
    "DELETE FROM learned_marks WHERE id = (SELECT min(id) FROM learned_marks WHERE what = 'looked')",
)


@contextmanager
def past_the_guards(place: Place) -> Iterator[Raw]:
    """A connection that may change anything, and whose changes are taken back."""
    if isinstance(place, Server):
        import psycopg  # optional, as the server is

        with psycopg.connect(place.url) as there:
            there.execute("SET session_replication_role = replica")
            yield PostgresRaw(there)
            there.rollback()
        return
    with closing(sqlite3.connect(place, isolation_level=None)) as file:
        file.execute("BEGIN")
        for (name,) in file.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            file.execute(f"DROP TRIGGER {name}")
        yield file
        file.execute("ROLLBACK")


def test_no_figure_can_be_changed_unseen(notebook: Notebook, guitar: Guitar, tmp_path: Path) -> None:
    season(notebook, guitar, seed=3, swaps=5)
    unproven_swaps(notebook)
    season(notebook, guitar, seed=4, swaps=3)  # looked through at two times
    before = (counted_lines(notebook, WITHIN), unproven_swaps(notebook).total, grades_proven(notebook))
    for change in CHANGES:
        with past_the_guards(notebook.path) as raw:
            assert list(counted_faults(raw)) == []
            raw.execute(change)
            assert len(list(counted_faults(raw))) == 1, change
    without_triggers(notebook.path, "UPDATE swaps SET place = 'x' WHERE id = 1")
    with pytest.raises(DamagedNotebookError, match=r"what was learned.* (\d+) of \1 entries are whole"):
        open_notebook(notebook.path)
    assert any("what was learned" in one for one in check_notebook(notebook.path).faults)
    assert rescue(notebook.path, tmp_path / "whole.sqlite").lost == ()
    with open_notebook(tmp_path / "whole.sqlite") as whole:  # counted anew
        assert (counted_lines(whole, WITHIN), unproven_swaps(whole).total, grades_proven(whole)) == before


@SERVER
def test_what_was_learned_before_it_went_to_a_server_is_learned_there(
    notebook: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    with open_notebook(tmp_path / "own.sqlite") as own:
        season(own, guitar, seed=6, swaps=6)
        before = counted_lines(own, WITHIN)
    restore(notebook.path, tmp_path / "own.sqlite")
    assert counted_lines(notebook, WITHIN) == before
    season(notebook, guitar, seed=7, swaps=6)  # rows of its own after those that came
    assert sum(one.total for one in counted_lines(notebook, WITHIN)) > sum(one.total for one in before)
    with open_notebook(backup_to(notebook.path, tmp_path / "back.sqlite")) as back:
        assert counted_lines(back, WITHIN) == counted_lines(notebook, WITHIN)


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
