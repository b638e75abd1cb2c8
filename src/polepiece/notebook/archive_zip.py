"""The zip file around an archive: written whole or not at all, and read as if whoever made it meant harm."""

import hashlib
import json
import os
import re
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from polepiece.errors import InputError, NotebookError
from polepiece.notebook.archive_lines import strict_json
from polepiece.notebook.limits import LONGEST_LINE, MOST_ENTRIES
from polepiece.notebook.places import followed

MANIFEST, ENTRIES = "manifest.json", "entries.jsonl"
NAMES = re.compile(
    r"manifest\.json|entries\.jsonl|states/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\.toml|sounds/[0-9a-f]{64}\.(wav|flac)"
    r"|photos/[0-9a-f]{64}\.(jpg|png|webp)"
)
MOST_MEMBERS = 100_000
MOST_BYTES = 2 * 1024**3  # of all members, unpacked
MOST_OF = {
    "manifest.json": 64 * 1024**2, "entries.jsonl": 512 * 1024**2, "states": 1024**2, "sounds": 64 * 1024**2,
    "photos": 32 * 1024**2,
}  # fmt: skip
RATIO = 100  # unpacked to packed; what would shrink more is stored as it is
FREE = 64 * 1024  # bytes that may shrink by any ratio
CHUNK = 256 * 1024


class Packer:
    """Writes members and remembers their hashes; the manifest comes last. The same content gives the same bytes."""

    def __init__(self, into: zipfile.ZipFile, folder: Path) -> None:
        self._zip, self._folder, self._total = into, folder, 0
        self.members: dict[str, dict[str, object]] = {}

    def add(self, name: str, data: bytes) -> None:
        """Add one member."""
        self._known(name, hashlib.sha256(data).hexdigest(), len(data))
        self._put(name, [data], len(data), len(zlib.compress(data, 6)))

    def digest(self, name: str) -> str:
        """Return the SHA-256 of a member that was added."""
        return str(self.members[name]["sha256"])

    def add_lines(self, name: str, lines: Iterable[str]) -> None:
        """Add a member line by line, through a file, so that memory stays small however many there are."""
        digest, packer, size, packed = hashlib.sha256(), zlib.compressobj(6), 0, 0
        with tempfile.TemporaryFile(dir=self._folder) as spool:
            for number, line in enumerate(lines, start=1):
                data = f"{line}\n".encode()
                if number > MOST_ENTRIES or len(data) > LONGEST_LINE:
                    what = f"more than {MOST_ENTRIES} entries" if number > MOST_ENTRIES else f"line {number} too long"
                    raise NotebookError(f"{name} has {what} for an archive. Export the guitars one by one.")
                digest.update(data)
                size, packed = size + len(data), packed + len(packer.compress(data))
                self._fits(name, size)
                spool.write(data)
            packed += len(packer.flush())
            self._known(name, digest.hexdigest(), size)
            spool.seek(0)
            self._put(name, iter(lambda: spool.read(CHUNK), b""), size, packed)

    def finish(self, head: Mapping[str, object]) -> None:
        """Write the manifest."""
        body = {**head, "members": self.members}
        data = json.dumps(body, ensure_ascii=False, indent=1, sort_keys=True).encode("utf-8")
        self._fits(MANIFEST, len(data))
        self._put(MANIFEST, [data], len(data), len(zlib.compress(data, 6)))

    def _known(self, name: str, digest: str, size: int) -> None:
        self._fits(name, size)
        self.members[name] = {"sha256": digest, "bytes": size}
        self._total += size
        if self._total > MOST_BYTES - MOST_OF[MANIFEST] or len(self.members) >= MOST_MEMBERS:
            raise NotebookError(
                f"an archive holds at most {MOST_MEMBERS} members and {MOST_BYTES} bytes; {name} is more than that. "
                "Export the guitars one by one."
            )

    def _fits(self, name: str, size: int) -> None:
        most = MOST_OF[name.partition("/")[0]]
        if size > most:
            raise NotebookError(f"{name} has {size} bytes; an archive holds at most {most} in it. Export one guitar.")

    def _put(self, name: str, pieces: Iterable[bytes], size: int, packed: int) -> None:
        info = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
        info.create_system, info.external_attr, info.file_size = 3, 0o600 << 16, size
        shrunk = not name.startswith(("sounds/", "photos/")) and size <= RATIO // 2 * max(packed, 1)
        info.compress_type = zipfile.ZIP_DEFLATED if shrunk or size <= FREE else zipfile.ZIP_STORED
        with self._zip.open(info, "w") as member:
            for piece in pieces:
                member.write(piece)


