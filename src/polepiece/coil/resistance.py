"""Direct-current resistance and self-capacitance of a winding."""

import math
from collections.abc import Sequence
from typing import Literal, assert_never

from polepiece.coil.winding import Racetrack
from polepiece.constants import EPSILON_0
from polepiece.errors import InputError

Wiring = Literal["series", "parallel", "split-screws", "split-slugs", "out-of-phase", "parallel-out-of-phase"]
"""How the coils of a pickup are joined: one, or (slug coil, screw coil)."""


def winding_resistance(mean_turn: float, turns: float, ohm_per_metre: float) -> float:
    """Return the resistance in ohm of ``turns`` turns of ``mean_turn`` (m) of a wire (ohm/m).

    Definition of a resistance per metre.
    """
    if min(mean_turn, turns, ohm_per_metre) <= 0.0:
        raise InputError("turns, length of a turn and resistance per metre must be positive.")
    return mean_turn * turns * ohm_per_metre


def between_leads(each: Sequence[float], wiring: Wiring) -> float:
    """Return the resistance between the leads from that of the coils in the order (slug coil, screw coil), ohm.

    In series they add, in parallel their conductances do, of a
    split pair one stays on (Kirchhoff).
    """
    if len(each) == 1:
        return float(each[0])
    match wiring:
        case "series" | "out-of-phase":
            return float(sum(each))
        case "parallel" | "parallel-out-of-phase":
            return float(1.0 / sum(1.0 / one for one in each))
        case "split-slugs":
            return float(each[0])
        case "split-screws":
            return float(each[1])
        case _:
            assert_never(wiring)


def winding_capacitance(coil: Racetrack, turns: float, *, bare: float, permittivity: float) -> float:
    """Estimate the self-capacitance of a layered winding, F.

    Parameters
    ----------
    coil : Racetrack
    turns : float
    bare : float
        Bare wire diameter, m.
    permittivity : float
        Relative, of the enamel and what fills the winding.

    Notes
    -----
    Energy between layers of a winding with a linear voltage: C = (4/3) C_layer (n - 1)/n^2 with n layers and
    C_layer = eps l h / d between two neighbours, d the distance that is not copper. Source: Massarini and
    Kazimierczuk, IEEE Trans. Power Electron. 12, 671 (1997), section on layers, in its plain form (from memory).
    A scatter-wound coil differs by a factor of 2 or 3 either way: take it as an order of magnitude.
    """
    width, height = coil.window
    pitch = math.sqrt(width * height / turns)
    layers = max(2.0, width / pitch)
    distance = max(pitch - bare * math.pi / 4.0, 0.1 * bare)
    layer = EPSILON_0 * permittivity * coil.mean_turn * height / distance
    return 4.0 / 3.0 * layer * (layers - 1.0) / layers**2
