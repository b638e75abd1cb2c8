"""Charge elements, nodes and edges of an assembly: the one mesh that statics, coils and strings share.

An *element* carries magnetic charge: a flat panel on a surface or a hexahedral cell in a magnet. A *node* is
a place with one scalar potential: a slice of steel (its panels share it), the end face of a rod, a magnet
cell, or one panel on a magnet's surface. An *edge* joins two nodes and carries magnetisation along itself:
M = law(H), H = (potential of a - potential of b) / length. The charge of a node is what its edges bring.
"""

from dataclasses import dataclass, field, fields
from hashlib import sha256

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """How fine to cut; the defaults meet the stated accuracy on a full-size humbucker."""

    sectors: int = 10  # panels round a pole
    slice_height: float = 1.3e-3  # m, steel slices along a pole
    cap_rings: int = 4
    keeper_panel: float = 2.6e-3  # m
    magnet_across: int = 5  # cells across the width of a bar
    magnet_along: int = 6  # cells along a bar for each pole
    magnet_layers: int = 4  # cells through the thickness
    rod_layers: int = 14  # cells along a magnet rod
    rod_rings: int = 3
    rod_sectors: int = 10
    grading: float = 1.0  # 0 uniform .. 1 strongly graded towards faces

    def __post_init__(self) -> None:
        """Refuse meshes that cannot be built."""
        if min(self.sectors, self.rod_sectors) < 4 or self.slice_height <= 0.0 or self.keeper_panel <= 0.0:
            raise InputError(f"resolution {self} cannot be meshed: at least 4 sectors, positive sizes.")

    @property
    def round_place(self) -> int:
        """Panels round a pole's end before a sheet and round a hole in one, with corners in the corners of a square.

        With 20 of them a cover's figures are within 0.1 to 0.2 % of those with 12, in twice the time.
        """
        return 4 * (2 * max(self.sectors // 8, 1) + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """The cut-up assembly. Panels come first among the elements, then cells."""

    mirrored: bool
    panel_corners: FloatArray  # (p, 4, 3)
    panel_node: IntArray  # (p,)
    panel_reach: FloatArray  # (p,) its diameters within which what it does to others is averaged over them
    cell_faces: FloatArray  # (c, 6, 4, 3)
    cell_node: IntArray  # (c,)
    node_position: FloatArray  # (n, 3)
    node_body: IntArray  # (n,) index of the connected body
    node_axis: FloatArray  # (n, 2) x, y of the pole axis a steel rod's node belongs to, else its own
    edge_a: IntArray  # (e,)
    edge_b: IntArray  # (e,)
    edge_area: FloatArray  # (e,) m2
    edge_length: FloatArray  # (e,) m
    edge_part: IntArray  # (e,) index into parts
    edge_axis: IntArray  # (e,) 0 x, 1 y, 2 z
    edge_sign: FloatArray  # (e,) sense of the easy axis along a -> b; 0 across it or in steel
    edge_scale: FloatArray  # (e,) smallest half-size of the conductor across the edge, m (eddy currents)
    passage_edge: IntArray  # (p, 5) edges of a rod's passage through a keeper; -1: there is none (see `passage`)
    passage_shape: FloatArray  # (p, 5) its radius, ln(outer / inner radius), thickness, lengths above and below; m
    step_edge: IntArray  # (s,) edges where a rod's radius changes
    step_shape: FloatArray  # (s, 3) ln of the radii's ratio, thickness of the wider section, area / length; m
    parts: tuple[str, ...]
    bodies: int
    folded: bool = False  # only x >= 0 is there, with its image in x = 0 (`magnetics.fold`)
    plane_node: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))  # (f,) of edges across x = 0
    plane_weight: FloatArray = field(default_factory=lambda: np.zeros(0))  # (f,) twice their area / length, m
    plane_part: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))  # (f,) as edge_part

    def digest(self) -> bytes:
        """Return a name of all that the mesh is."""
        found = sha256()
        for one in fields(self):
            value = getattr(self, one.name)
            found.update(value.tobytes() if isinstance(value, np.ndarray) else repr(value).encode())
        return found.digest()

    @property
    def panels(self) -> int:
        """Number of panels."""
        return len(self.panel_node)

    @property
    def nodes(self) -> int:
        """Number of nodes."""
        return len(self.node_position)

    @property
    def images(self) -> float:
        """How many times the mesh is there, with its images in y = 0 and x = 0."""
        return (2.0 if self.mirrored else 1.0) * (2.0 if self.folded else 1.0)

    @property
    def is_magnet_edge(self) -> "IntArray":
        """1 where an edge lies in a magnet."""
        return self.magnet_parts[self.edge_part].astype(np.int64)

    @property
    def magnet_parts(self) -> "np.ndarray":
        """Which of the parts are magnets, bool."""
        return np.array([name.startswith("magnet") for name in self.parts], dtype=bool)
