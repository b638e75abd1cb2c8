"""A new notebook in a file is made by the statements that Alembic has run for the first one of this process.

Working out the ten steps of the schema takes a tenth of a second, half of the time of a thousand tests that begin with
an empty notebook; what they come to is the same for each. `tests/unit/notebook/test_upgrade.py` and whatever finds
rows, a server or other steps has Alembic itself; that both ways make the same file is looked at there.
"""

import sqlite3
from collections.abc import Callable, Iterator
from typing import Any

import pytest

ITSELF = "tests/unit/notebook/test_upgrade.py"
STATEMENTS: list[tuple[str, Any]] = []


def by_its_statements(upgrade: Callable[..., None]) -> Callable[..., None]:
    """Return what does as ``upgrade`` does, with less to work out where there is nothing yet."""
    from sqlalchemy import event

    def upgraded(connection: Any, *steps: Any) -> None:
        raw = connection.connection.driver_connection
        if steps or not isinstance(raw, sqlite3.Connection) or raw.execute("SELECT 1 FROM sqlite_schema").fetchone():
            upgrade(connection, *steps)
            return
        if STATEMENTS:
            for statement, values in STATEMENTS:
                raw.execute(statement, values).fetchall()
            return
        seen: list[tuple[str, Any]] = []

        def note(_: Any, __: Any, statement: str, values: Any, ___: Any, many: bool) -> None:
            assert not many
            seen.append((statement, values))

        event.listen(connection, "before_cursor_execute", note)
        upgrade(connection)
        event.remove(connection, "before_cursor_execute", note)
        STATEMENTS[:] = seen

    return upgraded


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Have every notebook of a test, and of its fixtures, made so."""
    if item.nodeid.startswith(ITSELF):
        return (yield)
    from polepiece.notebook import upgrade

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(upgrade, "upgrade", by_its_statements(upgrade.upgrade))
        return (yield)
