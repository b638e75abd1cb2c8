"""The chain: a seal for every entry; those that are there already are sealed as they are now."""

import sqlite3

import sqlalchemy as sa
from alembic import op

from polepiece.notebook.chain import seal  # rule 1, which is never edited

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, seal what is there, and refuse changes to it from then on."""
    op.create_table(
        "chain",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("rule", sa.Integer(), nullable=False),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column("guitar", sa.LargeBinary(), nullable=False),
        sa.Column("link", sa.LargeBinary(), nullable=False),
    )
    raw = op.get_bind().connection.driver_connection
    assert isinstance(raw, sqlite3.Connection)
    seal(raw, 0)
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER chain_no_{verb.lower()} BEFORE {verb} ON chain "
            "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
        )
    op.execute(
        "CREATE TRIGGER chain_no_replace BEFORE INSERT ON chain "
        "WHEN EXISTS (SELECT 1 FROM chain WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
    )
