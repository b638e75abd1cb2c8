"""The tree of commands, as the pages of the reference walk it."""

from collections.abc import Callable
from typing import Any

import pytest
from typer.main import get_command

from polepiece.cli.commands import app
from tests.docs.pages import DOCS


@pytest.fixture(scope="session")
def tree() -> Callable[[], list[tuple[tuple[str, ...], Any]]]:
    """Give every command with the words that call it, made anew at each call."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(DOCS / "extensions"))
        from command_pages import walk
    return lambda: list(walk(get_command(app), ("polepiece",)))
