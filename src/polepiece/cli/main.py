"""Entry point of the ``polepiece`` command; light, so that Ctrl-C is quiet from the first moment on."""

import os
import sys
from contextlib import suppress

STOPPED = 130  # exit code of a command stopped by Ctrl-C: 128 + SIGINT, as shells have it


def run() -> None:
    """Run the command line; Ctrl-C is exit code 130 without a traceback, whatever was going on."""
    try:
        from polepiece.cli.commands import app

        app(prog_name="polepiece")
    except KeyboardInterrupt:
        _stop()
    except SystemExit as leaving:
        if leaving.code == STOPPED:
            _stop()
        raise


def _stop() -> None:
    """Leave with 130 now: after an interrupt inside ``exec`` of a text CPython would kill itself at exit."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError):
            stream.flush()
    os._exit(STOPPED)
