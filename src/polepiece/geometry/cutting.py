"""Cut an assembly into the elements, nodes and edges of a `Mesh`."""

from dataclasses import replace
from typing import assert_never

from polepiece.geometry.cutting_blades import cut_blade
from polepiece.geometry.cutting_magnets import box_cuts, cut_box, cut_magnet_rod
from polepiece.geometry.cutting_plates import cut_plate
from polepiece.geometry.cutting_sheets import cut_sheet, ends_before
from polepiece.geometry.cutting_steel import cut_keeper, cut_rod
from polepiece.geometry.facing import BarFace
from polepiece.geometry.mesh import Mesh, Resolution
from polepiece.geometry.mesh_builder import MeshBuilder
from polepiece.geometry.shapes import Assembly, MagnetBox, MagnetRod

MANY_RODS, OF_MANY = 6, {"rod_layers": 10, "rod_rings": 2}  # more magnet rods than these are cut no finer than this


def _for_rods(assembly: Assembly, resolution: Resolution, mirrored: bool) -> Resolution:
    """Return the resolution that magnet rods are cut with: many of them take the time of a finer cut to the cube.

    Four rods under one coil, 3 mm over them, against 26 layers, 5 rings and 18 sectors: field 0.6 % (A5), field per
    ampere 0.3 %, a string's flux and the inductance 0.1 %; with the default cut 0.1 % of each.
    """
    kept = sum(isinstance(one, MagnetRod) and (one.y > 0.0 or not mirrored) for one in assembly.magnets)
    if kept <= MANY_RODS:
        return resolution
    return replace(resolution, **{name: min(getattr(resolution, name), most) for name, most in OF_MANY.items()})


def cut(assembly: Assembly, resolution: Resolution | None = None, *, mirror: bool | None = None) -> Mesh:
    """Return the mesh of ``assembly``.

    Parameters
    ----------
    assembly : Assembly
    resolution : Resolution, optional
    mirror : bool, optional
        Use the mirror plane y = 0 (only the half y > 0 is meshed). Default: when the assembly allows it.
    """
    mirrored = assembly.is_mirrored() if mirror is None else mirror
    builder = MeshBuilder(_for_rods(assembly, resolution or Resolution(), mirrored), mirrored)
    faces = [
        BarFace.of(m, box_cuts(m, builder.r, builder.mirror)) for m in assembly.magnets if isinstance(m, MagnetBox)
    ]
    keepers = [(bar, cut_keeper(builder, bar, faces)) for bar in assembly.bars if bar.role == "keeper"]
    for bar in assembly.bars:
        match bar.role:
            case "blade":
                cut_blade(builder, bar, faces)
            case "plate":
                cut_plate(builder, bar)
            case "sheet":
                cut_sheet(builder, bar, assembly)
            case "keeper":  # above
                pass
            case _:
                assert_never(bar.role)
    sheets = tuple(bar for bar in assembly.bars if bar.role == "sheet")
    before = ends_before(assembly, sheets, builder.r)
    for rod in assembly.rods:
        if builder.kept(rod.y):
            round_it = [one for bar, one in keepers if bar.x_min < rod.x < bar.x_max and rod.through]
            cut_rod(builder, rod, round_it[0] if round_it else None, faces, sheets, before)
    for magnet in assembly.magnets:
        if isinstance(magnet, MagnetBox):
            cut_box(builder, magnet)
        elif builder.kept(magnet.y):
            cut_magnet_rod(builder, magnet)
    return builder.mesh()
