"""Modified nodal analysis of a net: volts at the jack per volt in every coil, over frequencies and draws at once.

Kirchhoff's current law at every node, and v_a - v_b - sum_j Z_kj i_j = e_k for every coil k. The matrix is symmetric,
so one ampere into the jack gives everything: the voltage there is the impedance behind it, and the current that it
drives through a coil is the transfer from that coil's EMF to the jack (reciprocity).
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit.net import GROUND, Capacitor, Coils, Inductor, Net, Part, Resistor
from polepiece.circuit.topology import Edge, Topology, topology_of
from polepiece.errors import InputError

_OHM = 1e5  # ohm; currents are scaled by it where a dense matrix is solved, so that its entries are alike in size
Entries = dict[tuple[int, int], ComplexArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NodalResponse:
    """What a net makes of the EMF of its coils, at the jack with nothing plugged in."""

    transfers: tuple[ComplexArray, ...]  # one a pickup, (c, f) or (c, d, f), V per V
    impedance: ComplexArray  # (f,) or (d, f), ohm, looking back into the jack


def solve_net(net: Net, frequency: FloatArray) -> NodalResponse:
    """Return the open-circuit transfers to the jack and the impedance behind it.

    Parameters
    ----------
    net : Net
    frequency : ndarray, shape (f,)
        Hz, 0 or more; that of the coils' impedances.

    Raises
    ------
    InputError
        When the jack is joined to nothing, or the equations have no single answer (at 0 Hz a capacitor holds no node).

    Notes
    -----
    Elimination without pivoting, in an order found once (`topology`): first the currents of the coils, whose pivots are
    their impedances; what is left is an admittance matrix with a positive real part, which needs no pivoting. Inductors
    without loss have no such part: then, and where a pivot vanished, the whole matrix is solved with pivoting.

    References
    ----------
    Ho, Ruehli and Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and Systems 22
    (1975) 504-509 (from memory). Reciprocity of a symmetric matrix: textbooks. docs/theory/circuit.md.
    """
    topology = topology_of(net)
    s = np.asarray(2j * np.pi * frequency)
    shape = np.broadcast_shapes(*(_batch(part) for part in net.parts), s.shape)
    if topology.shorted:
        nothing = np.zeros(shape, dtype=np.complex128)
        return NodalResponse(transfers=_by_pickup(net, topology, {}, nothing), impedance=nothing)
    entries = _entries(net, topology, s)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found = None if topology.lossless else _eliminated(topology, entries)
    if found is None or not all(np.all(np.isfinite(one)) for one in found.values()):
        found = _pivoted(topology, entries, shape)
    if not all(np.all(np.isfinite(one)) for one in found.values()):
        raise InputError(_no_answer(frequency))
    behind = np.broadcast_to(found[topology.order[-1]], shape)
    return NodalResponse(transfers=_by_pickup(net, topology, found, behind), impedance=np.array(behind))


def _no_answer(frequency: FloatArray) -> str:
    still = " At 0 Hz a capacitor holds no node: start above 0 Hz." if np.any(frequency == 0.0) else ""
    return (
        "the circuit has no single answer: pickups without any impedance lie side by side, or an inductor and a "
        f"capacitor resonate without loss. Give coils and inductors a resistance.{still}"
    )


def _batch(part: Part) -> tuple[int, ...]:
    return part.impedance.shape[2:] if isinstance(part, Coils) else np.shape(part.value)


def _entries(net: Net, topology: Topology, s: ComplexArray) -> Entries:
    """Return the upper triangle of the matrix, by pairs of unknowns."""
    entries: Entries = {}

    def add(one: int, other: int, value: "ComplexArray | float") -> None:
        key = (min(one, other), max(one, other))
        entries[key] = entries[key] + value if key in entries else np.asarray(value, dtype=np.complex128)

    for edge in topology.edges:
        part = net.parts[edge.part]
        signed = () if edge.a == edge.b else ((edge.a, 1.0), (edge.b, -1.0))
        ends = [(topology.unknown[node], sign) for node, sign in signed if node != GROUND]
        if edge.kind in "ZL":
            row = topology.unknown[edge]
            for end, sign in ends:
                add(row, end, sign)
            if isinstance(part, Inductor):
                add(row, row, -s * part.value)
            elif isinstance(part, Coils):
                for other, column in _of_pickup(topology, edge):
                    add(row, column, -0.5 * (part.impedance[edge.coil, other] + part.impedance[other, edge.coil]))
            continue
        assert isinstance(part, Resistor | Capacitor)
        admittance = s * part.value if isinstance(part, Capacitor) else np.asarray(1.0 / part.value)
        for end, _ in ends:
            add(end, end, admittance)
        if len(ends) == 2:
            add(ends[0][0], ends[1][0], -admittance)
    return entries


def _of_pickup(topology: Topology, edge: Edge) -> list[tuple[int, int]]:
    """Return coil and unknown of the same pickup's coils from this one on."""
    return [
        (one.coil, topology.unknown[one]) for one in topology.edges
        if one.kind == "Z" and one.part == edge.part and one.coil >= edge.coil
    ]  # fmt: skip


