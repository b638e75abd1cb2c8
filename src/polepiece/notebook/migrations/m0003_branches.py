"""Branches: a guitar that went on in two notebooks has two continuations, and one of them is chosen.

SQLite cannot drop a UNIQUE, so the two tables are written anew and put in the place of the old ones; the caller has
switched foreign keys off around the transaction and checks them all before it is kept.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let a second continuation in, marked as one; let two notebooks have retired the same part."""
    _states()
    _retirements()
    op.create_table(
        "branch_choices",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("state_id", sa.Integer(), sa.ForeignKey("states.id"), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
    )
    for table in ("states", "retirements", "branch_choices"):
        _append_only(table)
    _of_its_own_guitar()


def _states() -> None:
    columns = "id, parent_id, act, restores_id, why, text, provenance"
    op.create_table(
        "states_new",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("parent_id", sa.Integer(), sa.ForeignKey("states.id")),
        sa.Column("act", sa.Text(), nullable=False),
        sa.Column("restores_id", sa.Integer(), sa.ForeignKey("states.id")),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("provenance", sa.JSON(), nullable=False),
        sa.Column("branch", sa.Integer(), nullable=False, server_default=sa.text("0")),
        sa.CheckConstraint("act IN ('entry', 'record', 'undo', 'redo')", name="act_known"),
    )
    op.execute(f"INSERT INTO states_new ({columns}) SELECT {columns} FROM states ORDER BY id")
    op.drop_table("states")
    op.rename_table("states_new", "states")
    op.create_index("states_one_follower", "states", ["parent_id"], unique=True, sqlite_where=sa.text("branch = 0"))


def _retirements() -> None:
    op.create_table(
        "retirements_new",
        sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True),
        sa.Column("part_id", sa.Integer(), sa.ForeignKey("parts.id"), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
    )
    op.execute("INSERT INTO retirements_new (id, part_id, why) SELECT id, part_id, why FROM retirements ORDER BY id")
    op.drop_table("retirements")
    op.rename_table("retirements_new", "retirements")
    op.create_index("ix_retirements_part_id", "retirements", ["part_id"])


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


def _of_its_own_guitar() -> None:
    """A state follows a state of its own guitar; only the first of a guitar follows none. A branch has an elder."""
    mine = "(SELECT guitar_id FROM journal WHERE id = NEW.id)"
    op.execute(
        "CREATE TRIGGER states_one_chain BEFORE INSERT ON states WHEN "
        f"{mine} IS NULL OR (NEW.parent_id IS NOT NULL AND "
        f"(SELECT guitar_id FROM journal WHERE id = NEW.parent_id) IS NOT {mine}) OR (NEW.parent_id IS NULL AND "
        f"EXISTS (SELECT 1 FROM states JOIN journal USING (id) WHERE journal.guitar_id = {mine})) OR "
        "NEW.branch NOT IN (0, 1) OR (NEW.branch = 1 AND "
        "NOT EXISTS (SELECT 1 FROM states WHERE parent_id = NEW.parent_id)) "
        "BEGIN SELECT RAISE(ABORT, 'a state follows the last state of its own guitar'); END"
    )
    op.execute(
        "CREATE TRIGGER branch_choices_of_its_guitar BEFORE INSERT ON branch_choices WHEN "
        f"{mine} IS NULL OR (SELECT guitar_id FROM journal WHERE id = NEW.state_id) IS NOT {mine} "
        "BEGIN SELECT RAISE(ABORT, 'a branch is chosen among the states of its own guitar'); END"
    )
