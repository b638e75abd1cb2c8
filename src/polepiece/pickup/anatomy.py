"""From the record of a pickup to shapes, windings, plates and laws: what each rung of physics needs.

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
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelBar, SteelRod, cut
from polepiece.guitar import Magnet, Pickup, Sheet, Steel
from polepiece.magnetics import MagnetLaw, fold
from polepiece.materials import (
    LangevinSteel,
    LinearSteel,
    MagnetMaterial,
    SteelLaw,
    catalogue,
    from_constants,
)

LEAST_SEPARATION = 0.05e-3  # m; parts that touch are drawn this far apart
UNKNOWN_GRADE = "alnico-5"  # computed for "unknown"; the interval carries the other grades
WEAKEST_STEEL = 20.0  # relative permeability below which the network warns
HOLE_CLEARANCE = 0.3e-3  # m, of a hole in a sheet round the pole that goes through it; assumption
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


@lru_cache(maxsize=256)
def anatomy(pickup: Pickup) -> Anatomy:
    """Return the geometry of ``pickup``."""
    build = {
        "humbucker": _humbucker,
        "rod-single": _rods,
        "bar-single": _bar_under,
        "two-bar-single": _two_bars,
    }[pickup.construction]
    drawn = build(pickup, pole_y(pickup))
    drawn = replace(drawn, plates=_plates(pickup, drawn))
    return replace(drawn, assembly=_without_air(drawn.assembly, pickup))


def pickup_mesh(anatomy: Anatomy, resolution: Resolution) -> Mesh:
    """Return the mesh of ``anatomy``, folded in x = 0 where all of it is even there: one coil, sheets and holes too."""
    mesh = cut(anatomy.assembly, resolution)
    even = anatomy.rows == (0.0,) and all(coil.x == 0.0 for coil in anatomy.coils)
    return fold(mesh) if even and all(plate.is_even for plate in anatomy.plates) else mesh


def _without_air(assembly: Assembly, pickup: Pickup) -> Assembly:
    """Leave out steel of permeability 1, which is air; warn where a slice is no longer nearly an equipotential."""
    p = pickup.poles
    permeability = {
        "slugs": p.slug_steel.permeability,
        "screws": p.screw_steel.permeability,
        "keeper": p.keeper_steel.permeability,
    }
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
    if not bars:
        rods = tuple(replace(r, through=None) for r in rods)
    return replace(assembly, rods=rods, bars=bars)


def pole_y(pickup: Pickup) -> tuple[float, ...]:
    """Return the y of each pole, string 1 (at +y) first, m."""
    n = pickup.poles.count
    return tuple((0.5 * (n - 1) - k) * pickup.poles.pole_spacing for k in range(n))


def pole_top(pickup: Pickup) -> float:
    """Return the height of the highest pole as drawn (screws not turned), m."""
    p = pickup.poles
    if pickup.construction == "rod-single":
        return max(p.rod_lengths)
    screws = p.screw_top + p.head_height
    if pickup.construction == "bar-single":
        return p.slug_height
    return max(screws, p.slug_height) if pickup.construction == "humbucker" else screws


def row_positions(pickup: Pickup, rows: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distance of each row from the bridge end of the strings, m."""
    turn = 1.0 if pickup.screws_face == "neck" else -1.0
    return tuple(pickup.distance_from_bridge - turn * x for x in rows)


def _screws(pickup: Pickup, ys: tuple[float, ...], x: float) -> tuple[SteelRod, ...]:
    p = pickup.poles
    through = (p.keeper_bottom, p.keeper_top) if p.keeper_x_min is not None else None
    rods = []
    for k, y in enumerate(ys):
        up = p.screw_raise[k] if k < len(p.screw_raise) else 0.0
        sections = [Section(bottom=p.screw_bottom + up, top=p.screw_top + up, radius=0.5 * p.screw_diameter)]
        if p.head_height > 0.0:
            top = p.screw_top + up
            sections.append(Section(bottom=top, top=top + p.head_height, radius=0.5 * p.head_diameter))
        rods.append(SteelRod(part="screws", x=x, y=y, sections=tuple(sections), through=through))
    return tuple(rods)


