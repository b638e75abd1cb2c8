"""Finite elements, an independent way to the same figures: ``python -m verification.finite_elements CASE ...``.

Not part of the tool or of its tests: it wrote the tables `sizes_*.csv` in tests/reference/fem and is kept so that
more can be written. It needs NGSolve (``pip install ngsolve`` in an environment of its own, with numpy, scipy and
numba), which is imported inside the functions only.

Total scalar potential, H = T - grad phi, on curved tetrahedra; T is zero for magnets, and for a winding the vector
along z whose curl is its current (turns/height inside, falling to zero across the winding). div B = 0 weakly; the
mirror plane y = 0 is natural; a shell round everything is mapped to infinity, where phi = 0. Magnet and steel laws
are those of tests/reference/fem/README.md, Newton's method with a line search on the co-energy. Fields in air are
summed from the magnetisation of all parts at the integration points, not from slopes of phi: that converges twice
as fast. From the engine it takes shapes only.
"""

import argparse
import copy
import csv
import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from polepiece.coil import Racetrack
from polepiece.geometry import MagnetBox, MagnetRod, SteelBar
from verification import cases

MU_0 = 4e-7 * math.pi  # the scale of the potential only: B is linear in it
CONVERGED = 2e-7  # of the co-energy: what a last step may still win
NEAR, FAR, MIDDLE = 55.0, 100.0, 5.0  # mm: the shell that is mapped to infinity, and the height of its centre
STRING_EDGE = 0.4  # mm: with 0.8 the moment along a string is 1.3 % high, that across it 20 %


