"""``polepiece demo``: the main job on an invented guitar."""

from pathlib import Path

from polepiece.cli import grades
from polepiece.cli.console import console
from polepiece.cli.envelope import emit, envelope
from polepiece.cli.options import Json, Seed
from polepiece.cli.progress import working

NAME = "demo"
GUITAR = Path(__file__).with_name("demo.guitar.toml")


def command(seed: Seed = 0, json: Json = False) -> None:
    """The main job on an invented guitar: from a complaint to numbers.

    Example: polepiece demo
    """
    from polepiece.voicing import compare_grades, read_guitar

    guitar = read_guitar(GUITAR)
    complaint = guitar.complaints[0]
    unit = guitar.pickup(complaint.pickup or guitar.pickups[0].name)
    with working("computing grades") as progress:
        found = compare_grades(guitar, unit.name, seed=seed, progress=progress)
    if json:
        emit(envelope(NAME, guitar, grades.as_body(found, ()), seed=seed))
        return
    screen = console()
    screen.print(f"{guitar.name}: the {unit.name} pickup is called {complaint.word}.")
    grades.show(screen, found)
