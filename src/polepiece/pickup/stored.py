"""The factors of one pickup geometry as they lie in the cache on disk: their name, their arrays."""

import hashlib
from collections.abc import Mapping
from dataclasses import fields

import numpy as np

from polepiece import __version__
from polepiece.arrays import FloatArray
from polepiece.coil import Alternating, WindingSet
from polepiece.geometry import Mesh
from polepiece.magnetics import Elements, Factors
from polepiece.pickup.anatomy import Anatomy
from polepiece.pickup.model import StringLayout
from polepiece.pickup.slopes import Slopes

CACHE_VERSION = 19


def name_of(mesh: Mesh, anatomy: Anatomy, layout: StringLayout, senses: bool) -> str:
    """Return the name of the stored factors: by the mesh itself, so that another way of cutting never finds them."""
    names = (CACHE_VERSION, __version__, anatomy.coils, anatomy.plates, anatomy.rows, layout, senses)
    return hashlib.sha256(repr(names).encode() + mesh.digest()).hexdigest()[:32]


_NOT_STORED = ("mesh", "elements", "beside", "bare_twin", "like", "update", "turn")
_FACTOR_ARRAYS = [f.name for f in fields(Factors) if f.name not in _NOT_STORED]
_WINDING_ARRAYS = ("sources", "air", "resistances")
_SYSTEM_ARRAYS = [f.name for f in fields(Alternating) if f.name not in ("windings", "factor")]


def packed(
    factors: Factors, windings: WindingSet, system: Alternating, direct: FloatArray, slopes: Slopes
) -> dict[str, np.ndarray]:
    """Return the arrays to store of one geometry."""
    out = {"version": np.array([CACHE_VERSION]), "direct": direct}
    out |= {"slope_nodes": np.asarray(slopes.nodes), "slope_direct": slopes.direct, "slope_reply": slopes.reply}
    out |= {f"f_{n}": getattr(factors, n) for n in _FACTOR_ARRAYS if n != "sources"}
    out |= {f"w_{n}": getattr(windings, n) for n in _WINDING_ARRAYS}
    out |= {f"s_{n}": getattr(system, n) for n in _SYSTEM_ARRAYS}
    return out


def unpacked(
    stored: Mapping[str, np.ndarray], mesh: Mesh, anatomy: Anatomy
) -> tuple[Factors, WindingSet, Alternating, FloatArray, Slopes] | None:
    """Return what was stored; None when it is of another version or not whole."""
    names = {
        "direct",
        "slope_nodes",
        "slope_direct",
        "slope_reply",
        *(f"f_{n}" for n in _FACTOR_ARRAYS if n != "sources"),
    }
    names |= {*(f"w_{n}" for n in _WINDING_ARRAYS), *(f"s_{n}" for n in _SYSTEM_ARRAYS)}
    if stored.get("version", np.zeros(1))[0] != CACHE_VERSION or names - stored.keys():
        return None
    windings = WindingSet(coils=anatomy.coils, sheets=None, **{n: stored[f"w_{n}"] for n in _WINDING_ARRAYS})
    arrays = {n: stored[f"f_{n}"] for n in _FACTOR_ARRAYS if n != "sources"}
    factors = Factors(
        mesh=mesh,
        elements=Elements.of(mesh),
        sources=windings.sources,
        beside=None,
        bare_twin=None,
        like=None,
        update=None,
        turn=None,
        **arrays,
    )
    system = Alternating(
        windings=windings,
        factor=mesh.images,
        **{n: stored[f"s_{n}"] for n in _SYSTEM_ARRAYS},
    )
    slopes = Slopes(nodes=stored["slope_nodes"], direct=stored["slope_direct"], reply=stored["slope_reply"])
    return factors, windings, system, stored["direct"], slopes
