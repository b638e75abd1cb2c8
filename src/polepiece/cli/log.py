"""``polepiece log``: the history of the guitars on record, and new lines in it."""

from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.notices import tell_notices
from polepiece.cli.options import Json, NotebookFile
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.notebook import GuitarEntry, Notebook, StateEntry

NAME = "log"


def command(
    guitar: Annotated[
        str | None, typer.Argument(metavar="[GUITAR]", help="A guitar on record: its number, or its name.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", metavar="TEXT", help="Write a line.")] = None,
    keep: Annotated[
        str | None,
        typer.Option(
            "--keep", metavar="FILE", help="Keep a guitar file as how GUITAR is now; as a new one without it."
        ),
    ] = None,
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="What was done, for --keep.")] = None,
    name: Annotated[str | None, typer.Option("--name", metavar="TEXT", help="What to call a new guitar.")] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Go back one state; a new entry, nothing is lost.")] = False,
    redo: Annotated[bool, typer.Option("--redo", help="Take one undo back.")] = False,
    branch: Annotated[
        int | None,
        typer.Option("--branch", metavar="STATE", help="Go on from this end of another branch, after a merge."),
    ] = None,
    photo: Annotated[
        str | None,
        typer.Option("--photo", metavar="FILE", help="Keep a photo (JPEG, PNG, WebP) of GUITAR; --note says of what."),
    ] = None,
    job: Annotated[str | None, typer.Option("--job", metavar="NUMBER", help="The job a --photo belongs to.")] = None,
    put_away: Annotated[
        int | None,
        typer.Option("--put-away", metavar="ENTRY", help="Take a photo out of sight; it stays kept and checked."),
    ] = None,
    as_on: Annotated[
        str | None,
        typer.Option("--as-on", metavar="DATE", help="Print the guitar file as it was on 2026-03-03 (or that T14:30)."),
    ] = None,
    last: Annotated[int | None, typer.Option("--last", metavar="N", min=1, help="The last N entries only.")] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """The history of every guitar on record, or of one; write a line, keep a state, undo, or look back.

    Example: polepiece log --keep guitar.toml --why "came in muddy", later: polepiece log 1 --note "new strings"
    """
    from polepiece.notebook import open_notebook, put_photo_away, read_notebook

    said = None if photo is not None else note
    chosen = (("--note", said), ("--keep", keep), ("--as-on", as_on), ("--branch", branch), ("--photo", photo),
              ("--put-away", put_away))  # fmt: skip
    asked = [word for word, given in chosen if given is not None]
    asked += [word for word, given in (("--undo", undo), ("--redo", redo)) if given]
    if len(asked) > 1:
        raise InputError(f"{' and '.join(asked)}: one at a time.")
    if guitar is None and asked and asked[0] in ("--undo", "--redo", "--as-on", "--branch", "--photo"):
        raise InputError(f"{asked[0]} needs to know which guitar: polepiece log GUITAR {asked[0]}.")
    if (name is not None and keep is None) or (why is not None and keep is None and branch is None):
        raise InputError("--why and --name belong to --keep FILE.")
    if job is not None and photo is None:
        raise InputError("--job belongs to --photo FILE.")
    if name is not None and guitar is not None:
        raise InputError("--name is for a new guitar; this one has its name already.")
    only_looking = not asked or asked == ["--as-on"]
    with (read_notebook if only_looking else open_notebook)(notebook) as book:
        entry = None if guitar is None else book.find_guitar(guitar)
        if keep is not None:
            entry, state = _kept(book, entry, keep, why, name)
            _tell_state(book, entry, state, json=json)
        elif entry is not None and photo is not None:
            _keep_photo(book, entry, photo, note, job, json=json)
        elif put_away is not None:
            away = put_photo_away(book, put_away)
            typer.echo(f"photo {away.id} put away: {away.label}") if not json else emit(
                plain_envelope("log-photo", {"entry": away.id, "put_away": True})
            )
        elif entry is not None and branch is not None:
            state = book.choose_branch(entry.id, branch, why=why or "chosen of two branches")
            _tell_state(book, book.guitar_entry(entry.id), state, json=json)
        elif entry is not None and (undo or redo):
            state = book.undo(entry.id) if undo else book.redo(entry.id)
            _tell_state(book, entry, state, json=json)
        elif entry is not None and as_on is not None:
            state = book.state_as_of(entry.id, moment_of(as_on))
            if json:
                _tell_state(book, entry, state, json=True)
            else:
                typer.echo(state.text, nl=False)
        else:
            if note is not None:
                book.write_note(None if entry is None else entry.id, note)
            show(book, entry, last=1 if note is not None else last, json=json)
        tell_notices(book)


def _kept(
    book: "Notebook", entry: "GuitarEntry | None", file: str, why: str | None, name: str | None
) -> "tuple[GuitarEntry, StateEntry]":
    from polepiece.guitar import read_guitar

    guitar = read_guitar(file)
    if entry is None:
        entry = book.add_guitar(guitar, name=name, why=why or "first entry")
        return entry, book.state(entry.state_id)
    if why is None:
        raise InputError('say what was done: --why "bridge pickup lowered by half a millimetre".')
    return entry, book.record(entry.id, guitar, why=why, expect=entry.state_id)


