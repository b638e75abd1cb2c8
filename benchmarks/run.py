"""Measure what is promised, each time beside an error of the same result; one JSON a run.

    python benchmarks/run.py [--small] [--out FILE]

Times are medians of one run on this machine with the disk cache empty and compiled code cached; a command's time
holds its imports. Compiling is reported apart: what this program compiles or fetches before its rows, and commands that
never ran before. ``--small`` runs each once, as a smoke test. Says by
construction whether limits hold, and ends with exit code 1 when one does not.
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

import constructions
import soon
from memory import peak_gibibytes
from verdicts import UNITS, by_construction, judged, measured, summary

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
            variables = {**constructions.plain_environment(), "POLEPIECE_CACHE": cache, **(environment or {})}
            subprocess.run(
                [sys.executable, "-m", "polepiece", *arguments],
                check=True,
                env=variables,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )

    return median(once, times)


def compiled() -> dict[str, object]:
    """Go through every kernel on a coarse mesh, a turned screw's too, so that no other row holds a compile."""
    from polepiece.bench import coarse_bench
    from polepiece.guitar import read_guitar
    from polepiece.moves import apply, parse_changes

    os.environ["POLEPIECE_CACHE"] = ""
    start, guitar, bench = time.perf_counter(), read_guitar(DEMO), coarse_bench()
    for changes in ([], ["screw1=up 0.5 turn"], ["screw2=up 0.5 turn"]):
        bench.state(apply(guitar, "neck", parse_changes(changes)), "neck")
    return {
        "name": "kernels of this program compiled, or fetched as they were (before all rows)",
        "seconds": time.perf_counter() - start,
        "limit": None,
    }


def engine(times: int) -> list[dict[str, object]]:
    """Every construction's geometry, swap, gap and screw; then what only the plan's screening does."""
    from polepiece.bench import Bench
    from polepiece.guitar import read_guitar
    from polepiece.moves import apply, parse_changes

    rows = list(constructions.rows(times))
    guitar, bench, quick = read_guitar(DEMO), Bench(), Bench(exact_screws=False)
    screws = [apply(guitar, "neck", parse_changes([f"screw{k + 1}=up 0.5 turn"])) for k in range(6)]
    quick.state(screws[0], "neck")
    exact, near, base = bench.state(screws[2], "neck"), quick.state(screws[2], "neck"), bench.state(guitar, "neck")
    fresh = (1, 3, 4, 5)  # the others' states are kept by now
    moved = exact.level_db + exact.string_balance_db[2] - base.level_db - base.string_balance_db[2]
    guess = near.level_db + near.string_balance_db[2] - base.level_db - base.string_balance_db[2]
    rows.append(
        {
            "name": "one screw turned, screened (plan candidates)",
            "seconds": median(lambda k: quick.state(screws[fresh[k]], "neck"), min(times, len(fresh))),
            "limit": None,
            "error": abs(guess - moved) / abs(moved),
            "error_of": "share of the screw's effect on its own string",
        }
    )
    return rows


def sound(times: int) -> list[dict[str, object]]:
    """Rendering and re-voicing, as multiples of real time."""
    import numpy as np

    from polepiece.auditioning.playing import play
    from polepiece.bench import Bench
    from polepiece.guitar import read_guitar
    from polepiece.pickup.electrics import flattest
    from polepiece.pickup.grid import GRID
    from polepiece.sound import PickupResponse, phrase, revoice

    guitar = read_guitar(DEMO)
    bench = Bench()
    made = phrase("open-chord")
    length = len(play(guitar, "neck", made, bench=bench)) / 48000.0
    seconds = median(lambda _: play(guitar, "neck", made, bench=bench), times)
    response = flattest(bench.switched(guitar, guitar.pickup("neck")).transfer)
    heard = PickupResponse(frequency=GRID, value=response)
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
    return [*out, *soon.rows(times)]


def memory() -> list[dict[str, object]]:
    """Peak memory of the two large commands, every process counted, and of this program so far."""
    out: list[dict[str, object]] = []
    for verb, *rest in (("grades", "--pickup", "neck"), ("plan", "--complaint", "neck: muddy")):
        command = [sys.executable, "-m", "polepiece", verb, str(DEMO), *rest, "--json"]
        peak = peak_gibibytes(command, {**os.environ, "POLEPIECE_CACHE": ""})
        out.append({"name": f"peak memory of polepiece {verb}, all its processes", "gibibytes": peak, "limit": 1.2})
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    return [*out, {"name": "peak memory of this program, many geometries at once", "gibibytes": own, "limit": None}]


def first_compile() -> list[dict[str, object]]:
    """The first run ever of two commands: compiled code is not there yet."""
    out: list[dict[str, object]] = []
    field = ["field", str(REFERENCE), "--pickup", "reference", "--line", "x=0:1:1,y=5,z=17", "--json"]
    screw = ["predict", str(DEMO), "--pickup", "neck", "--change", "screw3=up 0.5 turn", "--draws", "8", "--json"]
    for name, line in (("field", field), ("predict, one screw turned", screw)):
        with tempfile.TemporaryDirectory() as fresh:
            seconds = command(line, 1, environment={"NUMBA_CACHE_DIR": fresh})
            out.append({"name": f"first run ever of polepiece {name} (compiles)", "limit": None, "seconds": seconds})
    return out


def main() -> None:
    """Run all, print, and store."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    times = 1 if asked.small else 5
    rows = [compiled(), *engine(times), *sound(times), *commands(1 if asked.small else 3)]
    rows += constructions.commands(1)
    if not asked.small:
        rows += first_compile()
    rows = judged(rows + memory())
    verdicts = by_construction(rows)
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    result = {
        "commit": commit.stdout.strip(),
        "machine": platform.machine(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        "load": os.getloadavg()[0],
        "verdicts": verdicts,
        "rows": rows,
    }
    for row in rows:
        key, value = measured(row)
        unit = UNITS[key]
        error = f"   error {row['error']:.2g} ({row['error_of']})" if "error" in row else ""
        error += f", across the strings {row['error_across']:.2g}" if "error_across" in row else ""
        limit = f"   limit {row['limit']}" if row["limit"] is not None else ""
        print(f"{row.get('construction', '')} {row['name']:<72} {value:9.3f} {unit}{limit}{error}"
              f"{'   MISSED' if row['holds'] is False else ''}")  # fmt: skip
    where = asked.out or HERE / "results" / f"{platform.machine()}-{os.cpu_count()}-cores.json"
    where.parent.mkdir(parents=True, exist_ok=True)
    where.write_text(json.dumps(result, indent=1) + "\n")
    print(summary(verdicts))
    print(f"written to {where}")
    sys.exit(0 if all(one["holds"] for one in verdicts.values()) else 1)


if __name__ == "__main__":
    main()
