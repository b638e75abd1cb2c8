"""Customers: what they agreed to, sealed; their personal fields beside it, which can be blanked."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the four tables; the row of personal fields may be changed in one way only: to nothing, after an erasure."""
    op.create_table(
        "customers", _key("journal"), _text("consent_on"), _text("consent_for"), _text("seal"),
    )  # fmt: skip
    op.create_table(
        "personal", _key("customers"), sa.Column("salt", sa.LargeBinary()), sa.Column("body", sa.Text()),
    )  # fmt: skip
    op.create_table("erasures", _key("journal"), _to("customer_id", "customers"), _text("why"))
    op.create_table("job_customers", _key("journal"), _to("job_id", "jobs"), _to("customer_id", "customers"))
    for table in ("customers", "erasures", "job_customers"):
        _refuse(table, "UPDATE")
    blanked = "NEW.id IS OLD.id AND NEW.salt IS NULL AND NEW.body IS NULL"
    _refuse("personal", "UPDATE", f"NOT ({blanked} AND EXISTS (SELECT 1 FROM erasures WHERE customer_id = OLD.id))")
    for table in ("customers", "personal", "erasures", "job_customers"):
        _refuse(table, "DELETE")
        _refuse(table, "INSERT", f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)", called="replace")


def _key(table: str) -> "sa.Column[int]":
    return sa.Column("id", sa.Integer(), sa.ForeignKey(f"{table}.id"), primary_key=True)


def _to(name: str, table: str) -> "sa.Column[int]":
    return sa.Column(name, sa.Integer(), sa.ForeignKey(f"{table}.id"), nullable=False)


def _text(name: str) -> "sa.Column[str]":
    return sa.Column(name, sa.Text(), nullable=False)


def _refuse(table: str, verb: str, when: str = "", called: str = "") -> None:
    op.execute(
        f"CREATE TRIGGER {table}_no_{called or verb.lower()} BEFORE {verb} ON {table} {'WHEN ' if when else ''}{when} "
        "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
    )