@dataclass(frozen=True, slots=True, kw_only=True)
class Fineness:
    """Greatest sizes of elements, mm, and the order of the potential."""

    magnet: float = 1.6
    steel: float = 1.6
    edge: float = 0.8  # along edges of magnets and steel
    air: float = 9.0
    grading: float = 0.35
    order: int = 3
    raised: bool = True  # one order more in the magnets
    gap: float | None = None  # along edges of poles and holes in or beside a sheet, where given


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A steel string along x, mm, linear; of those at y > 0 the mirror image is there as well."""

    y: float
    z: float
    diameter: float = 0.43
    length: float = 40.0
    permeability: float = 100.0


class Solver:
    """One geometry, meshed."""

    quarter = False  # only x > 0 is meshed, for shapes that are their own image in x = 0 too: fields lack that image

    def __init__(
        self,
        shape: "cases.Assembly",
        coils: tuple[Racetrack, ...] = (),
        size: Fineness = Fineness(),
        strings: "tuple[Thread, ...]" = (),
    ) -> None:
        import ngsolve as ng

        ng.SetNumThreads(1)
        self.ng, self.shape, self.coils, self.size = ng, shape, coils, size
        self.strings = strings
        self.whole = not shape.is_mirrored()  # then nothing is taken from its image in y = 0
        self.mesh = ng.Mesh(_mesh(shape, coils, size, strings, whole=self.whole, quarter=self.quarter))
        self.mesh.Curve(size.order)
        self.space = ng.H1(self.mesh, order=size.order, dirichlet="far")
        self.magnet_names = [f"magnet{k}" for k in range(len(shape.magnets))]
        if size.raised:
            self._raise_order()
        self.steel_names = sorted({rod.part for rod in shape.rods} | {bar.part for bar in shape.bars})
        self.stretch = _stretch(ng)
        self.with_strings = False
        self.last: dict[str, Any] = {}  # a state near the next one
        self.factors: dict[str, Any] = {}
        self.lower: Solver | None = None
        if size.order > 2:
            self.lower = self._of_second_order()

    def _of_second_order(self) -> "Solver":
        """Return this solver of second order on the same mesh: its states are where this one's start."""
        lower = copy.copy(self)
        lower.size, lower.last, lower.factors = replace(self.size, order=2), {}, {}
        lower.space = self.ng.H1(self.mesh, order=2, dirichlet="far")
        lower._raise_order()
        return lower

    def _raise_order(self) -> None:
        """One order more in the magnets, whose curve is steep, and in strings, which are thin."""
        names = [*self.magnet_names, *(f"string{k}" for k in range(len(self.strings)))]
        for element in self.mesh.Materials("|".join(names)).Elements():
            for node in (*element.edges, *element.faces):
                self.space.SetOrder(node, self.size.order + 1)
        self.space.UpdateDofTables()

    # ---------------------------------------------------------------- magnets

    def static(self, magnet: str, charge: str, steel: str) -> "Static":
        """Solve one state of ``humbucker_field.csv``'s kind: ``in-place``, ``outside`` or ``bare``."""
        if charge == "in-place":
            return Static(self, self._newton(magnet, None, steel), magnet, None, steel)
        bare = self._bare(magnet)
        if charge == "bare":
            return Static(self, bare, magnet, None, "none")
        assert charge == "outside", charge
        phi = self._newton(magnet, bare, steel)
        return Static(self, phi, magnet, bare, steel)

    def _bare(self, magnet: str) -> Any:
        if len(self.shape.magnets) > 1 and not isinstance(self.shape.magnets[0], MagnetBox):
            raise SystemExit("rods charged one by one are not solved here")
        return self._newton(magnet, None, "none")

    def energy(self, h: Any, magnet: str, bare: Any, steel: str, name: str) -> Any:
        """Return the co-energy density of the region ``name`` over mu0, as a function of H."""
        ng = self.ng
        square = ng.InnerProduct(h, h)
        if name.startswith("string"):  # as air unless a state is asked for with its strings
            return 0.5 * (self.strings[int(name[6:])].permeability if self.with_strings else 1.0) * square
        if name in self.steel_names and steel != "none":
            if steel.startswith("linear-"):
                return 0.5 * float(steel.removeprefix("linear-")) * square
            law = cases.STEELS[steel]
            ms, a = law.saturation / MU_0, law.a  # type: ignore[attr-defined]
            s = ng.sqrt(square / a**2 + 1e-12)
            # integral of Ms (coth s - 1/s) dH = Ms a ln(sinh s / s), in a form without overflow
            big = s + ng.log((1.0 - ng.exp(-2.0 * s)) / (2.0 * s))
            return 0.5 * square + ms * a * big
        if name in self.magnet_names:
            box = self.shape.magnets[self.magnet_names.index(name)]
            axis, sign = (box.easy, box.sign) if isinstance(box, MagnetBox) else (2, box.sign)
            _, _, _, recoil = cases.MAGNETS[magnet]
            along, across = sign * h[axis], square - h[axis] ** 2
            if bare is None:
                return 0.5 * recoil * across + self._major(along, magnet)[0]
            h0 = -sign * ng.grad(bare)[axis]
            b0 = self._major(h0, magnet)[1]
            return 0.5 * recoil * (across + (along - h0) ** 2) + b0 * along
        return 0.5 * square

    def _major(self, along: Any, magnet: str) -> tuple[Any, Any]:
        """Return co-energy and B, both over mu0, of the hyperbola with its tangents."""
        ng = self.ng
        br, hc, bh, _ = cases.MAGNETS[magnet]
        g = bh / (br * hc)
        c = (2.0 * math.sqrt(g) - 1.0) / g
        h, level = -along, br / MU_0
        inside = ng.IfPos(h, ng.IfPos(hc - h, h, hc), 0.0)
        b_in = level * (hc - inside) / (hc - c * inside)
        slope = level * hc * (1.0 - c) / (hc - c * inside) ** 2
        beyond = h - inside
        area = level / c * (inside + hc * (1.0 - c) / c * ng.log(1.0 - c * inside / hc))
        return -(area + b_in * beyond - 0.5 * slope * beyond**2), b_in - slope * beyond

    def _newton(self, magnet: str, bare: Any, steel: str) -> Any:
        ng, mesh, kind = self.ng, self.mesh, "bare" if steel == "none" else "circuit"
        u = self.space.TrialFunction()
        form = ng.BilinearForm(self.space, symmetric=True)
        self._prepare(form)
        for name in sorted(set(mesh.GetMaterials())):
            where = mesh.Materials(name)
            if name == "shell":
                g = ng.grad(u)
                form += ng.Variation(0.5 * ng.InnerProduct(self.stretch * g, g) * ng.dx(definedon=where))
            else:
                density = self.energy(-ng.grad(u), magnet, bare, steel, name)
                form += ng.Variation(
                    density.Compile() * ng.dx(definedon=where)
                )  # else what is used twice is made twice
        phi = ng.GridFunction(self.space)
        start = self.last.get(kind)
        if self.lower is not None:
            phi.Set(self.lower._newton(magnet, bare, steel))
        elif start is not None:
            phi.vec.data = start.vec
        move, residual, trial = (phi.vec.CreateVector() for _ in range(3))
        energy = form.Energy(phi.vec)
        for _ in range(40):
            form.Apply(phi.vec, residual)
            form.AssembleLinearization(phi.vec)
            self._solve(form.mat, residual, move, kind)
            decrement = ng.InnerProduct(move, residual)
            print(f"  newton {energy:.6e} {decrement:.2e}", flush=True)
            if decrement <= CONVERGED * abs(energy):
                phi.vec.data -= move
                self.last[kind] = phi
                if self.lower is not None:
                    self.lower.factors = {}  # of the size of its matrices: room for what is summed next
                return phi
            part = 1.0
            while True:
                trial.data = phi.vec - part * move
                new = form.Energy(trial)
                if new < energy - 1e-4 * part * decrement or part < 1e-3:
                    break
                part *= 0.5
            phi.vec.data, energy = trial, new
        raise SystemExit("Newton's method did not converge")

    def _prepare(self, form: Any) -> None:
        """Make ready what `_solve` and `_inverse` need of a form before it is assembled; here nothing."""

    def _inverse(self, form: Any) -> Any:
        """Return the inverse of an assembled linear form."""
        return form.mat.Inverse(self.space.FreeDofs(), inverse="sparsecholesky")

    def _solve(self, matrix: Any, right: Any, out: Any, kind: str) -> None:
        """Conjugate gradients with the factor of an earlier matrix of the same kind, made anew when it helps little."""
        ng = self.ng
        for fresh in (False, True):
            if fresh or kind not in self.factors:
                self.factors[kind] = matrix.Inverse(self.space.FreeDofs(), inverse="sparsecholesky")
            cg = ng.krylovspace.CGSolver(mat=matrix, pre=self.factors[kind], tol=1e-4, maxiter=40)
            out.data = cg * right
            if cg.iterations < 40:
                return

    # ---------------------------------------------------------------- coils

    def source(self, coil: Racetrack) -> Any:
        """Return T (3) of one ampere in ``coil``, A/m scaled to lengths in mm."""
        ng = self.ng
        y = ng.y - 1e3 * coil.y
        away = ng.IfPos(
            _abs(ng, ng.x - 1e3 * coil.x) - 1e3 * coil.inner_half_x - _abs(ng, y) + 1e3 * coil.inner_half_y,
            _abs(ng, ng.x - 1e3 * coil.x) - 1e3 * coil.inner_half_x,
            _abs(ng, y) - 1e3 * coil.inner_half_y,
        )
        t = away / (1e3 * (coil.outer_half_x - coil.inner_half_x))
        ramp = ng.IfPos(t, ng.IfPos(1.0 - t, 1.0 - t, 0.0), 1.0)
        low, high = 1e3 * coil.bottom, 1e3 * coil.top
        inside = ng.IfPos(ng.z - low, ng.IfPos(high - ng.z, 1.0, 0.0), 0.0)
        return ng.CoefficientFunction((0.0, 0.0, coil.turns / (high - low) * ramp * inside))

    def alternating(self, magnet: float, steel: float) -> "Linear":
        """Solve one ampere in each coil with linear isotropic parts."""
        ng, mesh = self.ng, self.mesh
        mu = mesh.MaterialCF(
            dict.fromkeys(self.steel_names, steel) | dict.fromkeys(self.magnet_names, magnet), default=1.0
        )
        u, v = self.space.TnT()
        form = ng.BilinearForm(self.space, symmetric=True)
        form += mu * ng.grad(u) * ng.grad(v) * ng.dx(definedon=self._inner())
        form += ng.InnerProduct(self.stretch * ng.grad(u), ng.grad(v)) * ng.dx(definedon=mesh.Materials("shell"))
        self._prepare(form)
        form.Assemble()
        inverse = self._inverse(form)
        found, sources = [], [self.source(c) for c in self.coils]
        for t in sources:
            load = ng.LinearForm(self.space)
            load += mu * t * ng.grad(v) * ng.dx(definedon=self._inner())
            load.Assemble()
            phi = ng.GridFunction(self.space)
            phi.vec.data = inverse * load.vec
            found.append(phi)
        # both halves, where there are two; lengths are in mm: H = (1/mm), volume mm3 -> 1e-3
        henry = np.array(
            [
                [
                    (1e-3 if self.whole else 2e-3) * MU_0 * ng.Integrate(
                        mu * ng.InnerProduct(sources[i] - ng.grad(found[i]), sources[j]), mesh, order=8,
                        definedon=self._inner(),
                    )
                    for j in range(len(sources))
                ]
                for i in range(len(sources))
            ]
        )  # fmt: skip
        return Linear(self, found, sources, mu, henry)

    def _inner(self) -> Any:
        return self.mesh.Materials("|".join(n for n in set(self.mesh.GetMaterials()) if n != "shell"))

    def sampled(self, name: str, *functions: Any) -> list[np.ndarray]:
        """Return points (n, 3) mm, weights (n,) mm3 and the functions' values at integration points of a region."""
        ng, mesh = self.ng, self.mesh
        rule = ng.IntegrationRule(ng.TET, 2 * self.size.order)
        points = mesh.MapToAllElements({ng.TET: rule}, mesh.Materials(name))
        place = ng.CoefficientFunction((ng.x, ng.y, ng.z))(points)
        jacobian = ng.Det(ng.specialcf.JacobianMatrix(3))(points).ravel()
        count = len(jacobian) // len(rule.weights)
        weights = np.tile(np.array(rule.weights), count) * abs(jacobian)
        return [place, weights, *(f(points) for f in functions)]


