"""What can be wrong with a zip and its manifest: names, links, sizes, methods, hashes."""

import json
import stat
import zipfile
import zlib
from collections.abc import Iterator

from tests.unit.notebook.hostile import (
    TURNED,
    Make,
    bomb,
    bytes_of,
    deflated,
    guitar,
    head,
    patched,
    sealed,
    unsealed,
    zip_bytes,
    zipped,
)
from tests.unit.notebook.test_archive import NOBODY, Members


def of_names() -> Iterator[tuple[str, Make]]:
    names = [
        "../x",
        "../../x.toml",
        "/etc/passwd",
        "//host/x",
        "C:x",
        "C:\\x",
        "\\\\host\\x",
        "~/x",
        "states/../x.toml",
        "states//x.toml",
        "./manifest.json",
        "states/./" + NOBODY + ".toml",
        "manifest.json/",
        "Manifest.json",
        "manifest.json ",
        "manifest.json\n",
        "manifest.json.",
        "manifest.jsoN",
        "entries.jsonl~",
        "ENTRIES.JSONL",
        "states",
        "states/",
        "sounds/",
        "states/x.toml",
        "states/" + NOBODY,
        "states/" + NOBODY.upper() + "A.toml",
        "states/" + NOBODY + ".TOML",
        "states/" + NOBODY + ".toml/x",
        "states/" + NOBODY + ".toml\0.exe",
        "states/" + "g" + NOBODY[1:] + ".toml",
        "sounds/" + "0" * 63 + ".wav",
        "sounds/" + "0" * 65 + ".wav",
        "sounds/" + "0" * 64 + ".mp3",
        "sounds/" + "A" * 64 + ".wav",
        "sounds/" + "0" * 64,
        "sounds/../" + "0" * 64,
        "con",
        "nul.toml",
        "a" * 300,
        "é",
        "\u202egpj.exe",
        "\ufeffmanifest.json",
        "states\\" + NOBODY + ".toml",
        " ",
        ".",
        "..",
        "__MACOSX/x",
        ".hidden",
        "thumbs.db",
        "manifest.json:stream",
    ]
    yield from ((f"name {one!r:.40}", zipped(one)) for one in names)


