"""Covers, base plates and keepers in alternating fields against three-dimensional finite elements."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil import (
    Loops,
    Plate,
    alternating,
    inductance_in_air,
    solve_alternating,
    source_potential,
    winding_set,
)
from polepiece.coil.sheets import Sheets
from polepiece.constants import MU_0
from polepiece.geometry import Assembly, MagnetBox, Section, SteelBar, SteelRod, cut
from polepiece.magnetics import factorise
from polepiece.materials import LinearSteel
from polepiece.pickup.anatomy import SteelPart
from polepiece.pickup.steel_edges import steel_permeabilities
from verification import cases
from verification.finite_elements_eddy import CASES, Case
from verification.registry import Row, study

MAGNITUDE, LOSS, CHANGE = 0.01, 0.05, 0.05
FIELD_DB, FIELD_DEGREES = 0.3, 3.0
STEP = 1e-5  # m, of the differences that Bz is taken by
UP = np.array([0.0, 0.0, STEP])
HERTZ = (0.0, 1000.0, 5000.0)


def assembly(case: Case) -> Assembly:
    """Return the steel and the magnet of a case."""
    mm = cases.MM
    rods = tuple(
        SteelRod(
            part="slugs" if x >= 0.0 else "screws", x=x * mm, y=side * y * mm,
            sections=tuple(Section(bottom=b * mm, top=t * mm, radius=r * mm) for r, b, t in sections),
            through=(case.keeper[3] * mm, case.keeper[4] * mm) if x < 0.0 and case.keeper else None,
        )
        for side in (1.0, -1.0)
        for x, y, sections in case.rods
    )  # fmt: skip
    bars: tuple[SteelBar, ...] = ()
    if case.keeper is not None:
        x0, x1, half, z0, z1 = (v * mm for v in case.keeper)
        holes = tuple((r.x, r.y, r.sections[0].radius) for r in rods if r.part == "screws")
        bars = (SteelBar(part="keeper", x_min=x0, x_max=x1, y_min=-half, y_max=half, z_min=z0, z_max=z1, holes=holes),)
    magnets: tuple[MagnetBox, ...] = ()
    if case.magnet is not None:
        hx, hy, z0, z1 = (v * mm for v in case.magnet[:4])
        marks = tuple(sorted({rod.y for rod in rods}))
        magnets = (MagnetBox(part="magnet", x_min=-hx, x_max=hx, y_min=-hy, y_max=hy, z_min=z0, z_max=z1, marks=marks),)
    return Assembly(rods=rods, bars=bars, magnets=magnets)


def plates(case: Case, fineness: float = 1.0) -> tuple[Plate, ...]:
    """Return the sheets of a case in their middle planes; ``fineness`` multiplies the mesh rule's distances."""
    mm = cases.MM
    out = []
    for sheet in case.sheets:
        wall = 0.5 * sheet.thickness if sheet.skirt_to is not None else 0.0
        x, y = (sheet.half_x - wall) * mm, (sheet.half_y - wall) * mm
        z = sheet.top - 0.5 * sheet.thickness
        usual = Plate(x_min=-x, x_max=x, y_min=-y, y_max=y, z=0.0, thickness=1.0, resistivity=1.0)
        out.append(
            Plate(
                x_min=-x, x_max=x, y_min=-y, y_max=y, z=z * mm, thickness=sheet.thickness * mm,
                resistivity=sheet.resistivity, skirt=0.0 if sheet.skirt_to is None else (z - sheet.skirt_to) * mm,
                holes=tuple((a * mm, side * b * mm, r * mm) for a, b, r in sheet.holes for side in (1.0, -1.0)),
                near_x=tuple(sorted({rod[0] * mm for rod in case.rods})) or (0.0,),
                near_y=tuple(sorted({side * rod[1] * mm for rod in case.rods for side in (1.0, -1.0)})) or (0.0,),
                cell=fineness * usual.cell, fine=fineness * usual.fine,
            )
        )  # fmt: skip
    return tuple(out)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dressed:
    """A solved case: L (coils, coils, f), H, and Bz per ampere (f, coils, points), T."""

    inductance: ComplexArray
    bz: ComplexArray

    def series(self) -> ComplexArray:
        """Return L (f,) of one coil, or of two in series opposite."""
        henry = self.inductance
        return np.asarray(henry[0, 0] if len(henry) == 1 else henry[0, 0] + henry[1, 1] - 2.0 * henry[0, 1])