@dataclass(eq=False)
class Static:
    """A solved state of magnets and steel."""

    solver: Solver
    phi: Any
    magnet: str
    bare: Any
    steel: str

    def b_over_mu0(self, name: str) -> Any:
        """Return B over mu0 (3), A/m, as a function of place in the region ``name``."""
        s, ng = self.solver, self.solver.ng
        h = -ng.grad(self.phi)
        if name in s.magnet_names:
            box = s.shape.magnets[s.magnet_names.index(name)]
            axis, sign = (box.easy, box.sign) if isinstance(box, MagnetBox) else (2, box.sign)
            recoil = cases.MAGNETS[self.magnet][3]
            if self.bare is None:
                along = s._major(sign * h[axis], self.magnet)[1]
            else:
                h0 = -sign * ng.grad(self.bare)[axis]
                along = s._major(h0, self.magnet)[1] + recoil * (sign * h[axis] - h0)
            return ng.CoefficientFunction(tuple(sign * along if k == axis else recoil * h[k] for k in range(3)))
        if self.steel == "none":
            return h
        if self.steel.startswith("linear-"):
            return float(self.steel.removeprefix("linear-")) * h
        law = cases.STEELS[self.steel]
        size = ng.sqrt(ng.InnerProduct(h, h) + 1e-6)
        t = size / law.a  # type: ignore[attr-defined]
        m = law.saturation / MU_0 * ((1.0 + ng.exp(-2.0 * t)) / (1.0 - ng.exp(-2.0 * t)) - 1.0 / t)  # type: ignore[attr-defined]
        return (1.0 + m / size) * h

    def working_point(self, magnet: int = 0) -> tuple[float, float]:
        """Return mean B (T) and H (A/m) in one magnet along its magnetisation."""
        s, ng = self.solver, self.solver.ng
        name = s.magnet_names[magnet]
        box = s.shape.magnets[magnet]
        axis, sign = (box.easy, box.sign) if isinstance(box, MagnetBox) else (2, box.sign)
        h = -sign * ng.grad(self.phi)[axis]
        _, w, hs, bs = s.sampled(name, h, sign * self.b_over_mu0(name)[axis])
        # the potential is taken over lengths in mm with H in A/m: phi carries A/m mm
        return float(MU_0 * (w * bs.ravel()).sum() / w.sum()), float((w * hs.ravel()).sum() / w.sum())

    def field(self, points: np.ndarray) -> np.ndarray:
        """Return Bz (n,) T at ``points`` (n, 3) mm, from the magnetisation of every part and its mirror image."""
        s, ng = self.solver, self.solver.ng
        out = np.zeros(len(points))
        for name in [*s.magnet_names, *(s.steel_names if self.steel != "none" else ())]:
            place, w, m = s.sampled(name, self.b_over_mu0(name) + ng.grad(self.phi))
            out += _dipoles(points, place, w[:, None] * m, whole=s.whole)
        return MU_0 * out


