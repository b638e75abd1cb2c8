"""Ways to change one thing in a good archive; its manifest is right about the rest, as a forger would have it."""

import io
import json
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.unit.notebook.test_archive import Members, lines_of, pack, with_lines

Make = Callable[[Path, Members], Path]
TURNED = "\u202e"


def sealed(change: Callable[[Members], Members]) -> Make:
    return lambda path, members: pack(path, change(members))


def line(kind: str, place: int = -1, /, **values: Any) -> Make:
    """Change fields of one entry of a kind; a value ``...`` takes the field away."""

    def change(members: Members) -> Members:
        lines = lines_of(members)
        which = [k for k, one in enumerate(lines) if one["kind"] == kind][place]
        lines[which] = {key: one for key, one in (lines[which] | values).items() if one is not ...}
        return with_lines(members, lines)

    return sealed(change)


def raw_line(change: Callable[[str], str]) -> Make:
    """Change the text of the last line."""

    def made(members: Members) -> Members:
        *lines, last = members["entries.jsonl"].decode().splitlines()
        text = "".join(f"{one}\n" for one in [*lines, change(last)])
        return members | {"entries.jsonl": text.encode("utf-8", "surrogatepass")}

    return sealed(made)


def order(change: Callable[[list[dict[str, Any]]], list[dict[str, Any]]]) -> Make:
    return sealed(lambda members: with_lines(members, change(lines_of(members))))


def head(**values: Any) -> Make:
    def change(members: Members) -> Members:
        body = json.loads(members["manifest.json"])
        return members | {"manifest.json": json.dumps(body | values).encode()}

    return sealed(change)


def guitar(**values: Any) -> Make:
    """Change the first guitar in the manifest."""

    def change(members: Members) -> Members:
        body = json.loads(members["manifest.json"])
        body["guitars"][0] |= values
        return members | {"manifest.json": json.dumps(body).encode()}

    return sealed(change)


def text(change: Callable[[bytes], bytes], *, place: int = -1) -> Make:
    """Change the guitar file of one state."""

    def made(members: Members) -> Members:
        name = [f"states/{one['uuid']}.toml" for one in lines_of(members) if one["kind"] == "state"][place]
        return members | {name: change(members[name])}

    return sealed(made)


def zipped(
    name: str, data: bytes = b"x", *, mode: int = 0, method: int = zipfile.ZIP_STORED, more: bytes = b""
) -> Make:
    """Add a member past the manifest."""

    def made(path: Path, members: Members) -> Path:
        pack(path, members)
        with zipfile.ZipFile(path, "a") as into:
            info = zipfile.ZipInfo("x")
            info.filename = name
            info.extra = more
            info.create_system, info.external_attr, info.compress_type = 3, mode << 16, method
            into.writestr(info, data)
        return path

    return made


def patched(signature: bytes, offset: int, layout: str, value: int, *, last: bool = False) -> Make:
    """Write a number into a record of the zip: a directory entry (PK12), a local header (PK34), the end (PK56)."""

    def made(path: Path, members: Members) -> Path:
        data = bytearray(pack(path, members).read_bytes())
        start = data.rindex(signature) if last else data.index(signature)
        struct.pack_into(layout, data, start + offset, value)
        path.write_bytes(data)
        return path

    return made


def bytes_of(change: Callable[[bytes], bytes]) -> Make:
    def made(path: Path, members: Members) -> Path:
        path.write_bytes(change(pack(path, members).read_bytes()))
        return path

    return made


def unsealed(change: Callable[[Members], Members]) -> Make:
    return lambda path, members: pack(path, change(members), sealed=False)


def bomb(size: int) -> bytes:
    """A whole WAV by its first bytes that packs a thousandfold."""
    return b"RIFF\0\0\0\0WAVE" + bytes(size)


def zip_bytes(name: str) -> bytes:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w") as one:
        one.writestr(name, b"x")
    return into.getvalue()


def deflated(path: Path, members: Members) -> Path:
    """Write an archive with every member packed."""
    pack(path, members)
    with zipfile.ZipFile(path) as one:
        whole = {info.filename: one.read(info) for info in one.infolist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as into:
        for name, data in whole.items():
            into.writestr(name, data)
    return path
