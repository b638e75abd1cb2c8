"""``polepiece bench``: the benches of a shop, each with a token of its own."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.log import local_words
from polepiece.cli.options import Json, NotebookFile

if TYPE_CHECKING:
    from polepiece.notebook import BenchEntry

NAME = "bench"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
Name = Annotated[str, typer.Argument(metavar="NAME", help="What the bench is called, such as north; not a person.")]


@app.callback()
def _main() -> None:
    """Say which bench wrote what: every bench of a shop has a token of its own, there are no accounts."""


@app.command()
def add(name: Name, notebook: NotebookFile = None, json: Json = False) -> None:
    """Add a bench and print its token, this once. From the first bench on, only benches write in this notebook.

    Example: polepiece bench add north --notebook postgresql://bench@shop-server/notebook
    """
    from polepiece.notebook import TOKEN, open_notebook

    with open_notebook(notebook) as book:
        bench, token = book.add_bench(name)
    if json:
        emit(plain_envelope("bench-add", {"bench": body_of(bench), "token": token}))
        return
    typer.echo(
        f"bench {bench.name}: its token is {token}\nIt is shown this once and kept nowhere. At that bench put it into "
        f"{TOKEN}, or enter it at the page (its address, then /enter). Lost: polepiece bench retire {bench.name}, and "
        "add it again."
    )


@app.command()
def retire(
    name: Name,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why, for the history.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """End a bench: its token writes nothing from now on; what it wrote stays.

    Example: polepiece bench retire north --why "the note with the token is lost"
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        bench = book.end_bench(name, why)
    if json:
        emit(plain_envelope("bench-retire", {"bench": body_of(bench)}))
        return
    typer.echo(f"bench {bench.name} writes no more: {bench.why}")


@app.command(name="list")
def list_benches(notebook: NotebookFile = None, json: Json = False) -> None:
    """List the benches of the notebook, those that have ended too.

    Example: polepiece bench list
    """
    from polepiece.notebook import read_notebook

    with read_notebook(notebook) as book:
        found = book.benches()
    if json:
        emit(plain_envelope("bench-list", {"benches": [body_of(one) for one in found]}))
        return
    if not found:
        typer.echo("This notebook has no benches: whoever may open it writes in it. Begin: polepiece bench add NAME")
        return
    rows = [
        [one.name, local_words(one.at), "" if one.ended is None else f"{local_words(one.ended)}, {one.why}"]
        for one in found
    ]
    console().print(table("Benches", ("bench", "since", "ended"), rows, left=3))


def body_of(bench: "BenchEntry") -> dict[str, Any]:
    """Return a bench as JSON values."""
    return {
        "id": bench.id, "uuid": bench.uuid, "name": bench.name, "at": bench.at.isoformat(),
        "ended": None if bench.ended is None else bench.ended.isoformat(), "why": bench.why,
    }  # fmt: skip
