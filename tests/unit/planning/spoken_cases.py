"""Phrases of `tests/fixtures/spoken` and the short form in which they and what was read are compared."""

from dataclasses import fields
from functools import cache
from pathlib import Path

from polepiece.errors import InputError
from polepiece.guitar.file.guitar_file import parse_guitar
from polepiece.guitar.records import Guitar
from polepiece.planning.complaints import read_complaint
from polepiece.planning.constraints import Constraints, parse_constraints
from polepiece.planning.faults import FAULT_OF
from polepiece.planning.spoken import Item, Reading
from tests.unit.planning.double_bench import guitar

FOLDER = Path(__file__).parents[2] / "fixtures" / "spoken"
TWO = guitar()
_ONE = '[[pickups]]\nname = "{0}"\nposition = "{0}"\nconstruction = "rod-single"\nmagnet.grade = "alnico-5"\n'
THREE = parse_guitar('name = "three"\n' + "".join(_ONE.format(one) for one in ("neck", "middle", "bridge")))


def cases(file: str) -> list[tuple[str, str]]:
    """Return (what is said, what it must be read as) of a file, without those that are marked as not read yet."""
    lines = [one.strip() for one in (FOLDER / file).read_text("utf-8").splitlines()]
    pairs = [one.split(" | ") for one in lines if one and not one.startswith(("#", "?"))]
    return [(said.strip(), wanted.strip()) for said, wanted in pairs]


def not_read_yet(file: str) -> int:
    """Return how many phrases of a file are marked as not read yet."""
    return sum(one.startswith("?") for one in (FOLDER / file).read_text("utf-8").splitlines())


def of_guitar(said: str) -> tuple[str, Guitar]:
    """Return the phrase and the guitar it is said of."""
    return (said.removeprefix("3:").strip(), THREE) if said.startswith("3:") else (said, TWO)


@cache
def reading_of(said: str) -> Reading | str:
    """Return how a complaint is read, or the error that says why it is not; read once for all that is asked of it."""
    text, of = of_guitar(said)
    try:
        return read_complaint(text, of)
    except InputError as error:
        return str(error)


def complaint_code(said: str) -> str:
    """Return what a complaint is read as: "neck muddy 2 + bridge !open", "-" for nothing to do, "refused"."""
    reading = reading_of(said)
    if isinstance(reading, str):
        return "refused" if "is not a complaint word" in reading else "none"
    found = {_coded(one) for one in reading.items if one.word is not None}
    for where in {one.split()[0] for one in found}:
        thin = {one for one in found if one.startswith((f"{where} thin ", f"{where} weak "))}
        if thin and f"{where} !hum" in found:  # the gate adds the two up
            found = found - thin - {f"{where} !hum"} | {f"{where} !thin hum"}
    return in_order(" + ".join(found)) or "-"


def _coded(item: Item) -> str:
    assert item.word is not None
    where = (item.target.position or item.target.pickup or "guitar").replace(" ", "-")
    name = item.word.name
    if item.sudden:
        return f"{where} !sudden"
    if item.word.kind == "fault":
        return f"{where} !{FAULT_OF[name].key}"
    name = f">{item.word.other}" if item.word.other else "pair" if item.word.kind == "pair" else name
    return f"{where} {name} {item.strength}"


def in_order(code: str) -> str:
    """Return a code with its parts in order."""
    return " + ".join(sorted(code.split(" + ")))


def limit_code(said: str) -> str:
    """Return what limits are read as: fields and values, "-" where nothing is to be held, "refused"."""
    try:
        found = parse_constraints([said], TWO)
    except InputError:
        return "refused"
    out = []
    for one in fields(found):
        value = getattr(found, one.name)
        if one.name in ("texts", "readings", "prices") or value == getattr(Constraints(), one.name):
            continue
        out += _limit(one.name.replace("keep_in_phase", "in_phase"), value)
    return " ".join(sorted(out)) or "-"


def _limit(name: str, value: object) -> list[str]:
    if value is True:
        return [name]
    if name == "not_louder" and isinstance(value, tuple):
        return [f"{name}={a}>{b}" for a, b in value]
    if isinstance(value, tuple):
        return [f"{name}={','.join(sorted(set(value)))}"]
    return [f"{name}={value:g}" if isinstance(value, float) else f"{name}={value}"]
