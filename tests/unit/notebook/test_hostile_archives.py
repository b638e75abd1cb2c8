"""Four hundred archives that mean harm, made by kinds: each is refused in one paragraph, nothing of it is taken in."""

import json
import tracemalloc
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, Part, backup_to, export_notebook, import_archive, merge_archive, open_notebook
from polepiece.notebook import archive_zip as zips
from polepiece.notebook import limits as limits_of
from polepiece.notebook.archive_check import BRANCHED
from polepiece.notebook.limits import MOST_DEPTH
from tests import postgres
from tests.unit.notebook import hostile_entries as entries
from tests.unit.notebook import hostile_zips as files
from tests.unit.notebook.conftest import Clock
from tests.unit.notebook.test_archive import NOBODY, Members, lines_of, members_of, pack, with_lines

KINDS = {
    "names": files.of_names,
    "zip": files.of_zips,
    "manifest": files.of_manifests,
    "hashes": files.of_hashes,
    "json": entries.of_json,
    "dates": entries.of_dates,
    "fields": entries.of_fields,
    "references": entries.of_references,
    "chains": entries.of_chains,
    "guitar files": entries.of_guitar_files,
}


@pytest.fixture(scope="module")
def members(tmp_path_factory: pytest.TempPathFactory, guitar: Guitar) -> Members:
    """An archive with every kind of entry, an undo, a redo and a branch; the last line is an event of a job."""
    folder = tmp_path_factory.mktemp("hostile")
    with open_notebook(folder / "n.sqlite", clock=Clock()) as book:
        entry = book.add_guitar(guitar, name="number 12")
        book.record(entry.id, replace(guitar, note="two"), why="two")
        book.undo(entry.id)
        book.redo(entry.id)
        with open_notebook(backup_to(book.path, folder / "away.sqlite"), clock=Clock()) as away:
            away.record(entry.id, replace(guitar, note="away"), why="away")
            book.record(entry.id, replace(guitar, note="here"), why="here")
            merge_archive(book, export_notebook(away, folder / "away.zip"))
        book.choose_branch(entry.id, book.branches(entry.id)[1].id, why="better")
        part = book.add_part(Part(kind="bar"))
        book.retire_part(part.id, "sold")
        job = book.open_job(entry.id, "neck: muddy", "", customer="x", number="7")
        book.keep_prediction(entry.state_id, "lower=1mm", {"level_db": -0.5})
        book.write_note(entry.id, "a line", state_id=entry.state_id)
        book.keep_sound(b"fLaC-before", label="before", kind="flac", guitar_id=entry.id, state_id=entry.state_id)
        book.keep_plan(job.id, {"rows": []})
        found = members_of(export_notebook(book, folder / "all.zip"))
    assert json.loads(found["manifest.json"])["schema"] == BRANCHED
    return found


@pytest.fixture(scope="module", params=["file", "server"])
def empty(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    if request.param == "file":
        with open_notebook(tmp_path_factory.mktemp("empty") / "n.sqlite") as book:
            yield book
        return
    cluster: postgres.Cluster = request.getfixturevalue("cluster")
    with cluster.database(postgres.EMPTY) as address, open_notebook(address) as book:
        yield book


def test_there_are_as_many_as_are_said() -> None:
    assert sum(len(list(one())) for one in KINDS.values()) >= 346


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("kind", list(KINDS))
def test_every_one_is_refused_in_words(kind: str, members: Members, empty: Notebook, tmp_path: Path) -> None:
    bad = []
    for what, make in KINDS[kind]():
        path = make(tmp_path / "bad.zip", dict(members))
        for take in (import_archive, merge_archive):
            try:
                take(empty, path)
                bad.append(f"{what}: taken in")
            except NotebookError as error:
                if "\n" in str(error) or str(path) not in str(error) or len(str(error)) > 2000:
                    bad.append(f"{what}: said badly: {error!s:.300}")
            except Exception as error:
                bad.append(f"{what}: {type(error).__name__}: {error!s:.200}")
        path.unlink()
    assert bad == []
    assert empty.log() == []
    assert empty.guitars() == []


def test_the_good_one_is_taken_in(members: Members, tmp_path: Path) -> None:
    with open_notebook(tmp_path / "n.sqlite") as book:
        assert len(import_archive(book, pack(tmp_path / "good.zip", members))) == 1
        assert len(book.log()) == 14


def test_lines_are_judged_one_by_one(
    members: Members, empty: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A long line is refused when it is too long, not when all of it is in memory; with smaller limits than ours."""
    most = 1_000_000
    monkeypatch.setattr(zips, "LONGEST_LINE", most)
    path = pack(tmp_path / "long.zip", members | {"entries.jsonl": b'{"kind":"note","text":"' + b"x" * (20 * most)})
    tracemalloc.start()
    with pytest.raises(NotebookError, match=r"entries.jsonl line 1 is longer than 1000000 bytes"):
        import_archive(empty, path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 4 * most


def test_many_lines_do_not_stay_in_memory(
    members: Members, empty: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of lines that were judged little is kept: forty megabytes of good notes, and one bad at the end."""
    lines = lines_of(members)
    note = next(one for one in lines if one["kind"] == "note")
    more = [note | {"uuid": f"{k:08d}{NOBODY[8:]}", "body": {"x": "y" * 100_000}} for k in range(400)]
    path = pack(tmp_path / "many.zip", with_lines(members, [*lines, *more, note]))
    monkeypatch.setattr(zips.Archive, "check", lambda _: None)  # it reads all, as `lines` does again
    del more
    tracemalloc.start()
    with pytest.raises(NotebookError, match="holds an entry twice"):
        import_archive(empty, path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8_000_000


def test_what_an_import_would_refuse_is_told_at_the_export(
    notebook: Notebook, guitar: Guitar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same limits both ways; each made small in turn, so that what is there goes over it."""
    entry = notebook.add_guitar(guitar)
    notebook.keep_prediction(entry.state_id, "x", {"rows": list(range(1000))})
    notebook.keep_sound(b"fLaC", label="x", kind="flac", guitar_id=entry.id)
    limits: list[tuple[Any, str, Any, str]] = [
        (zips, "LONGEST_LINE", 1000, "line 2 too long"),
        (zips, "MOST_ENTRIES", 2, "more than 2 entries"),
        (zips, "MOST_MEMBERS", 2, "at most 2 members"),
        (zips, "MOST_BYTES", 64 * 1024**2 + 2000, "and 67110864 bytes"),
        (zips, "MOST_OF", zips.MOST_OF | {"states": 100}, "at most 100 in it"),
        (limits_of, "MOST_VALUES", 500, "has 1012 values or more; at most 500"),
    ]
    for room, name, value, words in limits:
        with monkeypatch.context() as patch:
            patch.setattr(room, name, value)
            with pytest.raises(NotebookError, match=words):
                export_notebook(notebook, tmp_path / "out.zip")
        assert not (tmp_path / "out.zip").exists()
    export_notebook(notebook, tmp_path / "out.zip")


def test_an_object_that_no_archive_would_hold_is_not_kept(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    deep: Any = 1
    for _ in range(MOST_DEPTH + 1):
        deep = [deep]
    with pytest.raises(InputError, match="more than 100 deep"):
        notebook.keep_prediction(entry.state_id, "x", {"deep": deep})
    notebook.keep_prediction(entry.state_id, "x", {"text": "[" * 1000 + '"{' * 1000})  # brackets in a text are none
