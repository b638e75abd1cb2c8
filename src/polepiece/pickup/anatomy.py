"""From the record of a pickup to shapes, holes of sheets, windings, plates and laws: what each rung of physics needs.

The pickup is drawn with its screws at -x, whichever way it faces; the facing only decides which row is nearer
to the bridge (see `row_positions`).
"""

import warnings
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from polepiece.coil import Plate, Racetrack
from polepiece.errors import ResolutionWarning
from polepiece.geometry import Assembly, MagnetRod, Mesh, Resolution, Section, SteelBar, cut
from polepiece.guitar import Magnet, Pickup, Sheet, Steel, pole_ys
from polepiece.magnetics import MagnetLaw, fold
from polepiece.materials import (
    LangevinSteel,
    LinearSteel,
    MagnetMaterial,
    SteelLaw,
    catalogue,
    from_constants,
    in_use,
)

UNKNOWN_GRADE = "alnico-5"  # computed for "unknown"; the interval carries the other grades
WEAKEST_STEEL = 20.0  # relative permeability below which the network warns
HOLE_CLEARANCE = 0.3e-3  # m, of a hole in a sheet round the pole that goes through it; assumption
BASE_PLATE, COVER = "base plate", "cover"  # parts, where they are of steel
PLATE = "plate"  # the part that rods stand on
NOMINAL_STEEL = 280.0  # reversible permeability where a named steel has no own value


@dataclass(frozen=True, slots=True, kw_only=True)
class Anatomy:
    """Geometry of one pickup: equal anatomies share all factors."""

    assembly: Assembly
    coils: tuple[Racetrack, ...]
    plates: tuple[Plate, ...]
    pole_y: tuple[float, ...]  # string 1 first
    rows: tuple[float, ...]  # x of the pole rows
    top: float  # z of the highest pole as drawn, where gaps start

    @property
    def sheets(self) -> tuple[Plate, ...]:
        """The plates that are sheets, base plate and cover: without the steel plate that rods stand on."""
        return tuple(one for one in self.plates if one.steel != PLATE)


@lru_cache(maxsize=256)
def anatomy(pickup: Pickup) -> Anatomy:
    """Return the geometry of ``pickup``."""
    built, poles = pickup.built, pickup.poles
    rows = built.row_offsets(poles)
    drawn = Anatomy(
        assembly=built.shapes(pickup.magnet, poles), coils=_coils(pickup, built.coil_places(poles)), plates=(),
        pole_y=pole_ys(poles), rows=rows, top=built.highest_pole(poles),
    )  # fmt: skip
    drawn = replace(drawn, plates=_plates(pickup, drawn))
    return replace(drawn, assembly=_without_air(_with_steel_sheets(drawn, pickup), pickup))


def pickup_mesh(anatomy: Anatomy, resolution: Resolution) -> Mesh:
    """Return the mesh of ``anatomy``, folded in x = 0 where all of it is even there: one coil, sheets and holes too."""
    mesh = cut(anatomy.assembly, resolution)
    even = anatomy.rows == (0.0,) and all(coil.x == 0.0 for coil in anatomy.coils)
    return fold(mesh) if even and all(plate.is_even for plate in anatomy.plates) else mesh


def sheets_of(pickup: Pickup) -> dict[str, Sheet]:
    """Return the sheets of a pickup by what a bench calls them, which is their part's name where they are of steel."""
    both = (BASE_PLATE, pickup.base_plate), (COVER, pickup.cover)
    return {name: sheet for name, sheet in both if sheet is not None}


def _with_steel_sheets(drawn: Anatomy, pickup: Pickup) -> Assembly:
    """Return the magnetic parts with the sheets that are of steel: outer sizes, the holes of the conducting sheet."""
    steel = []
    for plate, (name, sheet) in zip(drawn.sheets, sheets_of(pickup).items(), strict=True):
        if sheet.steel is not None:
            x, y, half = 0.5 * sheet.width, 0.5 * sheet.length, 0.5 * sheet.thickness
            bar = SteelBar(
                part=name, x_min=-x, x_max=x, y_min=-y, y_max=y, z_min=sheet.z - half, z_max=sheet.z + half,
                holes=plate.holes, role="sheet", skirt=sheet.skirt if plate.skirt > 0.0 else 0.0,
            )  # fmt: skip
            steel.append(bar)
    return replace(drawn.assembly, bars=(*drawn.assembly.bars, *steel))


