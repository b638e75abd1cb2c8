"""The drawer: parts that are owned, until they are retired."""

from dataclasses import asdict, fields
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.records import SHORT, Part, PartEntry, checked, moment
from polepiece.notebook.schema import PartRow, RetirementRow, StockRow
from polepiece.notebook.schema_base import Json
from polepiece.notebook.transactions import Transactions


class Drawer(Transactions):
    """The parts of a notebook."""

    def add_part(self, part: Part) -> PartEntry:
        """Put a part into the drawer."""
        with self._write() as session:
            row = PartRow(**self._head(None), body=part_body(part))
            session.add(row)
            session.flush()
            return _entry(row, None)

    def parts(self, include_retired: bool = False) -> list[PartEntry]:
        """Return what is in the drawer, and with ``include_retired`` what was."""
        with self._read() as session:
            gone: dict[int, RetirementRow] = {}
            for row in session.scalars(select(RetirementRow).order_by(RetirementRow.id)):
                gone.setdefault(row.part_id, row)
            rows = session.scalars(select(PartRow).order_by(PartRow.id))
            moved = dict(
                session.execute(select(StockRow.part_id, func.sum(StockRow.change)).group_by(StockRow.part_id)).all()
            )
            found = [_entry(one, gone.get(one.id), 1 + moved.get(one.id, 0)) for one in rows]
        return [one for one in found if include_retired or one.retired is None]

    def retire_part(self, part_id: int, why: str) -> PartEntry:
        """Take a part out of the drawer; its entry stays in the history."""
        reason = checked(why, "why", SHORT)
        with self._write() as session:
            row = part_row(session, part_id)
            query = select(RetirementRow).where(RetirementRow.part_id == part_id).order_by(RetirementRow.id)
            before = session.scalars(query).first()
            if before is not None:
                raise NotebookError(f"part {part_id} left the drawer already, at {before.at} ({before.why}).")
            gone = RetirementRow(**self._head(None), part_id=part_id, why=reason)
            session.add(gone)
            session.flush()
            return _entry(row, gone, left_of(session, part_id))


def left_of(session: Session, part_id: int) -> int:
    """Return how many of a part are there: one came, and what was counted and taken since."""
    query = select(func.coalesce(func.sum(StockRow.change), 0)).where(StockRow.part_id == part_id)
    return 1 + int(session.scalar(query) or 0)


def part_row(session: Session, part_id: int) -> PartRow:
    """Return a part, or say that it is not there."""
    found = session.get(PartRow, part_id)
    if found is None:
        raise NotebookError(f"there is no part {part_id} in the drawer; every part in it is listed with its number.")
    return found


def _entry(row: PartRow, gone: RetirementRow | None, count: int = 1) -> PartEntry:
    return PartEntry(
        id=row.id, uuid=row.uuid, at=moment(row.at), part=part_from(row.body), count=count,
        retired=None if gone is None else moment(gone.at), why="" if gone is None else gone.why,
    )  # fmt: skip


def part_body(part: Part) -> Json:
    """Return a part as JSON values; what is not known is left out, a price is text so that it stays exact."""
    body: Json = {key: value for key, value in asdict(part).items() if value not in (None, "")}
    if part.price is not None:
        body["price"] = str(part.price)
    return body


def part_from(body: Json) -> Part:
    """Read a part from JSON values.

    Raises
    ------
    InputError
        If a key is not one of a part, or a value cannot be meant.
    """
    unknown = set(body) - {one.name for one in fields(Part)}
    if unknown or "kind" not in body:
        raise InputError(f"part: unknown {sorted(unknown)}." if unknown else "part: its kind is missing.")
    values: dict[str, Any] = dict(body)
    if "price" in values:
        try:
            values["price"] = Decimal(str(values["price"]))
        except ArithmeticError:
            raise InputError(f"part: price is {values['price']!r}, not a number.") from None
    return Part(**values)