@dataclass(eq=False)
class Linear:
    """One ampere in each coil."""

    solver: Solver
    phi: list[Any]
    sources: list[Any]
    mu: Any
    henry: np.ndarray  # (coils, coils)

    def field(self, points: np.ndarray, coil: int) -> np.ndarray:
        """Return Bz (n,) in T per ampere at ``points`` (n, 3) mm."""
        s, ng = self.solver, self.solver.ng
        h = self.sources[coil] - ng.grad(self.phi[coil])
        out = np.zeros(len(points))
        for name in [*s.magnet_names, *s.steel_names]:
            place, w, m = s.sampled(name, (self.mu - 1.0) * h)
            out += _dipoles(points, place, w[:, None] * m, whole=s.whole)
        return MU_0 * 1e3 * out + _loops(points, s.coils[coil])

    def h(self, points: np.ndarray, coil: int) -> np.ndarray:
        """Return H (n, 3) in 1/m (A/m per ampere) at ``points`` (n, 3) mm in air, summed as `field` is."""
        s, ng = self.solver, self.solver.ng
        inside = self.sources[coil] - ng.grad(self.phi[coil])
        out = _segments(points, s.coils[coil])
        for name in [*s.magnet_names, *s.steel_names]:
            place, w, m = s.sampled(name, (self.mu - 1.0) * inside)
            for side in (1.0,) if s.whole else (1.0, -1.0):
                flip = np.array([1.0, side, 1.0])
                out += 1e3 * _dipole_fields(points, place * flip, w[:, None] * m * flip)
        return out


