"""Benches of a shop: each is known by a token of its own, and every entry says which of them wrote it.

There are no accounts. Whoever may open the notebook (a file's owner, a role of the server) may add a bench and end one;
a token says who writes, it does not keep anybody out of the database. Only a hash of what follows from the token is
kept: neither the notebook nor a visitor's cookie tells the token.
"""

import hashlib
import hmac
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.records import SHORT, BenchEntry, checked, moment
from polepiece.notebook.schema import BenchEndRow, BenchRow

TOKEN = "POLEPIECE_BENCH_TOKEN"
SHOWN: ContextVar[str | None] = ContextVar("pass of the visitor for whom is written", default=None)


def pass_of(token: str) -> str:
    """Return what follows from a token and does not tell it: what a visitor's cookie holds."""
    return hmac.new(token.strip().encode(), b"polepiece bench", hashlib.sha256).hexdigest()


def kept_of(shown: str) -> str:
    """Return what the notebook keeps of a pass, and what does not tell it."""
    return hashlib.sha256(shown.encode()).hexdigest()


@contextmanager
def written_for(shown: str | None) -> Iterator[None]:
    """Write for a visitor who has shown this pass, for a while and in this thread."""
    before = SHOWN.set(shown)
    try:
        yield
    finally:
        SHOWN.reset(before)


def new_token() -> str:
    """Return a token that nobody guesses, in four groups that can be read to one another."""
    letters = "abcdefghjkmnpqrstuvwxyz23456789"  # none that looks like another; 31^24 is 2^118
    return "-".join("".join(secrets.choice(letters) for _ in range(6)) for _ in range(4))


def bench_that_writes(session: Session, *, anyone: bool) -> str | None:
    """Return the name of the bench that writes now, None in a notebook without benches (or for ``anyone``).

    Raises
    ------
    NotebookError
        When the notebook has benches and no token was shown, or one that is of none of them or not any more.
    """
    known = benches_of(session)
    if not known:
        return None
    shown = SHOWN.get() or (pass_of(os.environ[TOKEN]) if os.environ.get(TOKEN) else None)
    kept = None if shown is None else kept_of(shown)
    mine = next((row for row, _ in known if kept is not None and hmac.compare_digest(row.token, kept)), None)
    end = next((end for row, end in known if row is mine), None)
    if mine is not None and end is None:
        return mine.name
    if anyone:
        return None
    if end is not None and mine is not None:
        raise NotebookError(f"the token of bench {mine.name} was ended at {end.at[:16]} ({end.why}). Ask for another.")
    names = ", ".join(row.name for row, end in known if end is None) or "none any more"
    wrong = "the token that is shown belongs to none of them" if shown else "no token is shown"
    raise NotebookError(
        f"this notebook is written by its benches ({names}), and {wrong}. Put the token of this bench into {TOKEN}, or "
        "enter it at the page; a new one is made with: polepiece bench add NAME."
    )


def benches_of(session: Session) -> list[tuple[BenchRow, BenchEndRow | None]]:
    """Return every bench there ever was, in order, with its end."""
    rows = session.scalars(select(BenchRow).order_by(BenchRow.id)).all()
    if not rows:
        return []
    ends: dict[int, BenchEndRow] = {}
    for one in session.scalars(select(BenchEndRow).order_by(BenchEndRow.id)):
        ends.setdefault(one.bench_id, one)
    return [(one, ends.get(one.id)) for one in rows]


def entry_of_bench(row: BenchRow, end: BenchEndRow | None) -> BenchEntry:
    """Return a bench as it stands."""
    return BenchEntry(
        id=row.id, uuid=row.uuid, name=row.name, at=moment(row.at), ended=None if end is None else moment(end.at),
        why="" if end is None else end.why,
    )  # fmt: skip


def checked_name(name: str) -> str:
    """Return the name of a bench, spaces around it off."""
    found = checked(name, "name", SHORT).strip()
    if "\n" in found or len(found) > 40:
        raise InputError("name of a bench: one line of at most 40 characters, such as north or window.")
    return found
