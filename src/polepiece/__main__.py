"""``python -m polepiece`` is the command line."""

from polepiece.cli.main import run

run()