@contextmanager
def packing(path: Path, *, replace: bool) -> Iterator[Packer]:
    """Write an archive beside its place and move it there when it is whole; only its owner may read it."""
    followed(path)
    if path.is_dir():
        raise NotebookError(f"{path} is a folder; name the archive, for example {path / 'guitar.zip'}.")
    if path.exists() and not replace:
        raise NotebookError(f"{path} is there already; choose another name, or replace it.")
    try:
        handle, hidden = tempfile.mkstemp(prefix=".polepiece-", suffix=".part", dir=path.parent)
    except OSError as error:
        raise NotebookError(f"nothing can be written to {path.parent} ({error.strerror}).") from None
    try:
        with os.fdopen(handle, "wb") as file:
            with zipfile.ZipFile(file, "w") as into:
                yield Packer(into, path.parent)
            file.flush()
            os.fsync(file.fileno())
        os.replace(hidden, path)
    except OSError as error:
        raise NotebookError(f"{path} cannot be written ({error.strerror or error}); nothing was left behind.") from None
    finally:
        with suppress(FileNotFoundError):
            os.unlink(hidden)


class Archive:
    """An open archive whose names, sizes and hashes have been checked."""

    def __init__(self, path: Path, zipped: zipfile.ZipFile, head: dict[str, object]) -> None:
        self.path, self.head = path, head
        self._zip = zipped
        self._infos = {info.filename: info for info in zipped.infolist()}

    def names(self, folder: str) -> list[str]:
        """Return the members in a folder."""
        return [name for name in self._infos if name.startswith(f"{folder}/")]

    def read(self, name: str) -> bytes:
        """Return one member, held against the size and hash in the manifest."""
        data = _bytes(self.path, self._zip, self._infos[name])
        self._hold(name, len(data), hashlib.sha256(data).hexdigest())
        return data

    def digest(self, name: str) -> str:
        """Return the SHA-256 of one member, as the manifest says and `check` has held it."""
        return str(self.head["members"][name]["sha256"])  # type: ignore[index]

    def lines(self, name: str) -> Iterator[str]:
        """Yield the lines of one member, held against its hash at the end; no more than one is in memory.

        Raises
        ------
        InputError
            When a line is too long, not ended or no UTF-8, or there are too many.
        """
        digest, size, number, held, pieces = hashlib.sha256(), 0, 0, 0, list[bytes]()
        for chunk in _chunks(self.path, self._zip, self._infos[name]):
            digest.update(chunk)
            size += len(chunk)
            first, *others = chunk.split(b"\n")
            pieces.append(first)
            held += len(first)
            if held > LONGEST_LINE:
                raise InputError(f"{name} line {number + 1} is longer than {LONGEST_LINE} bytes")
            for rest in others:
                number += 1
                if number > MOST_ENTRIES:
                    raise InputError(f"{name} has more than {MOST_ENTRIES} lines")
                yield b"".join(pieces).decode("utf-8")
                pieces, held = [rest], len(rest)
        if held:
            raise InputError(f"{name} does not end with a line end; it was cut")
        self._hold(name, size, digest.hexdigest())

    def check(self) -> None:
        """Hold every member against its hash; one after the other, so that memory stays small."""
        for name, info in self._infos.items():
            if name == MANIFEST:
                continue
            digest, size = hashlib.sha256(), 0
            for chunk in _chunks(self.path, self._zip, info):
                digest.update(chunk)
                size += len(chunk)
            self._hold(name, size, digest.hexdigest())

    def _hold(self, name: str, size: int, digest: str) -> None:
        said = self.head["members"][name]  # type: ignore[index]
        if said != {"sha256": digest, "bytes": size}:
            raise refused(
                self.path, f"{name} is not what the manifest says (wrong hash or size); it was changed or damaged"
            )


def refused(path: Path, why: str) -> NotebookError:
    """Return the error of an archive that is not taken in."""
    return NotebookError(f"{path}: {why}. Nothing was imported.")