def _abs(ng: Any, value: Any) -> Any:
    return ng.IfPos(value, value, -value)


def _dipoles(points: np.ndarray, place: np.ndarray, moment: np.ndarray, *, whole: bool = False) -> np.ndarray:
    """Return Hz (n,) of moments and, unless they are the whole, of their images in y = 0 (the potential is even)."""
    out = np.zeros(len(points))
    for side in (1.0,) if whole else (1.0, -1.0):
        flip = np.array([1.0, side, 1.0])
        at, m = place * flip, moment * flip
        for k, p in enumerate(points):
            r = p - at
            r2 = np.einsum("nx,nx->n", r, r)
            dot = np.einsum("nx,nx->n", r, m)
            out[k] += ((3.0 * dot * r[:, 2] / r2 - m[:, 2]) / r2**1.5).sum() / (4.0 * math.pi)
    return out


def _dipole_fields(points: np.ndarray, place: np.ndarray, moment: np.ndarray) -> np.ndarray:
    """Return H (n, 3) of moments (m, 3) at ``place`` (m, 3): that of a point dipole, textbook."""
    out = np.zeros((len(points), 3))
    for k, p in enumerate(points):
        r = p - place
        r2 = np.einsum("nx,nx->n", r, r)
        dot = np.einsum("nx,nx->n", r, moment)
        out[k] = ((3.0 * dot / r2)[:, None] * r - moment).T @ r2**-1.5 / (4.0 * math.pi)
    return out


def _segments(points: np.ndarray, coil: Racetrack, across: int = 12, up: int = 24) -> np.ndarray:
    """Return H (n, 3) in 1/m per ampere at ``points`` mm of the loops of `_loops`: straight segments, Biot-Savart."""
    gx, wx = np.polynomial.legendre.leggauss(across)
    gz, wz = np.polynomial.legendre.leggauss(up)
    out = np.zeros((len(points), 3))
    for t, u in zip(0.5 + 0.5 * gx, 0.5 * wx):
        a = 1e3 * (coil.inner_half_x + t * (coil.outer_half_x - coil.inner_half_x))
        b = 1e3 * (coil.inner_half_y + t * (coil.outer_half_y - coil.inner_half_y))
        for s, v in zip(0.5 + 0.5 * gz, 0.5 * wz):
            z = 1e3 * (coil.bottom + s * (coil.top - coil.bottom))
            plan = ((a, -b), (a, b), (-a, b), (-a, -b))  # counter-clockwise seen from +z: H up inside
            corners = np.array([(1e3 * coil.x + x, 1e3 * coil.y + y, z) for x, y in plan])
            for k in range(4):
                r1, r2 = points - corners[k], points - corners[(k + 1) % 4]
                l1, l2 = np.linalg.norm(r1, axis=1), np.linalg.norm(r2, axis=1)
                share = (l1 + l2) / (l1 * l2 * (l1 * l2 + np.einsum("nx,nx->n", r1, r2)))
                out += u * v * coil.turns / (4.0 * math.pi) * share[:, None] * np.cross(r1, r2)
    return 1e3 * out


