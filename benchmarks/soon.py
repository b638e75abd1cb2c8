"""When a plan on a warm cache says its first words, its first moves and the whole, imports included; used by run.py.

    python benchmarks/soon.py [times]

Beside the time of the whole stands its error: the largest difference of any figure from the same plan made in one
process, where no other judges the bars.
"""

import json
import math
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
ASKED = {  # example: complaint
    "demo": "neck: muddy", "two-bar-single": "piercing", "seven-strings": "bridge: loose", "bass": "boomy",
    "two-volumes": "bridge: harsh", "small-two-row": "dull",
}  # fmt: skip
SOON, WHOLE = 1.0, 6.0  # s: what is asked of the demo guitar
SAME = 1e-6  # of a figure, at least 1: solutions of a magnet from another start agree within their tolerance
HEADS = {"Rule out first": "gate and advice", "A bench's first": "first moves", "Best free move": "best free move"}


def rows(times: int) -> Iterator[dict[str, object]]:
    """Yield the rows of every example; the first run of each warms the cache."""
    for name, complaint in ASKED.items():
        arguments = [sys.executable, "-m", "polepiece", "plan", str(EXAMPLES / f"{name}.guitar.toml"), "-c", complaint]
        found: dict[str, list[float]] = {}
        for number in range(times + 1):
            for what, seconds in spoken_at(arguments).items():
                found.setdefault(what, []).extend([seconds] if number else [])
        printed = subprocess.run([*arguments, "--json"], check=True, capture_output=True, text=True).stdout
        error = difference(json.loads(printed), alone(name, complaint))
        for what, seconds_ in found.items():
            limit = None if name != "demo" else WHOLE if what == "the whole" else SOON
            row: dict[str, object] = {
                "name": f"polepiece plan {name}, warm cache: {what}", "seconds": statistics.median(seconds_),
                "limit": limit,
            }  # fmt: skip
            if what == "the whole":
                row |= {"error": error, "error_of": "largest figure beside one process", "error_limit": SAME}
            yield row


def spoken_at(arguments: list[str]) -> dict[str, float]:
    """Return when a command says each of its first lines, and when it ends, s."""
    begun = time.perf_counter()
    out: dict[str, float] = {}
    with subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        for line in running.stderr:
            for head, what in HEADS.items():
                if line.startswith(head):
                    out.setdefault(what, time.perf_counter() - begun)
    return out | {"the whole": time.perf_counter() - begun}


def alone(name: str, complaint: str) -> object:
    """Return the JSON values of the same plan, made in this process."""
    from polepiece.bench import Bench
    from polepiece.cli.plan import as_body, planned
    from polepiece.guitar import read_guitar

    guitar = read_guitar(EXAMPLES / f"{name}.guitar.toml")
    found = planned(guitar, [complaint], None, draws=64, bench=Bench(exact_screws=False))
    return json.loads(json.dumps(as_body(found)))


def difference(there: object, here: object) -> float:
    """Return the largest difference of a number, as a share of it or of 1; infinite where anything else differs."""
    if isinstance(here, dict) and isinstance(there, dict):
        return max((difference(there.get(key, math.nan), value) for key, value in here.items()), default=0.0)
    if isinstance(here, list) and isinstance(there, list):
        pairs = [difference(a, b) for a, b in zip(there, here)]
        return max(pairs, default=0.0) if len(there) == len(here) else math.inf
    if isinstance(here, float) and isinstance(there, float | int):
        return abs(there - here) / max(1.0, abs(here))
    return 0.0 if there == here else math.inf


if __name__ == "__main__":
    for one in rows(int(sys.argv[1]) if len(sys.argv) > 1 else 3):
        error = f"   error {one['error']:.2g}" if "error" in one else ""
        print(f"{one['name']:<60} {one['seconds']:7.2f} s{error}")
