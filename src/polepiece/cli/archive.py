"""``polepiece export`` and ``polepiece import``: a guitar with its whole history as one file, and back."""

from pathlib import Path
from typing import Annotated

import typer

from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.log import guitar_body, tell_branches
from polepiece.cli.notices import tell_notices
from polepiece.cli.options import Json, NotebookFile, Replace
from polepiece.cli.output import writable
from polepiece.errors import InputError


def export(
    guitar: Annotated[
        str | None, typer.Argument(metavar="[GUITAR]", help="A guitar on record: its number, or its name.")
    ] = None,
    out: Annotated[str | None, typer.Option("--out", "-o", metavar="FILE", help="The archive to write, *.zip.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Every guitar, and the drawer.")] = False,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """A guitar on record with everything that belongs to it, as one file: states, jobs, predictions, notes, sounds.

    Example: polepiece export "red solid" --out red-solid.zip
    """
    from polepiece.notebook import export_guitar, export_notebook, photo_fault, photos, photos_folder, read_notebook

    if (guitar is None) != everything:
        raise InputError("export: name one guitar (polepiece log lists them), or write --all.")
    if out is None:
        raise InputError("export: say where to: --out guitar.zip.")
    writable("--out", out, inputs=[notebook], replace=replace)
    with read_notebook(notebook) as book:
        tell_notices(book)
        if guitar is None:
            entries = book.guitars()
            path = export_notebook(book, out, replace=replace)
        else:
            entries = [book.find_guitar(guitar)]
            path = export_guitar(book, entries[0].id, out, replace=replace)
        there = photos(book, None if guitar is None else entries[0].id, put_away=True)
        left = [one for one in there if photo_fault(one.file, one.sha256)]
        folder = photos_folder(book.path)
    size = path.stat().st_size
    if json:
        body = {"archive": str(path), "bytes": size, "guitars": [guitar_body(one) for one in entries],
                "photos_left_out": [str(one.file) for one in left]}  # fmt: skip
        emit(plain_envelope("export", body))
        return
    typer.echo(f"{', '.join(one.name for one in entries) or 'the drawer'} written to {path} ({size / 1024:.0f} KiB)")
    if left:
        typer.echo(f"{len(left)} photos are named in it and not carried: their files in {folder} are gone or damaged.")


def import_archive(
    file: Annotated[str, typer.Argument(metavar="FILE", help="An archive that polepiece export wrote.")],
    merge: Annotated[
        bool,
        typer.Option("--merge", help="Add what is new of guitars that are here; a second continuation is a branch."),
    ] = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Take in an archive: every name, size and hash is checked first; then all of it is taken in, or nothing.

    Example: polepiece import red-solid.zip
    """
    from polepiece.notebook import import_archive as take_in
    from polepiece.notebook import merge_archive, open_notebook

    with open_notebook(notebook) as book:
        merged = merge_archive(book, Path(file)) if merge else None
        found = take_in(book, Path(file)) if merged is None else list(merged.guitars)
        if json:
            body: dict[str, object] = {"notebook": str(book.path), "guitars": [guitar_body(one) for one in found]}
            if merged is not None:
                body |= {"added": merged.added, "known": merged.known}
            emit(plain_envelope("import", body))
            return
        if merged is not None:
            typer.echo(f"{merged.added} entries added, {merged.known} were here already")
        for one in found:
            tell_branches(book, one)
    for one in found:
        typer.echo(f"guitar {one.id}, {one.name}: {one.states} states, now in state {one.state_id}")
    if not found:
        typer.echo("no guitar in it; its parts are in the drawer")
