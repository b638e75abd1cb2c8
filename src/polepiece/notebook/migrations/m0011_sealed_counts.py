"""What was learned, made anew and sealed: nothing of a ledger is too long for an index, and a changed row is seen.

The tables hold nothing of their own, so they begin empty: `learned.py` looks through what is there when it is first
asked.
"""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

TABLES = ("ledger_heads", "ledger_lines", "swaps", "learned_marks")


def upgrade() -> None:
    """Make the tables; rows are only added to them, as everywhere."""
    for table in ("ledger_lines", "ledger_heads", "swaps", "learned_marks"):
        op.drop_table(table)
    op.create_table(
        "ledger_heads",
        sa.Column("id", sa.Integer(), sa.ForeignKey("notes.id"), primary_key=True),
        sa.Column("guitar_id", sa.Integer(), sa.ForeignKey("guitars.id"), nullable=False),
        sa.Column("state_id", sa.Integer(), nullable=False),
        *(_text(one) for one in ("same", "pickup", "place", "change", "grade_before", "grade_after", "date")),
    )
    op.create_index("ledger_heads_same", "ledger_heads", ["same"])
    op.create_index("ledger_heads_state", "ledger_heads", ["state_id"])
    op.create_index("ledger_heads_grade", "ledger_heads", ["place", "grade_after"])
    op.create_table(
        "ledger_lines",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("head_id", sa.Integer(), sa.ForeignKey("ledger_heads.id"), nullable=False),
        *(_text(one) for one in ("key", "of", "words", "unit")),
        *(sa.Column(f"{who}{end}", sa.Double()) for who in ("computed", "measured") for end in ("", "_low", "_high")),
        sa.Column("off", sa.Double()),
        _text("word"),
    )
    op.create_index("ledger_lines_head", "ledger_lines", ["head_id"])
    op.create_table(
        "swaps",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("state_id", sa.Integer(), sa.ForeignKey("states.id"), nullable=False),
        sa.Column("before_id", sa.Integer(), sa.ForeignKey("states.id"), nullable=False),
        sa.Column("guitar_id", sa.Integer(), sa.ForeignKey("guitars.id"), nullable=False),
        *(_text(one) for one in ("pickup", "place", "grade_before", "grade_after")),
    )
    op.create_index("swaps_state", "swaps", ["state_id"])
    op.create_index("swaps_before", "swaps", ["before_id"])
    op.create_table(
        "learned_marks",
        sa.Column("id", sa.Integer(), primary_key=True),
        _text("what"),
        sa.Column("of_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.LargeBinary()),
        sa.CheckConstraint("what IN ('proven', 'undone', 'redone', 'replaced', 'looked')", name="mark_known"),
    )
    op.create_index("learned_marks_what", "learned_marks", ["what", "of_id"])
    for table in TABLES:
        (_kept_in_file if op.get_bind().dialect.name == "sqlite" else _kept_on_server)(table)


def _text(name: str) -> "sa.Column[str]":
    return sa.Column(name, sa.Text(), nullable=False)


def _kept_in_file(table: str) -> None:
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


def _kept_on_server(table: str) -> None:
    for verb, each in (("UPDATE", "ROW"), ("DELETE", "ROW"), ("TRUNCATE", "STATEMENT")):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} FOR EACH {each} "
            "EXECUTE FUNCTION polepiece_append_only()"
        )
