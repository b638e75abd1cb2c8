"""``polepiece new``: a guitar entered in the terminal, or by options, and written as a guitar file."""

import re
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.envelope import emit, envelope
from polepiece.cli.options import Json, NotebookFile, Replace
from polepiece.cli.output import writable, write_whole
from polepiece.errors import GuitarFileError, InputError

if TYPE_CHECKING:
    from polepiece.guitar import Guitar, Question, Slot

NAME = "new"
ENDING = ".guitar.toml"
PICKUP = (
    'One pickup, repeatable: "neck construction=humbucker magnet=A5 gap_bass=2.4 gap_treble=2.0 resistance=7.8k". '
    "Needed are the place and the construction; anything else may be left out or unknown."
)
_KEY = re.compile(r"\b([a-z_.]+)=")


def command(
    out: Annotated[str, typer.Argument(metavar="OUT", help="The guitar file to write, *.guitar.toml.")],
    name: Annotated[str | None, typer.Option("--name", metavar="TEXT", help="What you call the guitar.")] = None,
    pickup: Annotated[list[str] | None, typer.Option("--pickup", "-p", metavar="WORDS", help=PICKUP)] = None,
    strings: Annotated[
        str | None, typer.Option("--strings", metavar="SET", help='A set (10-46) or gauges: "10 13 17 26 36 46".')
    ] = None,
    tuning: Annotated[
        str | None, typer.Option("--tuning", metavar="NOTES", help='"drop D", or notes from string 1 on.')
    ] = None,
    scale: Annotated[
        str | None, typer.Option("--scale", metavar="L", help="Nut to saddle: 648 (mm) or 25.5in.")
    ] = None,
    control: Annotated[
        list[str] | None,
        typer.Option("--control", metavar="KEY=VALUE", help="volume_pot=250k, tone_pot=none, tone_cap=.022 ..."),
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Put it on record in the notebook as well.")] = False,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Enter a guitar: asked in the terminal as on the page, or given by options; whatever is not known stays open.

    Without --pickup every question is asked; an empty answer is "don't know". Faults are said at their question.

    Example: polepiece new mine.guitar.toml --name "Mine" --pickup "bridge construction=humbucker magnet=A5"
    """
    from polepiece.guitar import write_guitar

    writable("OUT", out, inputs=[notebook], replace=replace)
    if not out.endswith(".toml"):
        raise InputError(f"OUT is {out}; a guitar file ends in {ENDING}. Write {out}{ENDING}.")
    given = {"name": name, "strings": strings, "tuning": tuning, "scale_length": scale}
    answers = {attr: text for attr, text in given.items() if text is not None} | _controls(control or [])
    guitar = _by_options(answers, pickup) if pickup else _asked(answers)
    write_whole(out, write_guitar(guitar))
    number = _kept(guitar, notebook) if keep else None
    if json:
        emit(envelope(NAME, guitar, {"file": out, "name": guitar.name, "guitar": number}, seed=0))
        return
    typer.echo(f"{guitar.name}: written to {out}; {len(guitar.assumed)} values are assumed.")
    if number is not None:
        typer.echo(f"On record as guitar {number}.")
    typer.echo(f"Next: polepiece check {out}")


def _kept(guitar: "Guitar", notebook: str | None) -> int:
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        return book.add_guitar(guitar, why="entered").id


# ---------------------------------------------------------------- by options


def _controls(given: list[str]) -> dict[str, str]:
    out = {}
    for one in given:
        key, equals, value = one.partition("=")
        if not equals:
            raise InputError(f"--control {one}: write KEY=VALUE, such as volume_pot=250k.")
        out[_attr(key.strip(), "controls", "--control")] = value.strip()
    return out


def _attr(key: str, of: str, option: str) -> str:
    """Return the attribute that a key of an option stands for: that of the question with its last word."""
    from polepiece.guitar import QUESTIONS, SIZES

    asked = {one.attr.rpartition(".")[2]: one.attr for one in QUESTIONS if one.of == of}
    asked |= {one.attr: one.attr for one in QUESTIONS if one.of == of}
    if of == "pickup":
        asked |= {"magnet": "magnet.grade"} | {_size_key(one): one.attr for one in SIZES}
    if key not in asked:
        known = ", ".join(dict.fromkeys(one for one in asked if "." not in one))
        raise InputError(f"{option}: there is no {key!r}; it takes {known}. Anything else goes into the file by hand.")
    return asked[key]


def _size_key(one: "Question") -> str:
    """Return what a size is called as an option: its key in the file without the unit, that of a coil after it."""
    return f"coil_{one.line.stem}" if one.attr.startswith("coil.") else one.line.stem


def pickup_words(text: str) -> dict[str, str]:
    """Read "neck construction=humbucker magnet=alnico II gap_bass=2.4": a place, then keys with their values."""
    starts = list(_KEY.finditer(text))
    place = (text[: starts[0].start()] if starts else text).strip(" :,;")
    out = {"position": place} if place else {}
    for found, after in zip(starts, [*starts[1:], None]):
        end = len(text) if after is None else after.start()
        out[_attr(found[1], "pickup", "--pickup")] = text[found.end() : end].strip(" ,;")
    if "construction" not in out:
        raise InputError(f'--pickup "{text}" says no construction; write for example "{place or "neck"} '
                         'construction=humbucker magnet=A5".')  # fmt: skip
    return out


def _by_options(answers: Mapping[str, str], pickups: list[str]) -> "Guitar":
    from polepiece.guitar import Slot, entered, sentence_in_words, without_keys

    slots = [Slot(answers=pickup_words(one)) for one in pickups]
    found = entered(answers, slots)
    if found.guitar is None:  # nobody wrote a file: neither its paths nor its keys are what was typed
        raise GuitarFileError([without_keys(sentence_in_words(one.words, _called(slots))) for one in found.faults])
    return found.guitar


# ---------------------------------------------------------------- asked


def _asked(answers: dict[str, str]) -> "Guitar":
    """Ask everything that no option has said; a fault is said, and what it belongs to asked again."""
    from polepiece.guitar import MOST_ENTERED, OF_CONTROLS, OF_GUITAR, OF_PICKUP, Slot, entered

    if not sys.stdin.isatty() and not _answers_come():
        raise InputError("nothing was said of any pickup; give --pickup, or answer the questions in a terminal.")
    typer.echo("Enter leaves a question open: it is then assumed, and listed.")
    found = dict(answers)
    for one in [q for q in OF_GUITAR if not q.more and q.attr not in found]:
        found[one.attr] = _ask(one)
    slots: list[Slot] = []
    while len(slots) < MOST_ENTERED and (not slots or typer.confirm("One more pickup?", default=len(slots) < 2)):
        typer.echo(f"Pickup {len(slots) + 1}")
        slots.append(Slot(answers={one.attr: _ask(one) for one in OF_PICKUP if not one.more}))
    for one in [q for q in OF_CONTROLS if not q.more and q.attr not in found]:
        found[one.attr] = _ask(one)
    while True:
        done = entered(found, slots)
        if done.guitar is not None:
            return done.guitar
        slots = _again(done.faults, found, slots)


def _called(slots: "list[Slot]") -> list[str]:
    return [str(one.answers.get("position") or k) for k, one in enumerate(slots, 1)]


def _answers_come() -> bool:
    return not sys.stdin.closed


def _again(faults: Any, found: dict[str, str], slots: "list[Slot]") -> "list[Slot]":
    """Say the faults, and ask once more what they belong to.

    Raises
    ------
    GuitarFileError
        Where no question belongs to any of them.
    """
    from polepiece.guitar import QUESTIONS, Slot, question_at, sentence_in_words, without_keys

    asked = {one.attr: one for one in QUESTIONS}
    names = _called(slots)
    places = {(fault.path, *question_at(fault.path)): fault for fault in faults}
    if all(attr not in asked for _, attr, _ in places):
        raise GuitarFileError([one.words for one in faults])
    for (_, attr, place), fault in places.items():
        typer.echo(without_keys(sentence_in_words(fault.words, names)))
        if attr not in asked:
            continue
        if place is None:
            found[attr] = _ask(asked[attr])
        else:
            slots[place] = Slot(answers={**slots[place].answers, attr: _ask(asked[attr])})
    return slots


def _ask(one: "Question") -> str:
    words = one.words
    if words:
        typer.echo(f"{one.label}:")
        for place, (slug, said) in enumerate(words.items(), 1):
            typer.echo(f"  {place} {slug}" + ("" if said == slug.replace("-", " ") else f": {said}"))
        typed = str(typer.prompt("number or word", default="", show_default=False)).strip()
        slugs = list(words)
        return slugs[int(typed) - 1] if typed.isascii() and typed.isdigit() and 0 < int(typed) <= len(slugs) else typed
    return str(typer.prompt(f"{one.label} ({one.help})", default="", show_default=False)).strip()
