"""What a shop owes: dates promised, quotes, what is due; and how many of a part are left."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date

from sqlalchemy import select

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.drawer import Drawer, left_of, part_from, part_row
from polepiece.notebook.jobs import CLOSED, Jobs
from polepiece.notebook.limits import MOST_OF_A_PART
from polepiece.notebook.money import Rate, quote_of
from polepiece.notebook.records import SHORT, JobEntry, PartEntry, checked
from polepiece.notebook.schema import JobRow, PromiseRow, QuoteRow, RetirementRow, SettingRow, StockRow
from polepiece.notebook.words import part_words

RATE = "rate"


class Orders(Jobs, Drawer):
    """The orders of a notebook."""

    def find_job(self, called: str) -> JobEntry:
        """Return the job with this number of the shop's own, or the so-manieth of this notebook; open ones first.

        Raises
        ------
        NotebookError
            When there is none, or more than one.
        """
        word, known = called.strip(), self.jobs()
        for matches in (
            [one for one in known if one.number == word and one.status != CLOSED],
            [one for one in known if one.number == word],
            [one for one in known if one.number is None and str(one.place) == word],
        ):
            if len(matches) == 1:
                return matches[0]
            if matches:
                raise NotebookError(f"{called!r} may be any of {len(matches)} jobs of that number.")
        there = ", ".join(one.called for one in known if one.status != CLOSED) or "none"
        raise NotebookError(f"there is no job {called!r:.60} in this notebook; open are: {there}.")

    def promise(self, job_id: int, day: date) -> JobEntry:
        """Say for which day a job is promised; the last that was said counts."""
        with self._write() as session:
            job = _open_job(session.get(JobRow, job_id), job_id)
            session.add(PromiseRow(**self._head(job.guitar_id), job_id=job_id, day=day.isoformat()))
        return self.job(job_id)

    def set_rate(self, rate: Rate) -> None:
        """Set what an hour of work costs, from now on; quotes that were made stay as they are."""
        with self._write() as session:
            session.add(SettingRow(**self._head(None), name=RATE, body=rate.to_dict()))

    def rate(self) -> Rate | None:
        """Return what an hour of work costs, None where it was never set."""
        query = select(SettingRow).where(SettingRow.name == RATE).order_by(SettingRow.id.desc()).limit(1)
        with self._read() as session:
            row = session.scalars(query).one_or_none()
            return None if row is None else Rate.from_dict(row.body)

    def quote(self, job_id: int, *, parts: Sequence[int] = (), minutes: float | None = None) -> JobEntry:
        """Keep what a job will cost: parts of the drawer by their numbers, and minutes at the rate.

        Parameters
        ----------
        job_id : int
        parts : numbers of parts, one as often as it is needed
        minutes : float or None
            None takes those of the change that was chosen in the plan kept for the job.

        Raises
        ------
        InputError
            When a price, the rate or the minutes are missing, or currencies are mixed.
        NotebookError
            When a part or the job is not there.
        """
        job, rate = self.job(job_id), self.rate()
        taken = minutes_of(job) if minutes is None else minutes
        with self._write() as session:
            row = _open_job(session.get(JobRow, job_id), job_id)
            known = [part_from(part_row(session, number).body) for number in parts]
            body = quote_of([(part_words(one), one) for one in known], taken, rate)
            session.add(QuoteRow(**self._head(row.guitar_id), job_id=job_id, body=body))
        return self.job(job_id)

    def due(self) -> list[JobEntry]:
        """Return the open jobs, those promised first by their day, then the others in the order of their coming."""
        there = [one for one in self.jobs() if one.status != CLOSED]
        return sorted(there, key=lambda one: (one.promised is None, one.promised or date.max, one.place))

    def count_part(self, part_id: int, there: int, why: str) -> PartEntry:
        """Write down how many of a part are there, counted."""
        if not 0 <= there <= MOST_OF_A_PART:
            raise InputError(f"the count is {there}; allowed are 0 to {MOST_OF_A_PART}.")
        return self._stocked(part_id, lambda before: there - before, why)

    def give_back(self, part_id: int, why: str, count: int = 1) -> PartEntry:
        """Put ``count`` more of a part into the drawer, from where ``why`` says."""

        def more(before: int) -> int:
            if not 1 <= count <= MOST_OF_A_PART - before:
                raise InputError(f"{count} more would make {before + count}; allowed are up to {MOST_OF_A_PART}.")
            return count

        return self._stocked(part_id, more, why)

    def use_part(self, part_id: int, why: str, count: int = 1) -> PartEntry:
        """Take one of a part, or ``count``, for what ``why`` says.

        Raises
        ------
        NotebookError
            When none is left, or the part has left the drawer.
        """

        def one_less(before: int) -> int:
            if not 1 <= count <= before:
                left = "none is left to take" if before < 1 else f"{count} cannot be taken"
                raise NotebookError(
                    f"of part {part_id} there are {before}: {left}. Count what is there and write it down: polepiece "
                    f"shop stock {part_id} NUMBER."
                )
            return -count

        return self._stocked(part_id, one_less, why)

    def _stocked(self, part_id: int, change: Callable[[int], int], why: str) -> PartEntry:
        reason = checked(why, "why", SHORT)
        with self._write() as session:
            part_row(session, part_id)
            gone = session.scalars(select(RetirementRow).where(RetirementRow.part_id == part_id)).first()
            if gone is not None:
                raise NotebookError(f"part {part_id} left the drawer, at {gone.at[:16]} ({gone.why}).")
            moved = change(left_of(session, part_id))
            session.add(StockRow(**self._head(None), part_id=part_id, change=moved, why=reason))
        return next(one for one in self.parts(include_retired=True) if one.id == part_id)


def minutes_of(job: JobEntry) -> float:
    """Return the minutes of the change that was chosen in the plan kept for a job.

    Raises
    ------
    InputError
        When there is no such change; then they have to be given.
    """
    rows = (job.plan or {}).get("rows")
    found = [
        (len(words), float(row["minutes"]))
        for row in (rows if isinstance(rows, list) else ())
        if isinstance(row, dict) and row.get("change")
        for words in _said(row)
        if job.change is not None and job.change.startswith(words)
    ]
    if not found:
        raise InputError("no change of a plan is chosen for this job; say how many minutes it takes (--minutes).")
    return max(found)[1]


def _said(row: Mapping[str, object]) -> list[str]:
    """Return the ways in which a row of a plan is chosen, more may follow: as the page says it, and as it is typed."""
    from polepiece.moves import move_words  # a second of numerical libraries

    change = row["change"]
    moves = [str(one) for one in change] if isinstance(change, list) else []
    return [
        f"{row.get('pickup')}: {', '.join(move_words(one) for one in moves)}",
        f"{row.get('pickup')}: {', '.join(moves)}",
    ]


def _open_job(row: JobRow | None, job_id: int) -> JobRow:
    if row is None:
        raise NotebookError(f"there is no job {job_id} in this notebook.")
    return row
