"""Benches in a notebook: added with a token that is told once, listed, ended."""

from polepiece.errors import NotebookError
from polepiece.notebook.benches import benches_of, checked_name, entry_of_bench, kept_of, new_token, pass_of
from polepiece.notebook.records import SHORT, BenchEntry, checked
from polepiece.notebook.schema import BenchEndRow, BenchRow
from polepiece.notebook.transactions import Transactions


class BenchBook(Transactions):
    """The benches of a notebook."""

    def add_bench(self, name: str) -> tuple[BenchEntry, str]:
        """Add a bench; return it and its token, which is told this once and kept nowhere.

        From the first bench on, an entry is only written for a bench that shows its token.

        Raises
        ------
        NotebookError
            When a bench of that name is there and has not ended.
        """
        called, token = checked_name(name), new_token()
        with self._write(anyone=True) as session:
            if any(row.name.casefold() == called.casefold() and end is None for row, end in benches_of(session)):
                raise NotebookError(
                    f"there is a bench {called} already; end it first (polepiece bench retire) to give it a new token."
                )
            row = BenchRow(**self._head(None), name=called, token=kept_of(pass_of(token)))
            session.add(row)
            session.flush()
            return entry_of_bench(row, None), token

    def benches(self) -> list[BenchEntry]:
        """Return every bench there ever was, in the order of their coming."""
        with self._read() as session:
            return [entry_of_bench(row, end) for row, end in benches_of(session)]

    def end_bench(self, name: str, why: str) -> BenchEntry:
        """End a bench: its token is good for nothing from then on; its entries stay.

        Raises
        ------
        NotebookError
            When there is no such bench, or it has ended already.
        """
        reason = checked(why, "why", SHORT)
        with self._write(anyone=True) as session:
            known = [(row, end) for row, end in benches_of(session) if row.name.casefold() == name.strip().casefold()]
            if not known:
                names = ", ".join(row.name for row, end in benches_of(session) if end is None) or "none"
                raise NotebookError(f"there is no bench {name.strip()!r:.60} in this notebook; it has: {names}.")
            row, end = known[-1]
            if end is not None:
                raise NotebookError(f"bench {row.name} was ended already, at {end.at[:16]} ({end.why}).")
            gone = BenchEndRow(**self._head(None), bench_id=row.id, why=reason)
            session.add(gone)
            session.flush()
            return entry_of_bench(row, gone)

    def bench_with(self, shown: str) -> str | None:
        """Return the name of the bench whose pass this is (`benches.pass_of` its token), None when it is of none."""
        kept = kept_of(shown)
        with self._read() as session:
            return next((row.name for row, end in benches_of(session) if end is None and row.token == kept), None)
