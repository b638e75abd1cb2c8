"""A rough mesh for every example: what is looked at here is that a guitar of each kind gets its answers."""

from collections.abc import Iterator

import pytest

from polepiece.bench import bench
from polepiece.geometry import Resolution
from polepiece.pickup import engine
from tests import one_tree  # noqa: F401

ROUGH = Resolution(  # half the elements of the coarse mesh: here a command has to answer, for every construction
    sectors=4, slice_height=5.2e-3, cap_rings=1, keeper_panel=8e-3, magnet_across=2, magnet_along=2, magnet_layers=2,
    rod_layers=4, rod_rings=2, rod_sectors=4,
)  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def rough() -> Iterator[Resolution]:
    """Have every bench of these tests on it: each geometry is solved once for all of them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bench, "Resolution", lambda: ROUGH)
        patch.setattr(engine, "COARSE", ROUGH)  # on which intervals are drawn and `check` looks
        yield ROUGH
