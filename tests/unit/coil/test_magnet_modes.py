"""The few modes that stand for a coil's own magnets: enough of them, where the coil's flux runs through them."""

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.coil import induction
from polepiece.guitar import parse_guitar
from polepiece.pickup import engine

FILE = 'string_set = "10-46"\n[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "{}"\n'


def voltages(text: str) -> np.ndarray:
    """Volts per velocity of every string at every frequency."""
    engine.pickup_model.cache_clear()
    guitar, bench = parse_guitar(text), Bench()
    pickup = guitar.pickup("neck")
    solved = bench.magnetised(guitar, pickup)
    sensed = bench.sensed(guitar, pickup, solved)
    return np.asarray(bench.eddy(guitar, pickup, solved, sensed) * sensed.sensitivity[..., None])


@pytest.mark.parametrize("construction", ["plate-rod-single", "rod-single"])
def test_what_strings_induce_does_not_hang_on_the_cut(construction, monkeypatch):
    """Within 3e-4 (0.003 dB) of a basis ten times as fine; at the cut of bars beside steel it was 9e-3."""
    monkeypatch.setenv("POLEPIECE_CACHE", "")
    text = FILE.format(construction)
    found = voltages(text)
    monkeypatch.setattr(induction, "CORE_CUT", 0.1 * induction.CORE_CUT)
    finer = voltages(text)
    assert np.abs(found - finer).max() <= 3e-4 * np.abs(finer).max()
