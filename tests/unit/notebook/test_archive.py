"""Archives that were cut, forged or made to do harm are refused in words, and nothing of them is taken in."""

import hashlib
import json
import stat
import struct
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Part,
    export_guitar,
    export_notebook,
    import_archive,
    import_guitar,
    open_notebook,
)
from tests.unit.notebook.conftest import NewPlace

Members = dict[str, bytes]


@pytest.fixture
def exported(notebook: Notebook, guitar: Guitar, tmp_path: Path) -> Path:
    """An archive with something of every kind of a guitar in it, and the notebook that it is of."""
    entry = notebook.add_guitar(guitar, name="number 12")
    notebook.record(entry.id, replace(guitar, note="lowered"), why="neck lowered")
    notebook.undo(entry.id)
    job = notebook.open_job(entry.id, "neck: muddy")
    notebook.keep_plan(job.id, {"rows": []})
    notebook.keep_prediction(entry.state_id, "lower=1mm", {"level_db": -0.5})
    notebook.write_note(entry.id, "a line")
    notebook.keep_sound(b"fLaC-before", label="before", kind="flac", guitar_id=entry.id)
    return export_guitar(notebook, entry.id, tmp_path / "good.zip")


EXPORTED: dict[str, bytes] = {}


@pytest.fixture
def good(request: pytest.FixtureRequest, new_place: NewPlace, tmp_path: Path) -> Path:
    """Such an archive, in a file of the test's own; written once of a notebook in a file, once of one on a server."""
    kind = request.node.callspec.params["new_place"]
    if kind not in EXPORTED:
        made: Path = request.getfixturevalue("exported")
        EXPORTED[kind] = made.read_bytes()
        return made
    path = tmp_path / "good.zip"
    path.write_bytes(EXPORTED[kind])
    return path


@pytest.fixture
def other(new_place: NewPlace) -> "Any":
    with open_notebook(new_place("other.sqlite")) as opened:
        yield opened


def members_of(path: Path) -> Members:
    with zipfile.ZipFile(path) as zipped:
        return {one.filename: zipped.read(one) for one in zipped.infolist()}


def pack(path: Path, members: Members, *, sealed: bool = True) -> Path:
    """Write an archive; ``sealed``: with a manifest that is right about what is in it, as a forger would have it."""
    if sealed:
        head = json.loads(members["manifest.json"])
        head["members"] = {
            name: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
            for name, data in members.items()
            if name != "manifest.json"
        }
        members = members | {"manifest.json": json.dumps(head).encode()}
    with zipfile.ZipFile(path, "w") as zipped:
        for name, data in members.items():
            zipped.writestr(name, data)
    return path


def refused(book: Notebook, path: Path) -> str:
    """Import what must be refused: one paragraph, and not a row more than before."""
    before = book.log(), book.guitars(), book.sounds()
    with pytest.raises(NotebookError) as found:
        import_guitar(book, path)
    words = str(found.value)
    assert str(path) in words
    assert "\n" not in words
    assert (book.log(), book.guitars(), book.sounds()) == before
    return words


def lines_of(members: Members) -> list[dict[str, Any]]:
    return [json.loads(line) for line in members["entries.jsonl"].decode().splitlines()]


def with_lines(members: Members, lines: list[dict[str, Any]]) -> Members:
    return members | {"entries.jsonl": "".join(json.dumps(one) + "\n" for one in lines).encode()}


def test_the_good_one_is_taken_in_whole(good: Path, other: Notebook) -> None:
    entry = import_guitar(other, good)
    assert (entry.name, entry.states) == ("number 12", 3)
    assert len(other.log()) == 8
    assert other.sound(other.sounds(entry.id)[0].sha256) == b"fLaC-before"
    other.redo(entry.id)  # and its history goes on
    assert other.guitar(entry.id).note == "lowered"


def test_a_sealed_copy_of_the_good_one_is_taken_in(good: Path, other: Notebook, tmp_path: Path) -> None:
    """So that the refusals below are for what each of them changed."""
    import_guitar(other, pack(tmp_path / "copy.zip", members_of(good)))


