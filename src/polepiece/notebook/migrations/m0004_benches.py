"""Benches: who wrote an entry, and the hash of the token by which a bench is known."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Give every entry room for the bench that wrote it; entries that are there keep their seals of rule 1."""
    op.add_column("journal", sa.Column("bench", sa.Text()))
    op.create_table(
        "benches",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("token", sa.Text(), nullable=False),
    )
    op.create_table(
        "bench_ends",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("bench_id", sa.Integer(), sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
    )
    for table in ("benches", "bench_ends"):
        _append_only(table)


def _append_only(table: str) -> None:
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
        )
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
    )
