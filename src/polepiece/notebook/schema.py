"""Tables of the notebook: one journal that numbers everything, and a table for each kind of entry.

The journal's number orders all entries; every kind shares it as its own key. Rows are added and never changed:
triggers made by the migrations refuse UPDATE and DELETE.
"""

from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, LargeBinary, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from polepiece.notebook.learned_tables import DERIVED
from polepiece.notebook.records import Act, NoteSort, SoundKind
from polepiece.notebook.schema_base import Base, Json


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


TABLES = tuple(Base.metadata.tables)
COPIED = tuple(one.name for one in Base.metadata.sorted_tables if one.name not in DERIVED)
"""The tables that hold something of their own, those that are referred to first."""
