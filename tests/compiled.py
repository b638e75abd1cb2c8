"""Run a small problem through every compiled loop, so that all of them are on disk: ``python -m tests.compiled``."""

from pathlib import Path

import numpy as np

from polepiece.auditioning import compare
from polepiece.bench import coarse_bench, field, predict
from polepiece.guitar import read_guitar
from polepiece.moves import parse_changes
from polepiece.sound.tablature import tablature

DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
PLAYED = "tempo = 240\nstep = 1/8\n\ne|----\nB|----\nG|----\nD|5b--\nA|---x\nE|----\n"  # bent, and scratched


def compile_all() -> None:
    """Predict and play what lowering a pickup does, on the coarse mesh; nearly all of its time is the compiler's."""
    guitar, bench, changes = read_guitar(DEMO), coarse_bench(), parse_changes(["lower=0.3mm"])
    predict(guitar, "neck", changes, draws=8, bench=bench)
    field(guitar, "neck", np.array([[0.0, 0.0, 25e-3]]), bench=bench)
    compare(guitar, "neck", [changes], phrase=tablature(PLAYED), chain="edge", bench=bench)


if __name__ == "__main__":
    compile_all()
