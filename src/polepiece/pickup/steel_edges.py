"""What alternating fields meet in steel: a complex permeability for each edge of the mesh."""

from collections.abc import Mapping, Sequence

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray, IntArray
from polepiece.coil import (
    Plate,
    biased_permeability,
    flat_permeability,
    narrow_face_permeability,
    passage_permeabilities,
    round_permeability,
    sheet_impedance,
    step_permeability,
)
from polepiece.geometry import Mesh
from polepiece.pickup.anatomy import SteelPart

LEVEL = 1e-9  # m within which edges lie in one row
KEEPER = "keeper"
BLADES = ("blades", "second blades")
FLAT = (
    KEEPER,
    *BLADES,
    "plate",
    "base plate",
    "cover",
)  # eddy currents as in a sheet; in the other parts as in a rod


def steel_permeabilities(
    mesh: Mesh, edges: IntArray, magnetization: FloatArray, steels: Mapping[str, SteelPart], frequency: FloatArray
) -> ComplexArray:
    """Return the complex relative permeability (edges, f) of the steel ``edges`` of ``mesh``.

    Parameters
    ----------
    mesh : Mesh
    edges : ndarray, shape (edges,)
        The mesh's edges in steel.
    magnetization : ndarray, shape (mesh edges,)
        A/m, of the static state: the bias.
    steels : mapping from part to its laws
    frequency : ndarray, shape (f,)
        Hz.
    """
    still, out = np.empty(len(mesh.edge_a)), np.empty((len(mesh.edge_a), len(frequency)), dtype=complex)
    for index, name in enumerate(mesh.parts):
        rows = edges[mesh.edge_part[edges] == index]
        if not len(rows):
            continue
        part = steels[name]
        still[rows] = _still(part, magnetization[rows])
        scale, mu = mesh.edge_scale[rows, None], still[rows, None]
        if name in FLAT:
            out[rows] = flat_permeability(
                frequency[None], permeability=mu, resistivity=part.resistivity, half_thickness=scale
            )
        else:
            out[rows] = round_permeability(frequency[None], permeability=mu, resistivity=part.resistivity, radius=scale)
    _at_narrow_faces(mesh, still, steels, frequency, out)
    _into_heads(mesh, still, steels, frequency, out)
    _through_keepers(mesh, still, steels, frequency, out)
    return out[edges]


def _still(part: SteelPart, magnetization: FloatArray) -> FloatArray:
    """Return the reversible permeability (edges,) of a part at its bias."""
    if not part.biased:
        return np.full(len(magnetization), float(part.reversible))
    return biased_permeability(part.reversible, np.abs(magnetization), part.law.saturation)


def sheet_impedances(
    mesh: Mesh, plates: Sequence[Plate], magnetization: FloatArray, steels: Mapping[str, SteelPart],
    frequency: FloatArray,
) -> ComplexArray:  # fmt: skip
    """Return what each of ``plates`` opposes to currents along it, over rho / thickness of its record (plates, f).

    1 for a sheet that is no magnetic part: it is thin against its skin depth. For one of steel `sheet_impedance`, with
    the mean of the reversible permeability over its volume (one figure for a sheet: its bias is uneven, and the odd
    half of the field is a correction of the resistance).
    """
    out = np.ones((len(plates), len(frequency)), dtype=complex)
    for number, plate in enumerate(plates):
        if plate.steel not in mesh.parts:
            continue
        part, own = steels[plate.steel], np.flatnonzero(mesh.edge_part == mesh.parts.index(plate.steel))
        mu = np.average(_still(part, magnetization[own]), weights=(mesh.edge_area * mesh.edge_length)[own])
        found = sheet_impedance(frequency, permeability=mu, resistivity=part.resistivity, thickness=plate.thickness)
        out[number] = found * part.resistivity / plate.resistivity
    return out


def _at_narrow_faces(
    mesh: Mesh, still: FloatArray, steels: Mapping[str, SteelPart], frequency: FloatArray, out: ComplexArray
) -> None:
    """Add, to the edges of blades beside their ends and their lower and upper faces, the skin of that face."""
    middle = 0.5 * (mesh.node_position[mesh.edge_a] + mesh.node_position[mesh.edge_b])
    for part in set(BLADES) & set(mesh.parts):
        inside = mesh.edge_part == mesh.parts.index(part)
        for along, across in ((2, 1), (1, 2)):
            edges = np.flatnonzero(inside & (mesh.edge_axis == along))
            at = middle[edges, across]
            rows = edges[np.isclose(at, at.max(), rtol=0.0, atol=LEVEL)]
            if along == 1 or not mesh.mirrored:  # at y = 0 the mirrored half has no face
                rows = np.concatenate([rows, edges[np.isclose(at, at.min(), rtol=0.0, atol=LEVEL)]])
            halved = mesh.folded & (abs(middle[rows, 0]) < LEVEL)
            scale, area = mesh.edge_scale[rows], mesh.edge_area[rows] * np.where(halved, 2.0, 1.0)
            out[rows] += narrow_face_permeability(
                frequency[None], permeability=still[rows, None], resistivity=steels[part].resistivity,
                half_thickness=scale[:, None], width=(0.5 * area / scale)[:, None],
            )  # fmt: skip


def _into_heads(
    mesh: Mesh, still: FloatArray, steels: Mapping[str, SteelPart], frequency: FloatArray, out: ComplexArray
) -> None:
    """Set the edges where a rod's radius changes: flux goes outwards in the skin."""
    for edge, (logarithm, thickness, permeance) in zip(mesh.step_edge, mesh.step_shape):
        part = steels[mesh.parts[mesh.edge_part[edge]]]
        out[edge] = step_permeability(
            frequency, out[edge], permeability=still[edge], resistivity=part.resistivity, logarithm=logarithm,
            thickness=thickness, permeance=permeance,
        )  # fmt: skip


def _through_keepers(
    mesh: Mesh, still: FloatArray, steels: Mapping[str, SteelPart], frequency: FloatArray, out: ComplexArray
) -> None:
    """Set the edges where rods pass through a keeper: the keeper is a shorted ring round each."""
    keeper = steels.get(KEEPER)
    inside = np.zeros(len(still), dtype=bool)
    if KEEPER in mesh.parts:
        inside = mesh.edge_part == mesh.parts.index(KEEPER)
    for edges, shape in zip(mesh.passage_edge, mesh.passage_shape):
        there = edges[edges >= 0]
        part = steels[mesh.parts[mesh.edge_part[there[0]]]]
        faces = mesh.edge_b[edges[[0, 3]][edges[[0, 3]] >= 0]], mesh.edge_a[edges[[0, 3]][edges[[0, 3]] >= 0]]
        near = inside & (np.isin(mesh.edge_a, np.concatenate(faces)) | np.isin(mesh.edge_b, np.concatenate(faces)))
        made = passage_permeabilities(
            frequency, shape[None], rod=still[there].mean(keepdims=True), keeper=still[near].mean(keepdims=True),
            rod_resistivity=part.resistivity, keeper_resistivity=keeper.resistivity if keeper else np.inf,
        )  # fmt: skip
        out[there] = made[0, edges >= 0]
