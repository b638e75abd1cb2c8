"""Finite elements of every construction: ``python -m verification.finite_elements_constructions CASE ...``.

It wrote tests/reference/fem/construction_*.csv. The solver is that of `verification.finite_elements`; the shapes are
those of tests/reference/fem/constructions (`verification.construction_cases`). One mesh a case, with the windings and
with a string over the pole nearest to the middle and its mirror image:

- magnets on the major curve of A5 (drawn sizes and steel sheets: C8, which takes half of the time), steel of
  permeability 800: Bz on lines over the poles (string as air);
- one ampere in each coil, parts linear: inductances, Bz per ampere on the same lines (string as air);
- magnets of C8 and the string of permeability 100: what the string adds to the flux through each coil, by reciprocity,
  mu0 times the integral of its magnetisation times the coil's field per ampere at its place. Nothing large is
  subtracted from anything as large.
"""

import argparse
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from verification import construction_cases
from verification.finite_elements import MU_0, Fineness, Linear, Solver, Thread, write

STEEL = "linear-800"
LINEAR = ((1.0, 1.0), (1.05, 800.0), (3.7, 800.0))  # permeabilities of magnet and steel
SLICE = 0.5  # mm along a string
SIZE = Fineness(order=2, magnet=1.4, steel=1.8, edge=0.8, grading=0.5)


class Iterative(Solver):
    """The same equations, solved by conjugate gradients with a domain decomposition (BDDC) for each matrix."""

    tight = 1e-7

    def _prepare(self, form: Any) -> None:
        self._pre = self.ng.Preconditioner(form, "bddc")

    def _inverse(self, form: Any) -> Any:
        return self.ng.krylovspace.CGSolver(mat=form.mat, pre=self._pre, tol=self.tight, maxiter=400)

    def _solve(self, matrix: Any, right: Any, out: Any, kind: str) -> None:
        cg = self.ng.krylovspace.CGSolver(mat=matrix, pre=self._pre, tol=1e-5, maxiter=300)
        out.data = cg * right


def rows(name: str, size: Fineness) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield (table, row) of one case."""
    one = construction_cases.case(name)
    steel = STEEL if one.assembly.rods or one.assembly.bars else "none"
    string = Thread(y=1e3 * one.string_y, z=1e3 * one.height)
    solver = Iterative(one.assembly, one.coils, size, (string,))
    print(f"  {solver.mesh.ne} elements, {solver.space.ndof} unknowns", flush=True)
    points, fields = one.points, {}
    magnet = construction_cases.magnet_of(name)
    state = solver.static(magnet, "in-place", steel)
    for (x, y, z), b in zip(points, state.field(points)):
        at = {"x_mm": f"{x:g}", "y_mm": f"{y:g}", "z_mm": f"{z:g}", "bz_mt": f"{1e3 * b:.5f}"}
        yield "construction_field", {"pickup": name, "magnet": magnet} | at
    solver.with_strings = True
    with_string = solver.static("C8", "in-place", steel)
    for recoil, mu in LINEAR:
        linear = solver.alternating(recoil, mu)
        key = {"pickup": name, "magnet_permeability": f"{recoil:g}", "steel_permeability": f"{mu:g}"}
        for i in range(len(one.coils)):
            for j in range(i, len(one.coils)):
                at = {"coil": str(i + 1), "other_coil": str(j + 1), "inductance_h": f"{linear.henry[i, j]:.6f}"}
                yield "construction_inductance", key | at
        if recoil == 3.7:
            for i in range(len(one.coils)):
                for (x, y, z), b in zip(points, linear.field(points, i)):
                    at = {"coil": str(i + 1), "x_mm": f"{x:g}", "y_mm": f"{y:g}", "z_mm": f"{z:g}"}
                    yield "construction_coil_field", key | at | {"bz_t_per_a": f"{b:.6e}"}
        elif mu > 1.0:
            fields["c8"] = linear
    for i, flux in enumerate(string_flux(solver, with_string.phi, fields["c8"], string)):
        at = {"coil": str(i + 1), "y_mm": f"{string.y:g}", "z_mm": f"{string.z:g}", "linkage_wb": f"{flux:.6e}"}
        yield "construction_string", {"pickup": name} | at


def string_flux(solver: Solver, phi: Any, linear: Linear, string: Thread) -> "np.ndarray":
    """Return the flux linkage (coils,), Wb, that the string at y > 0 adds.

    Its moment is taken in slices of `SLICE` along it, the coils' field on its axis from the sources of all parts: a sum
    over magnetisations stands closer than slopes of a potential do.
    """
    ng = solver.ng
    place, weight, m = solver.sampled("string0", (string.permeability - 1.0) * -ng.grad(phi))
    count = round(string.length / SLICE)
    at = np.clip(((place[:, 0] + 0.5 * string.length) / SLICE).astype(int), 0, count - 1)
    moment = np.zeros((count, 3))
    np.add.at(moment, at, weight[:, None] * m)
    x = (np.arange(count) + 0.5) * SLICE - 0.5 * string.length
    points = np.column_stack([x, np.full(count, string.y), np.full(count, string.z)])
    return np.array([MU_0 * 1e-9 * float((moment * linear.h(points, i)).sum()) for i in range(len(linear.phi))])


def main() -> None:
    """Solve cases by name and write their rows in the tables, in place of what was there of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("case", nargs="+")
    parser.add_argument("--order", type=int, default=SIZE.order, help="of the elements; 3 takes five times as long")
    given = parser.parse_args()
    for name in given.case:
        began = time.time()
        batch: dict[str, list[dict[str, str]]] = {}
        for kind, row in rows(name, replace(SIZE, order=given.order)):
            batch.setdefault(kind, []).append(row)
        for kind, found in batch.items():
            write(kind, name, found)
        print(f"{name}: {time.time() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
