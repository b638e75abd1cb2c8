"""What can be wrong with entries: JSON, dates, fields, references, histories, guitar files."""

import json
from collections.abc import Iterator
from typing import Any

from polepiece.notebook.limits import MOST_DEPTH
from tests.unit.notebook.hostile import TURNED, Make, head, line, order, raw_line, sealed, text
from tests.unit.notebook.test_archive import NOBODY


def of_json() -> Iterator[tuple[str, Make]]:
    inside = {
        "NaN": '"rows":NaN',
        "infinity": '"rows":Infinity',
        "a key twice": '"rows":1,"rows":2',
        "half a character": '"rows":"\\ud800"',
        "too deep": '"rows":' + "[" * (MOST_DEPTH + 1) + "]" * (MOST_DEPTH + 1),
        "far too deep": '"rows":' + "[" * 100_000 + "]" * 100_000,
        "objects too deep": '"a":' * 1 + '{"a":' * 400 + "1" + "}" * 400,
        "a number too long": '"rows":' + "9" * 5000,
        "a comma too many": '"rows":1,',
        "single quotes": "'rows':1",
        "a comment": '"rows":1/*x*/',
        "a control": '"rows":"\x01"',
    }
    for what, words in inside.items():
        yield what, raw_line(lambda one, words=words: one.replace('"body":{"rows":[]}', f'"body":{{{words}}}'))
    for what, change in {
        "empty": lambda one: "",
        "a list": lambda one: f"[{one}]",
        "a text": json.dumps,
        "two objects": lambda one: one + one,
        "cut": lambda one: one[:-3],
        "a line end inside": lambda one: one[:9] + "\n" + one[9:],
        "a mark before it": lambda one: "\ufeff" + one,
        "half characters": lambda one: one[:-1] + ',"\ud800":1}',
        "key twice": lambda one: one[:-1] + ',"kind":"note"}',
        "null": lambda one: "null",
    }.items():
        yield f"line: {what}", raw_line(change)
    yield "lines without an end", sealed(lambda one: one | {"entries.jsonl": one["entries.jsonl"][:-1]})
    yield "lines that are no UTF-8", sealed(lambda one: one | {"entries.jsonl": b"\xff\n"})


def of_dates() -> Iterator[tuple[str, Make]]:
    for at in (
        None,
        0,
        "",
        "2026-03-03",
        "2026-03-03T09:00:00Z",
        "2026-03-03T09:00:00.000000Z",
        "2026-03-03T09:00:00.000000",
        "2026-03-03T09:00:00.000000+01:00",
        "0001-01-01T00:00:00.000000+00:00",
        "9999-12-31T23:59:59.999999+00:00",
        "1969-12-31T23:59:59.999999+00:00",
        "2200-01-01T00:00:00.000000+00:00",
        "2026-02-30T09:00:00.000000+00:00",
        "2026-03-03T24:00:00.000000+00:00",
        "-2026-03-03T09:00:00.000000+00:00",
        "2026-W10-2",
        "20260303T090000",
        "2026-03-03T09:00:00.000000+00:00 ",
        "２０２６-03-03T09:00:00.000000+00:00",
        "9" * 100_000,
        ["x"],
        True,
    ):
        yield f"at {at!r:.40}", line("note", at=at)


def of_fields() -> Iterator[tuple[str, Make]]:
    wrong: dict[str, dict[str, tuple[Any, ...]]] = {
        "state": {
            "act": (None, "", "rewrite", 1, ["entry"]),
            "why": (None, "", " ", 1, "x" * 501, TURNED + "x", ...),
            "provenance": (None, [], "x"),
        },
        "part": {
            "part": (
                None,
                [],
                {},
                {"kind": "engine"},
                {"kind": "bar", "more": 1},
                {"kind": "bar", "price": "NaN"},
                {"kind": "bar", "length_mm": 1e9},
                {"kind": ["bar"]},
            )
        },
        "retirement": {"why": (None, "", 1, "a\0b")},
        "job": {
            "complaints": (None, "", 1, "x" * 20_001),
            "constraints": (None, 1),
            "customer": (1, "", "x" * 501),
            "number": (1, " "),
        },
        "job-event": {"what": (None, "bribe"), "words": (None, "", ["x"]), "body": ([], 1, "x")},
        "prediction": {"change": (None, "", 1), "result": (None, [], "x"), "provenance": (None, 1)},
        "note": {"sort": (None, "gossip", 1), "text": (None, "", 1, "x" * 20_001, "a\0b", "\u2066x"), "body": ([], 1)},
        "sound": {"sha256": (None, 1, "", "0" * 63, "0" * 64, "../x", "F" * 64), "label": (None, "", 1, "x" * 501)},
        "branch-choice": {"why": (None, "", 1)},
    }
    for kind, fields in wrong.items():
        for name, values in fields.items():
            yield from ((f"{kind} {name} {value!r:.30}", line(kind, **{name: value})) for value in values)
        yield f"{kind} with more", line(kind, more=1)
        yield f"{kind} without its uuid", line(kind, uuid=...)
    for value in (None, 1, "", "x", NOBODY + "0", NOBODY.replace("0", "A")):
        yield f"uuid {value!r}", line("note", uuid=value)
    for value in (1, "", "x", NOBODY, []):
        yield f"guitar {value!r}", line("note", guitar=value)
    for value in (None, "", "virus", "Entry", ["note"], {"a": 1}, 0):
        yield f"kind {value!r}", line("note", kind=value)


