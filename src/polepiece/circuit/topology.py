"""What of a net matters at its jack, and in which order its unknowns are eliminated: found once a topology.

Closed contacts join their nodes, open ones go; what hangs on nothing carries no current and goes; so does what is
joined to the jack through ground only. Unknowns are the currents of coils and inductors, then the voltages of nodes.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from polepiece.circuit.net import GROUND, JACK, Capacitor, Coils, Inductor, Net, Resistor, Value
from polepiece.errors import InputError

Kind = str  # "R", "C", "L", "Z" (one coil)
KINDS: dict[type, Kind] = {Resistor: "R", Capacitor: "C", Inductor: "L"}


class Edge(NamedTuple):
    """One part, or one coil of a pickup, between two nodes."""

    kind: Kind
    part: int  # of the net
    coil: int
    a: str
    b: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Topology:
    """Edges that matter, with the unknowns at their ends, and the order of elimination."""

    edges: tuple[Edge, ...]
    unknown: dict[str | Edge, int]  # of a node; of the current of a coil or inductor
    order: tuple[int, ...]  # the jack is the last
    neighbours: tuple[tuple[int, ...], ...]  # of each in ``order``, those that come later
    shorted: bool  # the jack is joined to ground: nothing is heard

    @property
    def lossless(self) -> bool:
        """Whether there is an inductor without loss: a pivot may then vanish at a resonance."""
        return any(edge.kind == "L" for edge in self.edges)


def topology_of(net: Net) -> Topology:
    """Return the topology of a net; kept, as nets of one guitar mostly share it."""
    return _topology(tuple(_edges(net)))


def heard_pickups(net: Net) -> set[str]:
    """Return the names of the pickups of which a coil reaches the jack, or loads it.

    Raises
    ------
    InputError
        When nothing leads from the jack to ground.
    """
    return {net.parts[edge.part].name for edge in topology_of(net).edges if edge.kind == "Z"}


def what_matters(net: Net) -> tuple[object, ...]:
    """Return everything that the jack sees of a net, so that two nets can be compared: equal, or something is heard.

    Raises
    ------
    InputError
        When nothing leads from the jack to ground.
    """
    seen = []
    for edge in topology_of(net).edges:
        part = net.parts[edge.part]
        value = part.name if isinstance(part, Coils) else part.value
        seen.append((edge.kind, edge.coil, edge.a, edge.b, value))
    return tuple(seen)


def _edges(net: Net) -> Iterable[tuple[Edge, str]]:
    """Yield every edge and whether it is a "part", a "short" or "open"."""
    for number, part in enumerate(net.parts):
        if isinstance(part, Coils):
            for coil, (a, b) in enumerate(part.ends):
                yield Edge("Z", number, coil, a, b), "part"
            continue
        kind = KINDS[type(part)]
        yield Edge(kind, number, 0, part.a, part.b), _how(kind, part.value)


def _how(kind: Kind, value: Value) -> str:
    """Return "short" for a contact that is closed, "open" for what lets nothing through, else "part"."""
    one = value if isinstance(value, float | int) else value.flat[0]
    if 0.0 < one < np.inf:
        return "part"
    return "open" if (one == 0.0) == (kind == "C") else "short"


@lru_cache(maxsize=512)
def _topology(given: tuple[tuple[Edge, str], ...]) -> Topology:
    same = _Joined()
    for edge, how in given:
        if how == "short":
            same.join(edge.a, edge.b)
    edges = [Edge(e.kind, e.part, e.coil, same.of(e.a), same.of(e.b)) for e, how in given if how == "part"]
    out = same.of(JACK)
    if out == same.of(GROUND):
        return Topology(edges=(), unknown={}, order=(), neighbours=(), shorted=True)
    kept = _without_loose_ends([e for e in edges if e.a != e.b or e.kind == "Z"], out)
    kept = _at_jack(kept, out)
    if not any(GROUND in (e.a, e.b) for e in kept):
        raise InputError(
            f"nothing leads from the {JACK} to {GROUND} and back in this position: no pickup reaches the {JACK}. "
            "Is a contact missing that closes here?"
        )
    return _ordered(kept, out)


class _Joined:
    """Nodes joined by closed contacts; each set has one name, ground's where it is among them."""

    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def of(self, node: str) -> str:
        while node in self.parent:
            node = self.parent[node]
        return node

    def join(self, a: str, b: str) -> None:
        a, b = sorted((self.of(a), self.of(b)), key=lambda one: (one != GROUND, one != JACK, one))
        if a != b:
            self.parent[b] = a


