"""What a candidate of a sweep costs, by what it has solved again: processor seconds, one process, usual mesh.

Run: python -m benchmarks.sweep_cost [FILE.guitar.toml [PICKUP]]
The first candidate of each design is not counted: its geometry is solved, or read from disk, for all of them.
"""

import sys
import time
from pathlib import Path

from polepiece.guitar import read_guitar
from polepiece.study import compute_chunk, parse_axis, plan_study

KINDS = (  # what is varied, how much else is varied with it
    ("circuit alone, 128 together", ("volume_pot=250k..500k:16", "cable=300..900pF:8")),
    ("gap", ("lower=0.05..0.8mm:16",)),
    ("turns of the coils", ("resistance_kohm=7.6..8.2:13",)),
    ("strings", ("strings=9-42/10-46/11-49/12-54",)),
    ("charge of the bar", ("charge=0.6/0.7/0.8/0.9",)),
    ("grade of the bar", ("magnet=alnico-3/alnico-5/alnico-8/ceramic-8",)),
    ("one screw, exact", ("screw1=up 0.2 turn/up 0.4 turn/up 0.6 turn/up 0.8 turn",)),
    ("another geometry", ("poles.pole_spacing=9.9/10/10.2",)),
    ("8 possible guitars of each gap", ("lower=0.05..0.8mm:8",)),
)


def main(file: Path, pickup: str) -> None:
    """Print a line a kind."""
    guitar = read_guitar(file)
    place = [one.name for one in guitar.pickups].index(pickup)
    for words, texts in KINDS:
        draws = 8 if "possible" in words else 0
        axes = [parse_axis(one, guitar, place) for one in texts]
        plan = plan_study(guitar, pickup, axes, draws=draws, chunk_rows=10**6)
        places, values = plan.candidates(0)
        compute_chunk(plan.setup, places[:1], values[:1])
        begun = time.process_time()
        compute_chunk(plan.setup, places[1:], values[1:])
        each = (time.process_time() - begun) / (len(places) - 1)
        print(f"{words:32s} {1e3 * each:9.2f} ms  ({len(places) - 1} candidates; {', '.join(plan.dear)})", flush=True)


if __name__ == "__main__":
    demo = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else demo, sys.argv[2] if len(sys.argv) > 2 else "neck")
