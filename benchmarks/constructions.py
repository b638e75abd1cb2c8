"""The engine's speeds by construction: a geometry, another magnet, another gap, a turned screw; errors beside them.

Used by run.py. Every row tells wall time and processor time (all threads): on a busy machine the second is the
steadier. Threads of linear algebra are what the program itself chooses; run it without a variable about them.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from polepiece.arrays import ComplexArray
    from polepiece.bench import Bench
    from polepiece.guitar import Guitar
    from polepiece.pickup.magnetised import Magnetised

SIX = 'string_set = "10-46"'
HEAD = """name = "bench guitar (invented)"
invented = true
{strings}

[[pickups]]
name = "neck"
position = "neck"
construction = "{construction}"
resistance_kohm = 7.9
{more}
[pickups.magnet]
grade = "{grade}"
charge = "outside"
{rods}"""
STAGGER = "[pickups.rods]\nrod_lengths_mm = [16.5, 17.5, 18, 17, 17.5, 17]\n"
BASS_STRINGS = "".join(f'\n[[strings]]\ngauge = "{gauge}w"\n' for gauge in (45, 65, 85, 105))
# name: construction, grade, rods, what verification.sizes or construction_cases has nearest to it, largest error of its
# field it may have (the second's: 2 % and what the finite elements are off themselves, as that study says)
PLATE, COVER = 'base_plate = "{}"\n', 'cover = "{}"\n'
CONSTRUCTIONS = {
    "humbucker": ("humbucker", "alnico-2", "", "reference", 0.03),
    "rod-single": ("rod-single", "alnico-5", "", "short-rods", 0.03),
    "rod-single, rods of several lengths": ("rod-single", "alnico-5", STAGGER, "short-rods", 0.03),
    "bar-single": ("bar-single", "alnico-5", "", "bar-single", 0.03),
    "two-bar-single": ("two-bar-single", "alnico-5", "", "two-bar-single", 0.03),
    "small-humbucker": ("small-humbucker", "alnico-5", "", "small-humbucker", 0.036),
    "two-screw-rows": ("two-screw-rows", "alnico-5", "", "two-screw-rows", 0.036),
    "twin-blade": ("twin-blade", "alnico-5", "", "twin-blade", 0.036),
    "small-twin-blade": ("small-twin-blade", "alnico-5", "", "small-twin-blade", 0.036),
    "two-bar-slugs": ("two-bar-slugs", "alnico-5", "", "two-bar-slugs", 0.03),
    "side-bar-single": ("side-bar-single", "alnico-5", "", "side-bar-single-drawn", 0.03),
    "blade-single": ("blade-single", "alnico-5", "", "blade-single", 0.03),
    "plate-rod-single": ("plate-rod-single", "alnico-5", "", "plate-rod-single", 0.03),
    "split-rods": ("split-rods", "alnico-5", "", "split-rods", 0.036),
}
GRADES = ("alnico-4", "ceramic-8", "alnico-3", "alnico-8", "alnico-6", "alnico-9", "alnico-2")
GEOMETRY, SWAP, GAP, SCREW = 2.5, 0.08, 0.015, 0.6  # s
BESIDE = 2.5  # how many times as long beside a second busy process
NUMBERS = 1e-6  # share: a state on a folded mesh against the same on the whole one; Newton stops at 1e-8 of the charge
DIRECTIONS = 1e-4  # share: a state under sheets of steel in a few directions against all unknowns solved
CUT = {"plate-rod-single": 1e-3}  # where half and whole choose other modes for the rods: each is cut at 1e-4 of its own


def text_of(name: str, *, sheets: str = "") -> str:
    """Return the guitar file of one construction.

    ``sheets``: what a plate is of, and a cover unless rods would hit it; empty: there are none.
    """
    construction, grade, rods, _, _ = CONSTRUCTIONS[name]
    more = 'screws_face = "neck"\n' if construction == "humbucker" else ""
    if sheets:
        more += PLATE.format(sheets) + ("" if rods else COVER.format(sheets))
    bass = construction == "split-rods"
    strings = 'scale_length_mm = 864\ntuning = ["G2", "D2", "A1", "E1"]' if bass else SIX
    text = HEAD.format(strings=strings, construction=construction, grade=grade, rods=rods, more=more)
    return text + (BASS_STRINGS if bass else "")


def taken(work: Callable[[int], object], times: int) -> dict[str, float]:
    """Return the median wall and processor seconds of ``work(k)``, k = 0 .. times - 1."""
    wall, used = [], []
    for k in range(times):
        start, before = time.perf_counter(), time.process_time()
        work(k)
        wall.append(time.perf_counter() - start)
        used.append(time.process_time() - before)
    return {"seconds": statistics.median(wall), "processor_seconds": statistics.median(used)}


def rows(times: int) -> Iterator[dict[str, object]]:
    """Yield all rows of all constructions."""
    os.environ["POLEPIECE_CACHE"] = ""
    for name in CONSTRUCTIONS:
        yield from of_construction(name, times)


def of_construction(name: str, times: int) -> Iterator[dict[str, object]]:
    """Yield the rows of one construction."""
    from polepiece.bench import Bench
    from polepiece.coil import sheets
    from polepiece.guitar import parse_guitar
    from polepiece.pickup import engine as physics
    from polepiece.pickup import turning

    guitar, covered = parse_guitar(text_of(name)), parse_guitar(text_of(name, sheets="brass"))

    def anew(_: int, guitar: "Guitar" = guitar) -> None:
        physics.forget()
        turning.forget()
        for kept in (sheets._cut, sheets._decays):  # what a sheet is in air: a first geometry finds it, too
            kept.cache_clear()
        Bench().state(guitar, "neck")

    anew(0)
    quiet = taken(anew, times)
    yield {"construction": name, "name": "geometry with its sheets from nothing, one state", "limit": GEOMETRY,
           **taken(lambda k: anew(k, covered), times)}  # fmt: skip
    yield from under_steel(name, anew)
    case, bound = CONSTRUCTIONS[name][3:]
    yield {"construction": name, "name": "geometry from nothing, one state", **quiet, "limit": GEOMETRY,
           "error": field_error(case), "error_of": f"largest field error against finite elements, {case}",
           "error_limit": bound}  # fmt: skip
    with busy():
        loaded = taken(anew, times)
    yield {"construction": name, "name": "geometry from nothing beside a second busy process", "limit": BESIDE,
           "times_as_long": loaded["seconds"] / quiet["seconds"], "error": max(solved_anew_error(Bench(), guitar)),
           "error_limit": CUT.get(name, NUMBERS),
           "error_of": "string voltages, both motions, against the same solved without the plane x = 0"}  # fmt: skip
    bench = Bench()
    bench.state(guitar, "neck")
    swaps = [with_magnet(guitar, grade) for grade in GRADES]
    swapped = taken(lambda k: bench.state(swaps[k], "neck"), min(times + 2, len(swaps)))
    yield {"construction": name, "name": "another magnet", "limit": SWAP, **swapped,
           "error": max(start_error(bench, one) for one in swaps), "error_limit": NUMBERS,
           "error_of": "potential along the strings, all grades, against the same solved from nothing"}  # fmt: skip
    moves = [lowered(guitar, 1e-4 + 2e-5 * k) for k in range(3 * times)]
    yield {"construction": name, "name": "another gap", "limit": GAP,
           **taken(lambda k: bench.state(moves[k], "neck"), len(moves))}  # fmt: skip
    if guitar.pickup("neck").construction in ("humbucker", "two-bar-single"):
        yield from screws(name, guitar, bench, times)


def under_steel(name: str, anew: "Callable[[int, Guitar], None]") -> Iterator[dict[str, object]]:
    """Yield what a geometry with sheets of steel takes, once, and another magnet under them."""
    from polepiece.bench import Bench
    from polepiece.guitar import parse_guitar

    guitar = parse_guitar(text_of(name, sheets="steel"))
    yield {"construction": name, "name": "geometry with its sheets of steel from nothing, one state",
           "limit": GEOMETRY, **taken(lambda k: anew(k, guitar), 1)}  # fmt: skip
    bench = Bench()
    bench.state(guitar, "neck")
    swaps = [with_magnet(guitar, grade) for grade in GRADES[:2]]
    yield {"construction": name, "name": "another magnet under sheets of steel", "limit": SWAP,
           **taken(lambda k: bench.state(swaps[k], "neck"), len(swaps)),
           "error": directions_error(bench, guitar), "error_limit": DIRECTIONS,
           "error_of": "string voltages of each coil, all frequencies, against all unknowns solved"}  # fmt: skip


def screws(name: str, guitar: "Guitar", bench: "Bench", times: int) -> Iterator[dict[str, object]]:
    """Yield what a turned screw takes, the first and the next."""
    turned = [with_screw(guitar, k) for k in range(6)]
    yield {"construction": name, "name": "first screw turned, exact (prepares both parities)", "limit": None,
           **taken(lambda _: bench.state(turned[5], "neck"), 1)}  # fmt: skip
    found = taken(lambda k: bench.state(turned[k], "neck"), min(times, 4))
    towards, across = solved_anew_error(bench, turned[1])
    yield {"construction": name, "name": "one screw turned, exact", "limit": SCREW, **found,
           "error": towards, "error_limit": 3e-4, "error_across": across, "error_across_limit": 5e-3,
           "error_of": "string voltages, all strings and frequencies, against the same pickup solved anew"}  # fmt: skip


def with_magnet(guitar: "Guitar", grade: str) -> "Guitar":
    """Return ``guitar`` with another grade (also of rods, which nobody can change: the physics is the same)."""
    pickup = guitar.pickup("neck")
    return replace(guitar, pickups=(replace(pickup, magnet=replace(pickup.magnet, grade=grade)),))


def lowered(guitar: "Guitar", move: float) -> "Guitar":
    """Return ``guitar`` with the pickup lowered by ``move`` m."""
    pickup = guitar.pickup("neck")
    return replace(
        guitar, pickups=(replace(pickup, gap_bass=pickup.gap_bass + move, gap_treble=pickup.gap_treble + move),)
    )  # fmt: skip


def with_screw(guitar: "Guitar", number: int) -> "Guitar":
    """Return ``guitar`` with one screw half a turn up."""
    pickup = guitar.pickup("neck")
    raised = tuple(0.3e-3 if k == number else 0.0 for k in range(6))
    return replace(guitar, pickups=(replace(pickup, poles=replace(pickup.poles, screw_raise=raised)),))


def field_error(case: str) -> float:
    """Return the largest field error of a construction against finite elements, share of the rule's scale."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from verification import constructions as held
    from verification import sizes

    found = sizes.field_of(case) if case in sizes.SIZES else held.rows_of(case)
    return max(abs(row.error or 0.0) for row in found if row.quantity.startswith("Bz, "))


