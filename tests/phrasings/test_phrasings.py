"""Sayings that were written down before the word lists were read: every one is understood as a bench would.

A line: what is said, the example guitar, complaints, faults and limits that it holds. Of a complaint or fault any of
the words divided by "|" will do, each a part of the name that the tables use; an empty pickup is any.
"""

from functools import cache
from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Guitar, read_guitar
from polepiece.planning import parse_constraints, read_complaints, said_both, understanding
from tests.tables import every

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples"


@cache
def example_of(name: str) -> Guitar:
    """Return an example guitar, read once for all sayings about it."""
    return read_guitar(EXAMPLES / f"{name}.guitar.toml")


OTHER_WORDS = {  # of the bench, and of the tables
    "does not match": ("do not match", "louder"), "too hot": ("too hot", "louder"), "bend": ("bends",),
    "coil": ("coil", "dead pickup"), "hum": ("hum", "buzz", "radio"), "dark when down": ("dark when",),
    "intermittent": ("cuts out",), "uneven": ("uneven", "string"), "split thin": ("split",), "stiff": ("sterile",),
    "switch": ("cuts out", "switch"), "half": ("hum",),
}  # fmt: skip
LIMITS = {
    "buy nothing": "bought", "no solder": "solder", "leave bridge": "left alone", "keep pots": "kept",
    "collectable": "reversible", "keep phase": "phase", "not louder": "louder", "time": "no longer",
    "level": "level|output",
    "no opening": "open", "owned only": "owned", "cost": "at most", "humbucking": "hum",
}  # fmt: skip


def lines() -> list[tuple[str, ...]]:
    out = []
    for name in ("first_hundred.tsv", "second_sixty.tsv"):
        for line in (HERE / name).read_text(encoding="utf-8").splitlines():
            if line and not line.startswith("#"):
                out.append(tuple((line + "\t" * 5).split("\t")[:5]))
    return out


def matched(wanted: str, found: list[tuple[str, str]]) -> bool:
    """Whether every item that is wanted is there, and no other."""
    left = list(found)
    for one in filter(None, wanted.split(";")):
        pickup, _, words = one.partition(":")
        names = [name for word in words.split("|") for name in OTHER_WORDS.get(word, (word,))]
        hit = next(
            (
                item for item in left
                if (pickup in ("", "both") or item[0] in (pickup, "")) and any(name in item[1] for name in names)
            ),
            None,
        )  # fmt: skip
        if hit is None:
            return False
        left = [item for item in left if item[1] != hit[1]]
    return not left


@every(lines())
def test_a_saying_is_understood(said: str, example: str, complaints: str, faults: str, limits: str) -> None:
    guitar = example_of(example)
    told, kept = said_both([said], [], guitar)
    if not complaints and not faults:
        with pytest.raises(InputError):
            read_complaints(told or [], guitar)
        return
    found = understanding(read_complaints(told or [], guitar), parse_constraints(kept, guitar).readings)
    here = [(one["pickup"] or "", one["word"]) for one in found["complaints"]]
    broken = [(one["pickup"] or "", one["fault"]) for one in found["faults"]]
    if "hollow" in complaints and not here:  # the gate answers it
        complaints, faults = "", complaints
    assert matched(complaints, here), here
    assert matched(faults, broken), broken
    words = " ".join(found["constraints"])
    assert all(any(one in words for one in LIMITS[limit].split("|")) for limit in filter(None, limits.split(";")))