def test_what_is_here_already_is_refused(exported: Path, notebook: Notebook) -> None:
    assert "number 12 is here already, as guitar 1 with 3 states" in refused(notebook, exported)


def test_an_archive_of_the_drawer_twice(notebook: Notebook, other: Notebook, tmp_path: Path) -> None:
    notebook.add_part(Part(kind="bar", grade="alnico-3"))
    path = export_notebook(notebook, tmp_path / "all.zip")
    assert "holds 0 guitars, not one" in refused(other, path)
    assert import_archive(other, path) == []
    assert [one.part for one in other.parts()] == [one.part for one in notebook.parts()]
    with pytest.raises(NotebookError, match=r"line 1 \(part\) is here already"):
        import_archive(other, path)


NAMES = [
    "../outside.toml", "states/../../outside.toml", "/etc/outside", "C:\\outside", "states\\x.toml", "extra.txt",
    "states/", "sounds/" + "0" * 64 + ".exe", "states/" + "0" * 36 + ".toml.exe", "MANIFEST.JSON", "states/\0.toml", "",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_has_no_place(good: Path, other: Notebook, tmp_path: Path, name: str) -> None:
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as zipped:
        for one, data in members_of(good).items():
            zipped.writestr(one, data)
        info = zipfile.ZipInfo("x")
        info.filename = name
        zipped.writestr(info, b"x")
    assert "has no place in an archive" in refused(other, path)
    assert not list(tmp_path.parent.glob("outside*"))


def test_a_link(good: Path, other: Notebook, tmp_path: Path) -> None:
    members = members_of(good)
    name = next(one for one in members if one.startswith("states/"))
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as zipped:
        for one, data in members.items():
            info = zipfile.ZipInfo(one)
            if one == name:
                info.create_system, info.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
            zipped.writestr(info, b"/etc/passwd" if one == name else data)
    assert "as a link or folder" in refused(other, path)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_twice(good: Path, other: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as zipped:
        for one, data in [*members_of(good).items(), ("entries.jsonl", b"")]:
            zipped.writestr(one, data)
    assert "holds entries.jsonl twice" in refused(other, path)


def bomb(data: bytes) -> Callable[[Members], Members]:
    return lambda members: members | {f"sounds/{hashlib.sha256(data).hexdigest()}.wav": data}


def test_a_member_that_unpacks_to_far_more(good: Path, other: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as zipped:
        for one, data in bomb(bytes(20_000_000))(members_of(good)).items():
            zipped.writestr(one, data)
    assert path.stat().st_size < 100_000
    assert "unpack to more than 100 times its size" in refused(other, path)


def test_a_member_that_is_too_large(good: Path, other: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as zipped:
        for one, data in members_of(good).items():
            zipped.writestr(one, data + b"#" * (1024 * 1024) if one.startswith("states/") else data)
    assert "at most 1048576 are read" in refused(other, path)


def forged(path: Path, offset: int, value: int) -> None:
    """Write a number of four bytes into the directory entry of the member entries.jsonl."""
    data = bytearray(path.read_bytes())
    start = data.index(b"PK\x01\x02")
    while bytes(data[start + 46 : start + 46 + 13]) != b"entries.jsonl":
        start = data.index(b"PK\x01\x02", start + 4)
    struct.pack_into("<I", data, start + offset, value)
    path.write_bytes(data)


UNPACKED, PACKED = 24, 20  # places in a directory entry: .ZIP application note, 4.3.12


@pytest.mark.parametrize(
    ("offset", "value", "words"),
    [
        (UNPACKED, 10, "damaged|unpacks to|not what the manifest says"),
        (UNPACKED, 50_000, "damaged|unpacks to less"),
        (UNPACKED, 4_000_000_000, "would unpack to"),
        (PACKED, 4_000_000_000, "lie over one another"),
    ],
)
def test_sizes_that_lie(good: Path, other: Notebook, tmp_path: Path, offset: int, value: int, words: str) -> None:
    path = pack(tmp_path / "bad.zip", members_of(good))
    forged(path, offset, value)
    assert any(one in refused(other, path) for one in words.split("|"))


def test_an_encrypted_member(good: Path, other: Notebook, tmp_path: Path) -> None:
    path = pack(tmp_path / "bad.zip", members_of(good))
    data = bytearray(path.read_bytes())
    start = data.index(b"PK\x01\x02")
    data[start + 8] |= 1  # general purpose flag, bit 0
    path.write_bytes(data)
    assert "encrypted" in refused(other, path)


@pytest.mark.parametrize("name", ["entries.jsonl", "states/", "sounds/"])
def test_a_member_that_was_changed(good: Path, other: Notebook, tmp_path: Path, name: str) -> None:
    members = members_of(good)
    chosen = next(one for one in members if one.startswith(name))
    changed = pack(tmp_path / "bad.zip", members | {chosen: members[chosen] + b" "}, sealed=False)
    assert f"{chosen} is not what the manifest says" in refused(other, changed)


@pytest.mark.parametrize("name", ["entries.jsonl", "manifest.json", "states/", "sounds/"])
@pytest.mark.parametrize("sealed", [True, False])
def test_a_member_that_is_missing(good: Path, other: Notebook, tmp_path: Path, name: str, sealed: bool) -> None:
    members = members_of(good)
    chosen = next(one for one in members if one.startswith(name))
    rest = {one: data for one, data in members.items() if one != chosen}
    words = refused(other, pack(tmp_path / "bad.zip", rest, sealed=sealed and name != "manifest.json"))
    assert "has no " in words or "does not name exactly" in words or "one to one" in words


def head(**values: Any) -> Callable[[Members], Members]:
    def change(members: Members) -> Members:
        return members | {"manifest.json": json.dumps(json.loads(members["manifest.json"]) | values).encode()}

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (head(schema="polepiece/archive/9"), "'polepiece/archive/9'; this version reads polepiece/archive/1 and"),
        (head(schema=None), "has the schema None"),
        (head(more=1), "and nothing else"),
        (head(guitars=[]), "holds 0 guitars"),
        (head(guitars=[{"uuid": "x", "name": "y", "created": "z"}]), "'x' is not a uuid"),
        (head(guitars="x"), "and nothing else"),
    ],
)
def test_a_manifest_that_is_not_ours(
    good: Path, other: Notebook, tmp_path: Path, change: Callable[[Members], Members], words: str
) -> None:
    assert words in refused(other, pack(tmp_path / "bad.zip", change(members_of(good))))


@pytest.mark.parametrize(
    "text",
    [b"", b"{", b"[]", b"\xff\xfe", b'{"schema": NaN}', b'{"a": 1, "a": 2}', b"[" * 100_000, b'{"a": "\\ud800"}'],
)
def test_a_manifest_that_is_no_strict_json(good: Path, other: Notebook, tmp_path: Path, text: bytes) -> None:
    members = members_of(good) | {"manifest.json": text}
    words = refused(other, pack(tmp_path / "bad.zip", members, sealed=False))
    assert "JSON" in words or "codec" in words


def edit(kind: str, /, **values: Any) -> Callable[[list[dict[str, Any]]], list[dict[str, Any]]]:
    """Change fields of the last entry of a kind."""

    def change(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
        last = max(k for k, one in enumerate(lines) if one["kind"] == kind)
        return [one | values if k == last else one for k, one in enumerate(lines)]

    return change


NOBODY = "00000000-0000-4000-8000-000000000000"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (edit("note", text=None), "text is NoneType"),
        (edit("note", text="a\0b"), "null character"),
        (edit("note", text="x" * 30_000), "at most 20000"),
        (edit("note", sort="gossip"), "sort is 'gossip'"),
        (edit("note", more=1), "wrong or missing: ['more']"),
        (edit("note", kind="virus"), "kind is 'virus'"),
        (edit("note", kind=["x"]), "kind is ['x']"),
        (edit("note", uuid="1"), "uuid is '1'"),
        (edit("note", at="2026-03-03"), "at is '2026-03-03'; a moment is UTC"),
        (edit("note", at="2026-03-03T09:00:00.000000+01:00"), "a moment is UTC"),
        (edit("note", guitar=NOBODY), "its guitar is not in the manifest"),
        (edit("note", guitar=None, state=NOBODY), "does not stand before it"),
        (edit("note", body=[1]), "no JSON object"),
        (edit("prediction", state=NOBODY), "does not stand before it"),
        (edit("prediction", result=None), "no JSON object"),
        (edit("state", parent=None), "does not follow"),
        (edit("state", act="entry"), "does not follow"),
        (edit("state", act="redo"), "does not restore"),
        (edit("state", act="record"), "does not restore"),
        (edit("state", act="rewrite"), "act is 'rewrite'"),
        (edit("sound", sha256="0" * 64), "one to one"),
        (edit("sound", sha256="../../x"), "not a SHA-256"),
        (edit("job-event", what="bribe"), "what is 'bribe'"),
        (lambda lines: lines[1:], "does not stand before it"),
        (lambda lines: [*lines[:1], lines[2], lines[1], *lines[3:]], "does not stand before it"),
        (lambda lines: [*lines, lines[-1]], "holds an entry twice"),
        (lambda lines: [one for one in lines if one["kind"] == "note"], "one to one"),
    ],
)
def test_entries_that_do_not_hold_together(
    good: Path,
    other: Notebook,
    tmp_path: Path,
    change: Callable[[list[dict[str, Any]]], list[dict[str, Any]]],
    words: str,
) -> None:
    members = members_of(good)
    assert words in refused(other, pack(tmp_path / "bad.zip", with_lines(members, change(lines_of(members)))))


def test_an_entry_that_refers_to_another_guitar(
    exported: Path, notebook: Notebook, other: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    second = notebook.add_guitar(guitar, name="another")
    notebook.write_note(second.id, "of another guitar", state_id=second.state_id)
    members = members_of(export_notebook(notebook, tmp_path / "all.zip"))
    lines = lines_of(members)
    first = next(one["uuid"] for one in lines if one["kind"] == "state")
    path = pack(tmp_path / "bad.zip", with_lines(members, edit("note", state=first)(lines)))
    with pytest.raises(NotebookError, match="for the same guitar"):
        import_archive(other, path)
    assert other.log() == []
    assert len(import_archive(other, pack(tmp_path / "copy.zip", members))) == 2  # unchanged it is taken in


def test_a_line_that_was_cut(good: Path, other: Notebook, tmp_path: Path) -> None:
    members = members_of(good)
    cut = members | {"entries.jsonl": members["entries.jsonl"][:-1]}
    assert "it was cut" in refused(other, pack(tmp_path / "bad.zip", cut))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"not = [toml", "is not TOML"),
        (b"\xff", "codec"),
        (b'[[pickups]]\nname="a"\nposition="neck"\nconstruction="stacked-coils"\n', "construction"),
    ],
)
def test_a_guitar_that_does_not_hold(good: Path, other: Notebook, tmp_path: Path, text: bytes, words: str) -> None:
    members = members_of(good)
    name = next(one for one in members if one.startswith("states/"))
    assert words in refused(other, pack(tmp_path / "bad.zip", members | {name: text}))


