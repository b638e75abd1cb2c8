"""One more grade, lever, complaint word and page, each written into a temporary copy as CONTRIBUTING says.

Only the files that the table there names are touched; what must know the new one is then asked in a process of its own.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
GUITAR = ROOT / "examples" / "demo.guitar.toml"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Return a copy of the package to write into."""
    shutil.copytree(ROOT / "src" / "polepiece", tmp_path / "polepiece", ignore=shutil.ignore_patterns("*.nb?"))
    return tmp_path / "polepiece"


def write(copy: Path, file: str, before: str, text: str) -> None:
    """Put ``text`` before the only place where ``before`` stands."""
    path = copy / file
    old = path.read_text("utf-8")
    assert old.count(before) == 1, f"{before!r} stands {old.count(before)} times in {file}"
    path.write_text(old.replace(before, text + before), "utf-8")


def asked(copy: Path, code: str) -> str:
    """Return what a program prints that imports the copy."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(copy.parent), str(ROOT)))}
    run = subprocess.run(
        [sys.executable, "-c", f"GUITAR = {str(GUITAR)!r}\n{code}"], capture_output=True, text=True, env=environment,
        check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr[-2000:]
    return run.stdout


def promised(what: str) -> set[str]:
    """Return the files that the table in CONTRIBUTING names for one more of this."""
    row = re.search(rf"^\| {what} \|([^|]*)\|", (ROOT / "CONTRIBUTING.md").read_text("utf-8"), re.MULTILINE)
    assert row is not None, f"no row for {what}"
    return {name for name in re.findall(r"`([^`]+)`", row[1]) if not name.startswith("scripts/")}


def touched(copy: Path) -> set[str]:
    """Return the files of the copy that differ from the package."""
    here = ROOT / "src" / "polepiece"
    names = (path.relative_to(copy) for path in copy.rglob("*") if path.suffix in (".py", ".toml"))
    return {
        str(name)
        for name in names
        if not (here / name).exists() or (here / name).read_bytes() != (copy / name).read_bytes()
    }


def test_a_grade(copy: Path) -> None:
    table = (copy / "materials/data/magnets.toml").read_text("utf-8")
    made = re.search(r'\[\[grade\]\]\nslug = "alnico-4"\n.*?(?=\n\[\[grade\]\]\n)', table, re.DOTALL)
    assert made is not None
    other = made[0].replace('"alnico-4"', '"alnico-44"').replace('"Alnico 4"', '"Alnico 44"')
    (copy / "materials/data/magnets.toml").write_text(f"{table}\n{other}\n", "utf-8")
    write(copy, "materials/pickup_bars.py", '"ceramic-8")\n"""Grades that a plan tries', '"alnico-44", ')
    said = asked(
        copy,
        """
from polepiece import guitar_schema, parse_change, parse_constraints, read_guitar
from polepiece.bench import grade_slugs
from polepiece.guitar import grade_words
from polepiece.planning.candidates import enumerate_candidates
guitar = read_guitar(GUITAR)
tried = {one.bar for one in enumerate_candidates(guitar, "neck", parse_constraints([])).candidates}
print(parse_change("magnet=alnico-44").value, "alnico-44" in grade_slugs(), "alnico-44" in tried)
print(grade_words("alnico-44"), "alnico-44" in str(guitar_schema()))
""",
    )
    assert said == "('alnico-44', None) True True\nAlnico 44 True\n"
    assert touched(copy) == promised("grade")


def test_a_lever(copy: Path) -> None:
    write(copy, "moves/lever_acts.py", "def check_gaps(", '''\
def level_body(guitar: Guitar, place: int, _: Value) -> Guitar:
    """Bring both sides to their mean gap."""
    pickup = guitar.pickups[place]
    mean = 0.5 * (pickup.gap_bass + pickup.gap_treble)
    return with_pickup(guitar, place, gap_bass=mean, gap_treble=mean)


''')  # fmt: skip
    write(copy, "moves/levers.py", '    _screw("screws"),\n', '''\
    Lever(
        key="level", kind="height", read=values.one_of("yes"), act=acts.level_body, direction="level", to=_to_gaps,
        free=True, example="level=yes", tries=("yes",),
    ),
''')  # fmt: skip
    said = asked(
        copy,
        """
from polepiece import apply, parse_changes, parse_complaints, make_plan, read_guitar
from polepiece.planning.candidates import tasks_of, enumerate_candidates
from polepiece.planning.constraints import parse_constraints
from polepiece.planning.words import hangs_on
from polepiece.report.worksheet.steps import KINDS
guitar = read_guitar(GUITAR)
changes = parse_changes(["level=yes"])
after = apply(guitar, "neck", changes).pickup("neck")
found = enumerate_candidates(guitar, "neck", parse_constraints([])).candidates
task, = tasks_of(guitar, "neck", changes)
print(after.gap_bass == after.gap_treble, any(one.texts == ("level=yes",) for one in found), task.free, task.to)
print(KINDS[task.kind].strings_on)
""",
    )
    assert re.fullmatch(r"True True True gap bass ([\d.]+) mm, treble \1 mm\nTrue\n", said)
    assert touched(copy) == promised("lever")


def test_a_complaint_word(copy: Path) -> None:
    path = copy / "planning/complaint_words.py"
    path.write_text(path.read_text("utf-8").replace("WORDS: tuple[Word, ...] = (\n", '''\
WORDS: tuple[Word, ...] = (
    Word(
        name="woodenish", synonyms=("like a plank",), means="mids up, little top",
        aims={"mids": -1.0, "presence": 0.5},
        stands_for="the balance of the bands", first=("lower=0.3mm",), first_words="a little lower",
        causes=("strings",),
    ),
'''), "utf-8")  # fmt: skip
    said = asked(
        copy,
        """
from polepiece import make_plan, parse_complaints
from polepiece.app.plan.form import WORDS as ON_THE_PAGE
from tests.unit.planning.double_bench import DoubleBench, guitar
here = guitar()
told = parse_complaints(["neck: like a plank"], here)
plan = make_plan(here, DoubleBench(), told)
print(told[0].word, "woodenish" in [one.name for one in ON_THE_PAGE], len(plan.rows) > 1)
""",
    )
    assert said == "like a plank True True\n"
    assert touched(copy) == promised("complaint word")


def test_a_page(copy: Path) -> None:
    (copy / "app/pages/shelf.py").write_text('''\
"""Shelf: one more page."""

from nicegui import ui

from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.place import Place

PAGE = Place(path="/shelf", title="Shelf", about="one more")


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def shelf(guitar: str = "", pickup: str = "") -> None:
        with theme.frame(PAGE, Desk.at(guitar, pickup)):
            ui.label("on the shelf")
''', "utf-8")  # fmt: skip
    path = copy / "app/pages/__init__.py"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("    prove,\n", "    prove,\n    shelf,\n").replace("drawer, learned,", "drawer, learned, shelf,")
    )
    said = asked(
        copy,
        """
from nicegui import app
from polepiece.app.server.main import compose
from polepiece.app.widgets import theme
compose(hosts=["localhost"], token=None)
print([one.title for one in theme.LINKED][-1], "/shelf" in [getattr(route, "path", "") for route in app.routes])
""",
    )
    assert said == "Shelf True\n"
    assert touched(copy) == {"app/pages/shelf.py", "app/pages/__init__.py"}
    assert promised("page") == {"app/pages/NAME.py", "app/pages/__init__.py"}