def solved_anew_error(bench: "Bench", guitar: "Guitar") -> tuple[float, float]:
    """Return the largest difference of string voltages from the pickup solved without exchange and not folded.

    Of motion towards the poles and of motion across: shares of the largest voltage per velocity, over all strings and
    frequencies. Across, a turned screw keeps the slope of its kin's reply to the string.
    """
    import numpy as np

    from polepiece.pickup import engine as physics
    from polepiece.pickup.magnetised import magnetise

    pickup = guitar.pickup("neck")
    found = bench.magnetised(guitar, pickup)
    model = physics.made_model(found.model.anatomy, found.model.layout, bench.resolution, folded=False)
    voltages = []
    for one in (found, magnetise(model, pickup)):
        sensed = bench.sensed(guitar, pickup, one)
        static = np.stack([sensed.sensitivity, sensed.across])[..., None]  # per turn
        voltages.append(static * bench.eddy(guitar, pickup, one, sensed))
    towards, across = (float(np.abs(one - two).max()) for one, two in zip(*voltages))
    largest = float(np.abs(voltages[1]).max())
    return towards / largest, across / largest


def start_error(bench: "Bench", guitar: "Guitar") -> float:
    """Return how far the pickup's potential along the strings is from that of the same model solved from nothing."""
    import numpy as np

    from polepiece.pickup.magnetised import magnetise

    pickup = guitar.pickup("neck")
    found = bench.magnetised(guitar, pickup)
    anew = magnetise(found.model, pickup, with_coils=False).pickup_table
    return float(np.abs(found.pickup_table - anew).max() / np.abs(anew).max())


