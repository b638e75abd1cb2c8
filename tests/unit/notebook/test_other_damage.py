"""Damage by disks, copies and transfers: whatever is opened is word for word what was written, or it is said."""

import random
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from verification.notebook_trials import DEMO, Clock, fill, judged, told

Files = dict[str, bytes]
BOOK, LOG, END = "n.sqlite", "n.sqlite-wal", "n.sqlite-end"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, object], dict[str, Files]]:
    """What a notebook says, and its files: closed, while it is open, as it was before, and those of another one."""
    folder = tmp_path_factory.mktemp("written")
    guitar, found = read_guitar(DEMO), dict[str, Files]()

    def files(place: Path) -> Files:
        return {one.name: one.read_bytes() for one in place.iterdir() if one.is_file() and "-shm" not in one.name}

    for name, rounds in (("mine", 3), ("other", 2)):
        place = folder / name
        place.mkdir()
        with open_notebook(place / BOOK, clock=Clock()) as book:
            fill(book, guitar, rounds)
            found[f"{name} before"] = files(place)
            if name == "mine":
                fill(book, guitar, 2)
                said = told(book)
            found[f"{name} open"] = files(place)
        found[name] = files(place)
    return said, found


def sectors(data: bytes, draw: random.Random) -> bytes:
    """Sectors that come back empty, as a worn card gives them."""
    out = bytearray(data)
    for _ in range(draw.choice((1, 2, 8))):
        size = draw.choice((512, 4096))
        place = size * draw.randrange(len(out) // size)
        out[place : place + size] = draw.choice((b"\0", b"\xff")) * size
    return bytes(out)


def stuck(data: bytes, draw: random.Random) -> bytes:
    """One line of a memory that is always on."""
    out, bit, step = bytearray(data), 1 << draw.randrange(8), draw.choice((1, 64, 512))
    first = draw.randrange(len(out))
    for place in range(first, min(len(out), first + 100_000), step):
        out[place] |= bit
    return bytes(out)


def exchanged(data: bytes, draw: random.Random) -> bytes:
    """Two pages in one another's place."""
    out = bytearray(data)
    one, other = (4096 * draw.randrange(len(out) // 4096) for _ in range(2))
    out[one : one + 4096], out[other : other + 4096] = out[other : other + 4096], out[one : one + 4096]
    return bytes(out)


def as_text(data: bytes, draw: random.Random) -> bytes:
    """A transfer that takes it for text."""
    way = draw.randrange(3)
    return (data.replace(b"\n", b"\r\n"), data.replace(b"\r\n", b"\n"), data.decode("latin-1").encode())[way]


def longer(data: bytes, draw: random.Random) -> bytes:
    """Something behind the end."""
    return data + draw.randbytes(draw.choice((1, 4096, 70_000)))


def misspelt(data: bytes, draw: random.Random) -> bytes:
    """A statement of the schema, many lines long, that SQLite cannot read any more and shows as it stands."""
    at = draw.choice([one for one in range(len(data)) if data.startswith(b"CREATE TABLE ", one)]) + len("CREATE TABLE ")
    return data[:at] + b"`" + data[at + 1 :]


def out_of_order(data: bytes, draw: random.Random) -> bytes:
    """Two places of one page of an index exchanged: every row is whole, and is not found where it is looked for."""
    out = bytearray(data)
    leaves = [at for at in range(4096, len(out), 4096) if out[at] == 10 and out[at + 3 : at + 5] > b"\0\1"]
    at = draw.choice(leaves)  # 10: a leaf of an index; from byte 8 on two bytes a cell (SQLite's file format, 1.6)
    one, other = (at + 8 + 2 * k for k in draw.sample(range(int.from_bytes(out[at + 3 : at + 5], "big")), 2))
    out[one : one + 2], out[other : other + 2] = out[other : other + 2], out[one : one + 2]
    return bytes(out)


HARM: dict[str, Callable[[bytes, random.Random], bytes]] = {
    one.__name__: one for one in (sectors, stuck, exchanged, as_text, longer, misspelt, out_of_order)
}
MIXED: dict[str, Callable[[dict[str, Files], random.Random], Files]] = {
    "log of another notebook": lambda found, _: found["mine"] | {LOG: found["other open"][LOG]},
    "log from before": lambda found, _: found["mine"] | {LOG: found["mine before"][LOG]},
    "rubbish for a log": lambda found, draw: found["mine"] | {LOG: draw.randbytes(3 * 4152)},
    "copied without its log": lambda found, _: {key: one for key, one in found["mine open"].items() if key != LOG},
    "as it was, beside the newer note": lambda found, _: found["mine before"] | {END: found["mine"][END]},
    "note of another notebook": lambda found, _: found["mine"] | {END: found["other"][END]},
    "note cut": lambda found, _: found["mine"] | {END: found["mine"][END][:-5]},
}


@pytest.mark.parametrize("kind", [*HARM, *MIXED])
def test_it_is_whole_or_it_is_said(
    written: tuple[dict[str, object], dict[str, Files]], tmp_path: Path, kind: str
) -> None:
    said, found = written
    draw = random.Random(kind)
    for _ in range(3 if kind in HARM else 1):
        place = tmp_path / "n"
        place.mkdir()
        files = (
            found["mine"] | {BOOK: HARM[kind](found["mine"][BOOK], draw)} if kind in HARM else MIXED[kind](found, draw)
        )
        for name, data in files.items():
            (place / name).write_bytes(data)
        trial = judged(kind, place / BOOK, said)
        assert trial.end in ("whole", "said", "said when read"), trial
        assert kind != "out_of_order" or trial.end == "said"  # found by another way it may still look whole
        if kind in ("copied without its log", "as it was, beside the newer note", "note of another notebook"):
            assert trial.end == "said"  # what opens there is whole, and is not the notebook that was kept
        shutil.rmtree(place)
