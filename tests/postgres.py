"""A PostgreSQL server for the tests: made once a run in memory, reached by a socket in its own folder, gone at the end.

Debian's package is enough; no service is asked and nothing of the system's own server is touched. The server refuses to
run as root, so root starts it as another user.
"""

import atexit
import fcntl
import json
import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

ROLE = "bench"
EMPTY = "empty"  # a database with the tables of a notebook: copied in a fourth of the time that making them takes
MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
SETTINGS = ("fsync=off", "full_page_writes=off", "shared_buffers=16MB", "max_connections=80", "listen_addresses=",
            "autovacuum=off", "log_min_messages=fatal")  # fmt: skip
"""No test takes the power away: what a killed process has handed to the system is still there without fsync."""


def programs() -> Path | None:
    """Return where initdb and pg_ctl are; Debian keeps them out of the way, the newest version last."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda one: float(one.parts[-3]))
    return places[-1].parent if places else None


def missing() -> str:
    """Return why there is no server here, or nothing."""
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "psycopg is not installed: pip install 'polepiece[shop]'"
    return "" if programs() else "PostgreSQL is not installed (Debian: apt-get install postgresql)"


def _as_user() -> dict[str, Any]:
    """Return who runs the server: whoever runs the tests, or for root the first of two that are there."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        try:
            found = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": found.pw_uid, "group": found.pw_gid, "extra_groups": []}
    raise RuntimeError("no user to run the server as")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cluster:
    """A server of our own."""

    folder: str

    def run(self, program: str, *words: str) -> None:
        """Run one of the server's programs as its user."""
        place = programs()
        assert place is not None
        with tempfile.TemporaryFile() as said:
            result = subprocess.run(
                [str(place / program), *words], stdout=said, stderr=said, cwd="/", check=False, **_as_user()
            )
            said.seek(0)
            assert result.returncode == 0, said.read().decode()

    def start(self) -> None:
        """Start it, and wait until it answers."""
        options = " ".join(f"-c {one}" for one in (*SETTINGS, f"unix_socket_directories={self.folder}"))
        self.run("pg_ctl", "-D", f"{self.folder}/data", "-l", f"{self.folder}/log", "-w", "-o", options, "start")

    def stop(self, how: str = "immediate") -> None:
        """Stop it; ``immediate`` leaves it as a crash would."""
        self.run("pg_ctl", "-D", f"{self.folder}/data", "-m", how, "-w", "stop")

    def ask(self, query: bytes, database: str = "postgres") -> None:
        """Run one statement as the server's owner."""
        import psycopg

        with psycopg.connect(self.address(database), autocommit=True) as connection:
            connection.execute(query)

    def address(self, database: str) -> str:
        """Return the address of a database."""
        return f"postgresql://{ROLE}@/{database}?host={self.folder}"

    @contextmanager
    def database(self, template: str = "template0") -> Iterator[str]:
        """Give the address of a database, empty or like another one, and drop it."""
        name = f"t{uuid.uuid4().hex}"
        self.ask(f"CREATE DATABASE {name} TEMPLATE {template}".encode())
        try:
            yield self.address(name)
        finally:
            self.ask(f"DROP DATABASE {name} WITH (FORCE)".encode())


def made() -> Cluster:
    """Make a server in a folder of its own, and start it."""
    folder = Path(tempfile.mkdtemp(prefix="polepiece-pg-", dir=MEMORY))
    user = _as_user()
    if user:
        os.chown(folder, user["user"], user["group"])
    cluster = Cluster(folder=str(folder))
    try:
        cluster.run(
            "initdb", "-D", f"{folder}/data", "-U", ROLE, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"
        )
        cluster.start()
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return cluster


def shared(home: Path) -> Cluster:
    """Return the server of this run, with an empty notebook to copy; the first worker that needs it makes both."""
    from polepiece.notebook import open_notebook  # not before every test has its folders

    note = home / "postgres.json"
    with (home / "postgres.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not note.exists():
            cluster = made()
            note.write_text(json.dumps(asdict(cluster)), encoding="utf-8")
            cluster.ask(f"CREATE DATABASE {EMPTY} TEMPLATE template0".encode())
            open_notebook(cluster.address(EMPTY)).close()
        return Cluster(**json.loads(note.read_text("utf-8")))


def stopped_at_exit(home: Path) -> None:
    """Have the server of this run stopped when the process that began the run ends."""

    def stop() -> None:
        note = home / "postgres.json"
        if note.exists():
            cluster = Cluster(**json.loads(note.read_text("utf-8")))
            try:
                cluster.stop()
            finally:
                shutil.rmtree(cluster.folder, ignore_errors=True)

    atexit.register(stop)