def string_emf(bench: "Bench", guitar: "Guitar", magnetised: "Magnetised") -> "ComplexArray":
    """Return the EMF of every coil for every string (k, c, f) as `PickupOn.emf` has it, of any solution."""
    from polepiece.pickup.electrics import turns

    pickup = guitar.pickup("neck")
    sensed = bench.sensed(guitar, pickup, magnetised)
    eddy = bench.eddy(guitar, pickup, magnetised, sensed)
    return (sensed.sensitivity * turns(pickup))[:, :, None] * eddy


def directions_error(bench: "Bench", guitar: "Guitar") -> float:
    """Return the largest difference of string voltages from those with all unknowns solved at every frequency."""
    import numpy as np

    from polepiece.coil import solution
    from polepiece.pickup.magnetised import magnetise

    pickup = guitar.pickup("neck")
    found = bench.magnetised(guitar, pickup)
    least, solution.PROJECTED_FROM = solution.PROJECTED_FROM, sys.maxsize
    try:
        known = magnetise(found.model, pickup)
    finally:
        solution.PROJECTED_FROM = least
    one, other = (string_emf(bench, guitar, each) for each in (found, known))
    return float(np.abs(one - other).max() / np.abs(other).max())


@contextmanager
def busy() -> Iterator[None]:
    """Keep one core busy with another process."""
    other = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        yield
    finally:
        other.kill()
        other.wait()


COMMANDS = {
    "predict": (["--pickup", "neck", "--change", "lower=0.5mm"], None),
    "grades": (["--pickup", "neck"], 6.0),
    "plan": (["--complaint", "neck: muddy"], 15.0),
}


def plain_environment() -> dict[str, str]:
    """Return the environment as a person has it who types a command: nothing about threads, compiled modules kept."""
    return {k: v for k, v in os.environ.items() if not k.endswith("_NUM_THREADS") and k != "PYTHONDONTWRITEBYTECODE"}


def commands(times: int) -> Iterator[dict[str, object]]:
    """Yield whole commands by construction, imports included, disk cache empty, no variable about threads."""
    bare = plain_environment()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.guitar.toml"
        for name in CONSTRUCTIONS:
            file.write_text(text_of(name), encoding="utf-8")
            for verb, (more, limit) in COMMANDS.items():
                if verb == "grades" and "rod" in name:
                    continue  # rods are the coil's core: no other grade is offered
                line = [sys.executable, "-m", "polepiece", verb, str(file), *more, "--json"]

                def once(_: int, line: list[str] = line) -> None:
                    with tempfile.TemporaryDirectory() as cache:
                        subprocess.run(line, check=True, env={**bare, "POLEPIECE_CACHE": cache}, capture_output=True)

                once(0)
                yield {"construction": name, "name": f"polepiece {verb}", "limit": limit,
                       "seconds": taken(once, times)["seconds"]}  # fmt: skip
