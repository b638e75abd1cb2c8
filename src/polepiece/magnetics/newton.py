"""Newton's method for the potentials of a network whose edges have a law of magnetisation."""

from collections.abc import Callable, Sequence
from typing import Protocol

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.later import linalg

TOLERANCE = 1e-8  # of the charge that moves through the network
STEPS = 80
FORCING = 0.02  # share of the residual that conjugate gradients may leave of a step
FEW, MOST = 6, 12  # of them a step: with more than these the next, or this one, is better off with a new factor

Solve = Callable[[FloatArray], FloatArray]
Precision = type[np.float32] | type[np.float64]


Own = tuple[IntArray, IntArray, "Newton"]  # nodes, edges and problem of one body


class Evaluate(Protocol):
    def __call__(self, h: FloatArray) -> tuple[FloatArray, FloatArray]: ...


def apart(
    network: FloatArray, a: IntArray, b: IntArray, area: FloatArray, length: FloatArray, *, body: IntArray
) -> "list[Own]":
    """Return the problem of each body for itself, for `Newton`; ``body`` (nodes,). Empty where there is one alone."""
    place, bodies, found = np.empty(len(network), dtype=np.int64), np.unique(body), []
    for one in bodies if len(bodies) > 1 else ():
        nodes, edges = np.flatnonzero(body == one), np.flatnonzero(body[a] == one)
        place[nodes] = np.arange(len(nodes))
        block = np.ascontiguousarray(network[np.ix_(nodes, nodes)])
        own = Newton(block, place[a[edges]], place[b[edges]], area[edges], length[edges])
        found.append((nodes, edges, own))
    return found