def of_references() -> Iterator[tuple[str, Make]]:
    for kind, name in (
        ("job", "state"),
        ("job-event", "job"),
        ("prediction", "state"),
        ("note", "state"),
        ("sound", "state"),
        ("retirement", "part"),
        ("branch-choice", "state"),
        ("state", "parent"),
    ):
        for value in (NOBODY, 1, "", []):
            yield f"{kind} {name} {value!r}", line(kind, **{name: value})
    yield "an entry twice", order(lambda lines: [*lines, lines[-1]])
    yield "the whole twice", order(lambda lines: lines * 2)
    yield "turned round", order(lambda lines: lines[::-1])
    yield "no entries", order(lambda lines: [])
    yield "states alone are missing", order(lambda lines: [one for one in lines if one["kind"] != "state"])
    yield "of no guitar", line("state", guitar=None)
    yield "a choice of no guitar", line("branch-choice", guitar=None)
    yield (
        "a note on a job",
        order(
            lambda lines: [
                one | {"state": next(two["uuid"] for two in lines if two["kind"] == "job")}
                if one["kind"] == "note"
                else one
                for one in lines
            ]
        ),
    )


def of_chains() -> Iterator[tuple[str, Make]]:
    for place in range(5):
        yield (
            f"state {place} follows nothing",
            line("state", place, parent=None) if place else line("state", 0, act="record"),
        )
        yield (
            f"state {place} taken away",
            order(
                lambda lines, place=place: [
                    one for one in lines if one is not [two for two in lines if two["kind"] == "state"][place]
                ]
            ),
        )
    for place, act in (
        (0, "undo"),
        (0, "redo"),
        (1, "entry"),
        (1, "undo"),
        (1, "redo"),
        (2, "record"),
        (2, "redo"),
        (2, "entry"),
        (3, "record"),
        (3, "undo"),
        (4, "entry"),
        (4, "undo"),
        (4, "redo"),
    ):
        yield f"state {place} by {act}", line("state", place, act=act)
    for place in (1, 2, 3):
        yield (
            f"state {place} restores itself",
            order(
                lambda lines, place=place: [
                    one | {"restores": one["uuid"]}
                    if one is [two for two in lines if two["kind"] == "state"][place]
                    else one
                    for one in lines
                ]
            ),
        )
        yield f"state {place} restores nothing", line("state", place, restores=None if place != 1 else NOBODY)
    for place in (2, 3):
        yield f"state {place} brings back something else", text(lambda data: data + b"\n# more\n", place=place)
    yield "a branch under the first schema", head(schema="polepiece/archive/1")


def of_guitar_files() -> Iterator[tuple[str, Make]]:
    for what, words in {
        "nothing": b"",
        "not TOML": b"not = [toml",
        "no UTF-8": b"\xff",
        "no guitar": b"x = 1\n",
        "NUL": b"\0",
        "joined names": b"a" + b".a" * 100_000 + b" = 1",
        "brackets": b"a = " + b"[" * 100_000,
        "a page": b"<html>",
        "larger than 1 MiB": b"#" * (1024 * 1024 + 1),
        "writing turned round": "name = '\u202ex'".encode(),
        "unknown keys": b"".join(b"k%d = 1\n" % k for k in range(9_000)),
    }.items():
        yield f"a guitar file with {what}", text(lambda data, words=words: words)
