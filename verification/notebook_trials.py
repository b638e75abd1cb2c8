"""A notebook under damage and kills: drawn trials, counted, and written to docs/reliability.md.

Run `python -m verification.notebook_trials --damaged 300 --kills 300 --write` (some minutes; the kills once on a file,
once on a PostgreSQL server of its own, where the package is there).
Damage is drawn with a fixed seed: bytes flipped, the file cut, a page of rubbish, a run of bytes from elsewhere in the
file, the write-ahead log cut. A trial is good when the notebook opens whole and says what it said before, or when it is
refused in words; then what is still shown has to be word for word what was written.
"""

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar, read_guitar
from polepiece.notebook import Notebook, Part, check_notebook, notebook_path, open_notebook, read_notebook
from tests.unit.notebook.test_hostile_archives import KINDS
from verification import guitar_file_trials
from verification.notebook_server_trials import on_a_server

SEED = 20261130
FILES = 4000  # guitar files that are changed
ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "demo.guitar.toml"
PAGE = ROOT / "docs" / "reliability.md"
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None


class Clock:
    """A clock that goes on by a minute whenever it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 3, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


def fill(notebook: Notebook, guitar: Guitar, rounds: int = 12) -> None:
    """Write entries of every kind, in a history with undos."""
    entry = notebook.add_guitar(guitar, name="number 12", why="came in muddy")
    other = notebook.add_guitar(guitar, name="another")
    part = notebook.add_part(Part(kind="bar", grade="alnico-3"))
    job = notebook.open_job(entry.id, "neck: muddy", "no solder", number="117")
    for place in range(rounds):
        notebook.record(entry.id, replace(guitar, note=f"lowered {place}"), why=f"neck lowered, {place}")
        notebook.write_note(entry.id, f"a line {place} " * 20, body={"place": place, "values": [0.1 * place] * 20})
        notebook.keep_prediction(entry.state_id, f"lower={place}mm", {"level_db": -0.1 * place, "rows": [place] * 50})
        notebook.keep_sound(b"fLaC" + bytes([place]) * 3000, label=f"sound {place}", kind="flac", guitar_id=entry.id)
        if place % 3 == 2:
            notebook.undo(entry.id)
        notebook.record(other.id, replace(guitar, note=f"other {place}"), why=f"other, {place}")
    notebook.keep_plan(job.id, {"rows": [1, 2, 3]})
    notebook.close_job(job.id, "clearer")
    notebook.retire_part(part.id, "sold")


def told(notebook: Notebook) -> dict[str, Any]:
    """Return all that a notebook says."""
    guitars = notebook.guitars()
    return {
        "guitars": guitars,
        "log": notebook.log(),
        "states": [one for guitar in guitars for one in notebook.states(guitar.id)],
        "notes": notebook.notes(),
        "jobs": notebook.jobs(),
        "parts": notebook.parts(include_retired=True),
        "predictions": [one for guitar in guitars for one in notebook.predictions(guitar.id)],
        "sounds": [(one, notebook.sound(one.sha256)) for one in notebook.sounds()],
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One damaged notebook: what was done to it, and how it ended."""

    kind: str
    end: str  # "whole", "said", "said when read"; anything else is bad
    kept: int = 0  # entries that are still shown where the damage was said


def flip(data: bytearray, draw: random.Random) -> None:
    for _ in range(draw.choice((1, 1, 1, 2, 8, 64))):
        data[draw.randrange(len(data))] ^= draw.randrange(1, 256)


def cut(data: bytearray, draw: random.Random) -> None:
    del data[draw.randrange(len(data)) :]


