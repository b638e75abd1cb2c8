"""Run a small problem through every compiled loop, so that all of them are on disk: ``python -m tests.compiled``."""

from pathlib import Path

from polepiece.bench import coarse_bench, predict
from polepiece.guitar import read_guitar
from polepiece.moves import parse_changes

DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"


def compile_all() -> None:
    """Predict what lowering a pickup does, on the coarse mesh: 13 s, of which 12 are the compiler's."""
    guitar, bench = read_guitar(DEMO), coarse_bench()
    predict(guitar, "neck", parse_changes(["lower=0.3mm"]), draws=8, bench=bench)


if __name__ == "__main__":
    compile_all()
