"""How cost grows with panels, cells, frequencies, strings, draws, candidates and samples: exponents, and a drawing.

    python benchmarks/growth.py [--small] [--axis NAME ...] [--out FILE.json]

Counted are processor seconds of this process, all threads, which a busy machine moves little; the least of some runs.
The exponent p of cost ~ size^p is a straight line through the logarithms of the upper half of the sizes, least squares,
with its standard error; below, fixed costs hide the growth. Written are the JSON, an SVG of every axis, and, of a whole
run, the table in docs/performance.md between its marks.
``--small`` takes two sizes of each, on coarse meshes, as a smoke test.
"""

import argparse
import json
import math
import os
import platform
import subprocess
import sys
import time
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

from growth_axes import AXES, Step
from growth_drawing import drawing

HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "performance.md"
FIGURE = PAGE.parent / "theory" / "figures" / "growth.svg"
BEGIN, END = "<!-- growth, written by benchmarks/growth.py -->", "<!-- end of growth -->"


def cost(step: Step) -> float:
    """Return the least processor seconds of the step's runs."""
    best = math.inf
    for _ in range(step.runs):
        start = time.process_time()
        step.work()
        best = min(best, time.process_time() - start)
    return best


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> tuple[float, float]:
    """Return the slope of log seconds over log size in the upper half, and its standard error (NaN of two sizes)."""
    half = max(2, (len(sizes) + 1) // 2)
    pairs = sorted(zip(sizes, seconds))[-half:]
    x = [math.log(a) for a, _ in pairs]
    y = [math.log(max(b, 1e-9)) for _, b in pairs]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    across = sum((a - mean_x) ** 2 for a in x)
    if across == 0.0:
        return math.nan, math.nan
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / across
    left = sum((b - mean_y - slope * (a - mean_x)) ** 2 for a, b in zip(x, y))
    return slope, math.sqrt(left / (len(x) - 2) / across) if len(x) > 2 else math.nan


def measured(axis: str, small: bool) -> list[dict[str, Any]]:
    """Return what was measured of one axis: of each thing that is asked its sizes, seconds and exponent."""
    found: dict[str, list[tuple[int, float]]] = {}
    for step in AXES[axis](small):
        seconds = cost(step)
        found.setdefault(step.what, []).append((step.size, seconds))
        print(f"{axis:<20} {step.what:<24} {step.size:>8}  {seconds:9.4f} s", flush=True)
    out: list[dict[str, Any]] = []
    for what, pairs in found.items():
        sizes, seconds_ = [a for a, _ in pairs], [b for _, b in pairs]
        p, error = exponent(sizes, seconds_)
        out.append(
            {"axis": axis, "what": what, "sizes": sizes, "seconds": seconds_, "exponent": p,
             "exponent_error": None if math.isnan(error) else error}
        )  # fmt: skip
    return out


def section(result: dict[str, Any]) -> str:
    """Return the table of a result for the page, with date, machine and commit."""
    lines = [
        f"*{result['date']}, {result['machine']}, {result['cores']} cores, Python {result['python']}, commit "
        f"{result['commit']}; {result['counted']}; load of the machine {result['load']:.0f}.*",
        "",
        "| more of | what is asked | sizes | seconds at the ends | cost ~ size^p |",
        "|---|---|---|---|---|",
    ]
    for row in result["rows"]:
        pairs = sorted(zip(row["sizes"], row["seconds"]))
        (small, first), (large, last) = pairs[0], pairs[-1]
        error = "" if row["exponent_error"] is None else f" ± {row['exponent_error']:.2f}"
        lines.append(
            f"| {row['axis']} | {row['what']} | {small} to {large} | {first:.3g} to {last:.3g} "
            f"| {row['exponent']:.2f}{error} |"
        )
    return "\n".join([BEGIN, "", *lines, "", END])


def write_page(result: dict[str, Any], page: Path = PAGE) -> None:
    """Put the table of a result between the marks of the page."""
    text = page.read_text(encoding="utf-8")
    before, mark, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not mark or not end:
        raise SystemExit(f"{page} has no place for it: {BEGIN} ... {END}")
    page.write_text(f"{before}{section(result)}{after}", encoding="utf-8")


def main() -> None:
    """Measure every axis, print, and store."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--axis", action="append", choices=list(AXES))
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    os.environ["POLEPIECE_CACHE"] = ""
    for step in AXES["strings"](True):  # compile what is compiled before anything is counted
        step.work()
    rows = [row for axis in asked.axis or AXES for row in measured(axis, asked.small)]
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    result = {
        "date": datetime.now(UTC).date().isoformat(), "commit": commit.stdout.strip(), "machine": platform.machine(),
        "cores": os.cpu_count(), "python": platform.python_version(), "load": os.getloadavg()[0],
        "counted": "processor seconds of one process, all threads", "rows": rows,
    }  # fmt: skip
    where = asked.out or HERE / "results" / f"{platform.machine()}-{os.cpu_count()}-cores-growth.json"
    where.parent.mkdir(parents=True, exist_ok=True)
    where.write_text(json.dumps(result, indent=1) + "\n")
    whole = not asked.small and not asked.axis
    figure = FIGURE if whole else where.with_suffix(".svg")
    figure.write_text(drawing(result))
    if whole:
        write_page(result)
    for row in rows:
        error = row["exponent_error"]
        of = "" if error is None else f" +- {error:.2f}"
        print(f"{row['axis']:<20} {row['what']:<24} cost ~ size^{row['exponent']:.2f}{of}")
    print(f"written to {where} and {figure}")


if __name__ == "__main__":
    main()
