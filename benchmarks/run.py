"""Measure what is promised, each time beside an error of the same result; one JSON a run.

    python benchmarks/run.py [--small] [--out FILE]

Times are medians of one run on this machine with the disk cache empty and compiled code cached; a command's time
holds its imports. The first-ever compile is reported apart. ``--small`` runs each once, as a smoke test.
"""

import argparse
import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from memory import peak_gibibytes

if TYPE_CHECKING:
    from polepiece.voicing import Bench, Guitar

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent / "examples" / "demo.guitar.toml"
REFERENCE = HERE.parent / "examples" / "reference-humbucker.guitar.toml"


def median(work: Callable[[int], object], times: int) -> float:
    """Return the median seconds of ``work(k)``, k = 0 .. times - 1."""
    out = []
    for k in range(times):
        start = time.perf_counter()
        work(k)
        out.append(time.perf_counter() - start)
    return statistics.median(out)


def command(arguments: list[str], times: int, *, environment: dict[str, str] | None = None) -> float:
    """Return the median seconds of a command, imports included."""

    def once(_: int) -> None:
        with tempfile.TemporaryDirectory() as cache:
            variables = {**os.environ, "POLEPIECE_CACHE": cache, **(environment or {})}
            variables.pop("PYTHONDONTWRITEBYTECODE", None)  # a user's machine keeps compiled modules
            subprocess.run(
                [sys.executable, "-m", "polepiece", *arguments],
                check=True,
                env=variables,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )

    return median(once, times)


def field_error() -> float:
    """Return the largest field error of Alnico 5 in place against finite elements, share of the rule's scale."""
    sys.path.insert(0, str(HERE.parent))
    from polepiece.voicing import Bench, field, read_guitar
    from verification.cases import chosen, column, line_error, places

    guitar, bench = read_guitar(REFERENCE), Bench()
    worst = 0.0
    for y in ("5", "15", "25"):
        rows = chosen("humbucker_field", magnet="A5", charge="in-place", steel="linear-800", y_mm=y)
        points = places(rows)
        found = field(guitar, "reference", points, bench=bench).flux_density[:, 2]
        error, _ = line_error(found, column(rows, "bz_mt") * 1e-3, points)
        worst = max(worst, abs(error))
    return worst


def engine(times: int) -> list[dict[str, object]]:
    """Geometry, swap, gap, screw."""
    from polepiece.voicing import Bench, apply, parse_changes, read_guitar, turning
    from polepiece.voicing import engine as physics

    os.environ["POLEPIECE_CACHE"] = ""
    guitar = read_guitar(DEMO)

    def geometry(_: int) -> None:
        physics.pickup_model.cache_clear()
        turning.forget()
        Bench().state(guitar, "neck")

    geometry(0)
    rows: list[dict[str, object]] = [
        {
            "name": "whole humbucker geometry from nothing, one state",
            "seconds": median(geometry, times),
            "limit": 2.5,
            "error": field_error(),
            "error_of": "largest field error against finite elements, Alnico 5 in place",
            "error_limit": 0.02,
        }
    ]
    bench = Bench()
    bench.state(guitar, "neck")
    grades = ["alnico-5", "ceramic-8", "alnico-3", "alnico-8", "alnico-4", "alnico-9", "alnico-6"]
    swaps = [apply(guitar, "neck", parse_changes([f"magnet={g}"])) for g in grades]
    rows.append(
        {
            "name": "magnet swap (statics with history, L(f), response at 400 frequencies)",
            "seconds": median(lambda k: bench.state(swaps[k], "neck"), min(times, len(swaps))),
            "limit": 0.08,
        }
    )
    moves = [apply(guitar, "neck", parse_changes([f"lower={0.1 + 0.02 * k:.2f}mm"])) for k in range(3 * times)]
    rows.append(
        {"name": "gap move", "seconds": median(lambda k: bench.state(moves[k], "neck"), 3 * times), "limit": 0.015}
    )
    screws = [apply(guitar, "neck", parse_changes([f"screw{k + 1}=up 0.5 turn"])) for k in range(6)]
    rows.append(
        {
            "name": "first screw turned on a geometry, exact (prepares both parities)",
            "seconds": median(lambda _: bench.state(screws[5], "neck"), 1),
            "limit": None,
        }
    )
    rows.append(
        {
            "name": "one screw turned, exact",
            "seconds": median(lambda k: bench.state(screws[k], "neck"), min(times, 4)),
            "limit": 0.6,
            "error": screw_error(bench, screws[1]),
            "error_of": "string voltages, all strings and frequencies, against the same pickup solved anew",
            "error_limit": 3e-4,
        }
    )
    quick = Bench(exact_screws=False)
    quick.state(screws[0], "neck")
    exact, near = bench.state(screws[2], "neck"), quick.state(screws[2], "neck")
    base = bench.state(guitar, "neck")
    moved = exact.level_db + exact.string_balance_db[2] - base.level_db - base.string_balance_db[2]
    guess = near.level_db + near.string_balance_db[2] - base.level_db - base.string_balance_db[2]
    rows.append(
        {
            "name": "one screw turned, screened (plan candidates)",
            "seconds": median(lambda k: quick.state(screws[k], "neck"), min(times, 6)),
            "limit": None,
            "error": abs(guess - moved) / abs(moved),
            "error_of": "share of the screw's effect on its own string",
        }
    )
    return rows


