"""``polepiece pool``: ledgers of many guitars as constants of grades, steel and charge, beside the published ones."""

import datetime
import os
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, Replace
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.errors import InputError
from polepiece.which_constants import VARIABLE

if TYPE_CHECKING:
    from polepiece.evidence import Pooled, Proven
    from polepiece.notebook import Notebook

NAME = "pool"
BESIDE = "-pooled.json"
OWN = "own"
UNITS = {"remanence": ("T", 1.0), "coercivity": ("kA/m", 1e-3), "energy_product": ("kJ/m3", 1e-3),
         "recoil_permeability": ("", 1.0)}  # fmt: skip


def pooled_beside(notebook: str | None) -> Path:
    """Return where the pooled constants of a notebook lie."""
    from polepiece.notebook import beside, notebook_path

    path = beside(notebook_path(notebook))
    return path.with_name(f"{path.name}{BESIDE}")


def use_constants(which: str | None) -> None:
    """Take these constants from here on, child processes too; say so where they are not the published ones."""
    if which is None and VARIABLE not in os.environ:
        return
    from polepiece.materials import PUBLISHED, constants_words  # half a second of numerical libraries

    if which is not None:
        named = which.strip()
        if named == "pooled":
            named = str(pooled_beside(None))
        os.environ[VARIABLE] = named
    if (words := constants_words()) != PUBLISHED:
        typer.echo(f"Constants in use: {words}.", err=True)


