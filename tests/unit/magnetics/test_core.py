"""Steel and magnets solved once for several windings: the same as from nothing, of each symmetry."""

import numpy as np
import pytest

from polepiece.geometry import Assembly, Mesh, cut
from polepiece.magnetics import cholesky, core, factorise, fold, forget_core
from tests.unit.magnetics.test_half_turn import COARSE, HALVES, TWO_ROWS, apart, rod, slug

ON_THE_PLANE = Assembly(magnets=(rod(0.0, 5e-3, 1.0),), rods=(slug(0.0, 12e-3),))
ROUNDING = 1e-11


@pytest.mark.parametrize("shapes", [HALVES, TWO_ROWS, ON_THE_PLANE], ids=["half turn", "mirror and turn", "folded"])
def test_other_windings_are_added_to_what_is_solved(shapes: Assembly, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another cover over the same poles: nothing but its own source potentials is solved for."""

    def mesh() -> Mesh:
        whole = cut(shapes, COARSE)
        return fold(whole) if shapes is ON_THE_PLANE else whole

    draw = np.random.default_rng(3)
    probes = np.array([[(x, y, 18e-3) for x in np.linspace(-12e-3, 12e-3, 7)] for y in (5e-3, 1e-3)])
    first, second = (draw.standard_normal((mesh().panels + len(mesh().cell_node), n)) for n in (3, 5))

    def made(sources: np.ndarray) -> "core.Factors":
        return factorise(mesh(), sources, probes, np.array([0]))

    forget_core()
    known = made(second)
    forget_core()
    made(first)
    factored: list[int] = []
    plain = cholesky.lower_factor
    monkeypatch.setattr(core, "lower_factor", lambda v: factored.append(len(v)) or plain(v))
    monkeypatch.setattr(core, "inverted", lambda v: factored.append(len(v)) or cholesky.inverted(v))
    found = made(second)
    assert not factored
    for name in ("source_charge", "drive", "direct", "probe_nodes", "probe_sources", "probe_reply", "network"):
        assert apart(getattr(found, name), getattr(known, name)) < ROUNDING, name
    assert found.beside is not None and known.beside is not None
    assert apart(found.beside.sources, known.beside.sources) < ROUNDING
    factorise(mesh(), second, probes + np.array([0.0, 0.0, 1e-3]), np.array([0]))  # seen from elsewhere: solved anew
    assert factored