def rubbish(data: bytearray, draw: random.Random) -> None:
    place = 4096 * draw.randrange(len(data) // 4096)
    data[place : place + 4096] = draw.randbytes(4096)


def moved(data: bytearray, draw: random.Random) -> None:
    size = draw.choice((16, 200, 4096))
    here, there = (draw.randrange(len(data) - size) for _ in range(2))
    data[here : here + size] = data[there : there + size]


def letters(data: bytearray, draw: random.Random) -> None:
    """Change letters and digits into others: what reads well and is wrong."""
    for _ in range(40):
        place = draw.randrange(len(data))
        if chr(data[place]).isascii() and chr(data[place]).isalnum():
            data[place] = ord(draw.choice("abcdefghij0123456789"))


HARM: dict[str, Callable[[bytearray, random.Random], None]] = {
    "bytes flipped": flip,
    "file cut": cut,
    "page of rubbish": rubbish,
    "bytes from elsewhere": moved,
    "letters changed": letters,
}


def damaged(count: int, folder: Path, *, rounds: int = 12, seed: int = SEED) -> list[Trial]:
    """Damage copies of one notebook, each in another way, and see how each ends."""
    draw = random.Random(seed)
    source = folder / "source" / "n.sqlite"
    source.parent.mkdir()
    with open_notebook(source, clock=Clock()) as notebook:
        fill(notebook, read_guitar(DEMO), rounds)
        said = told(notebook)
        running = {one.name: one.read_bytes() for one in source.parent.iterdir() if one.is_file()}
    closed = {one.name: one.read_bytes() for one in source.parent.iterdir() if one.is_file()}
    trials = []
    for place in range(count):
        kinds = [*HARM, "log cut"]
        kind = kinds[place % len(kinds)]
        files = dict(running if kind == "log cut" else closed)
        name = "n.sqlite-wal" if kind == "log cut" else "n.sqlite"
        data = bytearray(files[name])
        (cut if kind == "log cut" else HARM[kind])(data, draw)
        files[name] = bytes(data)
        here = folder / "trial"
        here.mkdir()
        for one, content in files.items():
            if not one.endswith("-shm"):
                (here / one).write_bytes(content)
        trials.append(judged(kind, here / "n.sqlite", said))
        shutil.rmtree(here)
    return trials


def judged(kind: str, path: Path, said: dict[str, Any]) -> Trial:
    """Open a damaged notebook and say how it ends."""
    try:
        with open_notebook(path) as notebook:
            try:
                same = told(notebook) == said
            except NotebookError:
                return Trial(kind=kind, end="said when read")
        if same:
            return Trial(kind=kind, end="whole")
        return Trial(kind=kind, end="changed, and nothing said")
    except NotebookError as error:
        if "\n" in str(error) or path.name not in str(error):
            return Trial(kind=kind, end=f"said badly: {error}")
    except Exception as error:
        return Trial(kind=kind, end=f"{type(error).__name__}: {error}")
    return _shown(kind, path, said)


def _shown(kind: str, path: Path, said: dict[str, Any]) -> Trial:
    """What is shown of a refused notebook is, word for word, what was written."""
    texts = {one.id: one.text for one in said["states"]}
    notes = {one.id: (one.text, one.body) for one in said["notes"]}
    try:
        with read_notebook(path) as notebook:
            shown = notebook.log()
            for guitar in notebook.guitars():
                for state in notebook.states(guitar.id):
                    if state.text != texts[state.id]:
                        return Trial(kind=kind, end="another guitar shown")
            for note in notebook.notes():
                if (note.text, note.body) != notes[note.id]:
                    return Trial(kind=kind, end="another note shown")
            return Trial(kind=kind, end="said", kept=len(shown))
    except NotebookError:
        return Trial(kind=kind, end="said")
    except Exception as error:
        return Trial(kind=kind, end=f"reading: {type(error).__name__}: {error}")


def killed(count: int, path: Path | str, seed: int = SEED) -> Counter[str]:
    """Kill a writing program again and again; what it was told is kept has to be there, in order, each once."""
    draw = random.Random(seed)
    with open_notebook(path) as notebook:
        notebook.add_guitar(read_guitar(DEMO))
    found: Counter[str] = Counter()
    known = 0
    for _ in range(count):
        heard = known + _writes_and_is_killed(path, known, draw)
        with open_notebook(path) as notebook:
            there = [one.text for one in notebook.notes(1)]
        in_order = there == [f"note {k}" for k in range(len(there))]
        found["kills"] += 1
        found["acknowledged"] += heard - known
        found["lost"] += max(0, heard - len(there)) + (not in_order)
        found["kept and not yet told"] += max(0, len(there) - heard)
        known = len(there)
    found["faults of the last check"] = len(check_notebook(notebook_path(path)).faults)
    return found


def _writes_and_is_killed(path: Path | str, start: int, draw: random.Random) -> int:
    """Fork a process that writes notes and says which are kept; kill it in the middle; return how many it said."""
    hear, say = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            with open_notebook(path) as notebook:
                for k in range(start, start + 10**6):
                    notebook.write_note(1, f"note {k}")
                    os.write(say, b".")
        finally:
            os._exit(1)
    os.close(say)
    told_kept = 0
    for _ in range(draw.randrange(1, 6)):
        told_kept += len(os.read(hear, 1))
    time.sleep(draw.random() * 0.01)  # s; a write takes a few milliseconds: somewhere inside the next ones
    os.kill(child, signal.SIGKILL)
    while rest := os.read(hear, 4096):
        told_kept += len(rest)
    os.close(hear)
    os.waitpid(child, 0)
    return told_kept


def table(trials: list[Trial]) -> str:
    """Return the trials as a table, by what was done and how it ended."""
    ends = ("whole", "said when read", "said")
    lines = ["| damage | trials | opened whole and right | said when the sound is read | said at opening | silent |",
             "|---|---|---|---|---|---|"]  # fmt: skip
    for kind in (*HARM, "log cut", "all"):
        mine = [one for one in trials if kind in ("all", one.kind)]
        counts = [sum(one.end == end for one in mine) for end in ends]
        lines.append(f"| {kind} | {len(mine)} | " + " | ".join(map(str, [*counts, len(mine) - sum(counts)])) + " |")
    return "\n".join(lines)


def harmful() -> dict[str, int]:
    """Return how changed guitar files ended, and how many archives that mean harm the tests refuse."""
    files, _ = guitar_file_trials.trials(FILES)
    ends = {end: sum(number for (_, one), number in files.items() if one == end) for end in ("read", "refused", "bad")}
    return {"files": FILES, **ends, "archives": sum(len(list(one())) for one in KINDS.values())}


def page(trials: list[Trial], kills: Counter[str], entries: int, served: str, harm: Mapping[str, int]) -> str:
    """Return docs/reliability.md."""
    said = [one for one in trials if one.end == "said"]
    shown = sorted(one.kept for one in said)
    middle = shown[len(shown) // 2] if shown else 0
    return (ROOT / "verification" / "reliability.md.txt").read_text("utf-8").format(
        seed=SEED, served=served, harm=harm, table=table(trials), trials=len(trials), entries=entries, middle=middle,
        none=sum(one == 0 for one in shown), refused=len(shown), **{key.replace(" ", "_"): kills[key] for key in (
            "kills", "acknowledged", "lost", "kept and not yet told", "faults of the last check")},
    )  # fmt: skip


def main() -> int:
    """Run the trials; exit code 1 when one of them is bad."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--damaged", type=int, default=300)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--write", action="store_true", help="write docs/reliability.md")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        trials = damaged(asked.damaged, Path(folder))
        with open_notebook(Path(folder) / "source" / "n.sqlite") as notebook:
            entries = len(notebook.log())
    print(table(trials))
    bad = [one for one in trials if one.end not in ("whole", "said", "said when read")]
    for one in bad:
        print(one)
    with tempfile.TemporaryDirectory() as folder:  # on the disk
        kills = killed(asked.kills, Path(folder) / "kills.sqlite")
    print(dict(kills))
    served, lost = on_a_server(asked.kills, killed)
    print(served)
    harm = harmful()
    print(harm)
    if asked.write:
        PAGE.write_text(page(trials, kills, entries, served, harm), encoding="utf-8")
    return int(bool(bad) or kills["lost"] > 0 or kills["faults of the last check"] > 0 or lost > 0 or harm["bad"] > 0)


if __name__ == "__main__":
    sys.exit(main())
