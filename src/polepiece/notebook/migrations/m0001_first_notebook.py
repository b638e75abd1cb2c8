"""The first notebook: guitars, the journal and its kinds of entry, and the triggers that keep it append-only."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

KEYS = {"guitars": ("id", "uuid"), "journal": ("id", "uuid"), "recordings": ("sha256",)}
KINDS = ("states", "parts", "retirements", "jobs", "job_events", "predictions", "notes", "sounds")


def upgrade() -> None:
    """Make the tables and their triggers."""
    _roots()
    _histories()
    _evidence()
    for table in (*KEYS, *KINDS):
        _append_only(table, KEYS.get(table, ("id",)))
    _one_chain()
    op.execute(f"PRAGMA application_id = {0x506F4E62}")


def _entry_key() -> "sa.Column[int]":
    return sa.Column("id", sa.Integer(), sa.ForeignKey("journal.id"), primary_key=True)


def _to(name: str, table: str, *, null: bool = False, unique: bool = False, index: bool = False) -> "sa.Column[int]":
    key = sa.ForeignKey(f"{table}.id")
    return sa.Column(name, sa.Integer(), key, nullable=null, unique=unique or None, index=index or None)


def _text(name: str, *, null: bool = False, unique: bool = False) -> "sa.Column[str]":
    return sa.Column(name, sa.Text(), nullable=null, unique=unique or None)


def _json(name: str, *, null: bool = False) -> "sa.Column[object]":
    return sa.Column(name, sa.JSON(), nullable=null)


def _roots() -> None:
    number = sa.Column("id", sa.Integer(), primary_key=True)
    op.create_table(
        "guitars", number, _text("uuid", unique=True), _text("name"), _text("created"), sqlite_autoincrement=True
    )
    op.create_table(
        "journal",
        sa.Column("id", sa.Integer(), primary_key=True),
        _text("uuid", unique=True),
        _text("at"),
        _text("kind"),
        _to("guitar_id", "guitars", null=True, index=True),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "recordings",
        sa.Column("sha256", sa.Text(), primary_key=True),
        _text("kind"),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.CheckConstraint("kind IN ('wav', 'flac')", name="kind_known"),
    )


def _histories() -> None:
    op.create_table(
        "states",
        _entry_key(),
        _to("parent_id", "states", null=True, unique=True),
        _text("act"),
        _to("restores_id", "states", null=True),
        _text("why"),
        _text("text"),
        _json("provenance"),
        sa.CheckConstraint("act IN ('entry', 'record', 'undo', 'redo')", name="act_known"),
    )
    op.create_table("parts", _entry_key(), _json("body"))
    op.create_table("retirements", _entry_key(), _to("part_id", "parts", unique=True), _text("why"))
    op.create_table(
        "jobs",
        _entry_key(),
        _to("state_id", "states"),
        _text("complaints"),
        _text("constraints"),
        _text("customer", null=True),
        _text("number", null=True),
    )
    op.create_table(
        "job_events",
        _entry_key(),
        _to("job_id", "jobs", index=True),
        _text("what"),
        _text("words"),
        _json("body", null=True),
        sa.CheckConstraint("what IN ('plan', 'choice', 'status', 'closed')", name="what_known"),
    )


def _evidence() -> None:
    op.create_table(
        "predictions",
        _entry_key(),
        _to("state_id", "states", index=True),
        _text("change"),
        _json("result"),
        _json("provenance"),
    )
    op.create_table(
        "notes",
        _entry_key(),
        _to("state_id", "states", null=True),
        _text("sort"),
        _text("text"),
        _json("body", null=True),
        sa.CheckConstraint("sort IN ('note', 'measurement', 'trial', 'swap')", name="sort_known"),
    )
    op.create_table(
        "sounds",
        _entry_key(),
        sa.Column("sha256", sa.Text(), sa.ForeignKey("recordings.sha256"), nullable=False, index=True),
        _to("state_id", "states", null=True),
        _text("label"),
    )


def _append_only(table: str, keys: tuple[str, ...]) -> None:
    """Refuse changes; the third trigger stops INSERT OR REPLACE, which deletes without a DELETE trigger."""
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
        )
    same = " OR ".join(f"{key} = NEW.{key}" for key in keys)
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
        "BEGIN SELECT RAISE(ABORT, 'the notebook is append-only'); END"
    )


def _one_chain() -> None:
    """A state follows a state of its own guitar; only the first of a guitar follows none."""
    mine = "(SELECT guitar_id FROM journal WHERE id = NEW.id)"
    op.execute(
        "CREATE TRIGGER states_one_chain BEFORE INSERT ON states WHEN "
        f"{mine} IS NULL OR (NEW.parent_id IS NOT NULL AND "
        f"(SELECT guitar_id FROM journal WHERE id = NEW.parent_id) IS NOT {mine}) OR (NEW.parent_id IS NULL AND "
        f"EXISTS (SELECT 1 FROM states JOIN journal USING (id) WHERE journal.guitar_id = {mine})) "
        "BEGIN SELECT RAISE(ABORT, 'a state follows the last state of its own guitar'); END"
    )