def test_an_undo_that_brings_back_something_else(good: Path, other: Notebook, tmp_path: Path, guitar: Guitar) -> None:
    members = members_of(good)
    last = [one for one in lines_of(members) if one["kind"] == "state"][-1]
    assert last["act"] == "undo"
    name = f"states/{last['uuid']}.toml"
    changed = members | {name: members[name].replace(b"gap_bass_mm = 2.6", b"gap_bass_mm = 2.7")}
    assert changed != members
    assert "not equal to the state it restores" in refused(other, pack(tmp_path / "bad.zip", changed))


def test_a_sound_under_another_name_and_a_sound_that_is_none(good: Path, other: Notebook, tmp_path: Path) -> None:
    members = members_of(good)
    name = next(one for one in members if one.startswith("sounds/"))
    forged_sound = members | {name: b"fLaC-another"}
    assert "does not have the hash it is named by" in refused(other, pack(tmp_path / "bad.zip", forged_sound))
    virus = b"MZ virus"
    digest = hashlib.sha256(virus).hexdigest()
    rest = {one: data for one, data in members.items() if one != name} | {f"sounds/{digest}.flac": virus}
    lines = edit("sound", sha256=digest)(lines_of(members))
    assert "is not a FLAC file" in refused(other, pack(tmp_path / "bad.zip", with_lines(rest, lines)))