def _eliminated(topology: Topology, given: Entries) -> dict[int, ComplexArray]:
    """Return every unknown for one ampere into the jack, by elimination in the topology's order."""
    entries = dict(given)
    over: dict[int, ComplexArray] = {}
    for pivot, near in zip(topology.order, topology.neighbours):
        over[pivot] = 1.0 / entries[pivot, pivot]
        beside = [entries[min(pivot, one), max(pivot, one)] for one in near]
        for number, one in enumerate(near):
            factor = beside[number] * over[pivot]
            for place in range(number, len(near)):
                key = (one, near[place])
                less = factor * beside[place]
                entries[key] = entries[key] - less if key in entries else -less
    last = topology.order[-1]
    found = {last: over[last]}
    for pivot, near in zip(reversed(topology.order[:-1]), reversed(topology.neighbours[:-1])):
        total: ComplexArray | float = 0.0
        for one in near:
            total = total + entries[min(pivot, one), max(pivot, one)] * found[one]
        found[pivot] = np.asarray(-total * over[pivot])
    return found


def _pivoted(topology: Topology, entries: Entries, shape: tuple[int, ...]) -> dict[int, ComplexArray]:
    """Return the same by a dense solution with pivoting."""
    size = len(topology.unknown)
    nodes = sum(isinstance(one, str) for one in topology.unknown)
    matrix = np.zeros((*shape, size, size), dtype=np.complex128)
    scale = np.where(np.arange(size) < nodes, np.sqrt(_OHM), 1.0 / np.sqrt(_OHM))
    for (row, column), value in entries.items():
        matrix[..., row, column] = matrix[..., column, row] = value * scale[row] * scale[column]
    drive = np.zeros((*shape, size, 1), dtype=np.complex128)
    drive[..., topology.order[-1], 0] = scale[topology.order[-1]]
    try:
        answer = np.linalg.solve(matrix, drive)[..., 0] * scale
    except np.linalg.LinAlgError:
        answer = np.full((*shape, size), np.nan, dtype=np.complex128)
    return {one: answer[..., one] for one in range(size)}


def _by_pickup(
    net: Net, topology: Topology, found: dict[int, ComplexArray], like: ComplexArray
) -> tuple[ComplexArray, ...]:
    """Return the currents of the coils, pickup by pickup; nought for a coil that the jack does not see."""
    current = {(edge.part, edge.coil): found[topology.unknown[edge]] for edge in topology.edges if edge.kind == "Z"}
    nought = np.zeros_like(like)
    return tuple(
        np.array([np.broadcast_to(current.get((n, c), nought), like.shape) for c in range(len(part.ends))])
        for n, part in enumerate(net.parts)
        if isinstance(part, Coils)
    )
