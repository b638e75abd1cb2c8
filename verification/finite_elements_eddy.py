"""Finite elements with eddy currents: ``python -m verification.finite_elements_eddy CASE ...``.

Not part of the tool or of its tests: it wrote the tables `eddy_*.csv` in tests/reference/fem and is kept so that more
can be written. It needs NGSolve as `verification.finite_elements` does, whose air shell and source it shares.

T-Omega: H = T0 + T - grad Omega, T (edge elements) in conductors only, its tangential part zero on their surfaces,
Omega everywhere; T0 along z is the winding's current (see `verification.finite_elements`). With a = rho/(j w mu0),

    a curl T . curl T' + mu_r (T0 + T - grad Omega) . (T' - grad Omega') = 0,      L = mu0 (mu_r H, T0)

which is complex symmetric with a definite real part. T is made unique by GAUGE times its square. Holes in sheets
are filled with a conductor a million times worse, so that currents may run round them. Steel is cut in shells under
its surface, which take the skin depth. A mirror plane y = 0 (and x = 0 where the case has one) is natural for all.
"""

import argparse
import csv
import math
import time
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from polepiece.coil import Racetrack
from verification import cases
from verification.finite_elements import FAR, MIDDLE, MU_0, NEAR, _abs, _stretch

GAUGE = 1e-6  # of T squared, against mu_r: what it adds to H is as small
FILLING = 1e6  # resistivity of a filled hole, of the sheet's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of 0.5 mm, sizes in mm: outer x and y, upper face, skirt down to; holes (x, y, radius)."""

    half_x: float
    half_y: float
    top: float
    resistivity: float
    skirt_to: float | None = None
    holes: tuple[tuple[float, float, float], ...] = ()
    thickness: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Steel rods (x, y, ((radius, bottom, top), ...)) and keeper (mm), coils, sheets; materials."""

    rods: tuple[tuple[float, float, tuple[tuple[float, float, float], ...]], ...]
    coils: tuple[Racetrack, ...]
    keeper: tuple[float, float, float, float, float] | None = None  # x0, x1, half y, z0, z1
    sheets: tuple[Sheet, ...] = ()
    permeability: float = 100.0
    resistivity: float = 1.43e-7
    keeper_conducts: bool = True
    magnet: tuple[float, float, float, float, float] | None = None  # half x, half y, z0, z1, permeability; no current
    blocks: tuple[tuple[float, float, float, float, float], ...] = ()  # x0, x1, half y, z0, z1: blades, plates
    boxes: tuple[tuple[float, float, float, float, float], ...] = ()  # the same of magnets; no current
    posts: tuple[tuple[float, float, float, float, float], ...] = ()  # x, y, radius, z0, z1 of rod magnets; no current
    recoil: float = 1.0  # permeability of boxes and posts
    quarter: bool = False
    shells: tuple[float, ...] = (0.3, 0.9)
    rod_size: float = 1.4
    sheet_size: float = 2.5
    air_size: float = 9.0
    hertz: tuple[float, ...] = (1000.0, 5000.0)
    points: tuple[tuple[float, float, float], ...] = field(default=())


class Solver:
    """One case, meshed."""

    def __init__(self, case: Case, *, order: int = 2, threads: int = 1) -> None:
        import ngsolve as ng

        ng.SetNumThreads(threads)
        self.ng, self.case = ng, case
        began = time.time()
        built, self.conductors = _mesh(case)
        self.mesh = ng.Mesh(built)
        self.mesh.Curve(2)
        where = "|".join(self.conductors)
        curl = ng.HCurl(
            self.mesh, order=order, nograds=True, complex=True, definedon=self.mesh.Materials(where), dirichlet="skin"
        )
        scalar = ng.H1(self.mesh, order=order + 1, complex=True, dirichlet="far")
        self.space, self.order = ng.Compress(curl) * scalar, order
        print(f"  {self.mesh.ne} elements, {self.space.ndof} unknowns, {time.time() - began:.0f} s", flush=True)

    def solve(self, hertz: float) -> tuple[np.ndarray, np.ndarray]:
        """Return L (coils, coils), H, and Bz per ampere (coils, points), T."""
        ng, mesh, case = self.ng, self.mesh, self.case
        (t, u), (s, v) = self.space.TnT()
        rho = dict(self.conductors)
        mu = mesh.MaterialCF(
            {n: case.permeability for n in mesh.GetMaterials() if n.startswith(("steel", "keeper"))}
            | {"magnet": case.magnet[4] if case.magnet else case.recoil},
            default=1.0,
        )
        inner = mesh.Materials("|".join(sorted({n for n in mesh.GetMaterials() if n != "shell"})))
        conducting = mesh.Materials("|".join(self.conductors))
        a = mesh.MaterialCF({n: 1e6 * r / (2j * math.pi * hertz * MU_0) for n, r in rho.items()}, default=0.0)
        form = ng.BilinearForm(self.space, symmetric=True, condense=True)
        form += a * ng.curl(t) * ng.curl(s) * ng.dx(definedon=conducting)
        form += mu * (t - ng.grad(u)) * (s - ng.grad(v)) * ng.dx(definedon=conducting)
        form += GAUGE * mu * t * s * ng.dx(definedon=conducting)
        rest = mesh.Materials("|".join(sorted({n for n in mesh.GetMaterials() if n not in rho and n != "shell"})))
        form += mu * ng.grad(u) * ng.grad(v) * ng.dx(definedon=rest)
        form += ng.InnerProduct(_stretch(ng) * ng.grad(u), ng.grad(v)) * ng.dx(definedon=mesh.Materials("shell"))
        began = time.time()
        form.Assemble()
        inverse = form.mat.Inverse(self.space.FreeDofs(coupling=True), inverse="sparsecholesky")
        print(f"  {hertz:g} Hz factorised, {time.time() - began:.0f} s", flush=True)
        sources = [_source(ng, c) for c in case.coils]
        fields, outs = [], []
        for source in sources:
            load = ng.LinearForm(self.space)
            load += -mu * source * (s - ng.grad(v)) * ng.dx(definedon=conducting, bonus_intorder=4)
            load += mu * source * ng.grad(v) * ng.dx(definedon=rest, bonus_intorder=4)
            load.Assemble()
            found = ng.GridFunction(self.space)
            rhs = load.vec
            rhs.data += form.harmonic_extension_trans * rhs
            found.vec.data = inverse * rhs
            found.vec.data += form.harmonic_extension * found.vec
            found.vec.data += form.inner_solve * rhs
            outs.append(found)
            fields.append(source + found.components[0] - ng.grad(found.components[1]))
        parts = 4.0 if case.quarter else 2.0
        henry = np.array(
            [
                [
                    parts * 1e-3 * MU_0 * ng.Integrate(mu * ng.InnerProduct(h, t0), inner, order=8)
                    for t0 in sources
                ]
                for h in fields
            ]
        )  # fmt: skip
        bz = np.array([[1e3 * MU_0 * -ng.grad(o.components[1])(mesh(*p))[2] for p in case.points] for o in outs])
        return henry, bz

    def in_air(self) -> np.ndarray:
        """Return L (coils, coils), H, of the windings alone, as this mesh has them: everything of permeability 1."""
        ng, mesh = self.ng, self.mesh
        space = ng.H1(mesh, order=self.order + 1, dirichlet="far")
        u, v = space.TnT()
        inner = mesh.Materials("|".join(sorted({n for n in mesh.GetMaterials() if n != "shell"})))
        form = ng.BilinearForm(space, symmetric=True)
        form += ng.grad(u) * ng.grad(v) * ng.dx(definedon=inner)
        form += ng.InnerProduct(_stretch(ng) * ng.grad(u), ng.grad(v)) * ng.dx(definedon=mesh.Materials("shell"))
        pre = ng.Preconditioner(form, "bddc")
        form.Assemble()
        sources, fields = [_source(ng, c) for c in self.case.coils], []
        for source in sources:
            load = ng.LinearForm(space)
            load += source * ng.grad(v) * ng.dx(definedon=inner, bonus_intorder=4)
            load.Assemble()
            phi = ng.GridFunction(space)
            phi.vec.data = ng.krylovspace.CGSolver(mat=form.mat, pre=pre, tol=1e-8, maxiter=400) * load.vec
            fields.append(source - ng.grad(phi))
        scale = (4.0 if self.case.quarter else 2.0) * 1e-3 * MU_0
        return scale * np.array([[ng.Integrate(h * t, inner, order=8) for t in sources] for h in fields])


def _source(ng: Any, coil: Racetrack) -> Any:
    """Return T0 (3) of one ampere, lengths in mm (see `verification.finite_elements.Solver.source`)."""
    ax, ay = _abs(ng, ng.x - 1e3 * coil.x) - 1e3 * coil.inner_half_x, _abs(ng, ng.y) - 1e3 * coil.inner_half_y
    t = ng.IfPos(ax - ay, ax, ay) / (1e3 * (coil.outer_half_x - coil.inner_half_x))
    ramp = ng.IfPos(t, ng.IfPos(1.0 - t, 1.0 - t, 0.0), 1.0)
    low, high = 1e3 * coil.bottom, 1e3 * coil.top
    inside = ng.IfPos(ng.z - low, ng.IfPos(high - ng.z, 1.0, 0.0), 0.0)
    return ng.CoefficientFunction((0.0, 0.0, coil.turns / (high - low) * ramp * inside))


def _mesh(case: Case) -> tuple[Any, dict[str, float]]:
    """Return the netgen mesh, mm, of a half or a quarter, and the resistivity of each conducting material."""
    from netgen import occ

    half = occ.Box((0 if case.quarter else -200, 0, -200), (200, 200, 200))
    conductors: dict[str, float] = {}
    solids: list[Any] = []

    levels = sorted({1e3 * c.bottom for c in case.coils} | {1e3 * c.top for c in case.coils})

    split = ("steel", "magnet") if case.boxes or case.posts else ("steel",)

    def add(solid: Any, name: str, size: float) -> None:
        for z in levels if name in split else ():  # the source jumps at the ends of the winding
            low = solid * occ.Box((-200, -200, -200), (200, 200, z))
            solid = occ.Glue([one for one in (low, solid - low) if one.mass > 1e-9])
        solid.mat(name)
        solid.maxh = size
        solids.append(solid)

    def box(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float) -> Any:
        return occ.Box((x0, y0, z0), (x1, y1, z1))

    def post(x: float, y: float, sections: "tuple[tuple[float, float, float], ...]", less: float) -> Any:
        out = None
        for k, (radius, low, high) in enumerate(sections):
            bottom = low + less if k == 0 or sections[k - 1][0] < radius else low - less
            top = high - less if k == len(sections) - 1 or sections[k + 1][0] < radius else high + less
            one = occ.Cylinder(occ.Pnt(x, y, bottom), occ.Z, r=radius - less, h=top - bottom)
            out = one if out is None else out + one
        return out

    rods = [r for r in case.rods if r[1] > 0.0]
    outer = [post(*r, 0.0) for r in rods]
    for steps in (case.shells,):
        for rod, whole in zip(rods, outer):
            left = whole
            for depth in steps:
                core = post(*rod, depth)
                add((left - core) * half, "steel", case.rod_size)
                left = core
            add(left * half, "steel", case.rod_size * 1.3)
    for x0, x1, y1, z0, z1 in case.blocks:
        left = box(x0, x1, -y1, y1, z0, z1)
        outer.append(left)
        for depth in case.shells:
            if 2.0 * depth < min(x1 - x0, z1 - z0):
                core = box(x0 + depth, x1 - depth, depth - y1, y1 - depth, z0 + depth, z1 - depth)
                add((left - core) * half, "steel", case.rod_size)
                left = core
        add(left * half, "steel", case.rod_size * 1.3)
    conductors["steel"] = case.resistivity
    blocks = list(outer)
    if case.keeper is not None:
        x0, x1, y1, z0, z1 = case.keeper
        left = box(x0, x1, -1.0, y1, z0, z1)
        wholes = [left]
        for depth in case.shells:
            core = box(x0 + depth, x1 - depth, -1.0, y1 - depth, z0 + depth, z1 - depth)
            piece = (left - core) * half
            for o in outer:
                piece = piece - o
            add(piece, "keeper", case.rod_size * 1.3)
            left = core
        piece = left * half
        for o in outer:
            piece = piece - o
        add(piece, "keeper", case.rod_size * 1.5)
        if case.keeper_conducts:
            conductors["keeper"] = case.resistivity
        blocks += wholes
    if case.magnet is not None:
        hx, hy, z0, z1, _ = case.magnet
        piece = box(-hx, hx, 0.0, hy, z0, z1) * half
        for b in blocks:
            piece = piece - b
        add(piece, "magnet", 4.0)
        blocks.append(box(-hx, hx, 0.0, hy, z0, z1))
    for x0, x1, y1, z0, z1 in case.boxes:
        if x1 > 0.0 or not case.quarter:
            outer.append(box(x0, x1, -y1, y1, z0, z1))
            add(outer[-1] * half, "magnet", 4.0)
    for x, y, radius, z0, z1 in case.posts:
        if y > 0.0:
            outer.append(occ.Cylinder(occ.Pnt(x, y, z0), occ.Z, r=radius, h=z1 - z0))
            add(outer[-1] * half, "magnet", 2.0)
    for k, sheet in enumerate(case.sheets):
        t = sheet.thickness
        low = sheet.top - t if sheet.skirt_to is None else sheet.skirt_to
        body = box(-sheet.half_x, sheet.half_x, -sheet.half_y, sheet.half_y, low, sheet.top)
        if sheet.skirt_to is not None:
            body = body - box(
                -sheet.half_x + t, sheet.half_x - t, -sheet.half_y + t, sheet.half_y - t, low - 1.0, sheet.top - t
            )
        for x, y, radius in sheet.holes:
            if y < 0.0:
                continue
            hole = occ.Cylinder(occ.Pnt(x, y, sheet.top - t), occ.Z, r=radius, h=t)
            body = body - hole
            for o in outer:
                hole = hole - o
            add(hole * half, f"hole{k}", 1.5)
            conductors[f"hole{k}"] = FILLING * sheet.resistivity
        add(body * half, f"sheet{k}", case.sheet_size)
        conductors[f"sheet{k}"] = sheet.resistivity
    for c in case.coils:
        x, a, b = 1e3 * c.x, 1e3 * c.outer_half_x, 1e3 * c.outer_half_y
        i, j, z0, z1 = 1e3 * c.inner_half_x, 1e3 * c.inner_half_y, 1e3 * c.bottom, 1e3 * c.top
        hollow = box(x - i, x + i, -j, j, z0, z1)
        for piece in ((box(x - a, x + a, -b, b, z0, z1) - hollow) * half, hollow * half):
            for o in [*outer, *blocks]:
                piece = piece - o
            add(piece, "air", 3.5)
    if case.points:
        p = np.array(case.points)
        window = box(p[:, 0].min() - 0.5, p[:, 0].max() + 0.5, 0.0, p[:, 1].max() + 1.0, p[:, 2].min() - 0.4, p[:, 2].max() + 0.4)  # fmt: skip  # noqa: E501
        piece = window * half
        for o in [*solids]:
            piece = piece - o
        add(piece, "air", 2.5)
    centre = occ.Pnt(0, 0, MIDDLE)
    ball, whole = occ.Sphere(centre, NEAR) * half, occ.Sphere(centre, FAR) * half
    rest = ball
    for solid in solids:
        rest = rest - solid
    rest.mat("air")
    rest.maxh = case.air_size
    shell = whole - ball
    shell.mat("shell")
    shell.maxh = 30.0
    for face in shell.faces:
        c = face.center
        edge = abs(c.y) < 1e-6 or (case.quarter and abs(c.x) < 1e-6)
        if math.hypot(c.x, c.y, c.z - MIDDLE) > 0.4 * FAR and not edge and face.bounding_box[1][1] > 60.0:
            face.name = "far"
    geometry = occ.OCCGeometry(occ.Glue([*solids, rest, shell]))
    mesh = geometry.GenerateMesh(maxh=30.0, grading=0.6, optsteps3d=2)
    for k in range(1, mesh.GetNFaceDescriptors() + 1):
        d = mesh.FaceDescriptor(k)
        names = [mesh.GetMaterial(i) if i > 0 else "" for i in (d.domin, d.domout)]
        if "" not in names and sum(n in conductors for n in names) == 1:
            mesh.SetBCName(d.bc - 1, "skin")
    return mesh, conductors


def _racetrack(x: float, inner_half_y: float = 29.0) -> Racetrack:
    mm = cases.MM
    return Racetrack(
        x=x * mm, inner_half_x=3.2 * mm, inner_half_y=inner_half_y * mm, outer_half_x=6.4 * mm,
        outer_half_y=(inner_half_y + 3.2) * mm,
        bottom=4.5 * mm, top=11 * mm, turns=5000,
    )  # fmt: skip


ROW = (5.0, 15.0, 25.0)
BOX = Sheet(half_x=9.0, half_y=35.0, top=15.0, skirt_to=4.0, resistivity=2.9e-7)
RODS = Case(rods=tuple((0.0, y, ((2.4, 0.0, 12.5),)) for y in ROW), coils=(_racetrack(0.0),), quarter=True)
COVER = replace(RODS, rods=(), sheets=(BOX,))
BOTH = replace(
    RODS,
    sheets=(BOX,),
    points=tuple((x, y, z) for y in (5.0, 10.0, 15.0) for z in (16.5, 17.5, 18.5) for x in range(0, 21, 2)),
)
BRASS = replace(BOTH, sheets=(replace(BOX, resistivity=6.4e-8),))
SLUG, SCREW = ((2.4, 0.0, 12.5),), ((1.5, -6.0, 12.5), (2.5, 12.5, 14.0))
# the reference humbucker with magnet of recoil permeability 3.7, whole and with two poles of each kind
PAIR = Case(
    rods=(*((9.0, y, SLUG) for y in ROW), *((-9.0, y, SCREW) for y in ROW)), coils=(_racetrack(9.0), _racetrack(-9.0)),
    keeper=(-11.6, -6.4, 31.0, 0.0, 3.175), magnet=(6.35, 31.75, 0.0, 3.175, 3.7), permeability=100.0,
    shells=(0.4,), rod_size=1.7, air_size=12.0,
    points=tuple((float(x), y, z) for y in (5.0, 10.0) for z in (16.5, 18.0) for x in range(-25, 26, 2)),
)  # fmt: skip
SHORT = replace(
    PAIR, rods=((9.0, 5.0, SLUG), (-9.0, 5.0, SCREW)), coils=(_racetrack(9.0, 9.0), _racetrack(-9.0, 9.0)),
    keeper=(-11.6, -6.4, 11.0, 0.0, 3.175), magnet=(6.35, 11.75, 0.0, 3.175, 3.7),
    points=tuple((float(x), y, z) for y in (1.0, 5.0) for z in (16.5, 18.0) for x in range(-25, 26, 2)),
)  # fmt: skip
FINE = replace(SHORT, permeability=800.0, shells=(0.2, 0.55), rod_size=1.1, hertz=(1000.0,))


def _sheets(half_y: float, ys: tuple[float, ...]) -> tuple[Sheet, Sheet, Sheet]:
    """Base plate with holes for screws, closed cover, cover that the heads pierce."""
    plate = Sheet(
        half_x=19.0, half_y=half_y - 0.5, top=-1.25, resistivity=2.9e-7, holes=tuple((-9.0, y, 2.0) for y in ys)
    )
    closed = Sheet(half_x=19.25, half_y=half_y, top=15.0, skirt_to=1.0, resistivity=2.9e-7)
    return plate, closed, replace(closed, top=13.25, skirt_to=-0.75, holes=tuple((-9.0, y, 2.8) for y in ys))


def _dressed(name: str, bare: Case, half_y: float) -> dict[str, Case]:
    plate, closed, pierced = _sheets(half_y, tuple(rod[1] for rod in bare.rods if rod[0] < 0.0))
    brass = tuple(replace(s, resistivity=6.4e-8) for s in (plate, pierced))
    sheets = {"": (), "+plate": (plate,), "+cover": (closed,), "+both": (plate, closed), "+pierced": (pierced,)}
    sheets["+brass"] = brass
    return {f"{name}{what}": replace(bare, sheets=tuple(ones)) for what, ones in sheets.items()}


CASES: dict[str, Case] = {
    "rods": RODS,
    "cover": COVER,
    "rods+cover": BOTH,
    "rods+brass": BRASS,
    **_dressed("pair", PAIR, 35.0),
    **_dressed("short", SHORT, 15.0),
    "short-800": FINE,
    "short-800-open-keeper": replace(FINE, keeper_conducts=False),
}


def write(name: str, hertz: float, henry: np.ndarray, bz: np.ndarray) -> None:
    """Write the rows of a case at a frequency in the tables, in place of what they hold of it."""
    at = {"case": name, "frequency_hz": f"{hertz:g}"}
    print(name, hertz, henry.tolist(), flush=True)
    rows = [
        at | {"coil": str(i + 1), "other_coil": str(j + 1), "re_l_h": f"{h.real:.6f}", "im_l_h": f"{h.imag:.6f}"}
        for i in range(len(henry))
        for j, h in enumerate(henry[i])
        if i <= j
    ]
    _replace("eddy_inductance", at, rows)
    rows = [
        at | {"coil": str(i + 1), "x_mm": f"{x:g}", "y_mm": f"{y:g}", "z_mm": f"{z:g}"}
        | {"re_bz_t_per_a": f"{b.real:.6f}", "im_bz_t_per_a": f"{b.imag:.6f}"}
        for i in range(len(bz))
        for (x, y, z), b in zip(CASES[name].points, bz[i])
    ]  # fmt: skip
    if rows:
        _replace("eddy_field", at, rows)


def _replace(table: str, at: dict[str, str], rows: list[dict[str, str]]) -> None:
    path = cases.TABLES / f"{table}.csv"
    old = list(csv.DictReader(path.open(newline=""))) if path.exists() else []
    kept = [r for r in old if any(r[k] != v for k, v in at.items())]
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows([*kept, *rows])


def main() -> None:
    """Solve cases by name and write their rows in the tables, in place of what was there of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("case", nargs="+")
    for name in parser.parse_args().case:
        print(name, flush=True)
        solver = Solver(CASES[name])
        for hertz in CASES[name].hertz:
            henry, bz = solver.solve(hertz)
            write(name, hertz, henry, bz)


if __name__ == "__main__":
    main()
