"""An impedance as a net of plain parts: a resistor, inductors bridged by resistors, a capacitor across all of it.

A circuit simulator holds such a net; the parts have a meaning: resistance for direct current, inductance that is left
at high frequencies, one cell for each eddy current that is felt, capacitance of winding and lead.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import ConvergenceError, InputError
from polepiece.later import optimize

CORNERS = np.geomspace(2.0, 2e5, 71)  # Hz, 14 a decade: a relaxation between two is met within 0.07 % of its size
LEAST_CELL = 1e-9  # of the inductance at 0 Hz: smaller cells are left out, six powers below what is asked
CAPACITANCES = (1e-12, 3e-9)  # F, where the one across the leads is sought
ZOOMS, ZOOMED = 4, 25  # grids of the logarithm, each over four steps of the one before: the last steps by 0.1 %


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoTerminal:
    """A pickup between its leads: R, L and cells (ohm, henry) in series, C across them; and how well it fits.

    ``size_error`` and ``phase_error`` are the largest over the frequencies that it was made of: a share, and rad.
    """

    resistance: float  # ohm
    inductance: float  # H
    cells: tuple[tuple[float, float], ...]
    capacitance: float  # F
    size_error: float
    phase_error: float

    def impedance(self, frequency: FloatArray) -> ComplexArray:
        """Return the impedance (f,), ohm; Kirchhoff: R + jwL + sum jw L_k R_k / (R_k + jw L_k), with C across it."""
        jw = 2j * np.pi * np.asarray(frequency, dtype=float)
        coil = (
            self.resistance + jw * self.inductance + sum((jw * h * r / (r + jw * h) for r, h in self.cells), 0.0 * jw)
        )
        return np.asarray(coil / (1.0 + jw * self.capacitance * coil))


def two_terminal(
    frequency: FloatArray, impedance: ComplexArray, resistance: float, *, capacitive: bool = True
) -> TwoTerminal:
    """Return the net of plain parts that has an impedance.

    Parameters
    ----------
    frequency : (f,) Hz, above 0, rising.
    impedance : (f,) ohm.
    resistance : ohm, for direct current.
    capacitive : bool
        False: there is no capacitance in it.

    Raises
    ------
    InputError
        For fewer frequencies than cells, or a resistance that is none.
    ConvergenceError
        When the active set does not settle.

    Notes
    -----
    Resistors and coupled inductors alone make R + jw sum_k g_k / (1 + jf / f_k) with every g_k 0 or more (Foster's form
    of an RL impedance; the corners are fixed here, 14 a decade, so that the g_k come of non-negative least squares).
    The capacitance is that with which the squares are least. Relative squares of Z: an error dZ_coil of the coil alone
    is dZ = (Z / Z_coil)^2 dZ_coil of the whole. Two coils with a capacitance each are taken as one with one, which is
    exact where they are alike; what that and the fixed corners cost is in the errors.

    References
    ----------
    .. [1] R. M. Foster, "A reactance theorem", Bell Syst. Tech. J. 3, 259 (1924), for the form, from memory.
    """
    hertz, z = np.asarray(frequency, dtype=float), np.asarray(impedance, dtype=complex)
    if hertz.ndim != 1 or hertz.shape != z.shape or len(hertz) < 20 or np.any(hertz <= 0.0) or resistance <= 0.0:
        raise InputError(f"{len(hertz)} frequencies, {resistance:g} ohm: 20 frequencies above 0 at least, and R > 0.")

    def squares(log_c: float) -> float:
        return _solved(hertz, z, resistance, float(np.exp(log_c)))[1]

    best = _capacitance(squares) if capacitive else 0.0
    sizes, _ = _solved(hertz, z, resistance, best)
    at_zero = float(sizes.sum())
    cells = tuple(
        (float(2.0 * np.pi * corner * size), float(size))
        for corner, size in zip(CORNERS, sizes[1:])
        if size > LEAST_CELL * at_zero
    )
    made = TwoTerminal(
        resistance=float(resistance), inductance=float(sizes[0]), cells=cells, capacitance=best, size_error=0.0,
        phase_error=0.0,
    )  # fmt: skip
    ratio = made.impedance(hertz) / z
    return TwoTerminal(
        resistance=made.resistance, inductance=made.inductance, cells=cells, capacitance=best,
        size_error=float(np.max(np.abs(np.abs(ratio) - 1.0))), phase_error=float(np.max(np.abs(np.angle(ratio)))),
    )  # fmt: skip


def _capacitance(squares: Callable[[float], float]) -> float:
    """Return the capacitance with the least squares, F; a sharp resonance makes their valley narrow: zoomed."""
    low, high = np.log(CAPACITANCES)
    for _ in range(ZOOMS):
        tried = np.linspace(low, high, ZOOMED)
        at = int(np.argmin([squares(float(one)) for one in tried]))
        low, high = tried[max(at - 2, 0)], tried[min(at + 2, ZOOMED - 1)]
    low, high = tried[max(at - 1, 0)], tried[min(at + 1, ZOOMED - 1)]
    found = optimize.minimize_scalar(squares, bounds=(low, high), method="bounded", options={"xatol": 1e-8})
    return float(np.exp(found.x))


def _solved(hertz: FloatArray, z: ComplexArray, resistance: float, capacitance: float) -> tuple[FloatArray, float]:
    """Return (inductance at high frequencies, then of each corner), H, and the relative squares that are left."""
    jw = 2j * np.pi * hertz
    coil = z / (1.0 - jw * capacitance * z)
    weight = z / coil**2
    columns = np.column_stack([np.ones_like(jw), *(1.0 / (1.0 + 1j * hertz / corner) for corner in CORNERS)])
    left = (weight * jw)[:, None] * columns
    right = weight * (coil - resistance)
    matrix, wanted = np.vstack([left.real, left.imag]), np.concatenate([right.real, right.imag])
    scale = np.linalg.norm(matrix, axis=0)
    try:
        found, _ = optimize.nnls(matrix / scale, wanted, maxiter=50 * len(scale))
    except RuntimeError as error:
        raise ConvergenceError(f"the net of parts was not found ({error}).") from None
    sizes = np.asarray(found / scale)
    return sizes, float(np.sum((matrix @ sizes - wanted) ** 2))


def subcircuit(net: TwoTerminal, name: str, remarks: tuple[str, ...] = ()) -> str:
    """Return a net as a subcircuit with two pins, hot and ground, in the netlist language that SPICE began.

    Parameters
    ----------
    net : TwoTerminal
    name : str
        Letters, digits and underscores are kept, the rest become underscores.
    remarks : tuple of str
        Comment lines at its head.
    """
    plain = "".join(one if one.isascii() and one.isalnum() else "_" for one in name).strip("_").lower() or "pickup"
    called = plain if plain[0].isalpha() else f"p_{plain}"
    lines = [*(f"* {' '.join(one.split())}" for one in remarks), f".subckt {called} hot ground"]
    nodes = ["hot", *(f"n{k}" for k in range(1, len(net.cells) + 2))]
    lines += [f"Rdc {nodes[0]} {nodes[1]} {net.resistance:.9g}"]
    after = [*nodes[2:], "ground"]
    lines.append(f"Lair {nodes[1]} {after[0]} {max(net.inductance, 1e-12):.9g}")
    for k, (ohms, henries) in enumerate(net.cells, start=1):
        ends = f"{after[k - 1]} {after[k]}"
        lines += [f"Leddy{k} {ends} {henries:.9g}", f"Reddy{k} {ends} {ohms:.9g}"]
    if net.capacitance:
        lines.append(f"Cown hot ground {net.capacitance:.9g}")
    return "\n".join([*lines, f".ends {called}", ""])