def _slugs(pickup: Pickup, ys: tuple[float, ...], x: float, lift: float = 0.0) -> tuple[SteelRod, ...]:
    p = pickup.poles
    section = Section(bottom=p.slug_bottom + lift, top=p.slug_height, radius=0.5 * p.slug_diameter)
    return tuple(SteelRod(part="slugs", x=x, y=y, sections=(section,)) for y in ys)


def _keeper(pickup: Pickup, ys: tuple[float, ...], x: float) -> tuple[SteelBar, ...]:
    p = pickup.poles
    if p.keeper_x_min is None or p.keeper_x_max is None:
        return ()
    half = 0.5 * p.keeper_length
    holes = tuple((x, y, 0.5 * p.screw_diameter) for y in ys)
    return (
        SteelBar(
            part="keeper", x_min=p.keeper_x_min, x_max=p.keeper_x_max, y_min=-half, y_max=half,
            z_min=p.keeper_bottom, z_max=p.keeper_top, holes=holes,
        ),
    )  # fmt: skip


def _contact(magnet: Magnet) -> tuple[float, float]:
    """Return the air between bar and steel on each side (m) and the share of the section that is sound metal.

    Rough cast is a finish of any alnico: more air, less section, nothing else (stated assumption).
    """
    finish = catalogue.finish("alnico-5-rough-cast") if magnet.finish == "rough-cast" else None
    if finish is None:
        return magnet.bar_to_pole_gap, 1.0
    return magnet.bar_to_pole_gap + 0.5 * sum(finish.gap_a_side), 1.0 - 0.5 * sum(finish.section_loss)


def _humbucker(pickup: Pickup, ys: tuple[float, ...]) -> Anatomy:
    p, m = pickup.poles, pickup.magnet
    sign = -1.0 if m.flipped else 1.0
    gap, share = _contact(m)  # the air is taken from the bar's width: steel and screws stay where they are drawn
    half = 0.5 * m.width - (gap if m.magnetised_through == "width" else 0.0)
    bar = MagnetBox(
        part="magnet", x_min=-half, x_max=half, y_min=-0.5 * m.length, y_max=0.5 * m.length,
        z_min=0.0, z_max=m.thickness * share, easy=2 if m.magnetised_through == "thickness" else 0,
        sign=sign, marks=ys,
    )  # fmt: skip
    x = p.row_offset
    return Anatomy(
        assembly=Assembly(
            rods=_slugs(pickup, ys, x) + _screws(pickup, ys, -x), bars=_keeper(pickup, ys, -x), magnets=(bar,)
        ),
        coils=_coils(pickup, (x, -x)),
        plates=(),
        pole_y=ys,
        rows=(x, -x),
        top=pole_top(pickup),
    )


def _rods(pickup: Pickup, ys: tuple[float, ...]) -> Anatomy:
    p, m = pickup.poles, pickup.magnet
    sign = -1.0 if m.flipped else 1.0
    magnets = tuple(
        MagnetRod(part="magnet", x=0.0, y=y, radius=0.5 * p.rod_diameter, bottom=0.0, top=length, sign=sign)
        for y, length in zip(ys, p.rod_lengths)
    )
    return Anatomy(
        assembly=Assembly(magnets=magnets), coils=_coils(pickup, (0.0,)), plates=(), pole_y=ys,
        rows=(0.0,), top=pole_top(pickup)
    )  # fmt: skip


