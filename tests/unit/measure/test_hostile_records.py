"""Records of measurements and trials with a value of the wrong kind in every place: read whole, or refused in words."""

import copy
import json
import random
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from polepiece.errors import PolepieceError
from polepiece.measure import (
    BlindTrial,
    PluckRecord,
    PreferencePlan,
    TrialPlan,
    answers_csv,
    read_record,
    read_signal,
    result_of,
    sweep_for,
    trial_reader,
)
from tests.unit.measure.test_blind import played_through
from tests.unit.measure.test_preference import listened as preferred
from tests.unit.measure.test_threshold import listened

HERE = "@@here@@"
WRONG = (
    "null", "true", "-1", "0", "1e308", "-1e308", "1e400", "NaN", "-Infinity", '""', '"x"', "[]", "{}", "[[]]",
    "[null]", '{"a": 1}',
    "1" + "0" * 400, "9" * 5000, "[" * 100_000, "[" * 3000 + "]" * 3000, '{"a":' * 3000 + "1" + "}" * 3000,
    '"' + "y" * 200_000 + '"', '"\\ud800"', '"\\u0000"', '"\\u001b[31m"', "[1e400]", '"2026-99-99"', '"nan"', "1e-320",
)  # fmt: skip
LEVEL = {"name": "level_db", "value": -0.6, "low": -0.9, "high": -0.3, "unit": "dB", "told": True}


def trial(path: Path) -> None:
    body, _ = read_record(path, "a listening trial")
    found = trial_reader(body.get("schema"))(body)
    if found.over:
        result_of(found)
        answers_csv(found).encode()


def plucks(path: Path) -> None:
    for one in PluckRecord.from_dict(read_record(path, "plucks")[0]).estimates:
        f"{one.name} {one.unit}".encode()


def bodies() -> dict[str, tuple[dict[str, Any], Callable[[Path], object]]]:
    heard = played_through(BlindTrial(plan=TrialPlan(), seed=4, date="2026-11-27"), right=7)
    states = {"a": 0.0, "b": 1.0, "c": 2.0}
    return {
        "signal": ({"schema": "polepiece/sweep-signal/1"} | sweep_for(48000).to_dict(), read_signal),
        "is it heard": (heard.to_dict(), trial),
        "preferences": (preferred(states, PreferencePlan(states=tuple(states)), 1).to_dict(), trial),
        "the least": (listened(1.0, 1.0, 3).to_dict(), trial),
        "plucks": ({"schema": "polepiece/pluck-comparison/1", "estimates": [LEVEL]}, plucks),
    }  # fmt: skip


def places(body: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield way
    inside = body.items() if isinstance(body, dict) else list(enumerate(body))[:2] if isinstance(body, list) else ()
    for key, one in inside:
        yield from places(one, (*way, key))


def with_wrong(body: dict[str, Any], way: tuple[Any, ...], wrong: str) -> str:
    if not way:
        return wrong
    changed = copy.deepcopy(body)
    at: Any = changed
    for key in way[:-1]:
        at = at[key]
    at[way[-1]] = HERE
    return json.dumps(changed).replace(f'"{HERE}"', wrong)


@pytest.mark.parametrize("kind", bodies())
def test_a_wrong_value_anywhere_is_refused_in_words(kind: str, tmp_path: Path) -> None:
    body, read = bodies()[kind]
    path = tmp_path / "record.json"
    path.write_text(json.dumps(body))
    read(path)  # as it is, it is read
    refused = 0
    for way in places(json.loads(json.dumps(body))):
        for wrong in WRONG:
            path.write_text(with_wrong(body, way, wrong))
            try:
                read(path)
            except PolepieceError as error:
                refused += 1
                assert len(str(error)) < 700, (way, wrong[:40])
    assert refused > 100


@pytest.mark.parametrize("kind", bodies())
def test_damaged_bytes_are_refused_in_words(kind: str, tmp_path: Path) -> None:
    body, read = bodies()[kind]
    path, drawn, whole = tmp_path / "record.json", random.Random(kind), json.dumps(body).encode()
    for _ in range(200):
        damaged = bytearray(whole)
        for _ in range(drawn.randint(1, 4)):
            damaged[drawn.randrange(len(damaged))] = drawn.randrange(256)
        path.write_bytes(damaged[: drawn.randrange(len(damaged))] if drawn.random() < 0.3 else damaged)
        with suppress(PolepieceError):
            read(path)
