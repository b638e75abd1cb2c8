"""Finite elements in the plane of long pickups with eddy currents: ``python -m verification.finite_elements_long``.

It wrote tests/reference/fem/long_inductance.csv (NGSolve, as `verification.finite_elements`). A is along y, on the half
x > 0: zero on x = 0 for one coil, free for two in series opposite. In a conductor that lies to one side of x = 0 the
current sums to nothing: a uniform field along it, one unknown each, sees to that. Lengths in mm: the Laplacian of the
plane has no scale, products of A alone have 1e-6.
"""

import argparse
import csv
from typing import Any

from verification import cases
from verification.finite_elements import MU_0
from verification.long_parts import LONG, Long

FAR = 400.0  # mm: A = 0 there; the field of a coil's two sides has fallen by (7/400)^2
HERTZ = (0.0, 120.0, 1000.0, 5000.0, 20000.0)
ORDER, SKIN, INSIDE, NEAR = 4, 0.1, 0.3, 2.0  # of the elements; mm at surfaces of steel, in it, round it


class Plane:
    """The mesh of one case, and its inductance."""

    def __init__(self, long: Long, finer: float) -> None:
        import ngsolve as ng
        from netgen.occ import Circle, Glue, MoveTo, OCCGeometry

        def box(x0: float, x1: float, z0: float, z1: float) -> Any:
            return MoveTo(x0, z0).Rectangle(x1 - x0, z1 - z0).Face()

        self.ng, self.long = ng, long
        inner, outer = long.coil
        m = long.middle
        sides = [box(m + inner, m + outer, *long.height)] + ([box(m - outer, m - inner, *long.height)] if m else [])
        steels = [box(max(one.x[0], 0.0), one.x[1], *one.z) for one in long.steels]
        whole = Circle((0.0, 0.0), FAR).Face() * box(0.0, 2.0 * FAR, -2.0 * FAR, 2.0 * FAR)
        near = box(0.0, 40.0, -40.0, 40.0)
        rest = whole - near
        for part in (*sides, *steels):
            near = near - part
        named = [(near, "near", NEAR), (rest, "far", 40.0)]
        named += [(one, f"steel{k}", INSIDE) for k, one in enumerate(steels)]
        named += [(one, name, 0.6) for one, name in zip(sides, ("plus", "minus"))]
        for shape, name, size in named:
            shape.faces.name, shape.faces.maxh = name, size * finer
        for one in steels:
            for edge in one.edges:
                edge.maxh = SKIN * finer
        glued = Glue([shape for shape, _, _ in named])
        for edge in glued.edges:
            if abs(edge.center.x) < 1e-9:
                edge.name = "axis"
            elif (edge.center.x**2 + edge.center.y**2) ** 0.5 > 0.6 * FAR:
                edge.name = "rim"
        self.mesh = ng.Mesh(OCCGeometry(glued, dim=2).GenerateMesh(grading=0.2))

    def inductance(self, hertz: float) -> complex:
        """Return flux per metre of all turns, one ampere in each: H/m."""
        ng, long, mesh = self.ng, self.long, self.mesh
        conductors = {f"steel{k}": one for k, one in enumerate(long.steels)}
        alone = [name for name, one in conductors.items() if long.two or not one.crosses]
        fields = ng.H1(mesh, order=ORDER, dirichlet="rim" if long.two else "axis|rim", complex=True)
        numbers = [ng.NumberSpace(mesh, complex=True, definedon=mesh.Materials(name)) for name in alone]
        space = ng.FESpace([fields, *numbers])  # compound also where there is no number
        (u, *p), (v, *q) = space.TnT()
        form, source = ng.BilinearForm(space, symmetric=True), ng.LinearForm(space)
        nu = mesh.MaterialCF({n: 1.0 / (MU_0 * one.permeability) for n, one in conductors.items()}, default=1.0 / MU_0)
        form += nu * ng.grad(u) * ng.grad(v) * ng.dx
        for name, one in conductors.items():
            loss = ng.CF(2j * ng.pi * hertz / one.resistivity * 1e-6)
            number = alone.index(name) if name in alone else None
            first, second = (u, v) if number is None else (u + p[number], v + q[number])
            form += loss * first * second * ng.dx(name)
            if number is not None and hertz == 0.0:
                form += p[number] * q[number] * ng.dx(name)
        area = 1e-6 * (long.coil[1] - long.coil[0]) * (long.height[1] - long.height[0])
        density = mesh.MaterialCF({"plus": 1.0 / area, "minus": -1.0 / area}, default=0.0)
        source += density * v * 1e-6 * ng.dx
        form.Assemble()
        source.Assemble()
        found = ng.GridFunction(space)
        found.vec.data = form.mat.Inverse(space.FreeDofs(), inverse="umfpack") * source.vec
        return 2.0 * complex(ng.Integrate(density * found.components[0], mesh, order=2 * ORDER)) * 1e-6


def main() -> None:
    """Solve every long case, or the first frequency on a finer mesh as well with ``--finer``."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--finer", action="store_true", help="say what a mesh half as fine again moves; write nothing")
    finer = parser.parse_args().finer
    rows = []
    for name, long in LONG.items():
        plane = Plane(long, 1.0)
        found = {f: plane.inductance(f) for f in HERTZ}
        if finer:
            again = Plane(long, 1.0 / 1.5)
            for f, one in found.items():
                more = again.inductance(f)
                print(f"{name}, {f:g} Hz: {one:.6e}, |L| moves by {abs(more) / abs(one) - 1.0:+.1e}, "
                      f"Im by {(more.imag / one.imag - 1.0 if one.imag else 0.0):+.1e}", flush=True)  # fmt: skip
        rows += [
            {"case": name, "frequency_hz": f"{f:g}", "re_uh_per_m": f"{1e6 * one.real:.7f}",
             "im_uh_per_m": f"{1e6 * one.imag:.7f}"}
            for f, one in found.items()
        ]  # fmt: skip
    if not finer:
        with (cases.TABLES / "long_inductance.csv").open("w", newline="") as file:
            writer = csv.DictWriter(file, rows[0], lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    main()