def command(
    archive: Annotated[
        list[str] | None,
        typer.Argument(metavar="[ARCHIVE]...", help="Archives of other benches, each one bench; beside the notebook."),
    ] = None,
    out: Annotated[
        str | None, typer.Option("--out", "-o", metavar="FILE.json", help="Default: beside the notebook.")
    ] = None,
    date: Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO; default today.")] = None,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Pool the ledgers of the notebook, and of archives, into constants of grades, steel and charge.

    The published constants are where it starts from and stay the default; what was pooled is used by
    polepiece --constants pooled predict ... (or a file), and every answer says so.

    Example: polepiece pool bench-two.zip bench-three.zip
    """
    from polepiece.cli.lines import date_of
    from polepiece.evidence import pool

    where = pooled_beside(notebook) if out is None else Path(out)
    if out is not None:
        if where.suffix.lower() != ".json":
            raise InputError(f"--out is {out!r}; the record is JSON: give a name that ends in .json.")
        writable("--out", out, inputs=list(archive or []), replace=replace)
    when = date_of(date) if date else datetime.date.today().isoformat()
    with working("reading ledgers"):
        proven = [*_own(notebook), *(one for file in archive or [] for one in _of_archive(file))]
    with working("taking every reading apart"):
        found = pool(proven, date=when)
    import json as jsons

    write_whole(where, jsons.dumps(found.constants.to_dict(), indent=1, allow_nan=False) + "\n")
    if json:
        emit(plain_envelope(NAME, _body(found) | {"file": str(where)}))
        return
    show(found)
    use = "pooled" if out is None and notebook is None else str(where)
    console().print(
        f"Written: {where}\nTo use them: polepiece --constants {use} predict ...", soft_wrap=True, markup=False
    )


def _own(notebook: str | None) -> "list[Proven]":
    from polepiece.notebook import may_be_there, notebook_path, read_notebook

    if not may_be_there(notebook_path(notebook)):
        return []
    with read_notebook(notebook) as book:
        return _proven(book, OWN)


def _of_archive(file: str) -> "list[Proven]":
    """Return the ledgers of an archive, through a notebook that is gone afterwards."""
    from polepiece.notebook import import_archive, open_notebook

    with TemporaryDirectory(prefix="polepiece-pool-") as folder, open_notebook(Path(folder) / "one.sqlite") as book:
        import_archive(book, Path(file))
        return _proven(book, Path(file).name)


def _proven(book: "Notebook", bench: str) -> "list[Proven]":
    """Return ledgers with the guitars before their changes; one whose state does not read back is passed over."""
    from polepiece.errors import PolepieceError
    from polepiece.evidence import Proven
    from polepiece.measure import readable_ledgers

    out = []
    for note in book.ledgers(last=True):
        for ledger in readable_ledgers([note.body]):
            try:
                guitar = _before(book, note.state_id, ledger.pickup, ledger.change)
            except PolepieceError:
                continue
            if guitar is not None:
                out.append(Proven(bench=bench, guitar=guitar, ledger=ledger))
    return out


def _before(book: "Notebook", state_id: int | None, pickup: str, change: tuple[str, ...]) -> Any:
    """Return the guitar before a change: the state its ledger was kept with, or the one before that.

    A ledger may be kept before the change is recorded or after it.
    """
    from polepiece.moves import apply, parse_changes

    if state_id is None:
        return None
    state = book.state(state_id)
    guitar = book.state_guitar(state_id)
    if state.parent_id is None:
        return guitar
    earlier = book.state_guitar(state.parent_id)
    if [one.name for one in earlier.pickups] != [one.name for one in guitar.pickups]:
        return guitar
    made = apply(earlier, pickup, parse_changes(change)).pickup(pickup).magnet
    here = guitar.pickup(pickup).magnet
    done = (made.grade, made.flipped) == (here.grade, here.flipped)
    moved = any(one.startswith("magnet=") for one in change) and earlier.pickup(pickup).magnet.grade != here.grade
    return earlier if done and moved else guitar


def _body(found: "Pooled") -> dict[str, Any]:
    steel = found.steel
    return {
        "constants_pooled": found.constants.to_dict(), "words": found.constants.words,
        "left_out": found.observed.left_out,
        "tau": found.grades.tau, "charge": found.constants.charge,
        "grades": {g: {"bars": one.bars, "mean_deviates": list(one.mean)} for g, one in found.grades.grades.items()},
        "steel": None if steel is None else {"pickups": steel.pickups, "deviate": steel.next_pickup},
    }  # fmt: skip


def show(found: "Pooled") -> None:
    """Print what was pooled beside what is published."""
    from polepiece.guitar import grade_words
    from polepiece.materials import catalogue

    screen, made = console(), found.constants
    rows = []
    for slug, grade in made.grades.items():
        stuff = catalogue.magnet(slug)
        for key, (unit, factor) in UNITS.items():
            stated = getattr(stuff, key)
            ends = stuff.spread.get(key, (stated, stated))
            rows.append((grade_words(slug), f"{key.replace('_', ' ')} {unit}".strip(), _span((stated, *ends), factor),
                         _span(grade.constants[key], factor), grade.bars))  # fmt: skip
    heads = ("grade", "constant", "published [90 %]", "pooled, next bar [90 %]", "bars")
    screen.print(table(made.words, heads, rows, left=2))
    screen.print(f"Bars of a grade differ by {found.grades.tau:.2f} of the published spread.", soft_wrap=True)
    if made.steel is not None:
        stated = catalogue.steel("1010")
        ends = stated.spread["reversible_permeability"]
        screen.print(
            f"Reversible permeability of pickup steel: {_span(made.steel)}; published "
            f"{_span((stated.reversible_permeability, *ends))}.", soft_wrap=True, markup=False,
        )  # fmt: skip
    if made.charge is not None:
        screen.print(f"Field of bars charged outside, over the computed one: {_span(made.charge)}.", markup=False)
    else:
        screen.print("Charge: not told apart from the grades; no bar that is known to be charged in place was read "
                     "beside others.", soft_wrap=True)  # fmt: skip
    for why, count in found.observed.left_out.items():
        screen.print(f"{count} left out: {why}.", soft_wrap=True)


def _span(one: tuple[float, float, float], factor: float = 1.0) -> str:
    value, low, high = (f"{factor * each:.3g}" for each in one)
    return f"{value} [{low}..{high}]"
