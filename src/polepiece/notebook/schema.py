"""Tables of the notebook: one journal that numbers everything, and a table for each kind of entry.

The journal's number orders all entries; every kind shares it as its own key. Rows are added and never changed:
triggers made by the migrations refuse UPDATE and DELETE.
"""

import json
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Dialect, Double, ForeignKey, Index, LargeBinary, Text, TypeDecorator, text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from polepiece.notebook.records import Act, NoteSort, SoundKind

APPLICATION_ID = 0x506F4E62  # "PoNb", in the header of the file: this SQLite file is a notebook
REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0010")
"""Every step of the schema this program knows, oldest first; a file with another one is newer."""

Json = dict[str, object]


class JsonText(TypeDecorator[Json]):
    """JSON as the very text that SQLite keeps, so that an entry has the same seal on a server."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Json | None, dialect: Dialect) -> str | None:
        """Return an object as its text."""
        return None if value is None else json.dumps(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Json | None:
        """Return the object of a text."""
        if value is None:
            return None
        found: Json = json.loads(value)
        return found


class Base(DeclarativeBase):
    """Base of all tables."""

    type_annotation_map = {  # noqa: RUF012  (SQLAlchemy's own way)
        str: Text(),
        Json: JSON(none_as_null=True).with_variant(JsonText(), "postgresql"),
    }


class GuitarRow(Base):
    """A guitar: its name is a label, its states are in the journal."""

    __tablename__ = "guitars"
    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012

    id: Mapped[int] = mapped_column(primary_key=True)
    uuid: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    created: Mapped[str]


class Entry(Base):
    """One thing that happened; ``id`` is the order in which this file learned of it."""

    __tablename__ = "journal"
    __table_args__: Any = {"sqlite_autoincrement": True}  # noqa: RUF012
    __mapper_args__ = {"polymorphic_on": "kind"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(primary_key=True)
    uuid: Mapped[str] = mapped_column(unique=True)
    at: Mapped[str]  # UTC, ISO 8601 with microseconds
    kind: Mapped[str]
    guitar_id: Mapped[int | None] = mapped_column(ForeignKey("guitars.id"), index=True)
    bench: Mapped[str | None]  # the name of the bench that wrote it, where the notebook has benches


class StateRow(Entry):
    """A guitar as it was from then on; ``branch`` marks a second continuation, which came from another notebook."""

    __tablename__ = "states"
    __table_args__ = (
        CheckConstraint("act IN ('entry', 'record', 'undo', 'redo')", name="act_known"),
        Index(
            "states_one_follower",
            "parent_id",
            unique=True,
            sqlite_where=text("branch = 0"),
            postgresql_where=text("branch = 0"),
        ),
    )
    __mapper_args__ = {"polymorphic_identity": "state", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("states.id"))
    act: Mapped[Act] = mapped_column(Text)
    restores_id: Mapped[int | None] = mapped_column(ForeignKey("states.id"))  # undo, redo: the state it equals
    why: Mapped[str]
    text: Mapped[str] = mapped_column(deferred=True)  # the guitar file
    provenance: Mapped[Json]
    branch: Mapped[int] = mapped_column(default=0)

    __mapper_args__["inherit_condition"] = id == Entry.id


class BranchChoiceRow(Entry):
    """Of several continuations of one guitar this one is gone on with."""

    __tablename__ = "branch_choices"
    __mapper_args__ = {"polymorphic_identity": "branch-choice", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    state_id: Mapped[int] = mapped_column(ForeignKey("states.id"))
    why: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class PartRow(Entry):
    """A part in the drawer, as it was entered."""

    __tablename__ = "parts"
    __mapper_args__ = {"polymorphic_identity": "part", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    body: Mapped[Json]


class RetirementRow(Entry):
    """A part has left the drawer; the first of them counts (two notebooks may both have retired it)."""

    __tablename__ = "retirements"
    __mapper_args__ = {"polymorphic_identity": "retirement", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("parts.id"), index=True)
    why: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class JobRow(Entry):
    """A job as it was taken in."""

    __tablename__ = "jobs"
    __mapper_args__ = {"polymorphic_identity": "job", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    state_id: Mapped[int] = mapped_column(ForeignKey("states.id"))
    complaints: Mapped[str]
    constraints: Mapped[str]
    customer: Mapped[str | None]
    number: Mapped[str | None]

    __mapper_args__["inherit_condition"] = id == Entry.id


class JobEventRow(Entry):
    """What became of a job: a plan was kept, a change chosen, its status named, or it was closed."""

    __tablename__ = "job_events"
    __table_args__ = (CheckConstraint("what IN ('plan', 'choice', 'status', 'closed')", name="what_known"),)
    __mapper_args__ = {"polymorphic_identity": "job-event", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"), index=True)
    what: Mapped[str]
    words: Mapped[str]
    body: Mapped[Json | None] = mapped_column(deferred=True)

    __mapper_args__["inherit_condition"] = id == Entry.id


class PredictionRow(Entry):
    """What was computed for a change to a state, and by what."""

    __tablename__ = "predictions"
    __mapper_args__ = {"polymorphic_identity": "prediction", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    state_id: Mapped[int] = mapped_column(ForeignKey("states.id"), index=True)
    change: Mapped[str]
    result: Mapped[Json] = mapped_column(deferred=True)
    provenance: Mapped[Json]

    __mapper_args__["inherit_condition"] = id == Entry.id


class NoteRow(Entry):
    """A line somebody wrote, with figures or not."""

    __tablename__ = "notes"
    __table_args__ = (CheckConstraint("sort IN ('note', 'measurement', 'trial', 'swap')", name="sort_known"),)
    __mapper_args__ = {"polymorphic_identity": "note", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    state_id: Mapped[int | None] = mapped_column(ForeignKey("states.id"))
    sort: Mapped[NoteSort] = mapped_column(Text)
    text: Mapped[str]
    body: Mapped[Json | None] = mapped_column(deferred=True)

    __mapper_args__["inherit_condition"] = id == Entry.id


class SoundRow(Entry):
    """A name under which a sound was kept; its bytes are in ``recordings``."""

    __tablename__ = "sounds"
    __mapper_args__ = {"polymorphic_identity": "sound", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(ForeignKey("recordings.sha256"), index=True)
    state_id: Mapped[int | None] = mapped_column(ForeignKey("states.id"))
    label: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class BenchRow(Entry):
    """A bench that may write from then on; of its token a hash."""

    __tablename__ = "benches"
    __mapper_args__ = {"polymorphic_identity": "bench", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    name: Mapped[str]
    token: Mapped[str]


class BenchEndRow(Entry):
    """A bench writes no more."""

    __tablename__ = "bench_ends"
    __mapper_args__ = {"polymorphic_identity": "bench-end", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"))
    why: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class CustomerRow(Entry):
    """A customer: what was agreed to, and the hash of the personal fields with their salt."""

    __tablename__ = "customers"
    __mapper_args__ = {"polymorphic_identity": "customer", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    consent_on: Mapped[str]
    consent_for: Mapped[str]
    seal: Mapped[str]


class ErasureRow(Entry):
    """The personal fields of a customer were blanked."""

    __tablename__ = "erasures"
    __mapper_args__ = {"polymorphic_identity": "erasure", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"))
    why: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class JobCustomerRow(Entry):
    """For whom a job is."""

    __tablename__ = "job_customers"
    __mapper_args__ = {"polymorphic_identity": "job-customer", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"))
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"))

    __mapper_args__["inherit_condition"] = id == Entry.id


class PromiseRow(Entry):
    """For which day a job is promised."""

    __tablename__ = "promises"
    __mapper_args__ = {"polymorphic_identity": "promise", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"))
    day: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class QuoteRow(Entry):
    """What a job will cost, as it was reckoned."""

    __tablename__ = "quotes"
    __mapper_args__ = {"polymorphic_identity": "quote", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"))
    body: Mapped[Json]

    __mapper_args__["inherit_condition"] = id == Entry.id


class StockRow(Entry):
    """So many more or fewer of a part are there."""

    __tablename__ = "stock"
    __mapper_args__ = {"polymorphic_identity": "stock", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("parts.id"))
    change: Mapped[int]
    why: Mapped[str]

    __mapper_args__["inherit_condition"] = id == Entry.id


class SettingRow(Entry):
    """A setting of the shop, from then on."""

    __tablename__ = "settings"
    __mapper_args__ = {"polymorphic_identity": "setting", "polymorphic_load": "inline"}  # noqa: RUF012

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    name: Mapped[str]
    body: Mapped[Json]


class PersonalRow(Base):
    """Personal fields of a customer and the salt of their hash: the only row that changes, once, to nothing."""

    __tablename__ = "personal"

    id: Mapped[int] = mapped_column(ForeignKey("customers.id"), primary_key=True, autoincrement=False)
    salt: Mapped[bytes | None] = mapped_column(LargeBinary)
    body: Mapped[str | None]


class RecordingRow(Base):
    """The bytes of a sound under their own hash: the same sound is kept once."""

    __tablename__ = "recordings"
    __table_args__ = (CheckConstraint("kind IN ('wav', 'flac')", name="kind_known"),)

    sha256: Mapped[str] = mapped_column(primary_key=True)
    kind: Mapped[SoundKind] = mapped_column(Text)
    size: Mapped[int]
    data: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)


class SealRow(Base):
    """The seal of an entry: a hash of all it says, and one that ties it to the entry before (`chain.py`)."""

    __tablename__ = "chain"

    id: Mapped[int] = mapped_column(ForeignKey("journal.id"), primary_key=True)
    rule: Mapped[int]
    digest: Mapped[bytes] = mapped_column(LargeBinary)
    guitar: Mapped[bytes] = mapped_column(LargeBinary)
    link: Mapped[bytes] = mapped_column(LargeBinary)


class LedgerHead(Base):
    """A ledger's change, taken out of its note so that ledgers can be counted; made again from the notes at will."""

    __tablename__ = "ledger_heads"
    __table_args__ = (
        Index("ledger_heads_change", "guitar_id", "state_id", "pickup", "change"),
        Index("ledger_heads_grade", "place", "grade_after"),
    )

    id: Mapped[int] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    guitar_id: Mapped[int] = mapped_column(ForeignKey("guitars.id"))
    state_id: Mapped[int] = mapped_column(default=0)  # 0: not said
    pickup: Mapped[str]
    place: Mapped[str]  # neck, middle, bridge, or the pickup's name
    change: Mapped[str]
    grade_before: Mapped[str]
    grade_after: Mapped[str]  # empty where the change is no other bar
    date: Mapped[str]


