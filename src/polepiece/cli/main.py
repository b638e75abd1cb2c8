"""Entry point of the ``polepiece`` command; light, so that Ctrl-C is quiet from the first moment on."""

import sys


def run() -> None:
    """Run the command line; Ctrl-C is exit code 130 without a traceback, whatever was going on."""
    try:
        from polepiece.cli.commands import app

        app(prog_name="polepiece")
    except KeyboardInterrupt:
        sys.exit(130)
