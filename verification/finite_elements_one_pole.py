"""Finite elements of one pole under a steel cover: ``python -m verification.finite_elements_one_pole``.

It wrote tests/reference/fem/one_pole.csv: an eighth of the square cover of `verification.one_pole`, order 4, and the
same with a round cover and a round coil, twice: as an eighth in three dimensions with the same sizes of elements, and
axisymmetric, order 4, elements of 0.1 at all surfaces of steel. What the first two have in common is held by the third.
Total scalar potential as in `verification.finite_elements`; fields are slopes of the potential. About two minutes.
"""

import csv
import math
from itertools import pairwise
from typing import Any

import numpy as np

from verification import cases
from verification.finite_elements import MU_0
from verification.one_pole import COIL, HALF, HOLE, ONE_POLE, PERMEABILITY, SKIRT, THICK, UNDER, OnePole

ORDER, EDGE, STEEL, GAP, AIR = 4, 0.4, 1.0, 1.5, 6.0  # mm: at edges, in steel, in the air near it, further off
PLANE_EDGE, FAR_AWAY = 0.1, 600.0
NEAR, FAR, MIDDLE = 30.0, 55.0, 6.0  # mm: the shell that is mapped to infinity
ROUND = {"square": False, "round": True}


def _block(occ: Any, half: float, low: float, high: float, *, is_round: bool) -> Any:
    if is_round:
        return occ.Cylinder(occ.Pnt(0, 0, low), occ.Z, r=half, h=high - low)
    return occ.Box((-half, -half, low), (half, half, high))


def _mesh(one: OnePole, *, is_round: bool) -> Any:
    """Return the netgen mesh of the eighth 0 < y < x."""
    from netgen import occ

    def block(half: float, low: float, high: float, *, round_: bool = is_round) -> Any:
        return _block(occ, half, low, high, is_round=round_)

    wedge = occ.WorkPlane(occ.Axes((0, 0, -200), n=occ.Z, h=occ.X)).MoveTo(0, 0).LineTo(200, 0).LineTo(200, 200)
    wedge = wedge.Close().Face().Extrude(400 * occ.Z)

    def split(solid: Any) -> Any:  # the potential in steel has its kinks at the ends of the winding
        for z in COIL[2:]:
            low = solid * occ.Box((-99, -99, -99), (99, 99, z))
            high = solid - low
            solid = occ.Glue([part for part in (low, high) if part.mass > 1e-9])
        return solid

    pole = None
    for radius, low, top in one.sections:
        piece = block(radius, low, top, round_=True)
        pole = piece if pole is None else pole + piece
    sheet = block(HALF, UNDER, UNDER + THICK)
    if one.skirt:
        low = UNDER + THICK - SKIRT
        sheet = block(HALF, low, UNDER + THICK) - block(HALF - THICK, low - 1.0, UNDER)
    if one.hole:
        sheet = sheet - block(HOLE, UNDER - 1.0, UNDER + THICK + 1.0, round_=True)
    parts = [split(pole * wedge), split(sheet * wedge)]
    for part in parts:
        part.mat("steel")
        part.maxh = STEEL
        for edge in part.edges:
            edge.maxh = EDGE
    inner = block(COIL[0], *COIL[2:]) * wedge
    outer = block(COIL[1], *COIL[2:]) * wedge - inner
    ball, whole = occ.Sphere(occ.Pnt(0, 0, MIDDLE), NEAR), occ.Sphere(occ.Pnt(0, 0, MIDDLE), FAR)
    for face in whole.faces:
        face.name = "far"
    near = occ.Box((-12, -12, -4), (12, 12, 18)) * wedge
    ball, whole = ball * wedge, whole * wedge
    air = []
    for solid, size in ((inner, 2.0), (outer, 2.0), (near - inner - outer, GAP), (ball - near, AIR)):
        rest = solid
        for part in parts:
            rest = rest - part
        rest.mat("air")
        rest.maxh = size
        air.append(rest)
    shell = whole - ball
    shell.mat("shell")
    shell.maxh = 12.0
    return occ.OCCGeometry(occ.Glue([*parts, *air, shell])).GenerateMesh(maxh=12.0, grading=0.5, optsteps3d=3)


def _stretch(ng: Any) -> Any:
    """Return the tensor of air in the shell, as that of `verification.finite_elements`."""
    place = ng.CF((ng.x, ng.y, ng.z - MIDDLE))
    r, scale = ng.Norm(place), NEAR * (FAR - NEAR)
    f, slope = scale / (FAR - r), scale / (FAR - r) ** 2
    radial = ng.OuterProduct(place / r, place / r)
    return f**2 / (slope * r**2) * radial + slope * (ng.Id(3) - radial)


def _current(ng: Any, away: Any, z: Any) -> Any:
    """Return T along z, 1/mm, of one ampere turn; ``away``: from the axis, as the coil is square or round."""
    t = (away - COIL[0]) / (COIL[1] - COIL[0])
    ramp = ng.IfPos(t, ng.IfPos(1.0 - t, 1.0 - t, 0.0), 1.0)
    return ramp * ng.IfPos(z - COIL[2], ng.IfPos(COIL[3] - z, 1.0, 0.0), 0.0) / (COIL[3] - COIL[2])


