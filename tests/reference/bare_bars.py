"""Every magnet of a pickup alone in air: the state from which a bar that was charged outside recoils."""

from collections.abc import Mapping

from polepiece.arrays import FloatArray
from polepiece.magnetics import Factors, MagnetLaw
from polepiece.magnetics.charge import _bare_points, _Laws


def bare_state(factors: Factors, magnets: Mapping[str, MagnetLaw]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (H, M, volume) on the easy edges of all magnets, each alone in air, along the magnetisation."""
    laws = _Laws(factors.mesh, magnets, {})
    _, (h, m) = _bare_points(factors, laws, None)
    easy = laws.easy
    return h, m, (factors.mesh.edge_area * factors.mesh.edge_length)[easy]
