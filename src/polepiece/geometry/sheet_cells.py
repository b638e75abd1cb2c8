"""How a cell of a thin sheet conducts: a plain one through its middle, one with a pole at it in rings of sectors.

Flux that spreads from a pole's end, or from the edge of a hole, falls off as the logarithm of the way to the middle: a
cell of one potential would hold half of what drives a cover's stray field within itself. Round the pole the nodes stand
in rings, each of sectors; the last one ends at the rim of a square whose corners are corners of the sectors, so that
its sides are sides of the sheet's plain cells.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.mesh_builder import MeshBuilder

WEST, EAST, SOUTH, NORTH = range(4)
LEAST_BEYOND = 1.01  # of a pole's last ring: no part of the rim is nearer, where poles have no room


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCell:
    """A cell of a sheet; ``ports`` are its nodes towards west, east, south and north, ``squares`` the way to each side.

    A way is its length over its width: over the thickness it is the sheet's reluctivity there. A part of a pole's cell
    has them on that cell's rim alone.
    """

    ports: tuple[int, int, int, int]
    squares: tuple[float, float, float, float]
    block: int = 0  # number of the pole's cell that it is a part of; 0: none


def plain_cell(builder: MeshBuilder, x: tuple[float, float], y: tuple[float, float], z: float, body: int) -> SheetCell:
    """Return a cell of one node."""
    node = builder.node((0.5 * sum(x), 0.5 * sum(y), z), body)
    wide, deep = x[1] - x[0], y[1] - y[0]
    across, along = 0.5 * wide / deep, 0.5 * deep / wide
    return SheetCell(ports=(node, node, node, node), squares=(across, across, along, along))


@dataclass(frozen=True, slots=True, kw_only=True)
class PoleCell:
    """A square with a pole at its middle: round zones, and between the last and the rim one more, all of sectors."""

    middle: tuple[float, float]
    radii: tuple[float, ...]  # outer radius of each zone but the last
    zones: tuple[tuple[int, ...], ...]  # nodes of each, counter-clockwise, the first about +x
    squares: tuple[float, ...]  # from the last zone's nodes to the rim

    def node(self, corners: FloatArray) -> int:
        """Return the node of a panel (4, 3): that of the zone and the sector in which its middle lies."""
        dx, dy = corners[:, 0].mean() - self.middle[0], corners[:, 1].mean() - self.middle[1]
        away = math.hypot(dx, dy)
        nodes = next((own for radius, own in zip(self.radii, self.zones) if away < radius), self.zones[-1])
        return nodes[round(math.atan2(dy, dx) / (2.0 * math.pi) * len(nodes)) % len(nodes)]

    def on_rim(self, side: int, k: int) -> tuple[int, float]:
        """Return node and squares of the ``k``-th part of a side, from the south or from the west."""
        n = len(self.squares)
        first = {EAST: 0, NORTH: n // 4, WEST: n // 2, SOUTH: 3 * n // 4}[side]
        at = (first + (k if side in (EAST, SOUTH) else n // 4 - 1 - k) - n // 8) % n
        return self.zones[-1][at], self.squares[at]


def rim_parts(sectors: int) -> FloatArray:
    """Return where the ``sectors`` of a square of half-width 1 cut its side: (sectors / 4 + 1,)."""
    angle = (np.arange(sectors // 4 + 1) - sectors / 8.0) * 2.0 * math.pi / sectors
    return np.tan(angle)


def pole_cell(
    builder: MeshBuilder, middle: tuple[float, float], half: float, z: float, body: int, part: int, thick: float,
    radii: Sequence[float],
) -> PoleCell:  # fmt: skip
    """Return a square cell with a pole at its middle, of round zones of nodes between ``radii``.

    The least of them is the radius of a hole that the pole goes through, or 0 where it ends before the sheet. A zone's
    node stands where the logarithm of the way to the middle is its mean, of the innermost disc where even inflow has
    its mean potential (definition): flux that spreads from the pole meets what it does in the sheet.
    """
    n = builder.r.round_place
    step = 2.0 * math.pi / n
    parts = rim_parts(n)
    least = LEAST_BEYOND * radii[-1]
    side = [max(_mean_away(half, half * a, half * b), least) for a, b in pairwise(parts)]
    bounds = [max(half * math.hypot(1.0, t), least) for t in parts]
    zones, before = [], math.nan
    for a, b in pairwise(radii):
        mean, count = (b * math.exp(-0.25), 1) if a == 0.0 else (math.sqrt(a * b), n)
        zones.append(_zone(builder, middle, (mean,) * count, z, body))
        _link(builder, zones, [math.log(mean / before)] * n, [math.log(b / a)] * n if a else [], step, part, thick)
        before = mean
    means = [math.sqrt(radii[-1] * away) for away in side] * 4
    means = means[n // 8 :] + means[: n // 8]
    zones.append(_zone(builder, middle, tuple(means), z, body))
    wide = [math.log(bounds[k % (n // 4) + 1] / radii[-1]) for k in range(n)]
    wide = wide[n // 8 :] + wide[: n // 8]
    _link(builder, zones, [math.log(mean / before) for mean in means], wide, step, part, thick)
    away = (side * 4)[n // 8 :] + (side * 4)[: n // 8]
    squares = tuple(math.log(r / mean) / step for r, mean in zip(away, means))
    return PoleCell(middle=middle, radii=tuple(radii[1:]), zones=tuple(zones), squares=squares)


def _zone(
    builder: MeshBuilder, middle: tuple[float, float], means: tuple[float, ...], z: float, body: int
) -> tuple[int, ...]:
    """Make the nodes of one zone, at ``means`` from the middle."""
    n = len(means)
    out = []
    for k, mean in enumerate(means):
        angle, r = 2.0 * math.pi * k / n, mean if n > 1 else 0.0
        out.append(builder.node((middle[0] + r * math.cos(angle), middle[1] + r * math.sin(angle), z), body))
    return tuple(out)


def _link(
    builder: MeshBuilder, zones: "list[tuple[int, ...]]", out: "list[float]", wide: "list[float]", step: float,
    part: int, thick: float,
) -> None:  # fmt: skip
    """Add the edges from the zone before the last to the last, and round the last; both as logarithms of radii."""
    last = zones[-1]

    def edge(a: int, b: int, conductance: float) -> None:
        (ax, ay, _), (bx, by, _) = builder.nodes[a], builder.nodes[b]
        length, axis = math.hypot(ax - bx, ay - by), 0 if abs(ax - bx) >= abs(ay - by) else 1
        builder.edge(a, b, thick * conductance * length, length, part, axis, 0.0, 0.5 * thick)

    for k, node in enumerate(last):
        if len(zones) > 1:
            edge(zones[-2][k % len(zones[-2])], node, step / out[k])
        if len(last) > 1:
            edge(node, last[(k + 1) % len(last)], wide[k] / step)


def _mean_away(half: float, a: float, b: float) -> float:
    """Return how far the part from ``a`` to ``b`` of a side at ``half`` is, by its logarithm's mean over the angle."""
    angle = np.linspace(math.atan2(a, half), math.atan2(b, half), 9)
    angle = 0.5 * (angle[1:] + angle[:-1])
    return half * float(np.exp(-np.log(np.cos(angle)).mean()))


def join(
    builder: MeshBuilder, cells: Sequence[Sequence[SheetCell]], widths: tuple[FloatArray, FloatArray],
    axes: tuple[int, int], part: int, thick: float,
) -> None:  # fmt: skip
    """Add the edges between neighbours of a flat grid of ``cells``, ``widths`` along its two ``axes``."""
    for i, row in enumerate(cells):
        for j, here in enumerate(row):
            if i + 1 < len(cells) and not (here.block and here.block == cells[i + 1][j].block):
                squares = here.squares[EAST] + cells[i + 1][j].squares[WEST]
                width = float(widths[1][j])
                ends = here.ports[EAST], cells[i + 1][j].ports[WEST]
                builder.edge(*ends, thick * width, squares * width, part, axes[0], 0.0, 0.5 * thick)
            if j + 1 < len(row) and not (here.block and here.block == row[j + 1].block):
                squares = here.squares[NORTH] + row[j + 1].squares[SOUTH]
                width = float(widths[0][i])
                ends = here.ports[NORTH], row[j + 1].ports[SOUTH]
                builder.edge(*ends, thick * width, squares * width, part, axes[1], 0.0, 0.5 * thick)
