"""Where a notebook is: a file, or a database on a PostgreSQL server that several benches share."""

import hashlib
import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from platformdirs import user_data_path

from polepiece.errors import NotebookError

NAME = "notebook.sqlite"
SCHEMES = ("postgresql", "postgres")
_SECRET = ("password", "passfile", "sslpassword")


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A database on a server, as PostgreSQL's own addresses name it; ``str`` of it tells no password.

    Raises
    ------
    NotebookError
        If the address names no database.
    """

    url: str = field(repr=False)

    def __post_init__(self) -> None:
        """Refuse an address that would mean whatever database the server takes for one."""
        if not self.database:
            raise NotebookError(
                f"{self} names no database; write postgresql://USER@HOST/DATABASE, for example "
                "postgresql://bench@shop-server/notebook."
            )

    @property
    def database(self) -> str:
        """The name of the database."""
        parts = urlsplit(self.url)
        return dict(parse_qsl(parts.query)).get("dbname") or parts.path.strip("/")

    def __str__(self) -> str:
        """Return the address without its password."""
        parts = urlsplit(self.url)
        user, at, host = parts.netloc.rpartition("@")
        query = [pair for pair in parse_qsl(parts.query) if pair[0] not in _SECRET]
        shown = urlencode(query, safe="/:,")
        return urlunsplit((SCHEMES[0], f"{user.partition(':')[0]}{at}{host}", parts.path, shown, ""))


Place = Path | Server


def notebook_path(given: Path | Server | str | None = None) -> Place:
    """Return the notebook that is meant: as given, or POLEPIECE_NOTEBOOK, or the one in the user's data folder.

    Parameters
    ----------
    given : Path, Server, str or None
        A file, or an address ``postgresql://user@host/database``.
    """
    chosen = given or os.environ.get("POLEPIECE_NOTEBOOK") or None
    if isinstance(chosen, Server):
        return chosen
    if isinstance(chosen, str) and (found := re.match(r"([a-z]+)://", chosen)):
        if found[1] not in SCHEMES:
            raise NotebookError(
                f"{found[0]} is no address of a notebook; it is a file, or postgresql://USER@HOST/DATABASE."
            )
        return Server(url=chosen)
    if chosen is not None:
        return followed(Path(chosen).expanduser().absolute())
    return followed(_data_folder() / NAME)


def followed(path: Path) -> Path:
    """Return the file that is meant: of a link the file it leads to, so that what lies beside a notebook lies once.

    Raises
    ------
    NotebookError
        When there can be no file of that name, or nobody may look whether there is.
    """
    try:
        os.lstat(path)
        return Path(os.path.realpath(path)) if path.is_symlink() else path
    except (FileNotFoundError, NotADirectoryError):
        return path
    except (OSError, ValueError) as error:
        shown = str(path).encode("unicode_escape").decode("ascii") if isinstance(error, ValueError) else str(path)
        reason = getattr(error, "strerror", None) or error
        raise NotebookError(f"{shown:.300}: there can be no such file, or it cannot be reached ({reason}).") from None


def beside(place: Place) -> Path:
    """Return the path by which what belongs to a notebook is named: the file itself; of a server one of this bench."""
    if isinstance(place, Path):
        return followed(place)
    mark = hashlib.sha256(str(place).encode()).hexdigest()[:12]
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", place.database)[:40]
    folder = _data_folder() / "servers"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder / f"{name}-{mark}"


def may_be_there(place: Place) -> bool:
    """Tell whether there may be a notebook: a file that is there; of a server only opening tells."""
    return isinstance(place, Server) or place.is_file()


def folder_of(place: Place) -> Path:
    """Return the folder of a notebook's backups; of one on a server in the data folder of this bench."""
    path = beside(place)
    return path.with_name(f"{path.name}-backups")


def ways_out(place: Place) -> str:
    """Return what can be done with a damaged notebook."""
    backups = folder_of(place)
    if isinstance(place, Server):
        copies = "restore a backup into an empty database (polepiece notebook restore)"
    else:
        copies = f"put a backup from {backups} in its place" if backups.is_dir() else "put a backup in its place"
    return f"Keep it; `polepiece notebook rescue` writes what is whole into a new one, or {copies}."


def _data_folder() -> Path:
    folder = user_data_path("polepiece", appauthor=False)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise NotebookError(
            f"{folder} cannot be made ({error.strerror}); choose another place with --notebook."
        ) from None
    return folder
