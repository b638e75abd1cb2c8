"""Benches: a token each, told once; entries say who wrote them; an ended token writes nothing."""

from pathlib import Path

import pytest

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    TOKEN,
    Notebook,
    backup_to,
    check_notebook,
    export_guitar,
    export_notebook,
    import_archive,
    import_guitar,
    merge_archive,
    open_notebook,
    pass_of,
    rescue,
    restore,
    written_for,
)
from tests.unit.notebook.conftest import NewPlace
from tests.unit.notebook.test_archive import lines_of, members_of, pack, with_lines


def test_from_the_first_bench_on_an_entry_says_who_wrote_it(
    notebook: Notebook, guitar: Guitar, monkeypatch: pytest.MonkeyPatch
) -> None:
    entry = notebook.add_guitar(guitar)
    bench, token = notebook.add_bench(" north ")
    assert (bench.name, bench.ended) == ("north", None)
    with pytest.raises(NotebookError, match=r"written by its benches \(north\), and no token is shown"):
        notebook.write_note(entry.id, "who?")
    with written_for(pass_of(token)):
        notebook.write_note(entry.id, "from the north")
    _, other = notebook.add_bench("south")
    monkeypatch.setenv(TOKEN, f"{other}\n")
    notebook.record(entry.id, guitar, why="from the south")
    with written_for(pass_of(token)):  # the visitor's own comes before that of the machine
        notebook.write_note(entry.id, "and the north again")
    assert [one.bench for one in notebook.log()] == [None, None, "north", None, "south", "north"]
    assert check_notebook(notebook.path).faults == ()


def test_the_token_is_nowhere_in_the_notebook(notebook: Notebook, tmp_path: Path) -> None:
    _, token = notebook.add_bench("north")
    copy = backup_to(notebook.path, tmp_path / "copy.sqlite").read_bytes()
    assert token.encode() not in copy
    assert pass_of(token).encode() not in copy
    assert notebook.bench_with(pass_of(token)) == "north"
    assert notebook.bench_with(pass_of(token + "x")) is None
    assert len(set(token) - {"-"}) > 8
    assert token != notebook.add_bench("south")[1]


def test_an_ended_bench_writes_no_more_and_what_it_wrote_stays(notebook: Notebook) -> None:
    _, token = notebook.add_bench("north")
    with written_for(pass_of(token)):
        notebook.write_note(None, "a line")
    gone = notebook.end_bench("NORTH", "the paper was lost")
    assert gone.ended is not None
    with written_for(pass_of(token)), pytest.raises(NotebookError, match=r"bench north was ended .*paper was lost"):
        notebook.write_note(None, "once more")
    with pytest.raises(NotebookError, match=r"its benches \(none any more\), and no token"):
        notebook.write_note(None, "x")
    assert notebook.bench_with(pass_of(token)) is None
    _, again = notebook.add_bench("north")  # the same name, another token
    with written_for(pass_of(token)), pytest.raises(NotebookError, match="was ended"):
        notebook.write_note(None, "with the old one")
    with written_for(pass_of(again)):
        notebook.write_note(None, "with the new one")
    assert [one.words for one in notebook.log()][2] == "bench north writes no more: the paper was lost"
    assert [one.ended is None for one in notebook.benches()] == [False, True]


@pytest.mark.parametrize("name", ["", " ", "x" * 41, "two\nlines", "a\0b"])
def test_a_name_that_is_none(notebook: Notebook, name: str) -> None:
    with pytest.raises(InputError):
        notebook.add_bench(name)
    assert notebook.benches() == []


def test_names_that_clash_or_are_not_there(notebook: Notebook) -> None:
    notebook.add_bench("north")
    with pytest.raises(NotebookError, match="there is a bench North already"):
        notebook.add_bench("North")
    with pytest.raises(NotebookError, match=r"no bench 'west' .*it has: north"):
        notebook.end_bench("west", "x")
    notebook.end_bench("north", "x")
    with pytest.raises(NotebookError, match="was ended already"):
        notebook.end_bench("north", "y")


def test_who_wrote_it_goes_through_archives_and_tokens_do_not(
    notebook: Notebook, guitar: Guitar, new_place: NewPlace, tmp_path: Path
) -> None:
    entry = notebook.add_guitar(guitar)
    bare = export_guitar(notebook, entry.id, tmp_path / "bare.zip")
    assert b"archive/1" in members_of(bare)["manifest.json"]
    _, token = notebook.add_bench("north")
    with written_for(pass_of(token)):
        notebook.write_note(entry.id, "from the north")
    path = export_notebook(notebook, tmp_path / "all.zip")
    members = members_of(path)
    assert b"archive/3" in members["manifest.json"]
    assert [one.get("bench") for one in lines_of(members)] == [None, "north"]
    with open_notebook(new_place("other.sqlite")) as other:
        import_archive(other, path)
        assert [one.bench for one in other.log()] == [None, "north"]
        other.write_note(None, "that notebook has no benches of its own")
        assert (
            export_guitar(other, 1, tmp_path / "two.zip").read_bytes()
            == export_guitar(notebook, 1, tmp_path / "one.zip").read_bytes()
        )
    lines = lines_of(members)
    lines[1]["bench"] = "south"
    with written_for(pass_of(token)), pytest.raises(NotebookError, match="says something else"):
        merge_archive(notebook, pack(tmp_path / "forged.zip", with_lines(members, lines)))
    for wrong in ("", " ", 7, None, "x" * 501, "a\u202eb"):
        lines[1]["bench"] = wrong
        with open_notebook(new_place("third.sqlite")) as third, pytest.raises(NotebookError, match="bench"):
            import_guitar(third, pack(tmp_path / "forged.zip", with_lines(members, lines)))
    old = members | {"manifest.json": members["manifest.json"].replace(b"archive/3", b"archive/2")}
    refused = pytest.raises(NotebookError, match="names a bench, in an archive without benches")
    with open_notebook(new_place("fourth.sqlite")) as fourth, refused:
        import_guitar(fourth, pack(tmp_path / "forged.zip", old))


def test_benches_live_through_copies_and_rescue(notebook: Notebook, new_place: NewPlace, tmp_path: Path) -> None:
    _, token = notebook.add_bench("north")
    with written_for(pass_of(token)):
        notebook.write_note(None, "a line")
    copy = backup_to(notebook.path, tmp_path / "copy.sqlite")
    restore(there := new_place("again.sqlite"), copy)
    saved = rescue(copy, tmp_path / "saved.sqlite")
    for place in (there, saved.path):
        with open_notebook(place) as book:
            assert [one.bench for one in book.log()] == [None, "north"]
            assert book.bench_with(pass_of(token)) == "north"