def solved(case: Case, points: FloatArray, hertz: tuple[float, ...] = HERTZ, fineness: float = 1.0) -> Dressed:
    """Solve a case at ``hertz``; Bz at ``points`` (n, 3), m."""
    mesh = cut(assembly(case))
    windings = winding_set(mesh, case.coils, plates(case, fineness))
    at = np.concatenate([points + UP, points - UP])
    factors = factorise(mesh, windings.sources, at[:, None, :])
    system = alternating(factors, windings)
    frequency = np.array(hertz)
    steel = SteelPart(
        law=LinearSteel(permeability=case.permeability), reversible=case.permeability, resistivity=case.resistivity,
        biased=False,
    )  # fmt: skip
    parts = dict.fromkeys(cases.STEEL_PARTS, steel)
    if not case.keeper_conducts:
        parts["keeper"] = replace(steel, resistivity=1e3)
    mu = steel_permeabilities(mesh, system.edges, np.zeros(len(mesh.edge_a)), parts, frequency)
    magnet = np.full(len(frequency), case.magnet[4] if case.magnet else 1.0, dtype=complex)
    fields = solve_alternating(system, frequency, steel=mu, magnet_flat=magnet, magnet_up=magnet)
    direct = np.concatenate([source_potential(c, at)[:, None] for c in case.coils], axis=1)
    if windings.sheets is not None:
        direct = np.concatenate([direct, windings.sheets.potential(at)], axis=1)
    direct = direct + factors.probe_sources
    coils = len(case.coils)
    psi = np.einsum("gm,fmc->fcg", system.reduce(np.asarray(factors.probe_nodes)), fields.potential)
    psi = psi + direct[:, :coils].T + np.einsum("gw,fwc->fcg", direct[:, coils:], fields.currents)
    up, down = np.split(psi, 2, axis=2)
    return Dressed(inductance=fields.inductance, bz=-MU_0 * (up - down) / (2.0 * STEP))


def in_air(case: Case) -> ComplexArray:
    """Return L (1, 1, f) of one coil and sheets without steel."""
    sheets = Sheets.of(plates(case), mirrored=True)
    linked = sheets.linked(Loops.gauss(case.coils[0]))
    own = float(inductance_in_air(case.coils)[0, 0])
    jw = 2j * np.pi * np.array(HERTZ)
    found = [own + linked @ np.linalg.solve(sheets.resistance + p * sheets.inductance, -p * linked) for p in jw]
    return np.array(found)[None, None]


@lru_cache(maxsize=16)
def box(name: str) -> Dressed:
    """Return one coil, six rods and a box cover, solved where the reference has it."""
    rows = cases.chosen("box_cover_field", parts="rods", frequency_hz="1000")
    return solved(CASES[name], cases.places(rows))


def _complex(rows: list[dict[str, str]], name: str) -> ComplexArray:
    return np.asarray(cases.column(rows, f"re_{name}") + 1j * cases.column(rows, f"im_{name}"))


def judged(
    case: str, hertz: str, here: complex, there: complex, bare: "tuple[complex, complex] | None"
) -> Iterator[Row]:
    """Yield |L|, Im L and the change from (ours, reference) without the sheets."""
    at = f"at {hertz} Hz"
    yield Row(
        case=case, quantity=f"|L| {at}", found=f"{abs(here):.5f} H", reference=f"{abs(there):.5f} H",
        error=abs(here) / abs(there) - 1.0, tolerance=MAGNITUDE,
    )  # fmt: skip
    if there.imag:
        yield Row(
            case=case, quantity=f"Im L {at}", found=f"{here.imag:.5f} H", reference=f"{there.imag:.5f} H",
            error=here.imag / there.imag - 1.0, tolerance=LOSS,
        )  # fmt: skip
    if bare is not None:
        ours, theirs = here - bare[0], there - bare[1]
        yield Row(
            case=case, quantity=f"change by sheets {at}", found=f"{ours:.5f} H", reference=f"{theirs:.5f} H",
            error=abs(ours - theirs) / abs(theirs), tolerance=CHANGE,
        )  # fmt: skip


