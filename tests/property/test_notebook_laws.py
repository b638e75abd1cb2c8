"""Laws of the notebook: undo and redo against a plain twin, and archives that come back equal."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar, read_guitar
from polepiece.notebook import (
    NOTE_SORTS,
    Notebook,
    Part,
    export_guitar,
    export_notebook,
    import_archive,
    import_guitar,
    open_notebook,
)
from tests.unit.notebook.conftest import MEMORY

GUITAR = read_guitar(Path(__file__).parents[2] / "examples" / "demo.guitar.toml")
TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # refused: they turn what follows round
TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\0" + TURNS), min_size=1, max_size=40).filter(str.strip)
KEY = st.text(st.characters(codec="utf-8"), max_size=8)
JSON = st.dictionaries(
    KEY,
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(2**70), 2**70)
        | st.floats(allow_nan=False, allow_infinity=False)
        | KEY,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEY, inner, max_size=3),
        max_leaves=6,
    ),
    max_size=3,
)


@contextmanager
def fresh(*names: str) -> Iterator[tuple[Path, list[Notebook]]]:
    """Notebooks in a folder of their own; every entry a second later than the one before."""
    ticks = iter(range(10**9))

    def clock() -> datetime:
        return datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=next(ticks))

    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        books = [open_notebook(Path(folder) / name, clock=clock) for name in names]
        try:
            yield Path(folder), books
        finally:
            for one in books:
                one.close()


class Twin:
    """The plain twin: a list of what was ever shown, and two stacks, as a text editor has them."""

    def __init__(self, first: str) -> None:
        self.shown, self.past, self.future = [first], [first], list[str]()

    def record(self, note: str) -> None:
        self.past.append(note)
        self.future.clear()
        self.shown.append(note)

    def undo(self) -> bool:
        if len(self.past) == 1:
            return False
        self.future.append(self.past.pop())
        self.shown.append(self.past[-1])
        return True

    def redo(self) -> bool:
        if not self.future:
            return False
        self.past.append(self.future.pop())
        self.shown.append(self.past[-1])
        return True


def noted(text: str) -> Guitar:
    return replace(GUITAR, note=text)


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.sampled_from(["record", "undo", "undo", "redo"]), max_size=14))
def test_undo_and_redo_are_those_of_the_twin_and_nothing_is_lost(acts: list[str]) -> None:
    with fresh("n.sqlite") as (_, (notebook,)):
        entry, twin = notebook.add_guitar(noted("0")), Twin("0")
        for k, act in enumerate(acts, start=1):
            if act == "record":
                notebook.record(entry.id, noted(str(k)), why="x")
                twin.record(str(k))
                continue
            possible = twin.undo() if act == "undo" else twin.redo()
            try:
                notebook.undo(entry.id) if act == "undo" else notebook.redo(entry.id)
            except NotebookError:
                assert not possible
            else:
                assert possible
            assert notebook.can_step(entry.id) == (len(twin.past) > 1, bool(twin.future))
        assert notebook.guitar(entry.id).note == twin.past[-1]
        states = notebook.states(entry.id)
        assert [notebook.state_guitar(one.id).note for one in states] == twin.shown
        for one, shown in zip(states, twin.shown):  # and every moment can be looked back at
            assert notebook.guitar_as_of(entry.id, one.at).note == shown


def drawn(kind: str, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[str, dict[str, Any]]]:
    return st.tuples(st.just(kind), st.fixed_dictionaries(fields))


HAPPENINGS = st.lists(
    drawn("record", note=TEXT, why=TEXT)
    | drawn("step", undo=st.booleans())
    | drawn("note", text=TEXT, sort=st.sampled_from(NOTE_SORTS), body=st.none() | JSON, of=st.booleans())
    | drawn("prediction", change=TEXT, result=JSON)
    | drawn("sound", data=st.binary(max_size=60), label=TEXT)
    | drawn("job", complaints=TEXT, plan=JSON, change=TEXT, customer=st.none() | TEXT, closed=st.booleans())
    | drawn("part", label=TEXT, price=st.none() | st.decimals(0, 100, places=2), gone=st.booleans()),
    max_size=8,
)


def happen(notebook: Notebook, number: int, what: str, told: dict[str, Any]) -> None:
    """Let one thing happen to a guitar."""
    state = notebook.guitar_entry(number).state_id
    match what:
        case "record":
            guitar = noted(told["note"].replace("\r", " "))
            notebook.record(number, guitar, why=told["why"])
        case "step":
            can_undo, can_redo = notebook.can_step(number)
            if told["undo"] and can_undo:
                notebook.undo(number)
            elif not told["undo"] and can_redo:
                notebook.redo(number)
        case "note":
            notebook.write_note(
                number, told["text"], sort=told["sort"], body=told["body"], state_id=state if told["of"] else None
            )
        case "prediction":
            notebook.keep_prediction(state, told["change"], told["result"])
        case "sound":
            notebook.keep_sound(b"fLaC" + told["data"], label=told["label"], kind="flac", state_id=state)
        case "job":
            job = notebook.open_job(number, told["complaints"], "", customer=told["customer"])
            notebook.keep_plan(job.id, told["plan"])
            notebook.choose(job.id, told["change"])
            if told["closed"]:
                notebook.close_job(job.id, "done")
        case "part":
            currency = "" if told["price"] is None else "EUR"
            part = notebook.add_part(Part(kind="bar", label=told["label"], price=told["price"], currency=currency))
            if told["gone"]:
                notebook.retire_part(part.id, "sold")


def told(notebook: Notebook, number: int) -> list[Any]:
    """All that a notebook says of a guitar, without the numbers that are its own."""
    states = notebook.states(number)
    places = {one.id: k for k, one in enumerate(states)}
    return [
        notebook.guitar(number),
        [
            (one.uuid, places.get(one.parent_id or -1), one.at, one.act, places.get(one.restores_id or -1), one.why,
             one.text, one.provenance) for one in states
        ],
        [(one.uuid, one.at, one.change, one.result, one.provenance) for one in notebook.predictions(number)],
        [(one.uuid, places.get(one.state_id or -1), one.text, one.sort, one.body) for one in notebook.notes(number)],
        [(one.uuid, one.label, notebook.sound(one.sha256), one.size) for one in notebook.sounds(number)],
        [
            (one.uuid, one.complaints, one.customer, one.status, one.plan, one.change, one.outcome)
            for one in notebook.jobs(number)
        ],
    ]  # fmt: skip


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(TEXT, HAPPENINGS)
def test_an_archive_comes_back_equal(name: str, happenings: list[tuple[str, dict[str, Any]]]) -> None:
    with fresh("a", "b", "c") as (folder, (here, there, whole)):
        there.write_note(None, "numbers here are other ones")
        number = here.add_guitar(GUITAR, name=name).id
        for what, values in happenings:
            happen(here, number, what, values)
        export_guitar(here, number, folder / "one.zip")
        found = import_guitar(there, folder / "one.zip")
        assert told(there, found.id) == told(here, number)
        export_guitar(there, found.id, folder / "two.zip")
        assert (folder / "two.zip").read_bytes() == (folder / "one.zip").read_bytes()

        export_notebook(here, folder / "all.zip")
        (again,) = import_archive(whole, folder / "all.zip")
        assert told(whole, again.id) == told(here, number)
        assert whole.parts(include_retired=True) == here.parts(include_retired=True)
        assert whole.log() == here.log()  # a whole notebook in an empty one: even the numbers are the same
