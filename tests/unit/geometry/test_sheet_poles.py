"""A sheet's two faces at its poles, and its bends."""

import numpy as np
import pytest

from polepiece.geometry import Assembly, MagnetRod, SteelBar, SteelRod, cut
from polepiece.geometry.cutting_sheets import CORNER, corner_length
from polepiece.geometry.shapes import Section

MM = 1e-3
LOW, HIGH = 12.75 * MM, 13.25 * MM


def sheet(*holes: tuple[float, float, float]) -> SteelBar:
    return SteelBar(
        part="cover", x_min=-9 * MM, x_max=9 * MM, y_min=-9 * MM, y_max=9 * MM, z_min=LOW, z_max=HIGH, holes=holes,
        role="sheet",
    )  # fmt: skip


def pole(radius: float, top: float) -> SteelRod:
    return SteelRod(part="pole", x=0.0, y=0.0, sections=(Section(bottom=0.0, top=top, radius=radius),))


@pytest.mark.parametrize(
    "assembly",
    [
        Assembly(rods=(pole(2.4 * MM, 12.5 * MM),), bars=(sheet(),)),
        Assembly(rods=(pole(2.5 * MM, 14.0 * MM),), bars=(sheet((0.0, 0.0, 2.8 * MM)),)),
        Assembly(
            magnets=(MagnetRod(part="magnet", x=0.0, y=0.0, radius=2.4 * MM, bottom=0.0, top=12.5 * MM),),
            bars=(sheet(),),
        ),
    ],
    ids=["slug", "screw", "magnet"],
)
def test_both_faces_have_the_same_panels(assembly: Assembly) -> None:
    mesh = cut(assembly)
    plans = [
        mesh.panel_corners[np.all(np.abs(mesh.panel_corners[:, :, 2] - z) < 1e-9, axis=1)][:, :, :2]
        for z in (LOW, HIGH)
    ]
    plans = [plan[np.lexsort(plan.mean(axis=1).round(9).T)] for plan in plans]
    assert plans[0].shape == plans[1].shape
    assert np.abs(plans[0].mean(axis=1) - plans[1].mean(axis=1)).max() < 1e-9


def test_a_slug_and_the_face_before_it_have_the_same_panels() -> None:
    mesh = cut(Assembly(rods=(pole(2.4 * MM, 12.5 * MM),), bars=(sheet(),)))
    middles = mesh.panel_corners.mean(axis=1)
    end = {tuple(m[:2].round(8)) for m in middles if abs(m[2] - 12.5 * MM) < 1e-9}
    face = {tuple(m[:2].round(8)) for m in middles if abs(m[2] - LOW) < 1e-9}
    assert end and end <= face


def test_a_bend_is_shorter_than_its_middle_line() -> None:
    """Two cells that both reach to the outer corner; one of them that begins at the inner one."""
    leg = 5.0 * MM
    assert corner_length(2 * leg, 2 * leg, MM, outer=2) == pytest.approx(2 * (leg - MM) + CORNER * MM)
    assert corner_length(2 * leg, 2 * leg, MM, outer=1) == pytest.approx(2 * leg - MM + CORNER * MM)


def bend(cells: int) -> float:
    """Squares of an L of two legs, three wide from the bend's square: resistances between cells' middles."""
    side, legs = cells, 3 * cells
    there = {(i, j) for i in range(side + legs) for j in range(side + legs) if i < side or j < side}
    number = {at: k for k, at in enumerate(sorted(there))}
    matrix, right = np.zeros((len(number), len(number))), np.zeros(len(number))
    for (i, j), k in number.items():
        for other in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if other in number:
                matrix[k, k] += 1.0
                matrix[k, number[other]] -= 1.0
        if i == side + legs - 1:  # the end of one leg is held at 0, of the other at 1
            matrix[k, k] += 2.0
        if j == side + legs - 1:
            matrix[k, k] += 2.0
            right[k] += 2.0
    potential = np.linalg.solve(matrix, right)
    flow = sum(2.0 * potential[number[side + legs - 1, j]] for j in range(side))
    return 1.0 / flow - 6.0


def test_squares_of_a_bend() -> None:
    """1 - 2 ln 2 / pi by a conformal map (memory), and a grid of resistors, twice as fine and extrapolated.

    Its error goes as h^(4/3) at the inner corner.
    """
    assert pytest.approx(1.0 - 2.0 * np.log(2.0) / np.pi, abs=5e-4) == CORNER
    coarse, fine = bend(6), bend(12)
    assert fine + (fine - coarse) / (2.0 ** (4.0 / 3.0) - 1.0) == pytest.approx(CORNER, abs=0.003)
