"""Orders: what was promised and quoted for a job, how many of a part are there, and the shop's own settings."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the four tables, append-only as all others."""
    op.create_table("promises", _key(), _to("job_id", "jobs"), _text("day"))
    op.create_table("quotes", _key(), _to("job_id", "jobs"), sa.Column("body", sa.JSON(), nullable=False))
    change = sa.Column("change", sa.Integer(), nullable=False)
    op.create_table("stock", _key(), _to("part_id", "parts"), change, _text("why"))
    op.create_table("settings", _key(), _text("name"), sa.Column("body", sa.JSON(), nullable=False))
    for table in ("promises", "quotes", "stock", "settings"):
        for verb, when in (
            ("UPDATE", ""),
            ("DELETE", ""),
            ("INSERT", f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)"),
        ):
            name = "replace" if verb == "INSERT" else verb.lower()
            op.execute(
                f"CREATE TRIGGER {table}_no_{name} BEFORE {verb} ON {table} {'WHEN ' if when else ''}{when} "
                "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
            )


def _key() -> "sa.Column[int]":
    return sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True)


def _to(name: str, table: str) -> "sa.Column[int]":
    return sa.Column(name, sa.Integer(), sa.ForeignKey(f"{table}.id"), nullable=False)


def _text(name: str) -> "sa.Column[str]":
    return sa.Column(name, sa.Text(), nullable=False)
