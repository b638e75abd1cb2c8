"""The working point: demagnetisation curve, charge history, steel and self-demagnetising field together."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import FloatArray, IntArray
from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.geometry import Mesh
from polepiece.magnetics.divided import alone, bodies, half
from polepiece.magnetics.newton import Newton
from polepiece.magnetics.reluctance import Factors, Linear
from polepiece.materials import MajorCurve


class SteelCurve(Protocol):
    """What statics need of a steel: M and dM/dH at H, odd in H."""

    def magnetization(self, field: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """M in A/m and dM/dH."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetLaw:
    """How one magnet behaves.

    ``charge`` is "in-place" (a saturating pulse through the assembled pickup: everywhere on the major curve)
    or a fraction: 1.0 is a bar charged alone in air and then put in ("outside"), less is partly discharged.
    """

    curve: MajorCurve
    recoil_permeability: float
    charge: Literal["in-place"] | float = 1.0
    pure_recoil: bool = False  # verification: the recoil line may rise above the major curve

    def __post_init__(self) -> None:
        """Check the ranges."""
        if self.charge != "in-place" and not 0.0 <= float(self.charge) <= 1.0:
            raise InputError(f"charge is {self.charge}; a fraction lies between 0 and 1 (1 = charged alone in air).")
        if not 1.0 <= self.recoil_permeability <= 20.0:
            raise InputError(f"recoil_permeability is {self.recoil_permeability}; it lies between 1 and 20.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Start:
    """Where Newton's method begins: potentials near those of a state."""

    potential: FloatArray  # (nodes,) A
    bare: FloatArray | None  # as in a state


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetState:
    """A solved static state. Edge arrays follow the mesh's edges."""

    potential: FloatArray  # (nodes,) A
    field: FloatArray  # (edges,) H along the edge, A/m
    magnetization: FloatArray  # (edges,) A/m
    charge_of_node: "FloatArray | Linear"  # T of the factors
    steps: int
    bare: FloatArray | None = None  # potential (magnet nodes,) of the magnets alone in air, where history asked for it

    @property
    def charge(self) -> FloatArray:
        """Charge of the elements (elements,), A m; worked out when asked."""
        return self.charge_of_node @ self.potential

    def mean_in_magnet(self, mesh: Mesh, part: str = "magnet") -> tuple[float, float]:
        """Return the mean B (T) and H (A/m) in a magnet, along its own magnetisation.

        Means over the volume, B = mu0 (H + M): definition.
        """
        rows = np.flatnonzero((mesh.edge_part == mesh.parts.index(part)) & (mesh.edge_sign != 0.0))
        volume = (mesh.edge_area * mesh.edge_length)[rows]
        sign = mesh.edge_sign[rows]
        h = float((volume * sign * self.field[rows]).sum() / volume.sum())
        m = float((volume * sign * self.magnetization[rows]).sum() / volume.sum())
        return MU_0 * (h + m), h


def solve_state(
    factors: Factors,
    magnets: Mapping[str, MagnetLaw],
    steels: Mapping[str, SteelCurve],
    *,
    start: "MagnetState | Start | None" = None,
) -> MagnetState:
    """Solve the static field of a pickup.

    Quasi-static, anhysteretic steel; magnets nonlinear along the easy axis, linear with the recoil
    permeability across it.

    Parameters
    ----------
    factors : Factors
    magnets : mapping of part name to MagnetLaw
    steels : mapping of part name to SteelCurve
    start : MagnetState or Start, optional
        A state near the answer; only the number of steps depends on it.

    Raises
    ------
    ConvergenceError
        When Newton's method does not converge; carries the residuals.

    Notes
    -----
    Newton on the node potentials, with a line search on the residual; slopes below zero (the hyperbola near
    Br) are taken as zero in the Jacobian only. History: each easy edge recoils from the point that it had
    alone in air: M = min(major(H), M0 + (mu_rec - 1)(H - H0)); a fraction scales the intercept that state
    ``outside`` has in the circuit.
    """
    mesh = factors.mesh
    missing = [name for name in mesh.parts if name not in magnets and name not in steels]
    if missing:
        raise InputError(f"no law is given for the parts {missing}; given are {sorted([*magnets, *steels])}.")
    laws = _Laws(mesh, magnets, steels)
    bare = None
    if laws.has_history:
        bare, points = _bare_points(factors, _Laws(mesh, magnets, {}), start.bare if start is not None else None)
        laws.recoil_from(points)
    guess = start.potential if start is not None else _first_guess(factors.uniform, laws)
    solve = _solved_in_half if _in_half(factors, laws) else _solved
    phi, h, m, steps = solve(factors, laws, guess)
    if laws.is_partial:
        laws.scale_intercepts(h, m)
        phi, h, m, more = solve(factors, laws, phi)
        steps += more
    return MagnetState(
        potential=phi, field=h, magnetization=m, charge_of_node=factors.charge_of_node, steps=steps, bare=bare
    )


Solution = tuple[FloatArray, FloatArray, FloatArray, int]  # potential of the nodes, H and M of the edges, steps


def _solved(factors: Factors, laws: "_Laws", guess: FloatArray) -> Solution:
    mesh = factors.mesh
    like = np.arange(mesh.nodes) if factors.like is None else factors.like
    edges = like[mesh.edge_a], like[mesh.edge_b], mesh.edge_area, mesh.edge_length
    each = bodies(factors) if not laws.steels and factors.like is None else []
    phi = np.empty(len(factors.network))
    phi[like] = guess
    phi, h, m, steps = Newton(factors.network, *edges, apart=each).solve(phi, laws.evaluate)
    return phi[like], h, m, steps


def _in_half(factors: Factors, laws: "_Laws") -> bool:
    """Return whether the state is its own image, or that with all signs turned, by shapes and by laws."""
    found = half(factors)
    given = dict(zip(laws.mesh.parts, laws.of_parts()))
    return found is not None and all(given[one] == given[other] for one, other in found.parts)


def _solved_in_half(factors: Factors, laws: "_Laws", guess: FloatArray) -> Solution:
    found = half(factors)
    assert found is not None
    own = laws.on(factors.mesh, found.edges)
    near, _, _, steps = found.newton(by_bodies=not laws.steels).solve(guess[found.near], own.evaluate)
    phi = found.whole(near)
    h = (phi[factors.mesh.edge_a] - phi[factors.mesh.edge_b]) / factors.mesh.edge_length
    return phi, h, laws.evaluate(h)[0], steps


class _Laws:
    """M(H) of every edge, or of ``some`` alone (edges,), by groups of one law."""

    def __init__(
        self, mesh: Mesh, magnets: Mapping[str, MagnetLaw], steels: Mapping[str, SteelCurve],
        some: "IntArray | slice" = slice(None),
    ) -> None:  # fmt: skip
        self.mesh = mesh
        self.given = magnets, steels
        parts, signs = mesh.edge_part[some], mesh.edge_sign[some]
        self.easy = np.flatnonzero(signs != 0.0)
        self.sign = signs[self.easy]
        self.magnets: list[tuple[MagnetLaw, np.ndarray, np.ndarray]] = []  # law, all its edges, its rows in easy
        self.steels: list[tuple[SteelCurve, np.ndarray]] = []
        for index, name in enumerate(mesh.parts):
            edges = np.flatnonzero(parts == index)
            if name in magnets:
                self.magnets.append((magnets[name], edges, np.flatnonzero(parts[self.easy] == index)))
            elif name in steels:
                self.steels.append((steels[name], edges))
        self.intercept: FloatArray | None = None
        self.limited = np.ones(len(self.easy), dtype=bool)
        for law, _, rows in self.magnets:
            self.limited[rows] = not law.pure_recoil

    def on(self, mesh: Mesh, some: "IntArray | slice" = slice(None)) -> "_Laws":
        """Return the same laws on another mesh of the same parts, or on some edges alone, recoil lines and all."""
        out = _Laws(mesh, *self.given, some)
        if self.intercept is not None and mesh is self.mesh:
            intercept = np.full(len(mesh.edge_sign), np.nan)
            intercept[self.easy] = self.intercept
            out.intercept = intercept[some][out.easy]
        return out

    def of_parts(self) -> "list[MagnetLaw | SteelCurve]":
        """Return the law of each part of the mesh."""
        magnets, steels = self.given
        return [magnets[name] if name in magnets else steels[name] for name in self.mesh.parts]

    @property
    def has_history(self) -> bool:
        return any(law.charge != "in-place" for law, _, _ in self.magnets)

    @property
    def is_partial(self) -> bool:
        return any(law.charge not in ("in-place", 1.0) for law, _, _ in self.magnets)

    def recoil_from(self, points: tuple[FloatArray, FloatArray]) -> None:
        """Set the recoil lines: infinite intercept for what was charged in place."""
        h0, m0 = points
        self.intercept = np.full(len(self.easy), np.inf)
        for law, _, rows in self.magnets:
            if law.charge != "in-place":
                self.intercept[rows] = m0[rows] - (law.recoil_permeability - 1.0) * h0[rows]

    def scale_intercepts(self, h: FloatArray, m: FloatArray) -> None:
        """From state outside to a fraction of it."""
        assert self.intercept is not None
        here_h, here_m = h[self.easy] * self.sign, m[self.easy] * self.sign
        for law, _, rows in self.magnets:
            if law.charge not in ("in-place", 1.0):
                tilt = law.recoil_permeability - 1.0
                self.intercept[rows] = float(law.charge) * (here_m[rows] - tilt * here_h[rows])

    def along(self, h: FloatArray) -> tuple[FloatArray, FloatArray]:
        """M and dM/dH on the easy edges at H = ``h``, both along the magnetisation."""
        m, slope = np.empty_like(h), np.empty_like(h)
        for law, _, rows in self.magnets:
            m[rows], slope[rows] = law.curve.magnetization(h[rows])
        if self.intercept is not None:
            for law, _, rows in self.magnets:
                if law.charge == "in-place":
                    continue
                tilt = law.recoil_permeability - 1.0
                line = self.intercept[rows] + tilt * h[rows]
                use = (line <= m[rows]) | ~self.limited[rows]
                m[rows] = np.where(use, line, m[rows])
                slope[rows] = np.where(use, tilt, slope[rows])
        return m, slope

    def evaluate(self, h: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return M (A/m) and dM/dH on every edge at H = ``h`` along it."""
        m, slope = np.zeros_like(h), np.zeros_like(h)
        for curve, edges in self.steels:
            m[edges], slope[edges] = curve.magnetization(h[edges])
        for law, edges, _ in self.magnets:
            tilt = law.recoil_permeability - 1.0
            m[edges] = tilt * h[edges]
            slope[edges] = tilt
        along = h[self.easy] * self.sign
        m_easy, slope_easy = self.along(along)
        m[self.easy] = m_easy * self.sign
        slope[self.easy] = slope_easy
        return m, slope


def _first_guess(uniform: FloatArray, laws: _Laws) -> FloatArray:
    """One load line: the level of a uniform magnetisation at which the mean field fits the law.

    ``uniform`` is the potential of 1 A/m in every easy edge, (nodes,).
    """
    mesh = laws.mesh
    if not len(laws.easy):
        return np.zeros(mesh.nodes)
    if len(uniform) == mesh.nodes:
        a, b = mesh.edge_a[laws.easy], mesh.edge_b[laws.easy]
    else:
        raise AssertionError("uniform state of another network")
    h1 = (uniform[a] - uniform[b]) / mesh.edge_length[laws.easy] * laws.sign
    volume = (mesh.edge_area * mesh.edge_length)[laws.easy]
    slope = float((volume * h1).sum() / volume.sum())
    return uniform * _load_line(slope, laws, volume)


def _load_line(slope: float, laws: _Laws, volume: FloatArray) -> float:
    low, high = 0.0, 2e6
    ones = np.ones(len(laws.easy))
    for _ in range(40):
        level = 0.5 * (low + high)
        m, _ = laws.along(slope * level * ones)
        if float((volume * m).sum() / volume.sum()) > level:
            low = level
        else:
            high = level
    return 0.5 * (low + high)


def _bare_points(
    factors: Factors, laws: _Laws, guess: FloatArray | None
) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """Every magnet alone in air on its major curve: its potential, and H and M on the easy edges.

    ``laws`` of the magnets alone; ``guess``: a potential near the answer.
    """
    if factors.bare_twin is not None:
        twin, edges = factors.bare_twin
        phi, (h, m) = _bare_points(twin, laws.on(twin.mesh), guess)
        return phi, (h[edges], m[edges])
    mesh, nodes = factors.mesh, factors.magnet_nodes
    rows = np.flatnonzero(np.asarray(mesh.is_magnet_edge, dtype=bool))
    if guess is None:
        spread = np.zeros(mesh.nodes)
        spread[nodes] = factors.bare_uniform
        h1 = (spread[mesh.edge_a[laws.easy]] - spread[mesh.edge_b[laws.easy]]) / mesh.edge_length[laws.easy]
        volume = (mesh.edge_area * mesh.edge_length)[laws.easy]
        slope = float((volume * h1 * laws.sign).sum() / volume.sum())
        guess = factors.bare_uniform * _load_line(slope, laws, volume)
    phi, h, m = np.empty(len(nodes)), np.empty(len(rows)), np.empty(len(rows))
    for alike in alone(factors):
        first, _ = alike[0]
        found = first.solved(guess[first.nodes], laws.on(mesh, rows[first.edges]).evaluate)
        for one, sense in alike:
            phi[one.nodes], h[one.edges], m[one.edges] = (sense * values for values in found)
    at = np.searchsorted(rows, laws.easy)
    return phi, (h[at] * laws.sign, m[at] * laws.sign)
