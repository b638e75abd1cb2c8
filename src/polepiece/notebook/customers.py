"""Customers, with what they agreed to; their name and where they are reached can be erased, and the chain stays whole.

The entry of a customer is sealed over a hash of the personal fields with a random salt, not over the fields. They lie
beside it with the salt. An erasure is an entry like any other; with it the fields and the salt are blanked, and nothing
is left from which the name could be guessed and held against the hash.
"""

import json
import secrets
from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.chain import personal_seal
from polepiece.notebook.opening import swept
from polepiece.notebook.records import LONG, SHORT, CustomerEntry, checked, moment
from polepiece.notebook.schema import CustomerRow, ErasureRow, JobCustomerRow, JobRow, PersonalRow
from polepiece.notebook.transactions import Transactions

SALT = 32  # bytes


class Customers(Transactions):
    """The customers of a notebook."""

    def add_customer(
        self, name: str, *, agreed: str, contact: str = "", note: str = "", on: date | None = None
    ) -> CustomerEntry:
        """Put a customer on record, with what he or she agreed to.

        Parameters
        ----------
        name, contact, note : str
            Personal fields: these can be erased.
        agreed : str
            What for the fields may be kept, such as "to call when the guitar is ready, until it is fetched". It is
            sealed and stays: no names in it.
        on : date or None
            When that was said; None is today.
        """
        fields = {"name": checked(name, "name", SHORT).strip()}
        fields |= {
            key: checked(value, key, LONG) for key, value in (("contact", contact), ("note", note)) if value.strip()
        }
        if not agreed.strip():
            raise InputError("what for may this be kept? Say what the customer agreed to: to call when it is ready.")
        what = checked(agreed, "agreed", SHORT)
        body, salt = json.dumps(fields, ensure_ascii=False, sort_keys=True), secrets.token_bytes(SALT)
        with self._write() as session:
            day = (on or self._clock().date()).isoformat()
            row = CustomerRow(**self._head(None), consent_on=day, consent_for=what, seal=personal_seal(salt, body))
            session.add(row)
            session.flush()
            session.add(PersonalRow(id=row.id, salt=salt, body=body))
            session.flush()
            return _entry(row, fields, None, ())

    def customers(self) -> list[CustomerEntry]:
        """Return every customer, those that are erased without their personal fields."""
        with self._read() as session:
            rows = session.scalars(select(CustomerRow).order_by(CustomerRow.id)).all()
            return [_told(session, row) for row in rows]

    def named(self) -> dict[str, tuple[int, str]]:
        """Return number and name of every customer who is not erased, by their uuid."""
        query = (
            select(CustomerRow.uuid, CustomerRow.id, PersonalRow.body)
            .join(PersonalRow, PersonalRow.id == CustomerRow.id).where(PersonalRow.body.is_not(None))
        )  # fmt: skip
        with self._read() as session:
            rows = session.execute(query).all()
        return {uuid: (number, str(json.loads(body)["name"])) for uuid, number, body in rows if body is not None}

    def customer(self, customer_id: int) -> CustomerEntry:
        """Return one customer."""
        with self._read() as session:
            return _told(session, _row(session, customer_id))

    def customers_of_jobs(self) -> dict[int, str]:
        """Return by the number of each job the name of the customer it is for; of one that is erased none."""
        query = (
            select(JobCustomerRow.job_id, PersonalRow.body)
            .join(PersonalRow, PersonalRow.id == JobCustomerRow.customer_id, isouter=True).order_by(JobCustomerRow.id)
        )  # fmt: skip
        with self._read() as session:
            last = {job: body for job, body in session.execute(query)}
        return {job: str(json.loads(body)["name"]) for job, body in last.items() if body is not None}

    def job_is_for(self, job_id: int, customer_id: int) -> CustomerEntry:
        """Say for whom a job is; the last that was said counts.

        Raises
        ------
        NotebookError
            When there is no such job or customer, or the customer is erased.
        """
        with self._write() as session:
            row, job = _row(session, customer_id), session.get(JobRow, job_id)
            if job is None:
                raise NotebookError(f"there is no job {job_id} in this notebook.")
            if _erasure(session, customer_id) is not None:
                raise NotebookError(f"customer {customer_id} is erased; put a new one on record.")
            session.add(JobCustomerRow(**self._head(job.guitar_id), job_id=job_id, customer_id=customer_id))
            session.flush()
            return _told(session, row)

    def erase_customer(self, customer_id: int, why: str) -> CustomerEntry:
        """Blank the personal fields of a customer, for good; that it was done stays on record.

        Copies made before still hold them (`backups_of`, archives never did).

        Raises
        ------
        NotebookError
            When there is no such customer, or it is erased already.
        """
        reason = checked(why, "why", SHORT)
        with self._write() as session:
            row = _row(session, customer_id)
            if (before := _erasure(session, customer_id)) is not None:
                raise NotebookError(f"customer {customer_id} was erased already, at {before.at[:16]} ({before.why}).")
            session.add(ErasureRow(**self._head(None), customer_id=customer_id, why=reason))
            session.flush()
            session.execute(update(PersonalRow).where(PersonalRow.id == customer_id).values(salt=None, body=None))
            found = _told(session, row)
        swept(self._engine, PersonalRow.__tablename__)
        return found


def _row(session: Session, customer_id: int) -> CustomerRow:
    found = session.get(CustomerRow, customer_id)
    if found is None:
        raise NotebookError(f"there is no customer {customer_id} in this notebook.")
    return found


def _erasure(session: Session, customer_id: int) -> ErasureRow | None:
    query = select(ErasureRow).where(ErasureRow.customer_id == customer_id).order_by(ErasureRow.id)
    return session.scalars(query).first()


def _told(session: Session, row: CustomerRow) -> CustomerEntry:
    body = session.scalar(select(PersonalRow.body).where(PersonalRow.id == row.id))
    last: dict[int, int] = {}
    for job, customer in session.execute(
        select(JobCustomerRow.job_id, JobCustomerRow.customer_id).order_by(JobCustomerRow.id)
    ):
        last[job] = customer
    jobs = [job for job, customer in last.items() if customer == row.id]
    return _entry(row, {} if body is None else json.loads(body), _erasure(session, row.id), jobs)


def _entry(row: CustomerRow, fields: dict[str, Any], gone: ErasureRow | None, jobs: Sequence[int]) -> CustomerEntry:
    return CustomerEntry(
        id=row.id, uuid=row.uuid, at=moment(row.at), name=fields.get("name"), contact=fields.get("contact", ""),
        note=fields.get("note", ""), agreed=row.consent_for, agreed_on=date.fromisoformat(row.consent_on),
        jobs=tuple(jobs), erased=None if gone is None else moment(gone.at), why="" if gone is None else gone.why,
    )  # fmt: skip