def _without_loose_ends(edges: list[Edge], out: str) -> list[Edge]:
    """Leave out what hangs on a node with nothing else: it carries no current."""
    while True:
        ends = [node for edge in edges if edge.a != edge.b for node in (edge.a, edge.b)]
        loose = {n for n in ends if ends.count(n) == 1 and n not in (GROUND, out)}
        if not loose:
            return edges
        edges = [edge for edge in edges if edge.a == edge.b or not loose & {edge.a, edge.b}]


def _at_jack(edges: list[Edge], out: str) -> list[Edge]:
    """Keep what is joined to the jack, by nodes other than ground or by the flux that coils of a pickup share."""
    reached: set[str | tuple[str, int]] = {out}
    while True:
        found = set(reached)
        for edge in edges:
            marks: set[str | tuple[str, int]] = {node for node in (edge.a, edge.b) if node != GROUND}
            if edge.kind == "Z":
                marks.add(("pickup", edge.part))
            if marks & found:
                found |= marks
        if found == reached:
            break
        reached = found
    return [
        edge for edge in edges
        if {edge.a, edge.b} & reached or (edge.kind == "Z" and ("pickup", edge.part) in reached)
    ]  # fmt: skip


def _ordered(edges: list[Edge], out: str) -> Topology:
    """Number the unknowns; eliminate currents first, then the nodes with the fewest neighbours, the jack last."""
    held = [edge for edge in edges if edge.a != edge.b]  # a coil shorted by itself holds no node
    nodes = list(dict.fromkeys([out, *(node for edge in held for node in (edge.a, edge.b) if node != GROUND)]))
    unknown: dict[str | Edge, int] = {node: number for number, node in enumerate(nodes)}
    currents = [edge for edge in edges if edge.kind in "ZL"]
    unknown |= {edge: len(nodes) + number for number, edge in enumerate(currents)}
    near: list[set[int]] = [set() for _ in unknown]
    for one, other in _pairs(edges, unknown):
        near[one].add(other)
        near[other].add(one)
    last = unknown[out]
    order, later = [], []
    left = set(range(len(unknown))) - {last}
    while left:
        pivot = min(left, key=lambda one: (one < len(nodes), len(near[one]), one))
        left.discard(pivot)
        order.append(pivot)
        later.append(tuple(sorted(near[pivot])))
        for one in near[pivot]:
            near[one] |= near[pivot] - {one}
            near[one].discard(pivot)
    return Topology(
        edges=tuple(edges), unknown=unknown, order=(*order, last), neighbours=(*later, ()), shorted=False
    )  # fmt: skip


def _pairs(edges: list[Edge], unknown: dict[str | Edge, int]) -> Iterable[tuple[int, int]]:
    """Yield every pair of unknowns that one equation holds together."""
    for edge in edges:
        ends = [unknown[node] for node in (edge.a, edge.b) if node != GROUND and edge.a != edge.b]
        if edge.kind in "ZL":
            yield from ((unknown[edge], end) for end in ends)
            if edge.kind == "Z":
                same = [one for one in edges if one.kind == "Z" and one.part == edge.part and one.coil > edge.coil]
                yield from ((unknown[edge], unknown[one]) for one in same)
        elif len(ends) == 2:
            yield ends[0], ends[1]
