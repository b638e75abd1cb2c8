"""A rod's passage through a keeper and into its head: where rings end, what skins add."""

import math

import numpy as np
import pytest

from polepiece.coil import flat_permeability, step_permeability
from polepiece.constants import MU_0
from polepiece.geometry import Assembly, Section, SteelRod, cut
from polepiece.geometry.passage import ring_logarithm, ring_reach


@pytest.mark.parametrize("d", [2.6, 2.0, 1.8])
def test_a_keeper_goes_on_where_its_ring_ends(d: float) -> None:
    """A source of flux in a strip with closed sides, by its images: far away a plain bar, near by a ring."""
    w, far, radius = 5.2, 30.0, 1e-3
    places = np.concatenate([side * d + 2.0 * w * np.arange(-20000, 20001) for side in (1.0, -1.0)])

    def drop(x: float, y: float) -> float:  # potential of 1 A/m per unit of mu, against the same at the far end
        return float(-(np.log((x - places) ** 2 + y**2) - np.log((d - places) ** 2 + far**2)).sum() / (4.0 * math.pi))

    from_edge = drop(d + radius, 0.0) + math.log(radius) / (2.0 * math.pi)  # at a ring of radius 1
    outer = math.exp(ring_logarithm(d, 1.0, 0.0, w))
    bar = (far - ring_reach(d, 0.0, w)) / (2.0 * w)
    # the images left out are worth far^2 / (2 w 20000)
    assert from_edge - math.log(outer) / (2.0 * math.pi) == pytest.approx(bar, rel=2e-3)


def test_a_head_adds_its_skin_and_nothing_at_rest() -> None:
    given = {"permeability": 100.0, "resistivity": 1.43e-7, "logarithm": 0.5, "thickness": 1.5e-3, "permeance": 7e-3}
    still = step_permeability(0.0, 100.0, **given)
    assert still == pytest.approx(100.0, rel=1e-12)
    found = step_permeability(1e6, 30.0 - 30.0j, **given)
    skin = np.sqrt(2j * np.pi * 1e6 * 100.0 * MU_0 / 1.43e-7) / 100.0  # per width, of half a space
    more = 0.5 / (2.0 * np.pi) * (skin - 1.0 / (100.0 * 1.5e-3))
    assert found == pytest.approx(1.0 / (1.0 / (30.0 - 30.0j) + 7e-3 * more), rel=1e-9)
    assert flat_permeability(1e6, permeability=100.0, resistivity=1.43e-7, half_thickness=1.5e-3) != 100.0


def test_the_step_into_a_head_is_known_to_the_mesh() -> None:
    sections = (Section(bottom=0.0, top=12e-3, radius=1.5e-3), Section(bottom=12e-3, top=13.5e-3, radius=2.5e-3))
    mesh = cut(Assembly(rods=(SteelRod(part="screws", x=0.0, y=5e-3, sections=sections),)))
    ((logarithm, thickness, permeance),) = mesh.step_shape
    (edge,) = mesh.step_edge
    assert (logarithm, thickness) == pytest.approx((math.log(2.5 / 1.5), 1.5e-3))
    assert permeance == pytest.approx(mesh.edge_area[edge] / mesh.edge_length[edge])
    heights = mesh.node_position[[mesh.edge_a[edge], mesh.edge_b[edge]], 2]
    assert heights.min() < 12e-3 < heights.max()
