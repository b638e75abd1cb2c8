"""What a notebook has to say beside its answer, on stderr: it is read only, a clock went back, no backup was made."""

from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from polepiece.notebook import Notebook


def tell_notices(book: "Notebook") -> None:
    """Print the notices of a notebook, each a paragraph."""
    for one in book.notices():
        typer.echo(f"polepiece: {one}", err=True)
