"""Tables that are counted from the entries and hold nothing of their own: ledgers line by line, swaps, their marks."""

from sqlalchemy import CheckConstraint, Double, ForeignKey, Index, Integer, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from polepiece.notebook.schema_base import Base


class LedgerHead(Base):
    """A ledger's change, taken out of its note so that ledgers can be counted."""

    __tablename__ = "ledger_heads"
    __table_args__ = (
        Index("ledger_heads_same", "same"),
        Index("ledger_heads_state", "state_id"),
        Index("ledger_heads_grade", "place", "grade_after"),
    )

    id: Mapped[int] = mapped_column(Integer, ForeignKey("notes.id"), primary_key=True)
    guitar_id: Mapped[int] = mapped_column(Integer, ForeignKey("guitars.id"))
    state_id: Mapped[int] = mapped_column(default=0)  # 0: not said
    same: Mapped[str]  # hash of guitar, state, pickup and change: of several ledgers with one hash the last counts
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
    head_id: Mapped[int] = mapped_column(Integer, ForeignKey("ledger_heads.id"))
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
    state_id: Mapped[int] = mapped_column(Integer, ForeignKey("states.id"))
    before_id: Mapped[int] = mapped_column(Integer, ForeignKey("states.id"))
    guitar_id: Mapped[int] = mapped_column(Integer, ForeignKey("guitars.id"))
    pickup: Mapped[str]
    place: Mapped[str]
    grade_before: Mapped[str]
    grade_after: Mapped[str]


class LearnedMark(Base):
    """What became of what was counted; ``of_id`` is a swap (proven), a state (undone, redone) or a ledger (replaced).

    Of 'looked' it is the last entry that was looked at; ``digest`` seals all rows up to this one (`learned_seals.py`).
    """

    __tablename__ = "learned_marks"
    __table_args__ = (
        CheckConstraint("what IN ('proven', 'undone', 'redone', 'replaced', 'looked')", name="mark_known"),
        Index("learned_marks_what", "what", "of_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    what: Mapped[str]
    of_id: Mapped[int]
    digest: Mapped[bytes | None] = mapped_column(LargeBinary)


DERIVED = ("ledger_heads", "ledger_lines", "swaps", "learned_marks")
"""All of these."""