def strings(case: str, hertz: str, here: ComplexArray, there: ComplexArray, points: FloatArray) -> Iterator[Row]:
    """Yield, for each line along a string, level and phase at its largest value."""
    lines = points[:, 1:]
    for y, z in np.unique(lines, axis=0):
        rows = (lines == [y, z]).all(axis=1)
        top = np.argmax(abs(there[rows]))
        ratio = here[rows][top] / there[rows][top]
        where = f"Bz per A, y {1e3 * y:g} z {1e3 * z:g} mm, {hertz} Hz"
        found, reference = (f"{value[rows][top]:.5f} T/A" for value in (here, there))
        for quantity, error, bound in (
            (f"{where}, dB", 20.0 * np.log10(abs(ratio)), FIELD_DB),
            (f"{where}, degrees", np.degrees(np.angle(ratio)), FIELD_DEGREES),
        ):
            yield Row(
                case=case, quantity=quantity, found=found, reference=reference, error=float(error), tolerance=bound
            )


@study(
    "box-cover",
    "One coil, six steel rods, a box cover: complex L and field at the strings",
    "The error of a change is that of the complex difference from the case without a cover. Field: dB and degrees.",
)
def box_cover() -> Iterator[Row]:
    """Yield L, changes and fields of the box cover's cases."""
    air = Dressed(inductance=in_air(CASES["cover"]), bz=np.zeros((len(HERTZ), 1, 0), dtype=complex))
    for name in ("rods", "cover", "rods+cover", "rods+brass"):
        mine = air if name == "cover" else box(name)
        for row in cases.chosen("box_cover_inductance", parts=name):
            k = HERTZ.index(float(row["frequency_hz"]))
            bare = None
            if name.startswith("rods+"):
                (other,) = cases.chosen("box_cover_inductance", parts="rods", frequency_hz=row["frequency_hz"])
                bare = box("rods").series()[k], complex(float(other["re_l_h"]), float(other["im_l_h"]))
            there = complex(float(row["re_l_h"]), float(row["im_l_h"]))
            yield from judged(name, row["frequency_hz"], complex(mine.series()[k]), there, bare)
        for hertz in ("1000", "5000"):
            rows = cases.chosen("box_cover_field", parts=name, frequency_hz=hertz)
            if rows:
                mine_bz = mine.bz[HERTZ.index(float(hertz)), 0]
                yield from strings(name, hertz, mine_bz, _complex(rows, "bz_t_per_a"), cases.places(rows))


@study(
    "dressed-humbucker",
    "Humbucker of two poles a row: bare, with base plate, with covers",
    "Coils in series opposite; finite elements of our own (`verification.finite_elements_eddy`).",
)
def dressed_humbucker() -> Iterator[Row]:
    """Yield L, changes and fields of the short humbucker's cases."""
    names = list(dict.fromkeys(row["case"] for row in cases.table("eddy_inductance")))
    bare: dict[str, tuple[complex, complex]] = {}
    for name in names:
        points = np.array(CASES[name].points) * cases.MM
        mine = solved(CASES[name], points)
        for hertz in dict.fromkeys(row["frequency_hz"] for row in cases.chosen("eddy_inductance", case=name)):
            k = HERTZ.index(float(hertz))
            values = _complex(cases.chosen("eddy_inductance", case=name, frequency_hz=hertz), "l_h")
            there, here = complex(values[0] + values[2] - 2.0 * values[1]), complex(mine.series()[k])
            kind, _, dressed = name.partition("+")
            bare.setdefault(f"{kind} {hertz}", (here, there))
            yield from judged(name, hertz, here, there, bare[f"{kind} {hertz}"] if dressed else None)
            for coil in (1, 2):
                rows = cases.chosen("eddy_field", case=name, frequency_hz=hertz, coil=str(coil))
                found = _complex(rows, "bz_t_per_a")
                yield from strings(f"{name}, coil {coil}", hertz, mine.bz[k, coil - 1], found, cases.places(rows))