def of_zips() -> Iterator[tuple[str, Make]]:
    for what, kind in (
        ("link", stat.S_IFLNK),
        ("folder", stat.S_IFDIR),
        ("pipe", stat.S_IFIFO),
        ("device", stat.S_IFCHR),
        ("disk", stat.S_IFBLK),
        ("socket", stat.S_IFSOCK),
    ):
        for name in ("manifest.json", "sounds/" + "0" * 64 + ".wav"):
            yield f"{what} called {name:.20}", zipped(name, b"/etc/passwd", mode=kind | 0o777)
    for method in (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        yield f"compression {method}", zipped("sounds/" + "1" * 64 + ".wav", bomb(100), method=method)
    for method in (1, 6, 9, 93, 99):
        yield f"unknown compression {method}", patched(b"PK\x01\x02", 10, "<H", method)
    for offset, what in ((20, "packed"), (24, "unpacked")):
        for value in (0, 1, 10, 65_535, 2**31, 2**32 - 2):
            yield f"{what} size {value} in the directory", patched(b"PK\x01\x02", offset, "<I", value, last=True)
    for value in (1, 0x41, 0x2001):
        yield f"flags {value:#x}", patched(b"PK\x01\x02", 8, "<H", value)
    yield "checksum", patched(b"PK\x01\x02", 16, "<I", 1, last=True)
    for value in (1, 60, 2**31, 2**32 - 2):
        yield f"local header at {value}", patched(b"PK\x01\x02", 42, "<I", value, last=True)
    yield "local header of another name", patched(b"PK\x03\x04", 30, "<B", ord("n"))
    for value in (100, 600, 4_000, 65_535):  # what lies behind it becomes its name, and would be shown whole
        yield f"local header with a name of {value}", patched(b"PK\x03\x04", 26, "<H", value)
    yield "no local header", patched(b"PK\x03\x04", 0, "<I", 0)
    for offset, what in ((12, "size of the directory"), (16, "place of the directory")):
        for value in (0, 2**31):
            yield f"{what} {value}", patched(b"PK\x05\x06", offset, "<I", value, last=True)
    yield "length of a name", patched(b"PK\x01\x02", 28, "<H", 0)
    yield "length of a name to the end", patched(b"PK\x01\x02", 28, "<H", 65_535)
    yield "a bomb", zipped("sounds/" + "1" * 64 + ".wav", bomb(3_000_000), method=zipfile.ZIP_DEFLATED)
    yield (
        "a bomb that is named in the manifest",
        lambda path, members: deflated(path, members | {"states/" + NOBODY + ".toml": b"#" * 900_000}),
    )
    yield "an archive in an archive", sealed(lambda one: one | {"sounds/" + "1" * 64 + ".wav": zip_bytes("x")})
    for what, change in {
        "cut in half": lambda one: one[: len(one) // 2],
        "without its last byte": lambda one: one[:-1],
        "without its first bytes": lambda one: one[40:],
        "no bytes": lambda one: b"",
        "a page": lambda one: b"<html>" + b" " * 500,
        "gzip": lambda one: b"\x1f\x8b" + zlib.compress(one),
        "an end alone": lambda one: b"PK\x05\x06" + bytes(18),
        "7z": lambda one: b"7z\xbc\xaf\x27\x1c" + one[6:200],
    }.items():
        yield what, bytes_of(change)


def of_manifests() -> Iterator[tuple[str, Make]]:
    for schema in (
        None,
        1,
        "",
        "polepiece/archive",
        "polepiece/archive/0",
        "polepiece/archive/9",
        ["polepiece/archive/1"],
        "POLEPIECE/ARCHIVE/1",
        "polepiece/ledger/1",
    ):
        yield f"schema {schema!r}", head(schema=schema)
    for value in (None, {}, "x", 1, [1], [None], [[]], [{}], [{"uuid": NOBODY}]):
        yield f"guitars {value!r}", head(guitars=value)
    for value in (None, [], {}, "x", {"entries.jsonl": None}, {"entries.jsonl": {"bytes": 1}}):
        yield (
            f"members {value!r}",
            unsealed(
                lambda one, value=value: (
                    one | {"manifest.json": json.dumps(json.loads(one["manifest.json"]) | {"members": value}).encode()}
                )
            ),
        )
    yield "more keys", head(hello=1)
    for name, values in {
        "uuid": (None, 1, "", "x", NOBODY.upper().replace("0", "A"), NOBODY + "\n", f"{{{NOBODY}}}", NOBODY),
        "name": (None, 1, "", "  ", "x" * 501, "a\0b", TURNED + "x", ["x"]),
        "created": (
            None,
            1,
            "",
            "yesterday",
            "0001-01-01T00:00:00.000000+00:00",
            "9999-12-31T23:59:59.999999+00:00",
            "2026-03-03",
            "2026-03-03T09:00:00+00:00",
            "1969-12-31T23:59:59.999999+00:00",
        ),
    }.items():
        yield from ((f"guitar {name} {value!r:.40}", guitar(**{name: value})) for value in values)
    yield "guitar with more", guitar(more=1)
    for words in (
        b"",
        b"{",
        b"null",
        b"[]",
        b"\xff\xfe{}",
        b'{"schema": NaN}',
        b'{"a": 1, "a": 2}',
        b"[" * 50_000,
        b"{}" * 2,
        b'{"a":' * 200 + b"1" + b"}" * 200,
        b'{"a": "\\ud800"}',
        b"\x00",
    ):
        yield f"manifest {words[:20]!r}", unsealed(lambda one, words=words: one | {"manifest.json": words})


def of_hashes() -> Iterator[tuple[str, Make]]:
    for start in ("entries.jsonl", "states/", "sounds/"):
        for what, change in {
            "a byte more": lambda data: data + b" ",
            "a byte less": lambda data: data[:-1],
            "nothing": lambda data: b"",
            "other letters": lambda data: data.swapcase(),
        }.items():
            yield (
                f"{start} {what}",
                unsealed(
                    lambda one, start=start, change=change: (
                        one | {name: change(data) for name, data in one.items() if name.startswith(start)}
                    )
                ),
            )
        yield (
            f"{start} taken away",
            sealed(lambda one, start=start: {name: data for name, data in one.items() if not name.startswith(start)}),
        )
    for key, value in (("sha256", "0" * 64), ("sha256", None), ("bytes", 0), ("bytes", "7"), ("bytes", -1)):

        def change(one: Members, key: str = key, value: object = value) -> Members:
            body = json.loads(one["manifest.json"])
            body["members"]["entries.jsonl"][key] = value
            return one | {"manifest.json": json.dumps(body).encode()}

        yield f"manifest says {key} {value}", unsealed(change)
    yield "a sound too many", sealed(lambda one: one | {"sounds/" + "1" * 64 + ".wav": bomb(1)})
    yield "a state too many", sealed(lambda one: one | {"states/" + NOBODY + ".toml": b"x = 1\n"})