@contextmanager
def unpacking(path: Path, schemas: Sequence[str]) -> Iterator[Archive]:
    """Open an archive; its directory, limits and manifest are checked before anything is unpacked."""
    followed(path)
    try:
        with path.open("rb") as file:
            try:
                zipped = zipfile.ZipFile(file)
            except (zipfile.BadZipFile, ValueError, NotImplementedError, EOFError) as error:
                raise refused(path, f"is not a zip archive ({error!s:.160})") from None
            with zipped:
                _check_directory(path, file, zipped.infolist())
                archive = Archive(path, zipped, _head(path, zipped, schemas))
                archive.check()
                yield archive
    except FileNotFoundError:
        raise NotebookError(f"{path}: there is no such file; check the name and the folder.") from None
    except OSError as error:
        raise NotebookError(f"{path} cannot be read ({error.strerror or error}).") from None


def _check_directory(path: Path, file: BinaryIO, infos: list[zipfile.ZipInfo]) -> None:
    """Refuse names that lead elsewhere, links, names twice, and sizes that would fill memory or disk."""
    if len(infos) > MOST_MEMBERS:
        raise refused(path, f"has {len(infos)} members; at most {MOST_MEMBERS} are read")
    seen: set[str] = set()
    for info in infos:
        name = info.filename
        if not NAMES.fullmatch(name) or info.orig_filename != name:
            raise refused(path, f"holds {info.orig_filename!r:.80}, which has no place in an archive of polepiece")
        if name in seen:
            raise refused(path, f"holds {name} twice")
        seen.add(name)
        kind = stat.S_IFMT(info.external_attr >> 16)
        if kind not in (0, stat.S_IFREG) or info.is_dir():
            raise refused(path, f"holds {name} as a link or folder, not as a file")
        if info.flag_bits & 0x1:
            raise refused(path, f"holds {name} encrypted")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise refused(path, f"holds {name} in a compression that is not read (only stored and deflated)")
        most = MOST_OF[name.partition("/")[0]]
        if info.file_size > most:
            raise refused(path, f"{name} would unpack to {info.file_size} bytes; at most {most} are read")
        if info.file_size > max(FREE, RATIO * info.compress_size):
            raise refused(path, f"{name} would unpack to more than {RATIO} times its size; that is no notebook's text")
    total, packed = sum(one.file_size for one in infos), sum(one.compress_size for one in infos)
    if total > MOST_BYTES:
        raise refused(path, f"would unpack to {total} bytes; at most {MOST_BYTES} are read")
    if packed > os.fstat(file.fileno()).st_size:
        raise refused(path, "has members that lie over one another")


def _head(path: Path, zipped: zipfile.ZipFile, schemas: Sequence[str]) -> dict[str, object]:
    """Read the manifest; it names every other member, and only those."""
    infos = {info.filename: info for info in zipped.infolist()}
    for name in (MANIFEST, ENTRIES):
        if name not in infos:
            raise refused(path, f"has no {name}; it is no archive of polepiece")
    try:
        head = strict_json(_bytes(path, zipped, infos[MANIFEST]).decode("utf-8"), MANIFEST, MOST_OF[MANIFEST])
    except (InputError, UnicodeDecodeError) as error:
        raise refused(path, str(error).rstrip(".")) from None
    if head.get("schema") not in schemas:
        raise refused(
            path,
            f"has the schema {head.get('schema')!r:.80}; this version reads {' and '.join(schemas)}. A newer version "
            "may read it",
        )
    members = head.get("members")
    if not isinstance(members, dict) or set(members) != set(infos) - {MANIFEST}:
        raise refused(path, "its manifest does not name exactly the members that are there")
    return head


def _bytes(path: Path, zipped: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    return b"".join(_chunks(path, zipped, info))


def _chunks(path: Path, zipped: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    """Unpack one member piece by piece, and stop when it is more than it said."""
    left = info.file_size
    try:
        with zipped.open(info) as member:
            while chunk := member.read(CHUNK):
                left -= len(chunk)
                if left < 0:
                    raise refused(path, f"{info.filename} unpacks to more than it says")
                yield chunk
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError, ValueError) as error:
        raise refused(path, f"{info.filename} is damaged ({error!s:.160})") from None
    if left:
        raise refused(path, f"{info.filename} unpacks to less than it says")