def eighth(one: OnePole, *, is_round: bool) -> tuple[float, np.ndarray]:
    """Return the inductance, H, and Bz (n,), T, of one ampere turn at the points of a case."""
    import ngsolve as ng

    ng.SetNumThreads(1)
    mesh = ng.Mesh(_mesh(one, is_round=is_round))
    mesh.Curve(ORDER)
    space = ng.H1(mesh, order=ORDER, dirichlet="far")
    inner = mesh.Materials("steel|air")
    mu = mesh.MaterialCF({"steel": PERMEABILITY}, default=1.0)
    u, v = space.TnT()
    form = ng.BilinearForm(space, symmetric=True)
    form += mu * ng.grad(u) * ng.grad(v) * ng.dx(definedon=inner)
    form += ng.InnerProduct(_stretch(ng) * ng.grad(u), ng.grad(v)) * ng.dx(definedon=mesh.Materials("shell"))
    ready = ng.Preconditioner(form, "bddc")
    form.Assemble()
    away = ng.sqrt(ng.x**2 + ng.y**2) if is_round else ng.x
    source = ng.CF((0.0, 0.0, _current(ng, away, ng.z)))
    load = ng.LinearForm(space)
    load += mu * source * ng.grad(v) * ng.dx(definedon=inner, bonus_intorder=2)
    load.Assemble()
    phi = ng.GridFunction(space)
    phi.vec.data = ng.krylovspace.CGSolver(mat=form.mat, pre=ready, tol=1e-9, maxiter=600) * load.vec
    flux = ng.Integrate(mu * ng.InnerProduct(source - ng.grad(phi), source), mesh, order=2 * ORDER + 2, definedon=inner)
    slope = ng.grad(phi)
    found = [-slope(mesh(max(x, 1e-6), min(1e-7, 0.5 * max(x, 1e-6)), z))[2] for x, _, z in one.points]
    print(f"  {mesh.ne} elements, {space.ndof} unknowns", flush=True)
    return 8e-3 * MU_0 * flux, 1e3 * MU_0 * np.array(found)


def axisymmetric(one: OnePole) -> tuple[float, np.ndarray]:
    """Return the same of the round cover, solved in the half plane."""
    import ngsolve as ng
    from netgen import occ

    def box(r0: float, r1: float, z0: float, z1: float) -> Any:
        return occ.MoveTo(r0, z0).Rectangle(r1 - r0, z1 - z0).Face()

    top = UNDER + THICK
    pole = None
    for radius, low, high in one.sections:
        pole = box(0.0, radius, low, high) if pole is None else pole + box(0.0, radius, low, high)
    sheet = box(HOLE if one.hole else 0.0, HALF, UNDER, top)
    if one.skirt:
        sheet = sheet + box(HALF - THICK, HALF, top - SKIRT, top)
    cuts = (-900.0, *COIL[2:], 900.0)
    steels = [part * box(0.0, 900.0, a, b) for part in (pole, sheet) for a, b in pairwise(cuts)]
    steels = [part for part in steels if len(part.faces)]
    whole = occ.Circle((0.0, 0.0), FAR_AWAY).Face() * box(0.0, 2 * FAR_AWAY, -2 * FAR_AWAY, 2 * FAR_AWAY)
    outer, inner, near = box(*COIL), box(0.0, COIL[0], *COIL[2:]), box(0.0, 20.0, -20.0, 30.0)
    named = []
    for solid, size in ((outer, 0.6), (inner, 0.6), (near - outer - inner, 1.0), (whole - near, 60.0)):
        rest = solid
        for part in (pole, sheet):
            rest = rest - part
        rest.faces.name, rest.faces.maxh = "air", size
        named.append(rest)
    for part in steels:
        part.faces.name, part.faces.maxh = "steel", 2.0 * PLANE_EDGE
        for edge in part.edges:
            edge.maxh = PLANE_EDGE
    glued = occ.Glue([*steels, *named])
    for edge in glued.edges:
        if math.hypot(edge.center.x, edge.center.y) > 0.6 * FAR_AWAY and edge.center.x > 1e-6:
            edge.name = "rim"
    mesh = ng.Mesh(occ.OCCGeometry(glued, dim=2).GenerateMesh(grading=0.25))
    space = ng.H1(mesh, order=ORDER, dirichlet="rim")
    mu, (u, v) = mesh.MaterialCF({"steel": PERMEABILITY}, default=1.0), space.TnT()
    form, load = ng.BilinearForm(space, symmetric=True), ng.LinearForm(space)
    form += mu * ng.x * ng.grad(u) * ng.grad(v) * ng.dx
    source = ng.CF((0.0, _current(ng, ng.x, ng.y)))
    load += mu * ng.x * source * ng.grad(v) * ng.dx(bonus_intorder=2)
    form.Assemble()
    load.Assemble()
    phi = ng.GridFunction(space)
    phi.vec.data = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky") * load.vec
    flux = ng.Integrate(mu * ng.x * ng.InnerProduct(source - ng.grad(phi), source), mesh, order=2 * ORDER + 3)
    found = [-ng.grad(phi)(mesh(max(x, 1e-6), z))[1] for x, _, z in one.points]
    return 2e-3 * math.pi * MU_0 * flux, 1e3 * MU_0 * np.array(found)


def main() -> None:
    """Solve every case and write the table."""
    rows = []
    for name, one in ONE_POLE.items():
        solved = {cover: eighth(one, is_round=is_round) for cover, is_round in ROUND.items()}
        solved["round, axisymmetric"] = axisymmetric(one)
        for cover, (henry, field) in solved.items():
            print(f"{name}, {cover}: {1e9 * henry:.4f} nH, {(1e6 * field).round(4)} uT", flush=True)
            rows += [
                {"case": name, "cover": cover, "inductance_nh": f"{1e9 * henry:.5f}", "x_mm": f"{x:g}",
                 "y_mm": f"{y:g}", "z_mm": f"{z:g}", "bz_ut": f"{1e6 * b:.5f}"}
                for (x, y, z), b in zip(one.points, field)
            ]  # fmt: skip
    with (cases.TABLES / "one_pole.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
