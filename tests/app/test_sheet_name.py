"""The name in the head of a work sheet: shown again, said by no entry, and erased for good by whoever takes it out."""

from pathlib import Path

import pytest

from polepiece.app.sheet import log
from polepiece.guitar import Guitar, read_guitar
from polepiece.notebook import Notebook, check_notebook, export_notebook, import_archive, open_notebook
from tests.app.conftest import DEMO

NAME = "Žofie Invented-Nobody"
OTHER = "Q. Second-Nobody"


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


def sheet_in(book: Notebook, guitar: Guitar) -> log.SheetKey:
    entry = book.add_guitar(guitar)
    state = book.states(entry.id)[-1]
    return log.SheetKey(guitar_id=entry.id, state=state.uuid, pickup="neck", changes=("lower=0.5mm",))


def name_on(book: Notebook, key: log.SheetKey) -> str | None:
    return log.sheets_of(book, key.guitar_id)[key].entries.get(log.NAME)


def typed(book: Notebook, key: log.SheetKey, name: str) -> None:
    log.write(book, key, book.guitar_entry(key.guitar_id).state_id, log.NAME, name, label="customer")


def bytes_of(folder: Path) -> bytes:
    return b"".join(one.read_bytes() for one in folder.rglob("*") if one.is_file())


def test_it_is_shown_again_and_no_entry_says_it(tmp_path: Path, guitar: Guitar) -> None:
    with open_notebook(tmp_path / "n.sqlite") as book:
        key, second = sheet_in(book, guitar), sheet_in(book, guitar)
        typed(book, key, f"  {NAME} ")
        typed(book, second, OTHER)
        log.write(book, key, 1, "baseline.noises", "none", label="noises")
        assert (name_on(book, key), name_on(book, second)) == (NAME, OTHER)
        said = " ".join([one.words for one in book.log()] + [f"{one.text} {one.body}" for one in book.notes()])
        assert "Nobody" not in said
        assert "customer: on record as customer" in said
        assert {(one.name, one.agreed) for one in book.customers()} == {(NAME, log.ON_A_SHEET), (OTHER, log.ON_A_SHEET)}
        archive = tmp_path / "all.zip"
        export_notebook(book, archive)
    with open_notebook(tmp_path / "elsewhere.sqlite") as other:
        import_archive(other, archive)
        assert other.named() == {}
        there = next(one for one in log.sheets_of(other) if one.state == key.state)
        assert log.sheets_of(other)[there].entries == {"baseline.noises": "none"}
    assert NAME.encode() not in (tmp_path / "elsewhere.sqlite").read_bytes()


@pytest.mark.parametrize("way", ["another name", "no name", "customer erase"])
def test_whoever_takes_it_out_erases_it(tmp_path: Path, guitar: Guitar, way: str) -> None:
    folder = tmp_path / "book"
    folder.mkdir()
    with open_notebook(folder / "n.sqlite") as book:
        key = sheet_in(book, guitar)
        typed(book, key, NAME)
        assert NAME.encode() in bytes_of(folder)
        if way == "customer erase":
            book.erase_customer(book.customers()[0].id, "asked for it")
        else:
            typed(book, key, OTHER if way == "another name" else "")
        assert name_on(book, key) == (OTHER if way == "another name" else None)
        assert [one.name for one in book.customers()] == ([None, OTHER] if way == "another name" else [None])
        typed(book, key, OTHER)  # one that is erased already is in nobody's way
        assert name_on(book, key) == OTHER
    assert NAME.encode() not in bytes_of(folder)
    assert check_notebook(folder / "n.sqlite").faults == ()


def test_names_from_before_are_still_read(tmp_path: Path, guitar: Guitar) -> None:
    with open_notebook(tmp_path / "n.sqlite") as book:
        key = sheet_in(book, guitar)
        body = {"schema": log.ENTRY, **key.body(), "entry": log.NAME, "value": NAME}
        book.write_note(key.guitar_id, "as it was written once", body=body)
        assert name_on(book, key) == NAME
        typed(book, key, OTHER)
        assert name_on(book, key) == OTHER
