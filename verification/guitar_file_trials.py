"""Guitar files that were changed at random: each reads, or ends in GuitarFileError; never in anything else.

Run `python -m verification.guitar_file_trials --count 4000` (half a minute). Kinds and places are drawn with a fixed
seed. Time is bounded by limits of size that are held before the parser (`guitar/file/size.py`); the work is counted
here, in calls of functions, which does not depend on the machine.
"""

import argparse
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from polepiece.errors import GuitarFileError
from polepiece.guitar import read_guitar

SEED = 20261130
EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
MOST_CALLS = 1_000_000
"""About a second of Python; reading an example takes some 10,000 calls."""

Change = Callable[[bytearray, random.Random], None]


def flipped(data: bytearray, draw: random.Random) -> None:
    for _ in range(draw.choice((1, 1, 2, 8, 40))):
        data[draw.randrange(len(data))] ^= 1 << draw.randrange(8)


def cut(data: bytearray, draw: random.Random) -> None:
    here = draw.randrange(len(data))
    del data[here : draw.choice((len(data), here + draw.randrange(1, 200)))]


def doubled(data: bytearray, draw: random.Random) -> None:
    lines = bytes(data).split(b"\n")
    here = draw.randrange(len(lines))
    lines[here:here] = lines[here : here + draw.randrange(1, 4)] * draw.choice((1, 2, 300))
    data[:] = b"\n".join(lines)


def instead(*words: bytes) -> Change:
    """Put one of these in the place of a value."""

    def change(data: bytearray, draw: random.Random) -> None:
        lines = bytes(data).split(b"\n")
        keys = [place for place, line in enumerate(lines) if b"=" in line]
        here = draw.choice(keys)
        lines[here] = lines[here].partition(b"=")[0] + b"= " + draw.choice(words)
        data[:] = b"\n".join(lines)

    return change


def inserted(*words: bytes) -> Change:
    """Put one of these somewhere."""

    def change(data: bytearray, draw: random.Random) -> None:
        for _ in range(draw.choice((1, 1, 3))):
            here = draw.randrange(len(data) + 1)
            data[here:here] = draw.choice(words)

    return change


def ended(data: bytearray, draw: random.Random) -> None:
    for place in reversed([k for k, one in enumerate(data) if one == 10]):
        if draw.random() < 0.4:
            data[place : place + 1] = draw.choice((b"\r", b"\r\n", b"\n\r", b"\x0b", b"\xc2\x85", b"\xe2\x80\xa8"))


