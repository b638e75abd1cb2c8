"""What is looked at when a notebook is opened: its pages, its tables and triggers, its chain, and where it ends."""

from collections.abc import Iterator

from polepiece.errors import DamagedNotebookError
from polepiece.notebook.chain import Fault, newest, numbers, personal_seal, strays, verify, whole_entry
from polepiece.notebook.dialect import Raw, given_numbers, missing_guards, page_faults, size_of, tables_of
from polepiece.notebook.end_note import End, end_faults
from polepiece.notebook.learned_seals import counted_faults
from polepiece.notebook.places import Place, ways_out
from polepiece.notebook.schema import TABLES

UNCHECKED = frozenset({"recordings"})  # large; every sound is checked against its own hash when it is read
WHOLE_ENTRIES, WHOLE_BYTES = 20_000, 64 * 1024**2
"""Up to here every opening holds the whole chain against the entries: half a second of one core (measured)."""
TAIL = 1_000  # entries that are looked at in a larger notebook


def refuse_damaged(connection: Raw, place: Place, end: End | None) -> None:
    """Refuse a notebook in which an opening sees damage.

    Raises
    ------
    DamagedNotebookError
        With what is wrong, what is still whole, and what can be done.
    """
    faults = list(faults_at_opening(connection, end))
    if not faults:
        return
    good, there = still_whole(connection)
    more = f", and {len(faults) - 1} more" if len(faults) > 1 else ""
    raise DamagedNotebookError(
        f"{place} is damaged ({faults[0]}{more}). {good} of {there} entries are whole; nothing was changed. "
        f"{ways_out(place)}"
    )


def faults_at_opening(connection: Raw, end: End | None) -> Iterator[str]:
    """Yield what is wrong as far as an opening looks; nothing when all is well.

    Raises what the database raises where it cannot be read at all.
    """
    last = newest(connection)
    small = last <= WHOLE_ENTRIES and size_of(connection) <= WHOLE_BYTES
    yield from page_faults(connection, (one for one in TABLES if one not in UNCHECKED), indexes=small)
    yield from schema_faults(connection)
    yield from entry_faults(connection, 0 if small else last - TAIL)
    yield from personal_faults(connection)
    if small:
        yield from counted_faults(connection)
    yield from number_faults(connection)
    yield from end_faults(connection, end)


def entry_faults(connection: Raw, after: int = 0) -> Iterator[str]:
    """Yield the entries after this number that do not say what was sealed, and the rows that none of them wrote."""
    known = set[int]()
    for one in verify(connection, after):
        known.add(one.entry)
        yield f"entry {one.entry}: {one.words}"
    yield from (f"entry {one.entry}: {one.words}" for one in strays(connection, after) if one.entry not in known)
    query = (
        "SELECT id FROM guitars WHERE NOT EXISTS (SELECT 1 FROM journal WHERE journal.guitar_id = guitars.id) "
        "ORDER BY id"
    )
    yield from (f"guitar {number}: no entry is of it; another program wrote it" for (number,) in
                connection.execute(query))  # fmt: skip


def number_faults(connection: Raw) -> Iterator[str]:
    """Yield that entries or guitars at the end were taken away, as more numbers were given than there are."""
    for table, given in given_numbers(connection):
        if (last := newest(connection, table)) < given:
            what = "it ends at entry" if table == "journal" else "its last guitar is"
            yield f"{what} {last}, and {given} were numbered: another program took the last away"


def personal_faults(connection: Raw) -> Iterator[str]:
    """Yield the customers whose personal fields are not what was sealed, or are gone without an erasure."""
    erased = {customer for (customer,) in connection.execute("SELECT customer_id FROM erasures")}
    query = (
        "SELECT customers.id, seal, personal.id, salt, body FROM customers LEFT JOIN personal USING (id) "
        "ORDER BY customers.id"
    )
    for number, seal, there, salt, body in connection.execute(query):
        if there is None or ((salt is None or body is None) and number not in erased):
            yield f"customer {number}: the personal fields are gone, and no erasure is on record"
        elif number in erased and (salt is not None or body is not None):
            yield f"customer {number}: erased, and the personal fields are there"
        elif salt is not None and body is not None and personal_seal(salt, body) != seal:
            yield f"customer {number}: the personal fields are not what was sealed"


def schema_faults(connection: Raw) -> Iterator[str]:
    """Yield the tables and triggers that are missing."""
    found = tables_of(connection)
    yield from (f"its table {table} is gone" for table in TABLES if table not in found)
    for table, verb in missing_guards(connection, (one for one in TABLES if one in found)):
        yield f"the trigger that keeps {table} from {verb} is gone"


def still_whole(connection: Raw) -> tuple[int, int]:
    """Return how many entries still say what was sealed, and how many there were."""
    known = numbers(connection)
    good = sum(not isinstance(whole_entry(connection, one), Fault) for one in known)
    return good, len(known)