def _loops(points: np.ndarray, coil: Racetrack, across: int = 24, up: int = 48) -> np.ndarray:
    """Return Bz (n,) T per ampere at ``points`` mm of rectangular loops over the winding (straight segments)."""
    gx, wx = np.polynomial.legendre.leggauss(across)
    gz, wz = np.polynomial.legendre.leggauss(up)
    out = np.zeros(len(points))
    for t, u in zip(0.5 + 0.5 * gx, 0.5 * wx):
        a = 1e3 * (coil.inner_half_x + t * (coil.outer_half_x - coil.inner_half_x))
        b = 1e3 * (coil.inner_half_y + t * (coil.outer_half_y - coil.inner_half_y))
        for s, v in zip(0.5 + 0.5 * gz, 0.5 * wz):
            z = points[:, 2] - 1e3 * (coil.bottom + s * (coil.top - coil.bottom))
            for sx in (1.0, -1.0):
                for sy in (1.0, -1.0):
                    p, q = sx * (points[:, 0] - 1e3 * coil.x) + a, sy * (points[:, 1] - 1e3 * coil.y) + b
                    r = np.sqrt(p * p + q * q + z * z)
                    out += u * v * coil.turns * p * q / r * (1.0 / (p * p + z * z) + 1.0 / (q * q + z * z))
    return 1e-7 * 1e3 * out


def _stretch(ng: Any) -> Any:
    """Return the tensor of air in the shell, r' -> r = NEAR (FAR - NEAR) / (FAR - r')."""
    p = ng.CoefficientFunction((ng.x, ng.y, ng.z - MIDDLE))
    r = ng.Norm(p)
    scale = NEAR * (FAR - NEAR)
    f, slope = scale / (FAR - r), scale / (FAR - r) ** 2
    unit = p / r
    radial = ng.OuterProduct(unit, unit)
    return f**2 / (slope * r**2) * radial + slope * (ng.Id(3) - radial)


