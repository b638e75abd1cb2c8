"""How a cell of a thin sheet conducts: a plain one through its middle, one with a pole at it round a ring of quarters.

A cell through whose middle everything goes would lead flux that comes in at the edge of a hole across the whole cell. A
ring has a node for each quarter: what comes in leaves by the near side, and what passes through goes round.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from polepiece.arrays import FloatArray
from polepiece.geometry.mesh_builder import MeshBuilder

WEST, EAST, SOUTH, NORTH = range(4)
SQUARE = 1.0787  # radius of the round rim that a square rim of half-width 1 is to flux from its middle (memory)
RAYLEIGH = 0.305827  # of the next term for a square array (Rayleigh 1892, memory)
LEAST_PASSED = 0.05  # of a cell that its hole all but fills
SMALLEST = 0.02  # squares: no edge is shorter


def passing(share: float) -> float:
    """Return what a sheet with a square array of round holes conducts, over a whole one; ``share``: of its area.

    1 - 2 f / (1 + f - 0.306 f^4), Rayleigh's second approximation for holes that conduct nothing (memory).
    """
    return max(1.0 - 2.0 * share / (1.0 + share - RAYLEIGH * share**4), LEAST_PASSED)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCell:
    """A cell of a sheet; ``ports`` are its nodes towards west, east, south and north, ``squares`` the way to each side.

    A way is its length over its width: over the thickness it is the sheet's reluctivity there.
    """

    middle: tuple[float, float]
    ports: tuple[int, int, int, int]
    squares: tuple[float, float, float, float]

    def node(self, corners: FloatArray) -> int:
        """Return the node of a panel (4, 3) of this cell: that of the quarter in which its middle lies."""
        dx, dy = corners[:, 0].mean() - self.middle[0], corners[:, 1].mean() - self.middle[1]
        if abs(dx) >= abs(dy) - 1e-9:
            return self.ports[EAST if dx > 0.0 else WEST]
        return self.ports[NORTH if dy > 0.0 else SOUTH]


def plain_cell(builder: MeshBuilder, x: tuple[float, float], y: tuple[float, float], z: float, body: int) -> SheetCell:
    """Return a cell of one node."""
    node = builder.node((0.5 * sum(x), 0.5 * sum(y), z), body)
    wide, deep = x[1] - x[0], y[1] - y[0]
    across, along = 0.5 * wide / deep, 0.5 * deep / wide
    return SheetCell(
        middle=(0.5 * sum(x), 0.5 * sum(y)), ports=(node, node, node, node), squares=(across, across, along, along)
    )


def ring_cell(
    builder: MeshBuilder, x: tuple[float, float], y: tuple[float, float], z: float, body: int, part: int, thick: float,
    radius: float, *, hole: bool,
) -> SheetCell:  # fmt: skip
    """Return a cell with a pole at its middle: one that goes through a ``hole``, or one that ends under it.

    Flux from the pole meets ln(rim/radius)/(2 pi) squares, under an end that it leaves evenly 1/(8 pi) more (the mean
    over a disc with even inflow: definition); what passes through meets what `passing` says of it.
    """
    middle, half = (0.5 * sum(x), 0.5 * sum(y)), (0.5 * (x[1] - x[0]), 0.5 * (y[1] - y[0]))
    ports = tuple(
        builder.node((middle[0] + 0.5 * dx * half[0], middle[1] + 0.5 * dy * half[1], z), body)
        for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1))
    )
    rim = SQUARE * math.sqrt(half[0] * half[1])
    out = 4.0 * (math.log(max(rim / radius, 1.0)) / (2.0 * math.pi) + (0.0 if hole else 0.125 / math.pi))
    through = 1.0 / passing(math.pi * radius**2 / (4.0 * half[0] * half[1])) if hole else 1.0
    out = min(max(out, SMALLEST), 0.5 * through - SMALLEST)
    for one in (WEST, EAST):
        for other in (SOUTH, NORTH):
            length = (through - 2.0 * out) * half[0]
            builder.edge(ports[one], ports[other], thick * half[0], length, part, 0, 0.0, 0.5 * thick)
    ratio = half[0] / half[1]
    return SheetCell(
        middle=middle, ports=(ports[0], ports[1], ports[2], ports[3]),
        squares=(out * ratio, out * ratio, out / ratio, out / ratio),
    )  # fmt: skip


def join(
    builder: MeshBuilder, cells: Sequence[Sequence[SheetCell]], widths: tuple[FloatArray, FloatArray],
    axes: tuple[int, int], part: int, thick: float,
) -> None:  # fmt: skip
    """Add the edges between neighbours of a flat grid of ``cells``, ``widths`` along its two ``axes``."""
    for i, row in enumerate(cells):
        for j, here in enumerate(row):
            if i + 1 < len(cells):
                squares = here.squares[EAST] + cells[i + 1][j].squares[WEST]
                width = float(widths[1][j])
                ends = here.ports[EAST], cells[i + 1][j].ports[WEST]
                builder.edge(*ends, thick * width, squares * width, part, axes[0], 0.0, 0.5 * thick)
            if j + 1 < len(row):
                squares = here.squares[NORTH] + row[j + 1].squares[SOUTH]
                width = float(widths[0][i])
                ends = here.ports[NORTH], row[j + 1].ports[SOUTH]
                builder.edge(*ends, thick * width, squares * width, part, axes[1], 0.0, 0.5 * thick)