class LedgerLine(Base):
    """A line of a ledger with a measured or a heard value."""

    __tablename__ = "ledger_lines"
    __table_args__ = (Index("ledger_lines_head", "head_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    head_id: Mapped[int] = mapped_column(ForeignKey("ledger_heads.id"))
    key: Mapped[str]
    of: Mapped[str]
    words: Mapped[str]
    unit: Mapped[str]
    computed: Mapped[float | None] = mapped_column(Double)
    computed_low: Mapped[float | None] = mapped_column(Double)
    computed_high: Mapped[float | None] = mapped_column(Double)
    measured: Mapped[float | None] = mapped_column(Double)  # of a trial: the share of right answers
    measured_low: Mapped[float | None] = mapped_column(Double)
    measured_high: Mapped[float | None] = mapped_column(Double)
    off: Mapped[float | None] = mapped_column(
        Double
    )  # measured less computed, in halves of both 90 % intervals together
    word: Mapped[str]


class SwapRow(Base):
    """A state whose magnets are not those of the state before it; one row a pickup."""

    __tablename__ = "swaps"
    __table_args__ = (Index("swaps_state", "state_id"), Index("swaps_before", "before_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    state_id: Mapped[int] = mapped_column(ForeignKey("states.id"))
    before_id: Mapped[int] = mapped_column(ForeignKey("states.id"))
    guitar_id: Mapped[int] = mapped_column(ForeignKey("guitars.id"))
    pickup: Mapped[str]
    place: Mapped[str]
    grade_before: Mapped[str]
    grade_after: Mapped[str]


class LearnedMark(Base):
    """What became of what was counted; ``of_id`` is a swap (proven), a state (undone, redone) or a ledger (replaced).

    Of 'looked' it is the last entry that was looked at.
    """

    __tablename__ = "learned_marks"
    __table_args__ = (
        CheckConstraint("what IN ('proven', 'undone', 'redone', 'replaced', 'looked')", name="mark_known"),
        Index("learned_marks_what", "what", "of_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    what: Mapped[str]
    of_id: Mapped[int]


DERIVED = ("ledger_heads", "ledger_lines", "swaps", "learned_marks")
"""Tables that are counted from the others and hold nothing of their own."""
TABLES = tuple(Base.metadata.tables)
