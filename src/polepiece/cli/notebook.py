"""``polepiece notebook``: look after the notebook itself: check, backup, restore, rescue."""

from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer

from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, Replace
from polepiece.errors import InputError

NAME = "notebook"
DAMAGED = 1
MOST = 20  # faults that are printed
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)


@app.callback()
def _main() -> None:
    """Look after the notebook: check every entry, copy it, put a copy back, save what is whole of a damaged one."""


@app.command()
def check(
    notebook: NotebookFile = None,
    accept_end: Annotated[
        bool,
        typer.Option("--accept-end", help="It ends where it ends: an older copy was put in its place on purpose."),
    ] = False,
    json: Json = False,
) -> None:
    """Hold all of the notebook against its seals: every entry, reference, sound, date, undo. Nothing is written.

    Exit code 0 when all is whole, 1 when something is damaged.

    Example: polepiece notebook check
    """
    from polepiece.notebook import check_notebook, forget_end, notebook_path

    path = notebook_path(notebook)
    if accept_end:
        forget_end(path)
    found = check_notebook(path)
    if json:
        emit(plain_envelope("notebook-check", asdict(found) | {"path": str(path), "good": not found.faults}))
    else:
        typer.echo(f"{path}: {found.whole} of {found.entries} entries are whole, {found.sounds} sounds.")
        _list(found.faults, "Damage")
        _list(found.remarks, "To know")
        if not found.noted:
            typer.echo("There is no note of its end beside it: entries lost at the end would not be seen.")
        if found.faults:
            typer.echo(
                "What is whole: polepiece notebook rescue --out new.sqlite. Backups: polepiece notebook restore."
            )
    if found.faults:
        raise typer.Exit(DAMAGED)


def _list(words: "tuple[str, ...]", head: str) -> None:
    for one in words[:MOST]:
        typer.echo(f"{head}: {one}")
    if len(words) > MOST:
        typer.echo(f"and {len(words) - MOST} more; --json lists all.")


@app.command()
def backup(
    out: Annotated[
        str | None,
        typer.Option(
            "--out", "-o", metavar="FILE", help="The copy to write; without it those that are kept are listed."
        ),
    ] = None,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Copy the notebook, whole and checked, while it may be in use; without --out the copies that are kept are listed.

    Example: polepiece notebook backup --out /media/stick/notebook.sqlite
    """
    from polepiece.notebook import KEPT_BEFORE, KEPT_DAILY, backup_to, backups_of, notebook_path

    path = notebook_path(notebook)
    if isinstance(path, Path) and not path.is_file():
        raise InputError(f"{path}: there is no notebook yet.")
    made = None if out is None else backup_to(path, Path(out).absolute(), replace=replace)
    kept = backups_of(path)
    if json:
        files = [str(one) for one in kept]
        emit(plain_envelope("notebook-backup", {"path": str(path), "made": str(made) if made else None, "kept": files}))
        return
    if made is not None:
        typer.echo(f"{made} ({made.stat().st_size / 1024:.0f} KiB) is a whole notebook.")
        return
    for one in kept:
        typer.echo(str(one))
    typer.echo(
        f"{len(kept)} backups. Kept are those of the last {KEPT_DAILY} days of use, and the last {KEPT_BEFORE} from "
        "before a new version changed the file; --out FILE makes one elsewhere."
    )


@app.command()
def restore(
    file: Annotated[str, typer.Argument(metavar="BACKUP", help="A backup, or any whole notebook.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Put a copy of a backup in the place of the notebook; what is there now is kept beside it.

    Close every program that has the notebook open first.

    Example: polepiece notebook restore notebook.sqlite-backups/2026-03-03.sqlite
    """
    from polepiece.notebook import notebook_path
    from polepiece.notebook import restore as put_back

    path = notebook_path(notebook)
    aside = put_back(path, Path(file).absolute())
    if json:
        emit(plain_envelope("notebook-restore", {"path": str(path), "replaced": str(aside) if aside else None}))
        return
    typer.echo(f"{path} is a copy of {file} now." + (f" What was there is {aside}." if aside else ""))


@app.command()
def rescue(
    out: Annotated[str, typer.Option("--out", "-o", metavar="FILE", help="The new notebook; not there yet.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Write every entry that is whole of a damaged notebook into a new one, and list the rest. The old is not touched.

    Exit code 0 when all was whole, 1 when something is lost or had to be tied anew.

    Example: polepiece notebook rescue --out rescued.sqlite
    """
    from polepiece.notebook import notebook_path
    from polepiece.notebook import rescue as save

    found = save(notebook_path(notebook), Path(out).absolute())
    if json:
        emit(plain_envelope("notebook-rescue", _body(asdict(found))))
    else:
        typer.echo(f"{found.path}: {found.kept} entries kept, {len(found.lost)} lost.")
        _list(tuple(f"entry {one.entry}: {one.words}" for one in found.tied), "Tied anew")
        _list(tuple(f"entry {one.entry}: {one.words}" for one in found.lost), "Lost")
        if not found.sealed:
            typer.echo("There are no seals in it: that an entry says what was written could not be checked.")
    if found.lost or found.tied or not found.sealed:
        raise typer.Exit(DAMAGED)


def _body(found: "dict[str, Any]") -> "dict[str, Any]":
    return {**found, "path": str(found["path"])}
