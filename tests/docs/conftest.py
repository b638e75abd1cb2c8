"""The tree of commands, as the reference and its tests walk it."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from typer.main import get_command

from polepiece.cli.commands import app


def walk(command: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Yield a command and all below it, each with the words that call it."""
    yield path, command
    for name, below in getattr(command, "commands", {}).items():
        yield from walk(below, (*path, name))


@pytest.fixture(scope="session")
def tree() -> Callable[[], list[tuple[tuple[str, ...], Any]]]:
    return lambda: list(walk(get_command(app), ("polepiece",)))
