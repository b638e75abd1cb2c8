"""``polepiece demo``: the main job on an invented guitar, from its complaint to a report to open."""

import shutil
import time
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from polepiece.cli import grades, hear_words, plan
from polepiece.cli.console import console
from polepiece.cli.envelope import emit, envelope
from polepiece.cli.options import Json, Out, Replace, Seed
from polepiece.cli.output import Staging, made_here, staged
from polepiece.cli.progress import working
from polepiece.cli.row_lines import moves
from polepiece.cli.season import NAME as SEASON
from polepiece.cli.season import fill_season
from polepiece.cli.second import second_process
from polepiece.draw_counts import DRAWS

if TYPE_CHECKING:
    from rich.console import Console

    from polepiece.auditioning import Audition
    from polepiece.bench import Bench, Grades
    from polepiece.guitar import Guitar
    from polepiece.planning import Plan, Row
    from polepiece.report import Case
    from polepiece.trade import JudgedCell

NAME = "demo"
GUITAR = Path(__file__).with_name("demo.guitar.toml")
FOLDER = "polepiece-demo"
REPORT, COPY, BEFORE = "report.html", "demo.guitar.toml", "before.wav"
PLAYED = 3  # rows that are played, the first bar among them


def command(
    out: Out = FOLDER,
    replace: Replace = False,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """The main job on an invented guitar: complaint, plan, grades, sounds, a report, and a notebook of a whole season.

    What an earlier demo left in the folder is written again; a file of yours, or one that you changed, is not, unless
    --replace is given.

    Example: polepiece demo --out polepiece-demo
    """
    from polepiece.bench import Bench
    from polepiece.errors import InputError
    from polepiece.guitar import read_guitar, write_guitar

    begun = time.monotonic()
    guitar = read_guitar(GUITAR)
    pickup = guitar.pickup(guitar.complaints[0].pickup or guitar.pickups[0].name)

    def own(path: Path) -> bool:
        if path.name == COPY:
            with suppress(InputError):
                return read_guitar(path) == guitar
            return False
        return out == FOLDER or made_here(path)  # the folder that nobody named is the demo's own

    # a bad folder is refused before all the work
    names = [REPORT, COPY, BEFORE]
    with staged(out, names, inputs=[GUITAR], replace=replace, own=own) as staging, second_process() as executor:
        bench = Bench(seed=seed, exact_screws=False, executor=executor)
        found = plan.planned(guitar, None, None, draws=DRAWS, bench=bench)
        with working("computing every grade") as progress:
            compared, judged = _grades(guitar, pickup.name, bench, seed, progress)
        rows = played_rows(found)
        with working("making sounds and the report"):
            cases = [_case(guitar, pickup.name, row, bench, seed) for row in rows]
            _write(staging, guitar, pickup.name, found, compared, judged, cases, rows, bench, seed)
            staging.path(COPY).write_text(write_guitar(guitar), encoding="utf-8")
        season = Path(out) / SEASON
        if replace or not season.exists():  # one that is there may have been worked in
            with working("living through an invented season"):
                names += _season(staging)
    names += [*(f"{_stem(row)}.wav" for row in rows)]
    page = Path(out) / REPORT
    if json:
        body = {
            "complaint": [f"{one.pickup}: {one.word}" for one in found.complaints],
            "report": str(page),
            "folder": out,
            "files": names,
            "season": str(Path(out) / SEASON),
            "plan": plan.as_body(found),
            "grades": grades.as_body(compared, judged)["grades"],
            "sounds": [
                hear_words.audition_body(case.audition, Path(out)) for case in cases if case.audition is not None
            ],
            "seconds": round(time.monotonic() - begun, 1),
        }
        emit(envelope(NAME, guitar, body, seed=seed))
        return
    screen = console()
    screen.print(f"{guitar.name}: nothing here is a real instrument.", style="bold")
    plan.show(screen, found)
    grades.show(screen, compared)
    _say_sounds(screen, cases)
    screen.print(f"\nDone in {time.monotonic() - begun:.0f} s. Open the report (turn the playback level down first):")
    screen.print(str(page.resolve()), style="bold", soft_wrap=True)
    screen.print("The same guitar to work on in the browser: polepiece serve")
    where = Path(out) / SEASON
    screen.print(f"An invented season of jobs to look round in: polepiece serve --notebook {where}", soft_wrap=True)


def _season(staging: Staging) -> list[str]:
    """Write the notebook of the season, with the note of its end and its photos; return their names."""
    with TemporaryDirectory(prefix="polepiece-season-") as folder:
        made = Path(folder) / SEASON
        fill_season(made)
        names = [one.name for one in sorted(made.parent.iterdir()) if one.is_file()]
        for name in names:
            shutil.copyfile(made.with_name(name), staging.path(name))
        folder_of_photos = Path(f"{made}-photos")
        there = staging.destination / folder_of_photos.name  # named by their hashes: what is there already is the same
        shutil.copytree(folder_of_photos, there, dirs_exist_ok=True)
    return [*names, there.name]


def _grades(
    guitar: "Guitar", pickup: str, bench: "Bench", seed: int, progress: Any
) -> "tuple[Grades, tuple[JudgedCell, ...]]":
    from polepiece.bench import compare_grades
    from polepiece.trade import trade_verdicts

    compared = compare_grades(guitar, pickup, seed=seed, bench=bench, progress=progress)
    return compared, trade_verdicts(guitar, compared, bench=bench)


def played_rows(found: "Plan") -> "list[Row]":
    """Return the rows to play: the first ones, and the best bar even where it ranks lower."""
    able = [row for row in (*found.rows, *found.rest) if row.change and row.also is None]
    bars = [row for row in able if any(text.startswith("magnet=") for text in row.change)]
    bars.sort(key=lambda row: (row not in found.rows, len(row.change), -row.score))  # a bar by itself, the best one
    first = [row for row in able if row in found.rows and row not in bars[:1]][: PLAYED - len(bars[:1])]
    return sorted([*first, *bars[:1]], key=lambda row: row.rank)


def _stem(row: "Row") -> str:
    words = "-".join([*row.change, *([row.then] if row.then else [])])
    plain = "".join(letter if letter.isalnum() or letter == "." else "-" for letter in words)
    return f"after-{row.rank}-{plain.strip('-')}"


def _case(guitar: "Guitar", pickup: str, row: "Row", bench: "Bench", seed: int) -> "Case":
    from polepiece.auditioning import audition
    from polepiece.moves import apply, parse_changes
    from polepiece.report import Case

    changes = parse_changes([*row.change, *([row.then] if row.then else [])])
    sound: Audition = audition(guitar, pickup, changes, seed=seed, bench=bench)
    state = bench.state(apply(guitar, pickup, changes), pickup)
    return Case(name=f"{row.rank}: {moves(row)}", state=state, audition=sound)


def _write(
    staging: Staging,
    guitar: "Guitar",
    pickup: str,
    found: "Plan",
    compared: "Grades",
    judged: "tuple[JudgedCell, ...]",
    cases: "list[Case]",
    rows: "list[Row]",
    bench: "Bench",
    seed: int,
) -> None:
    from polepiece.report import guitar_report
    from polepiece.sound import write

    page = guitar_report(
        guitar,
        pickup,
        before=bench.state(guitar, pickup),
        plan=found,
        cases=cases,
        grades=compared,
        judged=judged,
        seed=seed,
    )
    staging.path(REPORT).write_text(page, encoding="utf-8")
    sounds = [(row, case.audition) for row, case in zip(rows, cases) if case.audition is not None]
    common = min((sound.alignment.aligned_lufs for _, sound in sounds), default=0.0)
    for k, (row, sound) in enumerate(sounds):
        gain = 10.0 ** ((common - sound.alignment.aligned_lufs) / 20.0)
        if k == 0:
            write(staging.path(BEFORE), gain * sound.before, sound.sample_rate)
        write(staging.path(f"{_stem(row)}.wav"), gain * sound.after, sound.sample_rate)


def _say_sounds(screen: "Console", cases: "list[Case]") -> None:
    screen.print("Sounds, all equally loud in before.wav and after-*.wav; really, against before:", style="bold")
    for case in cases:
        if case.audition is not None:
            difference = case.audition.alignment.level_difference_db
            screen.print(f"  {case.name}: {difference:+.1f} dB", soft_wrap=True)