CHANGES: dict[str, Change] = {
    "flipped bits": flipped,
    "cut": cut,
    "doubled lines": doubled,
    "huge numbers": instead(
        b"1e999999999",
        b"-1e999999999",
        b"1e-999999999",
        b"9" * 5000,
        b"0." + b"0" * 5000 + b"1",
        b"nan",
        b"-inf",
        b"'1e999999999'",
        b"'9e99 mm'",
        b"0x" + b"f" * 5000,
        b"'1/0'",
        b"'1/1e-999999'",
        b"1_000_000_000_000_000",
        b"-0.0",
    ),
    "other kinds of value": instead(
        b"true",
        b"[]",
        b"{}",
        b"[[]]",
        b"[1, 'a', {}]",
        b"1979-05-27T07:32:00Z",
        b"07:32:00",
        b"''",
        b"'?'",
        b'"\\u0000"',
        b'"\\U0010FFFF"',
        b'"\xe2\x80\xaex"',
        b"'none'",
        b"'unknown'",
        b"{ a.b.c = 1 }",
    ),
    "deep nesting": instead(b"[" * 40 + b"]" * 40, b"[" * 5000, b"{a=" * 40 + b"1" + b"}" * 40, b"{a=" * 3000),
    "dotted keys": inserted(
        b"\na" + b".a" * 40 + b" = 1\n",
        b"\na" + b".a" * 30_000 + b" = 1\n",
        b"\n[a" + b".a" * 400 + b"]\n",
        b"\n" + b"".join(b"k%d = 1\n" % k for k in range(12_000)),
        b"\n" + b"[[pickups]]\nname = 'p'\n" * 900,
    ),
    "NUL and controls": inserted(b"\x00", b"\x00" * 20, b"\x7f", b"\x1b[2J", b"\x08"),
    "half characters": inserted(b"\xed\xa0\x80", b"\xff", b"\xc3", b"\xf8\x88\x80\x80\x80", b"\xc0\xaf"),
    "line ends": ended,
    "byte order marks": inserted(b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff\x00"),
    "quotes and brackets": inserted(b'"', b"'", b'"""', b"'''", b"[", b"]", b"[[", b"{", b"#", b"=", b"\\", b".", b","),
}


def trial(kind: str, source: bytes, draw: random.Random, folder: Path) -> tuple[str, bytes]:
    """Change a file and read it; return how it ended and what it was."""
    data = bytearray(source)
    CHANGES[kind](data, draw)
    path = folder / "changed.guitar.toml"
    path.write_bytes(data)
    try:
        read_guitar(path)
    except GuitarFileError as error:
        said = all(one.strip() for one in error.faults) and "changed.guitar.toml" in str(error)
        return ("refused" if said else "refused badly"), bytes(data)
    except Exception as error:
        return f"{type(error).__name__}: {error}", bytes(data)
    return "read", bytes(data)


def trials(count: int, seed: int = SEED) -> tuple[Counter[tuple[str, str]], list[tuple[str, str, bytes]]]:
    """Run so many trials; return how each kind ended, and those that ended badly with their files."""
    draw = random.Random(seed)
    found: Counter[tuple[str, str]] = Counter()
    bad = []
    kinds = list(CHANGES)
    with tempfile.TemporaryDirectory() as folder:
        for place in range(count):
            kind = kinds[place % len(kinds)]
            end, data = trial(kind, draw.choice(EXAMPLES).read_bytes(), draw, Path(folder))
            found[kind, end if end in ("read", "refused") else "bad"] += 1
            if end not in ("read", "refused"):
                bad.append((kind, end, data))
    return found, bad


class Calls:
    """Counts calls of functions while it is the profiler of this thread."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, frame: FrameType, event: str, argument: object) -> None:
        if event.endswith("call"):
            self.count += 1

    def of(self, what: Callable[[], object]) -> int:
        """Return how many calls this takes; an error that refuses a file is an answer."""
        before = sys.getprofile()
        sys.setprofile(self)
        try:
            what()
        except GuitarFileError:
            pass
        finally:
            sys.setprofile(before)
        return self.count


HEAVY: dict[str, str] = {
    "names joined by points": "a" + ".a" * 500_000 + " = 1\n",
    "many short joined names": ("a" + ".a" * 10 + " = 1\n") * 40_000,
    "unknown keys": "".join(f"gap_bas_mm{k} = 1\n" for k in range(9_900)),
    "unknown tables": "".join(f"[k{k}]\n" for k in range(9_900)),
    "empty pickups": "[[pickups]]\n" * 4_900,
    "good pickups": "".join(
        f'[[pickups]]\nname="p{k}"\nposition="neck"\nconstruction="rod-single"\n' for k in range(1_900)
    ),
    "as many pickups as there may be": "".join(
        f'[[pickups]]\nname="p{k}"\nposition="neck"\nconstruction="rod-single"\n' for k in range(24)
    ),
    "strings": "[[strings]]\nwound = true\n" * 3_300,
    "complaints": "[[complaints]]\nword = 'muddy'\n" * 3_300,
    "assumed": "[[assumed]]\npath = 'a'\nvalue = 'b'\n" * 2_400,
    "quotes that do not end": '"""' + '\\"""' * 200_000,
    "one list": "symptoms = [" + "'a'," * 5_000 + "]\n",
    "brackets": "a = " + "[" * 500_000,
}
"""Texts that cost most where each is checked by itself; none is larger than 1 MiB."""


def main() -> int:
    """Run the trials; exit code 1 when one ended badly."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=4000)
    found, bad = trials(parser.parse_args().count)
    for (kind, end), number in sorted(found.items()):
        print(f"{kind:22} {end:8} {number:5}")
    for kind, end, data in bad[:20]:
        print(f"BAD {kind}: {end}\n{data[:400]!r}")
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main())