@pytest.mark.parametrize("data", [b"", b"PK", b"Dear customer" * 100, b"PK\x05\x06" + bytes(18)])
def test_what_is_no_archive(other: Notebook, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "letter.zip"
    path.write_bytes(data)
    words = refused(other, path)
    assert "is not a zip archive" in words or "has no manifest.json" in words


def test_an_archive_cut_anywhere_is_refused(good: Path, other: Notebook, tmp_path: Path) -> None:
    data = good.read_bytes()
    path = tmp_path / "cut.zip"
    for size in range(0, len(data), max(1, len(data) // 40)):
        path.write_bytes(data[:size])
        refused(other, path)


def test_no_single_changed_byte_is_taken_in_unseen(good: Path, tmp_path: Path) -> None:
    """Either it is refused, or (a byte of the zip's own bookkeeping) what is taken in is the same."""
    data = good.read_bytes()
    path = tmp_path / "bit.zip"
    for place in range(0, len(data), max(1, len(data) // 60)):
        path.write_bytes(data[:place] + bytes([data[place] ^ 0x41]) + data[place + 1 :])
        with open_notebook(tmp_path / f"{place}.sqlite") as book:
            try:
                entry = import_guitar(book, path)
            except NotebookError:
                assert book.guitars() == []
                continue
            again = export_guitar(book, entry.id, tmp_path / "again.zip", replace=True)
            assert again.read_bytes() == data


def test_a_file_that_is_not_there_and_a_folder(other: Notebook, tmp_path: Path) -> None:
    assert "no such file" in refused(other, tmp_path / "none.zip")
    assert "cannot be read" in refused(other, tmp_path)


def test_an_export_writes_over_nothing_unless_it_is_told_to(exported: Path, notebook: Notebook, tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="is there already"):
        export_guitar(notebook, 1, exported)
    before = exported.read_bytes()
    assert export_guitar(notebook, 1, exported, replace=True).read_bytes() == before
    assert stat.S_IMODE(exported.stat().st_mode) == 0o600
    with pytest.raises(NotebookError, match="is a folder"):
        export_guitar(notebook, 1, tmp_path)
    with pytest.raises(NotebookError, match="nothing can be written"):
        export_guitar(notebook, 1, tmp_path / "none" / "x.zip")
    with pytest.raises(NotebookError, match="no guitar 99"):
        export_guitar(notebook, 99, tmp_path / "x.zip")


def test_an_export_that_fails_leaves_nothing(
    exported: Path, notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = sorted(tmp_path.iterdir()), exported.read_bytes()
    monkeypatch.setattr("polepiece.notebook.archive_zip.os.fsync", full)
    with pytest.raises(NotebookError, match="No space left on device"):
        export_guitar(notebook, 1, tmp_path / "new.zip")
    with pytest.raises(NotebookError, match="No space left on device"):
        export_guitar(notebook, 1, exported, replace=True)
    assert (sorted(tmp_path.iterdir()), exported.read_bytes()) == before


def test_the_same_notes_over_and_over_can_be_taken_in_again(
    notebook: Notebook, other: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    """What shrinks more than a reader believes is stored as it is, so that our own archives are never refused."""
    entry = notebook.add_guitar(guitar)
    for _ in range(40):
        notebook.keep_prediction(entry.state_id, "x", {"text": "a" * 100_000})
    path = export_guitar(notebook, entry.id, tmp_path / "same.zip")
    assert import_guitar(other, path).states == 1