def _without_air(assembly: Assembly, pickup: Pickup) -> Assembly:
    """Leave out steel of permeability 1, which is air; warn where a slice is no longer nearly an equipotential."""
    permeability = {name: steel.permeability for name, steel in steel_records(pickup).items()}
    there = {rod.part for rod in assembly.rods} | {bar.part for bar in assembly.bars}
    weak = [n for n, mu in permeability.items() if n in there and mu is not None and 1.0 < mu < WEAKEST_STEEL]
    if weak:
        warnings.warn(
            f"the permeability of {', '.join(weak)} is below {WEAKEST_STEEL:.0f}: the network takes a cross-section of "
            "steel as one potential, which holds less and less there.",
            ResolutionWarning,
            stacklevel=3,
        )
    air = {n for n, mu in permeability.items() if mu is not None and mu <= 1.0}
    rods = tuple(r for r in assembly.rods if r.part not in air)
    bars = tuple(b for b in assembly.bars if b.part not in air)
    if not any(bar.part == "keeper" for bar in bars):
        rods = tuple(replace(r, through=None) for r in rods)
    return replace(assembly, rods=rods, bars=bars)


def row_positions(pickup: Pickup, rows: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distance of each row from the bridge end of the strings, m."""
    turn = 1.0 if pickup.screws_face == "neck" else -1.0
    return tuple(pickup.distance_from_bridge - turn * x for x in rows)


def _coils(pickup: Pickup, centres: tuple[tuple[float, float], ...]) -> tuple[Racetrack, ...]:
    out = []
    for coil, (x, y) in zip(pickup.coils, centres):
        out.append(
            Racetrack(
                x=x, y=y, inner_half_x=coil.inner_half_x, inner_half_y=coil.inner_half_y,
                outer_half_x=coil.outer_half_x, outer_half_y=coil.outer_half_y, bottom=coil.bottom, top=coil.top,
                turns=1.0,  # per turn: turns scale the result, so that equal shapes share their factors
            )
        )  # fmt: skip
    return tuple(out)


def _plates(pickup: Pickup, drawn: Anatomy) -> tuple[Plate, ...]:
    """Base plate and cover, then the steel plate under rods: what flux through its face drives in it is of a sheet."""
    plates = [_plate(name, sheet, drawn) for name, sheet in sheets_of(pickup).items()]
    resistivity = steel_part(pickup.poles.plate_steel).resistivity
    for bar in drawn.assembly.bars:
        if bar.role == "plate" and np.isfinite(resistivity):
            plates.append(
                Plate(
                    x_min=bar.x_min, x_max=bar.x_max, y_min=bar.y_min, y_max=bar.y_max,
                    z=0.5 * (bar.z_min + bar.z_max), thickness=bar.z_max - bar.z_min, resistivity=resistivity,
                    near_x=drawn.rows, near_y=tuple(sorted(drawn.pole_y)), steel=PLATE,
                )
            )  # fmt: skip
    return tuple(plates)


def _plate(name: str, sheet: Sheet, drawn: Anatomy) -> Plate:
    """Middle planes of a sheet of outer sizes; holes where rows of poles go through."""
    half = 0.5 * sheet.thickness
    wall, skirt = (half, sheet.skirt - half) if sheet.skirt > half else (0.0, 0.0)
    steel = sheet.steel
    own = steel_part(steel).resistivity if steel is not None else catalogue.conductor(sheet.material).resistivity
    x, y = 0.5 * sheet.width - wall, 0.5 * sheet.length - wall
    holes = tuple(
        (at_x, at_y, radius)
        for at_x, at_y, radius in _holes(sheet, drawn)
        if abs(at_x) + radius < x and abs(at_y) + radius < y
    )
    return Plate(
        x_min=-x, x_max=x, y_min=-y, y_max=y, z=sheet.z, thickness=sheet.thickness,
        resistivity=sheet.resistivity or own, skirt=skirt, holes=holes, near_x=drawn.rows,
        near_y=tuple(sorted(drawn.pole_y)), steel=name if steel is not None else "",
    )  # fmt: skip


def _holes(sheet: Sheet, drawn: Anatomy) -> Iterator[tuple[float, float, float]]:
    """Holes (x, y, radius) for every pole of each row of which one goes through the sheet's plane.

    Their size is that of the widest part of the row at the plane or, above the coils, of what has to pass.
    """
    rows: dict[tuple[str, float], list[tuple[float, tuple[Section, ...]]]] = {}
    for rod in drawn.assembly.rods:
        rows.setdefault((rod.part, rod.x), []).append((rod.y, rod.sections))
    for magnet in drawn.assembly.magnets:
        if isinstance(magnet, MagnetRod):
            section = Section(bottom=magnet.bottom, top=magnet.top, radius=magnet.radius)
            rows.setdefault((magnet.part, magnet.x), []).append((magnet.y, (section,)))
    for (_, x), poles in rows.items():
        half = 0.5 * sheet.thickness if sheet.steel is not None else 0.0  # a solid body: nothing may end inside it
        low, high = sheet.z - half, sheet.z + half
        if not any(min(s.bottom for s in own) < high and low < max(s.top for s in own) for _, own in poles):
            continue
        is_top = sheet.z > drawn.coils[0].bottom
        widest = max(s.radius for _, own in poles for s in own if is_top or s.bottom < sheet.z)
        radius = 0.5 * sheet.hole if sheet.hole is not None else widest + HOLE_CLEARANCE
        yield from ((x, y, radius) for y, _ in poles)


def magnet_material(magnet: Magnet) -> MagnetMaterial:
    """Return the material of the bar: own constants, its grade, or the stand-in for an unknown grade."""
    own = magnet.constants
    if own is not None:
        shape = None
        if own.law == "curve":
            shape = catalogue.magnet(UNKNOWN_GRADE).curve.shape  # type: ignore[attr-defined]
        return from_constants(
            own.remanence, own.coercivity, own.energy_product, own.recoil_permeability,
            resistivity=own.resistivity, law=own.law, shape=shape,
        )  # fmt: skip
    return catalogue.magnet(UNKNOWN_GRADE if magnet.grade == "unknown" else magnet.grade)


def magnet_law(magnet: Magnet, material: "MagnetMaterial | None" = None) -> MagnetLaw:
    """Return how the bar behaves: curve, recoil and charge history. Unknown charge: as outside."""
    stuff = material or magnet_material(magnet)
    charge = 1.0 if magnet.charge in ("unknown", "outside") else magnet.charge
    pooled = in_use()
    if magnet.charge == "outside" and pooled is not None and pooled.charge is not None:
        charge = min(pooled.charge[0], 1.0)  # as bars that are said to be charged outside come
    return MagnetLaw(
        curve=stuff.curve,
        recoil_permeability=stuff.recoil_permeability,
        charge="in-place" if charge == "in-place" else float(charge),
        pure_recoil=magnet.pure_recoil,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelPart:
    """A steel part's laws: large-signal for statics, reversible permeability and resistivity for sound."""

    law: SteelLaw
    reversible: float
    resistivity: float
    biased: bool  # the reversible permeability falls with the bias (Gans)


def steel_part(steel: Steel) -> SteelPart:
    """Return the laws of a steel record."""
    named = catalogue.steel(steel.name) if steel.name is not None else None
    resistivity = steel.resistivity or (named.resistivity if named is not None else None) or np.inf
    if steel.permeability is not None:
        law: SteelLaw = LinearSteel(permeability=steel.permeability)
        reversible = steel.reversible_permeability or steel.permeability
        return SteelPart(law=law, reversible=reversible, resistivity=resistivity, biased=False)
    if steel.saturation is not None and steel.langevin_a is not None:
        law = LangevinSteel(saturation=steel.saturation, a=steel.langevin_a)
    else:
        law = (named or catalogue.steel("1010")).law
    reversible = steel.reversible_permeability or (named.reversible_permeability if named else NOMINAL_STEEL)
    return SteelPart(law=law, reversible=float(reversible), resistivity=resistivity, biased=True)


def steel_parts(pickup: Pickup) -> dict[str, SteelPart]:
    """Return the laws of the steel parts of a pickup by part name."""
    return {name: steel_part(steel) for name, steel in steel_records(pickup).items()}


def steel_records(pickup: Pickup) -> dict[str, Steel]:
    """Return the steel of every part of a magnetic circuit by part name."""
    poles = pickup.poles
    return {
        "slugs": poles.slug_steel, "screws": poles.screw_steel, "second screws": poles.screw_steel,
        "keeper": poles.keeper_steel, "blades": poles.blade_steel, "second blades": poles.blade_steel,
        PLATE: poles.plate_steel,
        **{name: sheet.steel for name, sheet in sheets_of(pickup).items() if sheet.steel is not None},
    }  # fmt: skip
