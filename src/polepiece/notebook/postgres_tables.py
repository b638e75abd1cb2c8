"""The tables of a notebook on a server: made whole at the present schema, and kept from being changed.

The steps 0001 to 0003 are the history of files that players have; a server has none of them, so its tables begin as
`schema.py` has them. Later steps run on both.
"""

from sqlalchemy import Connection, text

from polepiece.errors import NotebookError
from polepiece.notebook.places import Server
from polepiece.notebook.schema import TABLES
from polepiece.notebook.schema_base import REVISIONS, Base

_FUNCTIONS = (
    # ids without gaps and in the order of the writing lock; a volatile function sees what its own statement has added
    *(
        f"CREATE FUNCTION polepiece_next_{table}() RETURNS integer LANGUAGE sql VOLATILE AS "
        f"$$ SELECT coalesce(max(id), 0) + 1 FROM {table} $$"
        for table in ("guitars", "journal")
    ),
    "CREATE FUNCTION polepiece_append_only() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION 'the notebook is append-only'; END $$",
    "CREATE FUNCTION polepiece_only_blanked() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    "IF NEW.id = OLD.id AND NEW.salt IS NULL AND NEW.body IS NULL AND "
    "EXISTS (SELECT 1 FROM erasures WHERE customer_id = OLD.id) THEN RETURN NEW; END IF; "
    "RAISE EXCEPTION 'the notebook is append-only'; END $$",
    "CREATE FUNCTION polepiece_one_chain() RETURNS trigger LANGUAGE plpgsql AS $$ "
    "DECLARE mine integer; BEGIN "
    "SELECT guitar_id INTO mine FROM journal WHERE id = NEW.id; "
    "IF mine IS NULL OR (NEW.parent_id IS NOT NULL AND "
    "(SELECT guitar_id FROM journal WHERE id = NEW.parent_id) IS DISTINCT FROM mine) OR (NEW.parent_id IS NULL AND "
    "EXISTS (SELECT 1 FROM states JOIN journal USING (id) WHERE journal.guitar_id = mine)) OR "
    "NEW.branch NOT IN (0, 1) OR (NEW.branch = 1 AND "
    "NOT EXISTS (SELECT 1 FROM states WHERE parent_id = NEW.parent_id)) "
    "THEN RAISE EXCEPTION 'a state follows the last state of its own guitar'; END IF; RETURN NEW; END $$",
    "CREATE FUNCTION polepiece_branch_of_its_guitar() RETURNS trigger LANGUAGE plpgsql AS $$ "
    "DECLARE mine integer; BEGIN "
    "SELECT guitar_id INTO mine FROM journal WHERE id = NEW.id; "
    "IF mine IS NULL OR (SELECT guitar_id FROM journal WHERE id = NEW.state_id) IS DISTINCT FROM mine "
    "THEN RAISE EXCEPTION 'a branch is chosen among the states of its own guitar'; END IF; RETURN NEW; END $$",
)


def make_tables(connection: Connection, place: Server) -> None:
    """Make every table with its guards and say which schema it is, in the transaction that ``connection`` is in.

    Raises
    ------
    NotebookError
        When the database cannot keep every letter.
    """
    if (encoding := connection.execute(text("SHOW server_encoding")).scalar_one()) != "UTF8":
        raise NotebookError(
            f"{place} keeps letters as {encoding}, which has not all that a notebook writes. Make one that has: "
            f"createdb --encoding UTF8 --template template0 {place.database} (after dropdb, if nothing else is in it)."
        )
    Base.metadata.create_all(connection)
    for one in _FUNCTIONS:
        connection.execute(text(one))
    for table in ("guitars", "journal"):
        connection.execute(text(f"ALTER TABLE {table} ALTER id SET DEFAULT polepiece_next_{table}()"))
        connection.execute(text(f"DROP SEQUENCE {table}_id_seq"))
    for table in TABLES:
        does = "only_blanked" if table == "personal" else "append_only"
        _guard(connection, f"{table}_no_update", f"UPDATE ON {table} FOR EACH ROW", does)
        _guard(connection, f"{table}_no_delete", f"DELETE ON {table} FOR EACH ROW", "append_only")
        _guard(connection, f"{table}_no_truncate", f"TRUNCATE ON {table} FOR EACH STATEMENT", "append_only")
    _guard(connection, "states_one_chain", "INSERT ON states FOR EACH ROW", "one_chain")
    of_its = "branch_choices_of_its_guitar"
    _guard(connection, of_its, "INSERT ON branch_choices FOR EACH ROW", "branch_of_its_guitar")
    connection.execute(text("CREATE TABLE alembic_version (version_num varchar(32) PRIMARY KEY)"))
    connection.execute(text("INSERT INTO alembic_version VALUES (:last)"), {"last": REVISIONS[-1]})


def _guard(connection: Connection, name: str, when: str, does: str) -> None:
    connection.execute(text(f"CREATE TRIGGER {name} BEFORE {when} EXECUTE FUNCTION polepiece_{does}()"))