class Newton:
    """K phi = D M(H(phi)) on one set of nodes and edges.

    The end of an edge that is no node of the network, ``len(network)``, is held at no potential.
    Steps are solved by conjugate gradients behind the factor of an earlier Jacobian, or of bodies that act little on
    each other each for itself: a product with K is a twentieth of a factor's work.

    Equations derived in docs/theory/magnetics.md; conjugate gradients as in textbooks.
    """

    def __init__(
        self, network: FloatArray, a: IntArray, b: IntArray, area: FloatArray, length: FloatArray,
        *, apart: "Sequence[Own]" = (),
    ) -> None:  # fmt: skip
        self.network, self.nodes = network, len(network)
        self.a, self.b, self.area, self.length = a, b, area, length
        self.held = int(max(a.max(initial=-1), b.max(initial=-1)) >= self.nodes)  # whether any end is
        self.flat, self.entry = _entries(a, b, self.nodes)
        self.apart = apart  # where there are any, factors are of each body for itself
        self.near: Solve | None = None  # solves with a Jacobian near that of the step

    def charge(self, m: FloatArray) -> FloatArray:
        return self._brought(m * self.area)

    def _brought(self, flux: FloatArray) -> FloatArray:
        """Return what edges bring to their nodes."""
        size = self.nodes + self.held
        out = np.subtract(np.bincount(self.b, flux, size), np.bincount(self.a, flux, size), dtype=float)
        return out[: self.nodes]

    def _along(self, phi: FloatArray) -> FloatArray:
        """Return what potentials (nodes,) fall by along the edges."""
        every = np.append(phi, 0.0) if self.held else phi
        return np.asarray(every[self.a] - every[self.b])

    def factorised(self, weight: FloatArray, kind: Precision = np.float32) -> "Solve":
        """Return what solves with the Jacobian of edges of ``weight``, or with that of each body.

        Single precision is enough for what conjugate gradients go round in double, and costs half the time; a matrix
        that is too near to singular for it is factorised in double precision.
        """
        if not self.apart:
            entries = np.concatenate([weight, weight, -weight, -weight])[self.entry]
            for precise in (kind, np.float64):
                jacobian = self.network.astype(precise)
                np.add.at(jacobian.reshape(-1), self.flat, entries)
                found = _solver(jacobian)
                if found is not None:
                    return found
            raise ConvergenceError("the network's Jacobian is not positive definite: is the mesh degenerate?")
        each = [(nodes, own.factorised(weight[edges])) for nodes, edges, own in self.apart]

        def solve(wrong: FloatArray) -> FloatArray:
            out = np.empty_like(wrong)
            for nodes, own in each:
                out[nodes] = own(wrong[nodes])
            return out

        return solve

    def move(self, wrong: FloatArray, slope: FloatArray) -> FloatArray:
        """Return the solution of Jacobian times move = ``wrong``, to `FORCING` of it or better."""
        weight = np.maximum(slope, 0.0) * self.area / self.length
        if self.near is not None:
            found = self._conjugate(wrong, weight, self.near)
            if found is not None:
                return found
        self.near = self.factorised(weight)
        found = self._conjugate(wrong, weight, self.near)
        if found is None and self.apart:
            self.apart = ()
            self.near = self.factorised(weight)
            found = self._conjugate(wrong, weight, self.near)
        if found is None:
            self.near = self.factorised(weight, np.float64)
            return self.near(wrong)
        return found

    def _conjugate(self, wrong: FloatArray, weight: FloatArray, near: "Solve") -> "FloatArray | None":
        """Conjugate gradients behind ``near``; None when `MOST` steps are too few."""
        out, left = np.zeros_like(wrong), wrong.copy()
        enough, along, before = FORCING * float(np.linalg.norm(wrong)), np.zeros_like(wrong), 1.0
        for count in range(1, MOST + 1):
            near_left = near(left)
            now = float(left @ near_left)
            along = near_left + (now / before) * along
            answer = self.network @ along - self._brought(weight * self._along(along))
            share = now / float(along @ answer)
            out += share * along
            left -= share * answer
            if float(np.linalg.norm(left)) <= enough:
                if count > FEW:
                    self.near = None
                return out
            before = now
        return None

    def solve(self, phi: FloatArray, law: "Evaluate") -> tuple[FloatArray, FloatArray, FloatArray, int]:
        def at(p: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
            h = self._along(p) / self.length
            m, slope = law(h)
            return self.network @ p - self.charge(m), h, m, slope

        new = at(phi)
        history: list[float] = []
        for step in range(STEPS):
            wrong, h, m, slope = new
            size = float(np.linalg.norm(wrong))
            scale = float(np.linalg.norm(np.bincount(self.b, abs(m) * self.area, self.nodes))) + 1e-300  # held ends too
            history.append(size / scale)
            if size <= TOLERANCE * scale or scale < 1e-299:
                return phi, h, m, step
            move = self.move(-wrong, slope)
            part = 1.0
            while True:
                new = at(phi + part * move)
                left = float(np.linalg.norm(new[0]))
                if left < size * (1.0 - 1e-4 * part) or part < 1e-3:
                    break
                part *= 0.5
            phi = phi + part * move
        raise ConvergenceError(
            f"the working point did not converge in {STEPS} steps (last residual {history[-1]:.2e} of the charge).",
            history,
        )


def _entries(a: IntArray, b: IntArray, nodes: int) -> "tuple[IntArray, IntArray | slice]":
    """Return where a flat matrix (nodes, nodes) takes the weights of edges (4 edges,), and those that have a place."""
    rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
    inside = (rows < nodes) & (columns < nodes)
    return (rows * nodes + columns)[inside], slice(None) if inside.all() else np.flatnonzero(inside)


def _solver(matrix: np.ndarray) -> "Solve | None":
    """Return what solves with a symmetric matrix of single or double precision, which is overwritten.

    None where it is not positive definite to that precision. Of one right side two solutions with the triangle (trsv)
    take a fifth of the time of the routine for many (potrs).
    """
    single = matrix.dtype == np.float32
    factor, info = (linalg.lapack.spotrf if single else linalg.lapack.dpotrf)(matrix.T, lower=1, overwrite_a=1, clean=0)
    solve = linalg.blas.strsv if single else linalg.blas.dtrsv

    def solved(wrong: FloatArray) -> FloatArray:
        size = float(np.abs(wrong).max(initial=0.0)) or 1.0  # of charges of any size, in the middle of the range
        right = (wrong / size).astype(matrix.dtype)
        half = solve(factor, right, lower=1, overwrite_x=1)
        return np.asarray(solve(factor, half, lower=1, trans=1, overwrite_x=1), dtype=float) * size

    return None if info else solved
