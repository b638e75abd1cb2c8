"""The surface of the engine's inductance against the engine; a fit of it; what it refuses to tell."""

from pathlib import Path

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.evidence import engine_model
from polepiece.evidence.coil_surface import CoilSurface, coil_surface, solved_inductance
from polepiece.guitar import read_guitar
from polepiece.measure import ImpedanceSpectrum, fit_coil
from polepiece.pickup import engine

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"
GUITAR, BENCH = read_guitar(DEMO), Bench()


@pytest.fixture(scope="module")
def surface() -> CoilSurface:
    return coil_surface(GUITAR, "neck", bench=BENCH)


@pytest.mark.parametrize("seed", range(6))
def test_the_surface_is_the_engine(surface: CoilSurface, seed: int) -> None:
    """1e-3 of L at every frequency, anywhere within the spreads: a thirtieth of what the engine itself may be off."""
    random = np.random.default_rng(seed)
    factors = np.exp(random.uniform(np.log(surface.low), np.log(surface.high)))
    solved = solved_inductance(GUITAR, "neck", factors, bench=BENCH)
    found = surface.inductance(engine.SAMPLES, factors)
    assert np.max(np.abs(found / solved - 1.0)) < 1e-3


def measured(scale: float) -> ImpedanceSpectrum:
    model = engine_model(GUITAR, "neck", bench=BENCH)
    hertz = np.geomspace(20.0, 20e3, 220)
    values = np.array([one.usual for one in model.parameters])
    values[1] *= scale
    z = model.impedance(hertz, values)
    return ImpedanceSpectrum(frequency=hertz, impedance=z, deviation=1e-4 * np.abs(z), scale_tolerance=0.01)


def test_turns_and_permeability_are_never_said_to_be_told() -> None:
    found = fit_coil(measured(1.05), engine_model(GUITAR, "neck", bench=BENCH))
    assert not found["turns"].told
    assert not found["steel_permeability"].told
    assert any("cannot be told apart from an impedance alone" in line for line in found.untold)
    assert found["resistance"].told
    assert found["capacitance"].told
    assert found["turns"].low < 1.05 < found["turns"].high


def test_what_the_two_do_together_is_told() -> None:
    """A coil of 10 % more turns has 21 % more inductance, whichever of the two the fit takes it for."""
    model = engine_model(GUITAR, "neck", bench=BENCH)
    usual, more = (fit_coil(measured(one), model)["inductance_1000_hz"] for one in (1.0, 1.1))
    assert more.value / usual.value == pytest.approx(1.21, rel=0.02)  # the engine's own error, `ERROR`
    assert usual.told
