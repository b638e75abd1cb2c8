"""One guitar in two notebooks: what one has and the other has not is added, nothing changes, a branch is chosen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Part,
    backup_to,
    check_notebook,
    export_guitar,
    export_notebook,
    import_archive,
    merge_archive,
    open_notebook,
    restore,
)
from tests.unit.notebook.conftest import Clock, NewPlace
from tests.unit.notebook.test_archive import lines_of, members_of, pack, with_lines


@pytest.fixture
def away(notebook: Notebook, guitar: Guitar, tmp_path: Path, new_place: NewPlace) -> Iterator[Notebook]:
    """A second notebook that has the guitar as it was when it was taken along."""
    entry = notebook.add_guitar(guitar, name="number 12")
    notebook.record(entry.id, replace(guitar, note="both"), why="both")
    notebook.add_part(Part(kind="bar"))
    copy = backup_to(notebook.path, tmp_path / "away.sqlite")
    restore(there := new_place("elsewhere.sqlite"), copy)
    with open_notebook(there, clock=Clock()) as book:
        yield book


def everything(book: Notebook, folder: Path, name: str = "all.zip") -> Path:
    return export_notebook(book, folder / name, replace=True)


def test_what_went_on_in_one_is_simply_added(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    away.record(1, replace(guitar, note="away"), why="away")
    away.undo(1)
    away.write_note(1, "a line")
    found = merge_archive(notebook, everything(away, tmp_path))
    assert (found.added, found.known) == (3, 3)
    assert [one.why for one in notebook.states(1)][:3] == ["first entry", "both", "away"]
    assert notebook.guitar(1).note == "both"
    assert len(notebook.branches(1)) == 1
    assert not notebook.branch_is_open(1)
    again = merge_archive(notebook, everything(away, tmp_path))
    assert (again.added, again.known) == (0, 6)
    assert check_notebook(notebook.path).faults == ()


def test_two_continuations_are_branches_and_one_is_chosen(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    here = notebook.record(1, replace(guitar, note="here"), why="here")
    away.record(1, replace(guitar, note="away"), why="away")
    last = away.record(1, replace(guitar, note="away again"), why="away again")
    found = merge_archive(notebook, everything(away, tmp_path))
    assert found.guitars[0].state_id == here.id  # nothing changes by itself
    assert notebook.guitar(1).note == "here"
    assert [one.why for one in notebook.branches(1)] == ["here", "away again"]
    assert notebook.branch_is_open(1)
    assert "as a branch after state 2: away" in notebook.log(1)[-2].words
    theirs = notebook.branches(1)[1]
    assert theirs.uuid == last.uuid
    with pytest.raises(NotebookError, match=r"no end of a branch; guitar 1 has these: 4, 6"):
        notebook.choose_branch(1, 5, why="x")
    notebook.choose_branch(1, here.id, why="stay")
    assert not notebook.branch_is_open(1)
    assert notebook.guitar(1).note == "here"
    with pytest.raises(NotebookError, match="in state 4 already"):
        notebook.choose_branch(1, here.id, why="x")
    notebook.choose_branch(1, theirs.id, why="the customer likes it")
    assert notebook.guitar(1).note == "away again"
    assert notebook.guitars()[0].states == 4
    assert not notebook.branch_is_open(1)
    assert [one.why for one in notebook.states(1)] == ["first entry", "both", "away", "away again"]
    notebook.undo(1)  # goes back along the branch, not to what was recorded here in between
    assert notebook.guitar(1).note == "away"
    made = notebook.record(1, replace(guitar, note="goes on"), why="goes on")
    assert made.parent_id == notebook.states(1)[-2].id
    assert check_notebook(notebook.path).faults == ()


def test_a_guitar_with_branches_goes_through_an_archive(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    for book in (notebook, away):
        name = "away" if book is away else "notebook"
        book.record(1, replace(guitar, note=name), why=name)
    merge_archive(notebook, everything(away, tmp_path))
    notebook.choose_branch(1, notebook.branches(1)[1].id, why="chosen")
    path = export_guitar(notebook, 1, tmp_path / "one.zip")
    with open_notebook(tmp_path / "third.sqlite") as third:
        import_archive(third, path)
        assert third.guitar(1).note == "away"
        assert [one.words.partition(":")[2] for one in third.log()] == [
            one.words.partition(":")[2] for one in notebook.log(1)
        ]
        assert export_guitar(third, 1, tmp_path / "two.zip").read_bytes() == path.read_bytes()
    # a reader of the first schema cannot know branches: under its name they are refused
    members = members_of(path)
    members["manifest.json"] = members["manifest.json"].replace(b"archive/2", b"archive/1")
    with (
        open_notebook(tmp_path / "fourth.sqlite") as fourth,
        pytest.raises(NotebookError, match="does not follow the one before it"),
    ):
        import_archive(fourth, pack(tmp_path / "forged.zip", members))


def test_both_ways_over_and_over_nothing_is_lost_or_doubled(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    """Work on both, merge both ways, choose on one, merge again: both hold the same entries."""
    for place in range(2):
        for book in (notebook, away):
            name = f"{'away' if book is away else 'notebook'} {place}"
            book.record(1, replace(guitar, note=name), why=name)
            book.write_note(1, name)
        for one, other in ((notebook, away), (away, notebook)):
            merge_archive(other, everything(one, tmp_path))
        if notebook.branch_is_open(1):
            notebook.choose_branch(1, notebook.branches(1)[1].id, why="chosen")
            merge_archive(away, everything(notebook, tmp_path))
            assert away.guitar(1) == notebook.guitar(1)
    entries = [{line["uuid"] for line in lines_of(members_of(everything(book, tmp_path)))} for book in (notebook, away)]
    assert entries[0] == entries[1]
    for book in (notebook, away):
        assert check_notebook(book.path).faults == ()


def test_a_choice_of_what_this_notebook_went_on_from_already(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    notebook.record(1, replace(guitar, note="here"), why="here")
    away.record(1, replace(guitar, note="away"), why="away")
    merge_archive(notebook, everything(away, tmp_path))
    notebook.choose_branch(1, notebook.branches(1)[1].id, why="chosen")
    away.record(1, replace(guitar, note="away, further"), why="away, further")
    merge_archive(away, everything(notebook, tmp_path))
    assert away.guitar(1).note == "away, further"
    away.record(1, guitar, why="and on")  # the present state has no follower: it can be followed


def test_a_part_that_left_both_drawers(notebook: Notebook, away: Notebook, tmp_path: Path) -> None:
    notebook.retire_part(3, "sold here")
    away.retire_part(3, "sold away")
    assert merge_archive(notebook, everything(away, tmp_path)).added == 1
    (part,) = notebook.parts(include_retired=True)
    assert part.why == "sold here"  # the first counts
    with pytest.raises(NotebookError, match="left the drawer already"):
        notebook.retire_part(3, "again")
    assert notebook.parts() == []


def test_an_entry_that_says_something_else_is_refused(
    notebook: Notebook, away: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    away.write_note(1, "a line")
    members = members_of(everything(away, tmp_path))
    lines = lines_of(members)
    lines[1]["why"] = "changed"
    before = notebook.log()
    with pytest.raises(NotebookError, match=r"line 2 \(state\) is here as entry 2, and says something else"):
        merge_archive(notebook, pack(tmp_path / "forged.zip", with_lines(members, lines)))
    name = f"states/{lines[1]['uuid']}.toml"
    changed = members | {name: members[name] + b"\n# more\n"}
    with pytest.raises(NotebookError, match="says something else"):
        merge_archive(notebook, pack(tmp_path / "forged.zip", changed))
    head = members["manifest.json"].replace(b'"number 12"', b'"number 13"')
    with pytest.raises(NotebookError, match="is here with another name or date"):
        merge_archive(notebook, pack(tmp_path / "forged.zip", members | {"manifest.json": head}))
    assert notebook.log() == before


def test_without_being_told_to_nothing_is_merged(notebook: Notebook, away: Notebook, tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="is here already, as guitar 1 with 2 states; --merge adds what is new"):
        import_archive(notebook, everything(away, tmp_path))
