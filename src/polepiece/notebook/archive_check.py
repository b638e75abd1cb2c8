"""What an archive says, held against itself before anything of it is written: line by line, little of each kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from polepiece.errors import GuitarFileError, InputError
from polepiece.notebook.archive_lines import KINDS, OF_A_SHOP, UUID, Line, check_moment, read_line
from polepiece.notebook.archive_zip import ENTRIES, Archive
from polepiece.notebook.branches import Step, Tree
from polepiece.notebook.evidence import sound_fault
from polepiece.notebook.photos import is_photo, photo_kind
from polepiece.notebook.records import SHORT, text_fault

SCHEMA, BRANCHED, LATEST = "polepiece/archive/1", "polepiece/archive/2", "polepiece/archive/3"
"""The second is written where a guitar has branches, the third where there are photos or a shop wrote (benches,
promises, quotes, stock): a reader of the ones before cannot know that."""
SCHEMAS = (SCHEMA, BRANCHED, LATEST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What later lines may refer to of an entry."""

    kind: str
    guitar: str | None


class Restored(NamedTuple):
    """What an undo or redo brings back: where that is said, and the member of that state."""

    where: str
    act: str
    name: str


def guitars_of(archive: Archive) -> list[dict[str, str]]:
    """Return the guitars in the manifest.

    Raises
    ------
    InputError
        When the manifest says anything else, or says it otherwise.
    """
    found = archive.head.get("guitars")
    if not isinstance(found, list) or set(archive.head) != {"schema", "version", "guitars", "members"}:
        raise InputError("manifest.json needs schema, version, guitars, members and nothing else")
    for one in found:
        if not isinstance(one, dict) or set(one) != {"uuid", "name", "created"}:
            raise InputError("manifest.json: a guitar has uuid, name, created and nothing else")
        if not isinstance(one["uuid"], str) or not UUID.fullmatch(one["uuid"]):
            raise InputError(f"manifest.json: {one['uuid']!r:.60} is not a uuid")
        if fault := text_fault(one["name"], SHORT):
            raise InputError(f"manifest.json: the name of a guitar {fault}")
        if not one["name"].strip():
            raise InputError("manifest.json: the name of a guitar is empty")
        check_moment(one["created"], "manifest.json: created")
    if len({one["uuid"] for one in found}) != len(found):
        raise InputError("manifest.json: a guitar stands twice")
    return found


def check_entries(archive: Archive, guitars: list[dict[str, str]]) -> None:
    """Hold entries against each other, and read every guitar.

    Raises
    ------
    InputError
        With what is wrong and in which line.
    """
    trees: dict[str, Tree] = {one["uuid"]: Tree() for one in guitars}
    seen: dict[str, Kept] = {}
    sounds: set[str] = set()
    states: dict[str, Restored | None] = {}  # by the name of the member
    branched, signed = archive.head["schema"] in (BRANCHED, LATEST), archive.head["schema"] == LATEST
    photos: set[str] = set()
    for number, text in enumerate(archive.lines(ENTRIES), start=1):
        line = read_line(text, number)
        where = f"entries.jsonl line {number}"
        if line.guitar is not None and line.guitar not in trees:
            raise InputError(f"{where}: its guitar is not in the manifest")
        if line.bench is not None and not signed:
            raise InputError(f"{where}: names a bench, in an archive without benches")
        if line.kind in OF_A_SHOP and not signed:
            raise InputError(f"{where}: a {line.kind}, in an archive that is none of a shop")
        if line.uuid in seen:
            raise InputError("entries.jsonl holds an entry twice")
        _check_references(line, seen, where)
        seen[line.uuid] = Kept(kind=line.kind, guitar=line.guitar)
        if line.kind == "sound":
            sounds.add(line.values["sha256"])
        if line.kind == "note" and is_photo(line.values["body"] or {}):
            photos.add(f"photos/{line.values['body']['sha256']}.{line.values['body']['kind']}")
        if line.kind == "state":
            there = line.values["restores_id"]
            restored = None if there is None else Restored(where, line.values["act"], f"states/{there}.toml")
            states[f"states/{line.uuid}.toml"] = restored
        if line.kind in ("state", "branch-choice"):
            _check_tree(line, trees, branched=branched, where=where)
    _check_texts(archive, states)
    if any(not one.parents for one in trees.values()):
        raise InputError("a guitar has no state")
    _check_sounds(archive, sounds)
    _check_photos(archive, photos)


