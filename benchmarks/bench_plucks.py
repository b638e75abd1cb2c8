"""Five minutes of plucks against five minutes: seconds of one core, and the error of the same result.

    python benchmarks/bench_plucks.py [--json FILE] [--times N]

The sound is made by ``tests/reference/plucked_session.py`` through a known tilt, so the error needs no other program.
"""

import argparse
import json
import os
import platform
import resource
import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from polepiece.measure import FileFact, Taken, compare_plucks, plucks_of
from tests.reference.plucked_session import Sitting, session

LIMIT = 20.0  # s of one core for five minutes of plucks
SITTING = Sitting(rate=48000, plucks=25, gap=1.99, lead=1.0)  # 150 plucks, 300 s
TILT = -1.5  # dB an octave about 1 kHz


def taken(samples: np.ndarray, name: str) -> Taken:
    """Return a recording as read from a file."""
    fact = FileFact(role=name, name=name, sha256=name)
    return Taken(samples=samples[:, None], sample_rate=SITTING.rate, fact=fact)


def main() -> None:
    """Measure, print, and store where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--times", type=int, default=3)
    asked = parser.parse_args()
    before, begins = session(SITTING, np.random.default_rng(1))
    after, _ = session(SITTING, np.random.default_rng(2), lambda f: 10.0 ** (TILT * np.log2(f / 1e3) / 20.0))
    first = plucks_of([taken(before, "before")])
    heard, compared = [], []
    for _ in range(asked.times):
        start = time.process_time()
        second = plucks_of([taken(after, "after")])
        heard.append(time.process_time() - start)
        start = time.process_time()
        found = compare_plucks(first, second)
        compared.append(time.process_time() - start)
    missed = abs(len(first.plucks) - begins.size)
    error = abs(found["bands_db.presence"].value - 2.0 * TILT)
    rows = [
        ("hearing 300 s of plucks, 48 kHz: onsets, pitches, partials", heard, LIMIT, float(missed), "plucks missed"),
        ("comparing 150 with 150 plucks", compared, LIMIT, error, "dB, presence against the level"),
    ]
    for name, seconds, limit, wrong, what in rows:
        print(f"{name:<60} {min(seconds):6.2f} s (median {statistics.median(seconds):.2f})   limit {limit:g} s   "
              f"error {wrong:.2g} ({what})")  # fmt: skip
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    print(f"peak memory with both recordings as made: {peak:.2f} GiB")
    if asked.json:
        body = {
            "machine": platform.machine(), "load": os.getloadavg()[0], "peak_gib": peak,
            "rows": [{"name": n, "best": min(s), "median": statistics.median(s), "limit": x, "error": e}
                     for n, s, x, e, _ in rows],
        }  # fmt: skip
        asked.json.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
