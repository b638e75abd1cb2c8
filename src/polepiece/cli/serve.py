"""``polepiece serve``: the page, on this machine only unless a token is set."""

import os
import signal
from contextlib import suppress
from typing import Annotated

import typer

from polepiece.cli.demo import GUITAR as FIRST_GUITAR

NAME = "serve"
TOKEN = "POLEPIECE_TOKEN"


def command(
    notebook: Annotated[
        str | None,
        typer.Option(
            "--notebook",
            metavar="FILE",
            help="Notebook, a file or postgresql://USER@HOST/DATABASE; default: the one in your data folder.",
        ),
    ] = None,
    port: Annotated[int, typer.Option("--port", metavar="N", help="Port; 0 takes a free one.")] = 8377,
    host: Annotated[
        str, typer.Option("--host", metavar="H", help="Address to serve on; another than this machine needs a token.")
    ] = "127.0.0.1",
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
    token_file: Annotated[
        str | None,
        typer.Option("--token-file", metavar="FILE", help=f"File with the token visitors need (or {TOKEN})."),
    ] = None,
) -> None:
    """The page: guitars, curves, grades, plans and sounds in a browser, on this machine.

    Nothing is asked of any other machine. Ctrl-C stops it.

    Example: polepiece serve --port 8400 --no-browser
    """
    from polepiece.app import Address, read_token, serve

    token = read_token(token_file) if token_file is not None else os.environ.get(TOKEN) or None
    address = Address(host=host, port=port, token=token)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with suppress(KeyboardInterrupt):  # the way to stop it, so no failure: exit code 0, and everything put away
        serve(notebook, address, first_guitar=FIRST_GUITAR, show=not no_browser, say=_say)
    typer.echo("polepiece: stopped; everything is in the notebook.")


def _say(url: str) -> None:
    typer.echo(f"polepiece: the page is at {url} (Ctrl-C stops it).")
