"""What the columns of a meter's tables mean, said once and kept: each a line in the journal, the last one counts."""

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import undefer

from polepiece.notebook.schema import NoteRow
from polepiece.notebook.store import Notebook

COLUMNS = "polepiece/table-columns/1"
_LINE = "columns of tables:"


def kept_columns(notebook: Notebook) -> dict[str, str]:
    """Return what was said of the columns of tables: the head in small letters, and what it means."""
    query = select(NoteRow).where(NoteRow.guitar_id.is_(None), NoteRow.text.startswith(_LINE, autoescape=True))
    found: dict[str, str] = {}
    with notebook._read() as session:
        for row in session.scalars(query.order_by(NoteRow.id).options(undefer(NoteRow.body))):
            body = row.body or {}
            columns = body.get("columns")
            if body.get("schema") == COLUMNS and isinstance(columns, dict):
                found |= {str(head): str(told) for head, told in columns.items()}
    return found


def keep_columns(notebook: Notebook, columns: Mapping[str, str]) -> None:
    """Keep what was said of columns, where it is not known already."""
    known = kept_columns(notebook)
    new = {head: told for head, told in columns.items() if known.get(head) != told}
    if new:
        words = "; ".join(f"{head} is {told}" for head, told in new.items())
        notebook.write_note(None, f"{_LINE} {words}"[:2000], body={"schema": COLUMNS, "columns": new})