def _mesh(
    shape: "cases.Assembly", coils: tuple[Racetrack, ...], size: Fineness, strings: tuple[Thread, ...] = (),
    *, whole: bool = False, quarter: bool = False,
) -> Any:  # fmt: skip
    """Return the netgen mesh, mm, of the half y > 0, of its quarter x > 0, or of the whole."""
    from netgen import occ

    def box(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Any:
        return occ.Box((1e3 * x[0], 1e3 * y[0], 1e3 * z[0]), (1e3 * x[1], 1e3 * y[1], 1e3 * z[1]))

    def post(x: float, y: float, radius: float, low: float, high: float) -> Any:
        return occ.Cylinder(occ.Pnt(1e3 * x, 1e3 * y, 1e3 * low), occ.Z, r=1e3 * radius, h=1e3 * (high - low))

    def split(solid: Any) -> Any:  # the potential in steel and in magnets has its kinks at the ends of the winding
        for z in sorted({1e3 * c.bottom for c in coils} | {1e3 * c.top for c in coils}):
            low = solid * occ.Box((-200, -200, -200), (200, 200, z))
            high = solid - low
            solid = occ.Glue([one for one in (low, high) if one.mass > 1e-9])
        return solid

    low_y = -0.2 if whole else 0.0
    half = occ.Box((0.0 if quarter else -200, 1e3 * low_y, -200), (200, 200, 200))
    centre = occ.Pnt(0, 0, MIDDLE)
    solids = []
    for k, magnet in enumerate(shape.magnets):
        if isinstance(magnet, MagnetRod):
            solid = post(magnet.x, magnet.y, magnet.radius, magnet.bottom, magnet.top)
            if magnet.y < low_y:
                continue
            solid = solid * half if quarter else solid
        else:
            m = magnet
            if quarter and m.x_max <= 0.0:
                continue
            solid = box((m.x_min, m.x_max), (m.y_min, m.y_max), (m.z_min, m.z_max)) * half
        solids.append(_named(split(solid) if coils else solid, f"magnet{k}", size.magnet, size.edge))
    keepers = [_steel_box(occ, b, box, post) * half for b in shape.bars]

    for rod in shape.rods:
        if rod.y < low_y:
            continue
        solid = None
        for s in rod.sections:
            piece = post(rod.x, rod.y, s.radius, s.bottom, s.top)
            solid = piece if solid is None else solid + piece
        solid = solid * half if quarter else solid
        if coils:
            solid = split(solid)
        if rod.through is not None:
            keepers = [k if bar.role == "sheet" else k - solid for k, bar in zip(keepers, shape.bars)]
        solids.append(_named(solid, rod.part, size.steel, size.edge))
    solids += [
        _named(k if bar.holes else split(k), bar.part, size.steel, size.edge) for k, bar in zip(keepers, shape.bars)
    ]
    for sheet in (bar for bar in shape.bars if bar.role == "sheet" and size.gap):
        _refine(solids, sheet, float(size.gap or 0.0))
    for k, one in enumerate(strings):
        # a hexagon of the same area: flat faces need no small elements, and it is as a round one within 0.1 %
        side = math.sqrt(0.25 * math.pi * one.diameter**2 / (1.5 * math.sqrt(3.0)))
        plane = occ.WorkPlane(occ.Axes((-0.5 * one.length, one.y, one.z), n=occ.X, h=occ.Y)).MoveTo(side, 0.0)
        for corner in range(1, 6):
            plane.LineTo(side * math.cos(corner * math.pi / 3.0), side * math.sin(corner * math.pi / 3.0))
        solid = plane.Close().Face().Extrude(one.length * occ.X)
        solids.append(_named(solid, f"string{k}", STRING_EDGE, STRING_EDGE))
    for coil in coils:
        c = coil
        outer = box(
            (c.x - c.outer_half_x, c.x + c.outer_half_x),
            (max(c.y - c.outer_half_y, low_y), c.y + c.outer_half_y),
            (c.bottom, c.top),
        )
        inner = box(
            (c.x - c.inner_half_x, c.x + c.inner_half_x),
            (max(c.y - c.inner_half_y, low_y), c.y + c.inner_half_y),
            (c.bottom, c.top),
        )
        for piece in ((outer - inner) * half, inner * half) if quarter else (outer - inner, inner):
            for solid in solids:
                piece = piece - solid
            solids.append(_named(piece, "air", 3.0, 3.0))
    ball, all_of_it = occ.Sphere(centre, NEAR), occ.Sphere(centre, FAR)
    for face in all_of_it.faces:
        face.name = "far"
    ball, all_of_it = ball * half, all_of_it * half
    rest = ball
    for solid in solids:
        rest = rest - solid
    rest.mat("air")
    rest.maxh = size.air
    shell = all_of_it - ball
    shell.mat("shell")
    shell.maxh = 25.0
    geometry = occ.OCCGeometry(occ.Glue([*solids, rest, shell]))
    return geometry.GenerateMesh(maxh=25.0, grading=size.grading, optsteps3d=3)


def _steel_box(occ: Any, bar: SteelBar, box: Any, post: Any) -> Any:
    """Return a steel box; of a sheet with its open holes and walls."""
    solid = box((bar.x_min, bar.x_max), (bar.y_min, bar.y_max), (bar.z_min, bar.z_max))
    if bar.role != "sheet":
        return solid
    if bar.skirt:
        t, low = bar.z_max - bar.z_min, bar.z_max - bar.skirt
        outer = box((bar.x_min, bar.x_max), (bar.y_min, bar.y_max), (low, bar.z_max))
        solid = outer - box((bar.x_min + t, bar.x_max - t), (bar.y_min + t, bar.y_max - t), (low - t, bar.z_min))
    for x, y, radius in bar.holes:
        solid = solid - post(x, y, radius, bar.z_min - 1e-3, bar.z_max + 1e-3)
    return solid


def _named(solid: Any, name: str, maxh: float, edge: float) -> Any:
    solid.mat(name)
    solid.maxh = maxh
    for e in solid.edges:
        e.maxh = edge
    return solid


def _refine(solids: list[Any], sheet: SteelBar, gap: float) -> None:
    """Set the size of elements along every round edge within 1 mm of a sheet's height, but for its own rim."""
    for edge in (e for solid in solids for e in solid.edges):
        inside = 1e3 * sheet.x_min + 1.0 < edge.center.x < 1e3 * sheet.x_max - 1.0
        inside = inside and abs(edge.center.y) < 1e3 * sheet.y_max - 1.0
        near = 1e3 * sheet.z_min - 1.0 < edge.center.z < 1e3 * sheet.z_max + 1.0
        if inside and near and (edge.start - edge.end).Norm() < 1e-6:
            edge.maxh = min(edge.maxh, gap)


def tables(name: str, size: Fineness) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield (table, row) of one of `verification.sizes.SIZES`."""
    from verification import sizes

    sized = sizes.SIZES[name]
    points = sized.points
    solver = Solver(sized.assembly, (), size)
    for magnet, charge, steel in sizes.STATES[name]:
        state = solver.static(magnet, charge, steel)
        key = {"pickup": name, "magnet": magnet, "charge": charge, "steel": steel}
        for k in range(len(solver.magnet_names)):
            m = sized.assembly.magnets[k]
            if isinstance(m, MagnetRod) and m.y < 0.0:
                continue
            where = m.y * 1e3 if isinstance(m, MagnetRod) else 0.0
            b, h = state.working_point(k)
            at = {"y_mm": f"{where:g}", "mean_b_t": f"{b:.5f}", "mean_h_ka_per_m": f"{1e-3 * h:.4f}"}
            yield "sizes_working_point", key | at
            if not isinstance(m, MagnetRod):
                break  # two bars are alike
        for (x, y, z), b in zip(points, state.field(points)):
            at = {"x_mm": f"{x:g}", "y_mm": f"{y:g}", "z_mm": f"{z:g}"}
            yield "sizes_field", key | at | {"bz_mt": f"{1e3 * b:.5f}"}


def coil_tables(name: str, size: Fineness) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield (table, row) of inductances and fields per ampere."""
    from verification import sizes

    sized = sizes.SIZES[name]
    points = sized.points
    solver = Solver(sized.assembly, sized.coils, size)
    for magnet, steel in sizes.LINEAR:
        if steel == 200.0 and not solver.steel_names:
            continue
        linear = solver.alternating(magnet, steel)
        key = {"pickup": name, "magnet_permeability": f"{magnet:g}", "steel_permeability": f"{steel:g}"}
        for i in range(len(sized.coils)):
            for j in range(i, len(sized.coils)):
                at = {"coil": str(i + 1), "other_coil": str(j + 1)}
                yield "sizes_inductance", key | at | {"inductance_h": f"{linear.henry[i, j]:.6f}"}
            if (magnet, steel) != sizes.LINEAR[2]:
                continue
            for (x, y, z), b in zip(points, linear.field(points, i)):
                at = {"coil": str(i + 1), "x_mm": f"{x:g}", "y_mm": f"{y:g}", "z_mm": f"{z:g}"}
                yield "sizes_coil_field", key | at | {"bz_t_per_a": f"{b:.6e}"}


def write(kind: str, name: str, rows: list[dict[str, str]]) -> None:
    """Write the rows of a pickup in a table in place of what it holds of that pickup."""
    path = cases.TABLES / f"{kind}.csv"
    old = list(csv.DictReader(path.open(newline=""))) if path.exists() else []
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows([*(r for r in old if r["pickup"] != name), *rows])


def main() -> None:
    """Solve pickups by name and write their rows in the tables, in place of what was there of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pickup", nargs="+")
    parser.add_argument("--coils", action="store_true", help="inductances and fields per ampere, else magnets")
    parser.add_argument("--order", type=int, default=2, help="of the potential, one more in the magnets; default 2")
    given = parser.parse_args()
    size = Fineness(order=given.order, magnet=1.2, steel=2.0, edge=0.7, grading=0.6)
    for name in given.pickup:
        began = time.time()
        batch: dict[str, list[dict[str, str]]] = {}
        for kind, row in (coil_tables if given.coils else tables)(name, size):
            batch.setdefault(kind, []).append(row)
            write(kind, name, batch[kind])
        print(f"{name}: {time.time() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
