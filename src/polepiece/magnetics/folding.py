"""A mesh that equals its own image in x = 0, folded to its half x >= 0.

With the coil, the magnets and the steel of such a pickup every potential is even in x: an element of the half stands
for itself and its image, one that lies across the plane for both its halves (its charge in the half mesh is half of
what it carries, and with its image on top of it the potential is that of the whole). Nothing is neglected: the folded
problem is the whole one in other coordinates. Rods in one coil, a bar under poles, poles between two bars are such
pickups; a humbucker, whose two rows differ, is not.

Only what a charge at one place along a string calls up has an odd part too; there nodes across the plane are at
zero, and edges that cross the plane lead to zero half way (`Mesh.plane_node`).
"""

from dataclasses import replace

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.later import spatial
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.match import SAME_SIZE, matching, node_images

FLIP = np.array([-1.0, 1.0, 1.0])
ACROSS_ONLY, ALONG = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 1.0])
IN_PLANE = 1e-9  # m: nearer to x = 0 than this is in it


def fold(mesh: Mesh) -> Mesh:
    """Return ``mesh`` folded in x = 0; as it is when it does not equal its image there."""
    elements = Elements.of(mesh)
    image = matching(elements, elements, flip=FLIP)
    if mesh.folded or not len(image) or image.min() < 0 or not np.array_equal(image[image], np.arange(len(image))):
        return mesh
    node_image = node_images(mesh, image, FLIP)
    if node_image is None or node_image.min() < 0:
        return mesh
    x = mesh.node_position[:, 0]
    side = np.where(node_image == np.arange(mesh.nodes), 0, np.sign(x)).astype(np.int64)
    if np.any((side == 0) & (np.abs(x) > IN_PLANE)) or np.any((side != 0) & (np.abs(x) <= IN_PLANE)):
        return mesh
    if not _edges_alike(mesh, node_image):
        return mesh
    return _folded(mesh, elements.position[:, 0], image, side)


def _edges_alike(mesh: Mesh, image: IntArray) -> bool:
    """Whether the image of every edge is an edge, as large, of the same part, its easy axis as an even field has it."""
    a, b = mesh.edge_a, mesh.edge_b
    place = {(int(i), int(j)): k for k, (i, j) in enumerate(zip(a, b))}
    for k, (i, j) in enumerate(zip(image[a], image[b])):
        same, turned = place.get((int(i), int(j))), place.get((int(j), int(i)))
        at = same if same is not None else turned
        if at is None or mesh.edge_part[at] != mesh.edge_part[k]:
            return False
        if abs(mesh.edge_area[at] / mesh.edge_area[k] - 1.0) > SAME_SIZE:
            return False
        if abs(mesh.edge_length[at] / mesh.edge_length[k] - 1.0) > SAME_SIZE:
            return False
        if mesh.edge_sign[at] != (mesh.edge_sign[k] if same is not None else -mesh.edge_sign[k]):
            return False
    return True


def _folded(mesh: Mesh, x: FloatArray, image: IntArray, side: IntArray) -> Mesh:
    kept = np.flatnonzero((x > IN_PLANE) | (image == np.arange(len(image))))
    panels, cells = kept[kept < mesh.panels], kept[kept >= mesh.panels] - mesh.panels
    nodes = np.flatnonzero(side >= 0)
    number = np.full(mesh.nodes, -1, dtype=np.int64)
    number[nodes] = np.arange(len(nodes))
    a, b = mesh.edge_a, mesh.edge_b
    edges = np.flatnonzero((side[a] >= 0) & (side[b] >= 0))
    crossing = np.flatnonzero(side[a] * side[b] < 0)
    in_plane = (side[a] == 0) & (side[b] == 0)
    per_edge = {
        name: getattr(mesh, name)[edges]
        for name in ("edge_area", "edge_length", "edge_part", "edge_axis", "edge_sign", "edge_scale")
    }
    edge_number = np.full(len(a) + 1, -1, dtype=np.int64)  # the last: of edges that are not there
    edge_number[edges] = np.arange(len(edges))
    passages, steps = edge_number[mesh.passage_edge], edge_number[mesh.step_edge]
    through = passages.max(axis=1, initial=-1) >= 0
    per_edge["edge_area"] = np.where(in_plane[edges], 0.5, 1.0) * per_edge["edge_area"]
    return replace(
        mesh, folded=True, panel_corners=mesh.panel_corners[panels], panel_node=number[mesh.panel_node[panels]],
        panel_reach=mesh.panel_reach[panels],
        cell_faces=mesh.cell_faces[cells], cell_node=number[mesh.cell_node[cells]],
        node_position=mesh.node_position[nodes], node_body=mesh.node_body[nodes], node_axis=mesh.node_axis[nodes],
        edge_a=number[a[edges]], edge_b=number[b[edges]], **per_edge,
        passage_edge=passages[through], passage_shape=mesh.passage_shape[through],
        step_edge=steps[steps >= 0], step_shape=mesh.step_shape[steps >= 0],
        plane_node=number[np.where(side[a] > 0, a, b)[crossing]],
        plane_weight=(2.0 * mesh.edge_area / mesh.edge_length)[crossing], plane_part=mesh.edge_part[crossing],
    )  # fmt: skip


def unfolding(folded: Mesh, mesh: Mesh) -> IntArray:
    """Return the node of ``folded`` that each node of the same ``mesh``, not folded, is or is the image of (nodes,)."""
    if not folded.folded:
        return np.arange(mesh.nodes)
    _, at = spatial.cKDTree(folded.node_position).query(
        np.abs(mesh.node_position * ACROSS_ONLY) + mesh.node_position * ALONG
    )
    return np.asarray(at, dtype=np.int64)


def across_plane(mesh: Mesh) -> set[int]:
    """Return the bodies of a folded mesh that lie across x = 0; the others have their image as a body beside them."""
    there = np.concatenate([np.flatnonzero(mesh.node_position[:, 0] <= IN_PLANE), mesh.plane_node])
    return {int(body) for body in mesh.node_body[there]}


def odd_nodes(mesh: Mesh) -> IntArray:
    """Return the nodes of a folded mesh that are not zero where potentials are odd in x."""
    return np.flatnonzero(mesh.node_position[:, 0] > IN_PLANE)


def odd_elements(elements: Elements) -> IntArray:
    """Return the elements that are not their own image."""
    return np.flatnonzero(elements.position[:, 0] > IN_PLANE)