def _check_references(line: Line, seen: Mapping[str, Kept], where: str) -> None:
    for one in KINDS[line.kind][1].values():
        there = line.values[one.column]
        if one.to is None or there is None:
            continue
        if there not in seen or seen[there] != Kept(kind=one.to, guitar=line.guitar):
            raise InputError(f"{where}: refers to a {one.to} that does not stand before it for the same guitar")


def _check_tree(line: Line, trees: Mapping[str, Tree], *, branched: bool, where: str) -> None:
    if line.guitar is None:
        raise InputError(f"entries.jsonl: a {line.kind} without a guitar")
    tree, step = trees[line.guitar], step_of(line)
    fault = tree.fault(step)
    if fault is None and not branched and (step.act == "choice" or (tree.parents and step.parent != tree.present)):
        fault = "this state does not follow the one before it"
    if fault is not None:
        raise InputError(f"{where}: {fault}")
    tree.tell(step)


def step_of(line: Line) -> Step:
    """Return a state, or the choice of one, as a step of its guitar's tree."""
    values = line.values
    if line.kind == "branch-choice":
        return Step(values["state_id"], None, "choice", None)
    return Step(line.uuid, values["parent_id"], values["act"], values["restores_id"])


def _check_texts(archive: Archive, states: Mapping[str, Restored | None]) -> None:
    """Every state is a guitar file that reads; an undo or redo is word for word the state it restores."""
    from polepiece.guitar import parse_guitar  # a second of numerical libraries

    if set(states) != set(archive.names("states")):
        raise InputError("its states/ do not belong to the states in entries.jsonl one to one")
    good: set[str] = set()
    for name in states:
        if archive.digest(name) in good:
            continue
        try:
            parse_guitar(archive.read(name).decode("utf-8"), name)
        except GuitarFileError as error:
            more = f"; and {len(error.faults) - 5} more faults" if len(error.faults) > 5 else ""
            raise InputError(f"{name}: {'; '.join(error.faults[:5])}{more}") from None
        good.add(archive.digest(name))
    for name, restored in states.items():
        if restored is not None and archive.digest(name) != archive.digest(restored.name):
            raise InputError(f"{restored.where}: this {restored.act} is not equal to the state it restores")


def _check_sounds(archive: Archive, wanted: set[str]) -> None:
    names = {name.removeprefix("sounds/").partition(".")[0]: name for name in archive.names("sounds")}
    if len(names) != len(archive.names("sounds")) or set(names) != wanted:
        raise InputError("its sounds/ do not belong to the sounds in entries.jsonl one to one")
    for digest, name in names.items():
        if archive.digest(name) != digest:
            raise InputError(f"{name} does not have the hash it is named by")
        if fault := sound_fault(archive.read(name), name.rpartition(".")[2]):
            raise InputError(f"{name} {fault}")


def _check_photos(archive: Archive, wanted: set[str]) -> None:
    """Every photo belongs to a line and has its hash; a line whose photo was gone at the export has none."""
    there = archive.names("photos")
    if (there and archive.head["schema"] != LATEST) or not set(there) <= wanted:
        raise InputError("its photos/ do not belong to lines in entries.jsonl")
    for name in there:
        digest, _, kind = name.removeprefix("photos/").partition(".")
        if archive.digest(name) != digest:
            raise InputError(f"{name} does not have the hash it is named by")
        if photo_kind(archive.read(name)) != kind:
            raise InputError(f"{name} is not what its name says, by its first bytes")