def _keep_photo(
    book: "Notebook", entry: "GuitarEntry", file: str, words: str | None, job: str | None, *, json: bool
) -> None:
    from polepiece.notebook import keep_photo, photo_of

    number = next((one.id for one in book.jobs(entry.id) if job in (one.called, str(one.place))), None)
    if job is not None and number is None:
        known = ", ".join(one.called for one in book.jobs(entry.id)) or "none yet"
        raise InputError(f"--job {job}: {entry.name} has no such job; it has: {known}.")
    kept = keep_photo(
        book, photo_of(file), label=words or Path(file).name, guitar_id=entry.id, job_id=number if job else None
    )
    if json:
        body = {"notebook": str(book.path), "guitar": guitar_body(entry), "entry": kept.id, "sha256": kept.sha256,
                "file": str(kept.file), "label": kept.label}  # fmt: skip
        emit(plain_envelope("log-photo", body))
        return
    typer.echo(f"photo kept as entry {kept.id} of {entry.name}: {kept.label}; {kept.file}")


def moment_of(text: str) -> datetime:
    """Read a date (its last moment is meant) or a date with a time, local where no zone is given."""
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"--as-on: {text!r} is not a date; write 2026-03-03 or 2026-03-03T14:30.") from None
    if len(text.strip()) <= len("2026-03-03"):
        found = datetime.combine(found.date(), time.max)
    try:
        return found.astimezone()
    except (OverflowError, ValueError):
        raise InputError(f"--as-on: {text!r} is too far from today.") from None


def local_words(at: datetime) -> str:
    """Return a moment in local time; where the calendar ends before it, in UTC."""
    try:
        return f"{at.astimezone():%Y-%m-%d %H:%M}"
    except (OverflowError, ValueError, OSError):
        return f"{at:%Y-%m-%d %H:%M}"


def _tell_state(book: "Notebook", entry: "GuitarEntry", state: "StateEntry", *, json: bool) -> None:
    if json:
        body = {"notebook": str(book.path), "guitar": guitar_body(entry), "state": state_body(state)}
        emit(plain_envelope("log-state", body))
        return
    typer.echo(f"guitar {entry.id}, {entry.name}, is in state {state.id}: {state.why}")


def show(book: "Notebook", entry: "GuitarEntry | None", *, last: int | None, json: bool) -> None:
    """Print the history, or its last lines."""
    lines = book.log(None if entry is None else entry.id, last=last)
    if json:
        rows = [
            {"id": one.id, "at": one.at.isoformat(), "kind": one.kind, "guitar_id": one.guitar_id, "words": one.words}
            | ({} if one.bench is None else {"bench": one.bench})
            for one in lines
        ]
        guitars = [guitar_body(one) for one in (book.guitars() if entry is None else [entry])]
        emit(plain_envelope(NAME, {"notebook": str(book.path), "guitars": guitars, "lines": rows}))
        return
    if not lines:
        typer.echo('Nothing is on record yet. Begin with: polepiece log --keep guitar.toml --why "as it came in"')
        return
    rows_shown = [[str(one.id), local_words(one.at), one.guitar or "-", one.words] for one in lines]
    heads = ["entry", "local time", "guitar", "what"]
    if any(one.bench for one in lines):
        heads.insert(3, "bench")
        rows_shown = [[*row[:3], one.bench or "-", *row[3:]] for row, one in zip(rows_shown, lines)]
    title = f"{book.path}" if entry is None else f"{entry.name} (guitar {entry.id}, now in state {entry.state_id})"
    console().print(table(title, heads, rows_shown, left=len(heads)))
    for one in book.guitars() if entry is None else [entry]:
        tell_branches(book, one)


def tell_branches(book: "Notebook", entry: "GuitarEntry") -> None:
    """Say where a guitar went on twice, and how one of the two is chosen."""
    if book.branch_is_open(entry.id):
        present, *others = book.branches(entry.id)
        ends = "; ".join(f"state {one.id} ({one.why})" for one in others)
        typer.echo(
            f"{entry.name} went on in two notebooks. It is in state {present.id} ({present.why}); the other branch "
            f"ends in {ends}. To go on from there: polepiece log {entry.id} --branch {others[0].id}"
        )


def guitar_body(entry: "GuitarEntry") -> dict[str, Any]:
    """Return a guitar on record as JSON values."""
    return {
        "id": entry.id, "uuid": entry.uuid, "name": entry.name, "created": entry.created.isoformat(),
        "state_id": entry.state_id, "states": entry.states,
    }  # fmt: skip


def state_body(state: "StateEntry") -> dict[str, Any]:
    """Return a state as JSON values."""
    return {
        "id": state.id, "uuid": state.uuid, "parent_id": state.parent_id, "at": state.at.isoformat(),
        "act": state.act, "restores_id": state.restores_id, "why": state.why, "text": state.text,
        "provenance": dict(state.provenance),
    }  # fmt: skip