def screw_error(bench: "Bench", guitar: "Guitar") -> float:
    """Return the largest difference of a turned screw's string voltages from the pickup solved without exchange."""
    import numpy as np

    from polepiece.voicing import engine as physics
    from polepiece.voicing.magnetised import magnetise

    unit = guitar.pickup("neck")
    found = bench.magnetised(guitar, unit)
    known = magnetise(physics.made_model(found.model.anatomy, found.model.layout, bench.resolution), unit)
    voltages = [bench.string_emf(guitar, unit, m, bench.sensed(guitar, unit, m)) for m in (found, known)]
    return float(np.abs(voltages[0] - voltages[1]).max() / np.abs(voltages[1]).max())


def sound(times: int) -> list[dict[str, object]]:
    """Rendering and re-voicing, as multiples of real time."""
    import numpy as np

    from polepiece.sound import PickupResponse, phrase, render, revoice
    from polepiece.voicing import Bench, read_guitar
    from polepiece.voicing.grid import GRID
    from polepiece.voicing.stringing import speaking_strings

    guitar = read_guitar(DEMO)
    bench = Bench()
    sensings, response = bench.sensings(guitar, "neck")
    heard = PickupResponse(frequency=GRID, value=response)
    made = phrase("open-chord")
    strings = speaking_strings(guitar)
    length = len(render(made, strings, sensings, heard)) / 48000.0
    seconds = median(lambda _: render(made, strings, sensings, heard), times)
    noise = np.random.default_rng(0).standard_normal((60 * 48000,))
    other = PickupResponse(frequency=GRID, value=response * 0.9)
    again = revoice(noise, sample_rate=48000, old=heard, new=heard)
    voiced = median(lambda _: revoice(noise, sample_rate=48000, old=heard, new=other), times)
    return [
        {"name": "rendering an open chord, six strings", "times_real_time": length / seconds, "limit": 40.0},
        {
            "name": "re-voicing 60 s mono at 48 kHz",
            "times_real_time": 60.0 / voiced,
            "limit": 150.0,
            "error": float(np.max(np.abs(again - noise))),
            "error_of": "identity ratio against the input",
        },
    ]


def commands(times: int) -> list[dict[str, object]]:
    """Whole commands, imports included, disk cache empty."""
    out = []
    for name, arguments, limit in (
        ("polepiece --help", ["--help"], None),
        (
            "polepiece field on the reference",
            ["field", str(REFERENCE), "--pickup", "reference", "--line", "x=-25:25:1,y=5,z=17", "--json"],
            None,
        ),
        ("polepiece grades, all grades with intervals", ["grades", str(DEMO), "--pickup", "neck", "--json"], 6.0),
        ("polepiece plan, 400 candidates and more", ["plan", str(DEMO), "--complaint", "neck: muddy", "--json"], 15.0),
    ):
        command(arguments, 1)
        out.append({"name": name, "seconds": command(arguments, times), "limit": limit})
    return out


def memory() -> list[dict[str, object]]:
    """Peak memory of the two large commands, every process counted, and of this program so far."""
    out: list[dict[str, object]] = []
    for verb, *rest in (("grades", "--pickup", "neck"), ("plan", "--complaint", "neck: muddy")):
        command = [sys.executable, "-m", "polepiece", verb, str(DEMO), *rest, "--json"]
        peak = peak_gibibytes(command, {**os.environ, "POLEPIECE_CACHE": ""})
        out.append({"name": f"peak memory of polepiece {verb}, all its processes", "gibibytes": peak, "limit": 1.2})
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    return [*out, {"name": "peak memory of this program, many geometries at once", "gibibytes": own, "limit": None}]


def first_compile() -> dict[str, object]:
    """The first run ever: compiled code is not there yet."""
    with tempfile.TemporaryDirectory() as fresh:
        line = ["field", str(REFERENCE), "--pickup", "reference", "--line", "x=0:1:1,y=5,z=17", "--json"]
        return {
            "name": "first run ever of polepiece field (compiles)",
            "limit": None,
            "seconds": command(line, 1, environment={"NUMBA_CACHE_DIR": fresh}),
        }


def main() -> None:
    """Run all, print, and store."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    times = 1 if asked.small else 5
    rows = engine(times) + sound(times) + commands(1 if asked.small else 3)
    if not asked.small:
        rows.append(first_compile())
    rows += memory()
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    result = {
        "commit": commit.stdout.strip(),
        "machine": platform.machine(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        "load": os.getloadavg()[0],
        "rows": rows,
    }
    for row in rows:
        value = row.get("seconds", row.get("times_real_time", row.get("gibibytes")))
        unit = "s" if "seconds" in row else ("x real time" if "times_real_time" in row else "GiB")
        error = f"   error {row['error']:.2g} ({row['error_of']})" if "error" in row else ""
        limit = f"   limit {row['limit']}" if row["limit"] is not None else ""
        print(f"{row['name']:<72} {value:9.3f} {unit}{limit}{error}")
    where = asked.out or HERE / "results" / f"{platform.machine()}-{os.cpu_count()}-cores.json"
    where.parent.mkdir(parents=True, exist_ok=True)
    where.write_text(json.dumps(result, indent=1) + "\n")
    print(f"written to {where}")


if __name__ == "__main__":
    main()
