"""Bring a notebook to the schema of this program: Alembic's steps, all pending ones in one transaction."""

from pathlib import Path

from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.runtime.migration import MigrationContext, RevisionStep
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

STEPS = Path(__file__).parent / "migrations"


def script_directory(steps: Path = STEPS) -> ScriptDirectory:
    """Return the steps that are in the package (or in another folder)."""
    return ScriptDirectory(str(steps), version_locations=[str(steps)])


def upgrade(connection: Connection, steps: Path = STEPS) -> None:
    """Run every pending step and record it, inside the transaction that ``connection`` is in.

    The caller commits; when a step fails the caller's rollback takes the steps before it and their records back
    as well, so that the file is as it was.
    """
    script = script_directory(steps)

    def pending(revision: tuple[str, ...] | str, _: MigrationContext) -> list[RevisionStep]:
        return script._upgrade_revs("head", revision)  # type: ignore[arg-type]

    with EnvironmentContext(Config(), script, fn=pending, destination_rev="head") as environment:
        environment.configure(connection=connection, transactional_ddl=True)
        environment.run_migrations()
