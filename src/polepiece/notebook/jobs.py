"""Jobs: what a customer complained of, the plan that was kept, the change chosen, and how it ended."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from polepiece.errors import ChangedMeanwhileError, InputError, NotebookError
from polepiece.notebook.records import LONG, SHORT, JobEntry, checked, moment
from polepiece.notebook.schema import JobEventRow, JobRow, PromiseRow, QuoteRow
from polepiece.notebook.schema_base import Json
from polepiece.notebook.transactions import Transactions, guitar_row, json_body, last_state

OPEN, CLOSED = "open", "closed"


class Jobs(Transactions):
    """The jobs of a notebook."""

    def open_job(
        self,
        guitar_id: int,
        complaints: str,
        constraints: str = "",
        *,
        customer: str | None = None,
        number: str | None = None,
    ) -> JobEntry:
        """Take in a job for a guitar as it is now; words are kept as they were said."""
        complaints = checked(complaints, "complaints", LONG)
        constraints = checked(constraints, "constraints", LONG, empty=True)
        for name, value in (("customer", customer), ("number", number)):
            if value is not None:
                checked(value, name, SHORT)
        with self._write() as session:
            row = JobRow(
                **self._head(guitar_id), state_id=last_state(session, guitar_id).id, complaints=complaints,
                constraints=constraints, customer=customer, number=number,
            )  # fmt: skip
            session.add(row)
            session.flush()
            return _entry(row, job_places(session)[row.id], ())

    def jobs(self, guitar_id: int | None = None) -> list[JobEntry]:
        """Return jobs as they stand, of one guitar or of all, in the order they were taken in."""
        query = select(JobRow).order_by(JobRow.id)
        with self._read() as session:
            if guitar_id is not None:
                guitar_row(session, guitar_id)
                query = query.where(JobRow.guitar_id == guitar_id)
            rows = session.scalars(query).all()
            numbers = [row.id for row in rows]
            events, places, orders = _events(session, numbers), job_places(session), _ordered(session, numbers)
            return [_entry(row, places[row.id], events.get(row.id, ()), orders.get(row.id)) for row in rows]

    def job(self, job_id: int) -> JobEntry:
        """Return one job as it stands."""
        with self._read() as session:
            row = _job_row(session, job_id)
            events, orders = _events(session, [job_id]), _ordered(session, [job_id])
            return _entry(row, job_places(session)[job_id], events.get(job_id, ()), orders.get(job_id))

    def keep_plan(self, job_id: int, plan: Mapping[str, object]) -> JobEntry:
        """Keep the plan (``plan_json``) that answers a job; the last one counts, the others stay in the history."""
        body = json_body(plan, "plan")
        rows = body.get("rows")
        words = f"plan with {len(rows)} rows" if isinstance(rows, list) else "plan"
        if body.get("verdict") == "repair-first":
            words = "plan: repair first"
        return self._happened(job_id, "plan", words, body)

    def choose(self, job_id: int, change: str, *, expect: int | None = None) -> JobEntry:
        """Say which change of the plan was chosen.

        ``expect`` (`JobEntry.last`): the last that one has seen of the job; if another bench went on with it since,
        nothing is written.

        Raises
        ------
        ChangedMeanwhileError
            When something else happened to the job after ``expect``.
        """
        return self._happened(job_id, "choice", checked(change, "change", LONG), expect=expect)

    def set_status(self, job_id: int, status: str, *, expect: int | None = None) -> JobEntry:
        """Name the status of a job in the shop's own words, such as "waiting for the bar"; see `choose`."""
        words = checked(status, "status", SHORT).strip()
        if words.lower() == CLOSED:
            raise InputError("a job is closed by close_job, with its outcome.")
        return self._happened(job_id, "status", words, expect=expect)

    def close_job(self, job_id: int, outcome: str, *, expect: int | None = None) -> JobEntry:
        """Close a job; "no improvement" is an outcome like any other; see `choose`."""
        return self._happened(job_id, "closed", checked(outcome, "outcome", LONG), expect=expect)

    def _happened(
        self, job_id: int, what: str, words: str, body: Json | None = None, *, expect: int | None = None
    ) -> JobEntry:
        with self._write() as session:
            job = _job_row(session, job_id)
            before = _events(session, [job_id]).get(job_id, [])
            place = job_places(session)[job_id]
            if any(one.what == "closed" for one in before):
                called = job.number or place
                raise NotebookError(f"job {called} is closed ({before[-1].words}); open a new one for this guitar.")
            if expect is not None and before and before[-1].id > expect:
                other = before[-1]
                who = f" by {other.bench}" if other.bench else ""
                raise ChangedMeanwhileError(
                    f"job {job.number or place} went on meanwhile: {other.what} {other.words!r:.200}, {other.at[:16]}"
                    f"{who}. Nothing was written; look at it as it is now (reload), then decide again."
                )
            row = JobEventRow(**self._head(job.guitar_id), job_id=job_id, what=what, words=words, body=body)
            session.add(row)
            session.flush()
            return _entry(job, place, [*before, row], _ordered(session, [job_id]).get(job_id))


def _job_row(session: Session, job_id: int) -> JobRow:
    found = session.get(JobRow, job_id)
    if found is None:
        raise NotebookError(f"there is no job {job_id} in this notebook.")
    return found


def job_places(session: Session) -> dict[int, int]:
    """Return of every job which one it is, from 1, by its number in the journal, which it shares with all else."""
    return {number: place for place, number in enumerate(session.scalars(select(JobRow.id).order_by(JobRow.id)), 1)}


def _events(session: Session, job_ids: Sequence[int]) -> dict[int, list[JobEventRow]]:
    query = select(JobEventRow).where(JobEventRow.job_id.in_(job_ids)).order_by(JobEventRow.id)
    found: dict[int, list[JobEventRow]] = {}
    for row in session.scalars(query.options(undefer(JobEventRow.body))):
        found.setdefault(row.job_id, []).append(row)
    return found


class _Ordered(NamedTuple):
    """What was promised and quoted last for a job."""

    promised: date | None = None
    quote: Mapping[str, object] | None = None


def _ordered(session: Session, job_ids: Sequence[int]) -> dict[int, _Ordered]:
    found: dict[int, _Ordered] = {}
    for promise in session.scalars(select(PromiseRow).where(PromiseRow.job_id.in_(job_ids)).order_by(PromiseRow.id)):
        found[promise.job_id] = _Ordered(promised=date.fromisoformat(promise.day))
    for quote in session.scalars(select(QuoteRow).where(QuoteRow.job_id.in_(job_ids)).order_by(QuoteRow.id)):
        found[quote.job_id] = found.get(quote.job_id, _Ordered())._replace(quote=quote.body)
    return found


def _entry(row: JobRow, place: int, events: Sequence[JobEventRow], ordered: _Ordered | None = None) -> JobEntry:
    orders = ordered or _Ordered()
    last = {one.what: one for one in events}
    status, end = last.get("status"), last.get("closed")
    return JobEntry(
        id=row.id, place=place, uuid=row.uuid, guitar_id=row.guitar_id or 0, state_id=row.state_id, at=moment(row.at),
        complaints=row.complaints, constraints=row.constraints, customer=row.customer, number=row.number,
        status=CLOSED if end else status.words if status else OPEN,
        plan=last["plan"].body if "plan" in last else None,
        change=last["choice"].words if "choice" in last else None,
        last=max((one.id for one in events), default=row.id), outcome=end.words if end else None,
        closed=moment(end.at) if end else None,
        promised=orders.promised, quote=orders.quote,
    )  # fmt: skip
