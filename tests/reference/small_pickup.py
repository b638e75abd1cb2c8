"""A coarse humbucker for tests of laws that hold on any mesh, however rough."""

from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Alternating, AlternatingSolution, WindingSet, alternating, solve_alternating, winding_set
from polepiece.geometry import Assembly, Resolution, cut
from polepiece.magnetics import Factors, MagnetState, factorise
from polepiece.materials import LinearSteel
from verification.cases import STEEL_PARTS, humbucker, humbucker_coils

COARSE = Resolution(
    sectors=6, slice_height=2.6e-3, keeper_panel=5.2e-3, cap_rings=1, magnet_across=4, magnet_along=2, magnet_layers=2,
    rod_layers=6, rod_rings=1, rod_sectors=6,
)  # fmt: skip
STEEL = {part: LinearSteel(permeability=800.0) for part in STEEL_PARTS}
ABOVE = np.array([[x, y, 17.0] for y in (-25.0, -5.0, 5.0, 15.0) for x in (-15.0, -9.0, 1.0, 9.0)]) * 1e-3


class Rigid:
    """A magnet of one magnetisation (A/m) and the slope of its recoil permeability: linear, as tests need it."""

    def __init__(self, magnetization: float, slope: float = 0.0) -> None:
        self.level, self.slope = magnetization, slope
        self.remanence = 4e-7 * np.pi * magnetization
        self.coercivity, self.energy_product = 1.0, 1.0

    def magnetization(self, field: object) -> tuple[FloatArray, FloatArray]:
        """Return M and dM/dH."""
        h = np.asarray(field, dtype=float)
        return self.level + self.slope * h, np.full(h.shape, self.slope)


@lru_cache(maxsize=1)
def windings() -> WindingSet:
    """Return the coarse humbucker's coils."""
    return winding_set(cut(humbucker(), COARSE), humbucker_coils())


@lru_cache(maxsize=1)
def factors() -> Factors:
    """Return the coarse humbucker with its coils, factorised once a session."""
    return factorise(cut(humbucker(), COARSE), windings().sources)


@lru_cache(maxsize=1)
def system() -> Alternating:
    """Return its reduced matrices for alternating fields."""
    return alternating(factors(), windings())


def field(f: Factors, state: MagnetState, points: FloatArray = ABOVE) -> FloatArray:
    """Return H (n, 3) of a state at points in air."""
    return f.elements.field(points, state.charge)


def linear(mu_magnet: complex, mu_steel: complex, hertz: float = 0.0) -> AlternatingSolution:
    """Return the coarse humbucker's inductances with one permeability for all steel and one for the bar."""
    one = np.array([mu_magnet], dtype=complex)
    return solve_alternating(
        system(), np.array([hertz]), steel=np.full((len(system().edges), 1), mu_steel, dtype=complex),
        magnet_flat=one, magnet_up=one,
    )  # fmt: skip


def bodies_alone(assembly: Assembly, resolution: Resolution = COARSE) -> Factors:
    """Return the factors of any assembly at the coarse resolution."""
    return factorise(cut(assembly, resolution))
