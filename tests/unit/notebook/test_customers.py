"""Customers: on record with what they agreed to; erased, nothing of the name is left, and the chain is whole."""

import random
from datetime import date
from pathlib import Path

import pytest

from polepiece.errors import DamagedNotebookError, InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    backup_to,
    check_notebook,
    export_notebook,
    open_notebook,
    rescue,
    restore,
)
from polepiece.notebook.chain import personal_seal
from tests.unit.notebook.conftest import FILE, NewPlace
from tests.unit.notebook.test_archive import members_of
from tests.unit.notebook.test_chain import without_triggers

AGREED = "to call when the guitar is ready"


def names(count: int) -> list[str]:
    """Invented names that stand nowhere else, of several scripts, one long enough for pages of its own."""
    draw = random.Random(20261130)
    letters = ["abcdefghij", "äöüßéñøłçż", "абвгдежзик", "ギターの音色作り方"]
    found = ["".join(draw.choice(letters[k % 4]) for _ in range(12)) for k in range(count - 1)]
    return [*found, "".join(draw.choice(letters[0]) for _ in range(12))]


def test_on_record_with_what_was_agreed(notebook: Notebook, guitar: Guitar) -> None:
    made = notebook.add_customer(" N. Invented ", agreed=AGREED, contact="+00 12", on=date(2026, 2, 1))
    assert (made.name, made.contact, made.agreed, made.agreed_on) == (
        "N. Invented", "+00 12", AGREED, date(2026, 2, 1),
    )  # fmt: skip
    entry = notebook.add_guitar(guitar)
    jobs = [notebook.open_job(entry.id, "muddy") for _ in range(2)]
    for job in jobs:
        notebook.job_is_for(job.id, made.id)
    other = notebook.add_customer("Other", agreed=AGREED)
    notebook.job_is_for(jobs[1].id, other.id)  # it was the other's: the last counts
    assert notebook.customer(made.id).jobs == (jobs[0].id,)
    assert [one.jobs for one in notebook.customers()] == [(jobs[0].id,), (jobs[1].id,)]
    assert notebook.add_customer("Today", agreed=AGREED).agreed_on == date(2026, 3, 3)
    said = " ".join(one.words for one in notebook.log())
    assert "Invented" not in said
    assert f"customer {made.id} on record, agreed on 2026-02-01 to: {AGREED}" in said
    assert check_notebook(notebook.path).faults == ()


@pytest.mark.parametrize(
    ("name", "agreed", "words"),
    [
        ("", AGREED, "name is empty"),
        ("x", " ", "what for"),
        ("x" * 501, AGREED, "at most 500"),
        ("a\0", AGREED, "null"),
    ],
)
def test_without_a_name_or_consent_nobody_is_kept(notebook: Notebook, name: str, agreed: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        notebook.add_customer(name, agreed=agreed)
    assert notebook.log() == []


def test_erased_the_chain_is_whole_and_the_name_is_gone(
    notebook: Notebook, guitar: Guitar, new_place: NewPlace, tmp_path: Path
) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy")
    made = [notebook.add_customer(one, agreed=AGREED, contact=f"at {one}", note=one * 500) for one in names(8)]
    notebook.job_is_for(job.id, made[0].id)
    for one in made[:-1]:
        gone = notebook.erase_customer(one.id, "asked for it")
        assert (gone.name, gone.contact, gone.note, gone.agreed) == (None, "", "", AGREED)
        assert gone.erased is not None
    assert notebook.customer(made[0].id).jobs == (job.id,)
    assert check_notebook(notebook.path).faults == ()
    with pytest.raises(NotebookError, match=r"was erased already, .*asked for it"):
        notebook.erase_customer(made[0].id, "again")
    with pytest.raises(NotebookError, match="is erased; put a new one on record"):
        notebook.job_is_for(job.id, made[0].id)
    with pytest.raises(NotebookError, match="no customer 999"):
        notebook.erase_customer(999, "x")
    copy = backup_to(notebook.path, tmp_path / "copy.sqlite")
    restore(there := new_place("there.sqlite"), copy)
    for place in (notebook.path, there, rescue(copy, tmp_path / "saved.sqlite").path):
        assert check_notebook(place).faults == ()
        with open_notebook(place) as book:
            assert [one.name for one in book.customers()] == [None] * 7 + [made[-1].name]
    data = copy.read_bytes()
    for one in made[:-1]:
        assert str(one.name).encode() not in data
    assert str(made[-1].name).encode() in data


@FILE
def test_not_a_byte_of_the_name_is_left_in_the_file_or_its_log(notebook: Notebook) -> None:
    made = [notebook.add_customer(one, agreed=AGREED, note=one * 500) for one in names(8)]

    def found() -> list[bool]:
        data = b"".join(one.read_bytes() for one in notebook.path.parent.iterdir() if one.is_file())
        return [str(one.name).encode()[:12] in data for one in made]

    assert found() == [True] * 8
    for one in made[:-1]:
        notebook.erase_customer(one.id, "asked for it")
    assert found() == [False] * 7 + [True]


def test_no_archive_holds_a_customer(notebook: Notebook, guitar: Guitar, tmp_path: Path) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy")
    notebook.job_is_for(job.id, notebook.add_customer("N. Invented", agreed=AGREED, contact="x@y").id)
    members = members_of(export_notebook(notebook, tmp_path / "all.zip"))
    assert not any(b"Invented" in data or b"x@y" in data or AGREED.encode() in data for data in members.values())


def test_a_name_cannot_be_changed_unseen_or_blanked_without_an_erasure(notebook: Notebook) -> None:
    made = notebook.add_customer("N. Invented", agreed=AGREED)
    for order, words in (
        ("UPDATE personal SET body = replace(body, 'Inv', 'Unv')", "are not what was sealed"),
        ("UPDATE personal SET salt = NULL, body = NULL", "are gone, and no erasure is on record"),
        ("DELETE FROM personal", "are gone, and no erasure is on record"),
    ):
        without_triggers(notebook.path, order)
        with pytest.raises(DamagedNotebookError, match=f"customer {made.id}: the personal fields {words}"):
            open_notebook(notebook.path)
        assert any(words in one for one in check_notebook(notebook.path).faults)


def test_the_hash_alone_does_not_tell_a_guessed_name() -> None:
    """Without its salt of 32 random bytes, which goes with the fields, no guess can be held against the seal."""
    body = '{"name": "N. Invented"}'
    assert personal_seal(bytes(32), body) != personal_seal(bytes(31) + b"\1", body)


def test_the_name_of_a_customer_is_known_by_the_job_until_it_is_erased(notebook: Notebook, guitar: Guitar) -> None:
    name = "Ярослава Ω-青木 «בת־שבע» O’Neil"
    entry = notebook.add_guitar(guitar)
    jobs = [notebook.open_job(entry.id, "boomy").id for _ in range(3)]
    one, two = (notebook.add_customer(each, agreed="to call") for each in (name, "N. Invented"))
    for job, customer in zip(jobs, (one, one, two), strict=True):
        notebook.job_is_for(job, customer.id)
    notebook.job_is_for(jobs[1], two.id)  # the last that was said counts
    assert notebook.customers_of_jobs() == {jobs[0]: name, jobs[1]: "N. Invented", jobs[2]: "N. Invented"}
    notebook.erase_customer(one.id, "asked for it")
    assert notebook.customers_of_jobs() == {jobs[1]: "N. Invented", jobs[2]: "N. Invented"}
    assert check_notebook(notebook.path).faults == ()
