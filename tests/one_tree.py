"""The tree of commands is made once a process for commands that are run in it, not once a command.

Making it reads the signature of every command, 0.02 s of processor; nothing of a run stays in it. A command in a
process of its own makes its own, and so does whoever looks at the tree (`tests/docs`).
"""

from functools import cache

from typer import testing
from typer.main import get_command

testing._get_command = cache(get_command)
