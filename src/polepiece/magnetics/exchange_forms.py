"""Forms of an exchange: what the elements that go and come are to nodes and probes, through the base's inverse."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import ConvergenceError
from polepiece.magnetics.cholesky import clean_factor, triangular
from polepiece.magnetics.match import Match
from polepiece.magnetics.pairs import Parts
from polepiece.magnetics.parity import Whole
from polepiece.threads import side_by_side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forms:
    """x' W [1_O, C] of nodes, [1_O, C]' W [1_O, C] in three blocks, and what probes see with steel at rest.

    Terms of the equations that are derived in `exchange`.
    """

    coupling: FloatArray  # C (elements of the base, comes)
    charge: Parts  # W [1_O, C] (elements of the base / 2, goes + comes)
    nodes: FloatArray  # (nodes of the base, goes + comes)
    probes: FloatArray  # E (W - T (K + Y)^-1 T') [1_O, C] (probes of the base, goes + comes)
    oo: FloatArray  # W_OO
    oc: FloatArray  # W_O' C
    cc: FloatArray  # C' W C

    @classmethod
    def of(cls, base: Whole, match: Match) -> "Forms":
        """Integrate the new elements with the base's and send both through the base's inverse."""
        come = match.elements.take(match.added)
        coupling = np.empty((base.elements.count, come.count))
        for rows, half in zip((base.of_elements.near, base.of_elements.far), base.halves):
            coupling[rows] = 0.5 * (come.potentials_on(half) + half.potentials_on(come).T)
        coupling[match.removed] = 0.0
        at, sides = base.of_elements.units(match.removed)

        def of_parity(
            w: FloatArray, seen: FloatArray, side: FloatArray, part: FloatArray
        ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
            moved, mine = w @ part, w[at].T  # W is symmetric, and rows are quicker to gather
            charge = np.concatenate([mine * side, moved], axis=1)
            return (
                charge,
                base.node_sum @ charge,
                np.concatenate([seen[:, at] * side, seen @ part], axis=1),
                side[:, None] * mine[at] * side,
                side[:, None] * moved[at],
                part.T @ moved,
            )

        halves = side_by_side(of_parity, base.inverse, base.resolved, sides, base.of_elements.split(coupling))
        charge, nodes, probes, oo, oc, cc = zip(*halves)
        crossed = sum(cc)
        return cls(
            coupling=coupling, charge=charge, nodes=base.of_nodes.join(nodes),
            probes=base.of_probes.join(probes), oo=sum(oo), oc=sum(oc), cc=0.5 * (crossed + crossed.T),
        )  # fmt: skip

    def factors(self, own: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return L_O, g and L_N, with ``own`` = V_NN."""
        try:
            gone = clean_factor(self.oo)
            crossed = triangular(gone, self.oc)
            added = clean_factor(own - self.cc + crossed.T @ crossed)
        except np.linalg.LinAlgError as error:
            raise ConvergenceError(f"the potential matrix of the mesh is not positive definite: {error}") from error
        return gone, crossed, added
