"""Nodal analysis of any network of resistors, capacitors, inductors, impedances, couplings and sources."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import InputError
from tests.reference.circuit_elements import GROUND, Capacitor, Element, Impedance, Inductor, Mutual, Resistor, Source

# Currents are counted in units of 1 V over this many ohm: node equations and branch equations then have
# entries of like size for the impedances of a guitar. It scales the arithmetic and nothing else.
_SCALE = 1e5


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Elements between named nodes; the node "0" is ground."""

    elements: tuple[Element, ...]

    def __post_init__(self) -> None:
        names = [one.name for one in self.elements if not isinstance(one, Mutual)]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InputError(f"elements share the name {', '.join(twice)}; every element needs its own.")
        branches = {one.name for one in self.elements if isinstance(one, Inductor | Impedance)}
        for one in self.elements:
            if isinstance(one, Mutual):
                for name in (one.first, one.second):
                    if name not in branches:
                        raise InputError(
                            f"mutual {one.first}-{one.second}: no inductor or impedance {name!r} is there."
                        )
        if not any(GROUND in (one.a, one.b) for one in self.elements if not isinstance(one, Mutual)):
            raise InputError('no element touches ground; call one node "0".')

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of the nodes without ground, in the order of their first appearance."""
        ends = [node for one in self.elements if not isinstance(one, Mutual) for node in (one.a, one.b)]
        return tuple(dict.fromkeys(node for node in ends if node != GROUND))

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the sources, in order."""
        return tuple(one.name for one in self.elements if isinstance(one, Source))


def solve(network: Network, frequency: ArrayLike) -> dict[str, ComplexArray]:
    """Voltage of every node with all sources on.

    Parameters
    ----------
    network : Network
        The elements; each source gives its own ``volts``.
    frequency : array_like, shape (f,)
        Hz, 0 or more.

    Returns
    -------
    dict of str to ndarray, shape (f,)
        Volts of each node above ground.

    Raises
    ------
    InputError
        When a node floats (at 0 Hz a capacitor does not hold it), or the equations have no single answer,
        as with two sources side by side; the message names the node or branch.

    Notes
    -----
    Modified nodal analysis: Kirchhoff's current law at each node, and v_a - v_b = sum_j Z_kj i_j for each
    branch k that has a current of its own (sources, inductors, impedances, joints of 0 ohm).

    References
    ----------
    Ho, Ruehli and Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and
    Systems 22 (1975) 504-509.
    """
    system = _System(network, _checked(frequency))
    drive = np.zeros((system.size, 1), dtype=np.complex128)
    for source in (one for one in network.elements if isinstance(one, Source)):
        drive[system.branch[source.name], 0] = source.volts
    volts = system.answer(drive)[:, :, 0]
    return {node: volts[:, row] for node, row in system.node.items()}


def transfers(network: Network, frequency: ArrayLike, node: str, *, to: str = GROUND) -> ComplexArray:
    """Volts between ``node`` and ``to`` per volt of each source alone.

    Parameters
    ----------
    network : Network
        The elements; the ``volts`` of its sources are not used.
    frequency : array_like, shape (f,)
        Hz, 0 or more.
    node, to : str
        Where the voltage is read.

    Returns
    -------
    ndarray, shape (sources, f)
        In the order of ``network.sources``; the other sources are replaced by joints.

    Raises
    ------
    InputError
        As `solve`; also for a node that is not there.
    """
    system = _System(network, _checked(frequency))
    drive = np.zeros((system.size, len(network.sources)), dtype=np.complex128)
    for column, name in enumerate(network.sources):
        drive[system.branch[name], column] = 1.0
    return np.ascontiguousarray(system.between(system.answer(drive), node, to).T)


def port_impedance(network: Network, frequency: ArrayLike, node: str, *, to: str = GROUND) -> ComplexArray:
    """Impedance seen between two nodes with all sources replaced by joints.

    Parameters
    ----------
    network : Network
        The elements.
    frequency : array_like, shape (f,)
        Hz, 0 or more.
    node, to : str
        The port.

    Returns
    -------
    ndarray, shape (f,)
        Ohm.

    Raises
    ------
    InputError
        As `solve`; also for a node that is not there.
    """
    system = _System(network, _checked(frequency))
    drive = np.zeros((system.size, 1), dtype=np.complex128)
    for end, sign in ((node, 1.0), (to, -1.0)):
        if end != GROUND:
            drive[system.row(end), 0] = sign * _SCALE
    return system.between(system.answer(drive), node, to)[:, 0]


def _checked(frequency: ArrayLike) -> FloatArray:
    array = np.atleast_1d(np.asarray(frequency, dtype=float))
    if array.ndim != 1 or array.size == 0 or not np.all(np.isfinite(array)) or np.any(array < 0.0):
        raise InputError("frequency must be a list of finite values, 0 Hz or more.")
    return array