def _bar_under(pickup: Pickup, ys: tuple[float, ...]) -> Anatomy:
    p, m = pickup.poles, pickup.magnet
    sign = -1.0 if m.flipped else 1.0
    gap, share = _contact(m)
    thickness = m.thickness * share
    lift = max(0.0, thickness + max(gap, LEAST_SEPARATION) - p.slug_bottom)
    bar = MagnetBox(
        part="magnet", x_min=-0.5 * m.width, x_max=0.5 * m.width, y_min=-0.5 * m.length, y_max=0.5 * m.length,
        z_min=0.0, z_max=thickness, easy=0 if m.magnetised_through == "width" else 2, sign=sign, marks=ys,
    )  # fmt: skip
    return Anatomy(
        assembly=Assembly(rods=_slugs(pickup, ys, 0.0, lift), magnets=(bar,)), coils=_coils(pickup, (0.0,)),
        plates=(), pole_y=ys, rows=(0.0,), top=pole_top(pickup)
    )  # fmt: skip


def _two_bars(pickup: Pickup, ys: tuple[float, ...]) -> Anatomy:
    p, m = pickup.poles, pickup.magnet
    sign = -1.0 if m.flipped else 1.0
    low, high = p.keeper_x_min or -0.5 * p.screw_diameter, p.keeper_x_max or 0.5 * p.screw_diameter
    gap, share = _contact(m)
    half, gap = 0.5 * m.length, max(gap, LEAST_SEPARATION)
    shape = {"y_min": -half, "y_max": half, "z_min": 0.0, "z_max": m.thickness * share, "easy": 0, "marks": ys}
    bars = (  # like poles to the screws
        MagnetBox(part="magnet", x_min=low - gap - m.width, x_max=low - gap, sign=sign, **shape),  # type: ignore[arg-type]
        MagnetBox(part="magnet", x_min=high + gap, x_max=high + gap + m.width, sign=-sign, **shape),  # type: ignore[arg-type]
    )
    return Anatomy(
        assembly=Assembly(rods=_screws(pickup, ys, 0.0), bars=_keeper(pickup, ys, 0.0), magnets=bars),
        coils=_coils(pickup, (0.0,)), plates=(), pole_y=ys, rows=(0.0,), top=pole_top(pickup)
    )  # fmt: skip


def _coils(pickup: Pickup, centres: tuple[float, ...]) -> tuple[Racetrack, ...]:
    out = []
    for coil, x in zip(pickup.coils, centres):
        out.append(
            Racetrack(
                x=x, inner_half_x=coil.inner_half_x, inner_half_y=coil.inner_half_y, outer_half_x=coil.outer_half_x,
                outer_half_y=coil.outer_half_y, bottom=coil.bottom, top=coil.top, turns=1.0,
            )  # per turn: turns scale the result, so that equal shapes share their factors
        )  # fmt: skip
    return tuple(out)


def _plates(pickup: Pickup, drawn: Anatomy) -> tuple[Plate, ...]:
    return tuple(_plate(s, drawn) for s in (pickup.base_plate, pickup.cover) if s is not None)


def _plate(sheet: Sheet, drawn: Anatomy) -> Plate:
    """Middle planes of a sheet of outer sizes; holes where rows of poles go through."""
    half = 0.5 * sheet.thickness
    wall, skirt = (half, sheet.skirt - half) if sheet.skirt > half else (0.0, 0.0)
    resistivity = sheet.resistivity or catalogue.conductor(sheet.material).resistivity
    x, y = 0.5 * sheet.width - wall, 0.5 * sheet.length - wall
    holes = tuple(
        (at_x, at_y, radius)
        for at_x, at_y, radius in _holes(sheet, drawn)
        if abs(at_x) + radius < x and abs(at_y) + radius < y
    )
    return Plate(
        x_min=-x, x_max=x, y_min=-y, y_max=y, z=sheet.z, thickness=sheet.thickness, resistivity=resistivity,
        skirt=skirt, holes=holes, near_x=drawn.rows, near_y=tuple(sorted(drawn.pole_y)),
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
        if not any(min(s.bottom for s in own) < sheet.z < max(s.top for s in own) for _, own in poles):
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
    """Return the laws of slugs, screws and keeper by part name."""
    p = pickup.poles
    return {
        "slugs": steel_part(p.slug_steel), "screws": steel_part(p.screw_steel), "keeper": steel_part(p.keeper_steel)
    }  # fmt: skip