class _System:
    """Equations of one network: matrix (f, unknowns, unknowns); unknowns are nodes, then branches."""

    def __init__(self, network: Network, frequency: FloatArray) -> None:
        self.network, self.omega = network, 2.0 * np.pi * frequency
        self._jw: ComplexArray = np.asarray(1j * self.omega, dtype=np.complex128)
        self._refuse_floating(still=bool(np.any(frequency == 0.0)))
        self.node = {name: row for row, name in enumerate(network.nodes)}
        branches = [
            one
            for one in network.elements
            if isinstance(one, Source | Inductor | Impedance) or (isinstance(one, Resistor) and one.resistance == 0.0)
        ]
        self.branch = {one.name: len(self.node) + row for row, one in enumerate(branches)}
        self.size = len(self.node) + len(self.branch)
        self.matrix = np.zeros((len(self.omega), self.size, self.size), dtype=np.complex128)
        for one in network.elements:
            self._enter(one)

    def row(self, node: str) -> int:
        if node not in self.node:
            raise InputError(f"there is no node {node!r}; the nodes are {', '.join(self.node)} and ground {GROUND!r}.")
        return self.node[node]

    def between(self, answer: ComplexArray, node: str, to: str) -> ComplexArray:
        zero = np.zeros((answer.shape[0], answer.shape[2]), dtype=np.complex128)
        high = zero if node == GROUND else answer[:, self.row(node)]
        return high - (zero if to == GROUND else answer[:, self.row(to)])

    def answer(self, drive: ComplexArray) -> ComplexArray:
        try:
            found = np.linalg.solve(self.matrix, np.broadcast_to(drive, (len(self.omega), *drive.shape)))
        except np.linalg.LinAlgError:
            found = None
        if found is None or not np.all(np.isfinite(found)):
            raise InputError(self._blame())
        return np.asarray(found, dtype=np.complex128)

    def _enter(self, one: Element) -> None:
        if isinstance(one, Mutual):
            value = self._jw * (one.inductance or 0.0) if one.impedance is None else one.impedance
            first, second = self.branch[one.first], self.branch[one.second]
            for row, column in ((first, second), (second, first)):
                self.matrix[:, row, column] -= self._fit(value, f"mutual {one.first}-{one.second}") / _SCALE
        elif one.name in self.branch:
            row = self.branch[one.name]
            for end, sign in ((one.a, 1.0), (one.b, -1.0)):
                if end != GROUND:
                    self.matrix[:, self.node[end], row] += sign
                    self.matrix[:, row, self.node[end]] += sign
            if isinstance(one, Inductor):
                self.matrix[:, row, row] -= self._jw * one.inductance / _SCALE
            elif isinstance(one, Impedance):
                self.matrix[:, row, row] -= self._fit(one.impedance, f"impedance {one.name}") / _SCALE
        elif isinstance(one, Resistor):
            self._admit(one.a, one.b, np.full(len(self.omega), _SCALE / one.resistance, dtype=np.complex128))
        elif isinstance(one, Capacitor):
            self._admit(one.a, one.b, self._jw * (one.capacitance * _SCALE))

    def _admit(self, a: str, b: str, admittance: ComplexArray) -> None:
        for here, there in ((a, b), (b, a)):
            if here != GROUND:
                self.matrix[:, self.node[here], self.node[here]] += admittance
                if there != GROUND:
                    self.matrix[:, self.node[here], self.node[there]] -= admittance

    def _fit(self, values: ComplexArray, where: str) -> ComplexArray:
        if values.shape != self.omega.shape:
            raise InputError(f"{where} has {values.size} values for {self.omega.size} frequencies; one each is needed.")
        return values

    def _refuse_floating(self, *, still: bool) -> None:
        joined: dict[str, set[str]] = {GROUND: set()}
        for one in self.network.elements:
            if isinstance(one, Mutual):
                continue
            ends = joined.setdefault(one.a, set()), joined.setdefault(one.b, set())
            parted = isinstance(one, Capacitor) and (still or one.capacitance == 0.0)
            if not parted and not (isinstance(one, Resistor) and np.isinf(one.resistance)):
                ends[0].add(one.b)
                ends[1].add(one.a)
        reached, front = {GROUND}, [GROUND]
        while front:
            for node in joined[front.pop()] - reached:
                reached.add(node)
                front.append(node)
        floating = [node for node in self.network.nodes if node not in reached]
        if floating:
            why = " At 0 Hz a capacitor does not hold a node: start above 0 Hz or add its leakage." if still else ""
            raise InputError(f"node {', '.join(floating)} floats: nothing joins it to ground {GROUND!r}.{why}")

    def _blame(self) -> str:
        names = [*(f"node {name}" for name in self.node), *(f"branch {name}" for name in self.branch)]
        worst = int(np.argmin([np.linalg.svd(one, compute_uv=False)[-1] for one in self.matrix]))
        null = np.abs(np.linalg.svd(self.matrix[worst])[2][-1])
        guilty = ", ".join(name for name, share in zip(names, null, strict=True) if share > 0.1 * null.max())
        return (
            f"the network has no single answer at {self.omega[worst] / (2.0 * np.pi):g} Hz: {guilty}. "
            "Sources or joints side by side, or a resonance without loss, do this."
        )
