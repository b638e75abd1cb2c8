"""Mean permeability of conducting rods and sheets against tabulated values of the classical solutions.

Sources: rod, Bessel solution as in R. M. Bozorth, Ferromagnetism (1951), ch. 17, and textbooks; sheet, the standard
lamination formula. Values computed once to six figures from k = (1 - j) / delta; tolerance: half a unit of the sixth
figure, rounded up.
"""

import numpy as np
import pytest
from scipy import integrate, sparse, special

from polepiece.coil import biased_permeability, flat_permeability, narrow_face_permeability, round_permeability
from polepiece.constants import MU_0

RODS = [
    (0.5, 0.994830 - 0.062056j),
    (1.0, 0.925506 - 0.224410j),
    (2.0, 0.536534 - 0.369308j),
    (5.0, 0.200637 - 0.179517j),
    (10.0, 0.100069 - 0.094938j),
]
SHEETS = [(0.5, 0.967980 - 0.160187j), (1.0, 0.677838 - 0.406085j), (2.0, 0.248861 - 0.263057j)]
MU, RHO, HERTZ = 280.0, 1.5e-7, 1000.0
DEPTH = float(np.sqrt(RHO / (np.pi * HERTZ * MU * MU_0)))


@pytest.mark.parametrize(("depths", "expected"), RODS)
def test_a_rod(depths: float, expected: complex) -> None:
    found = round_permeability(HERTZ, permeability=MU, resistivity=RHO, radius=depths * DEPTH)
    assert found / MU == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("depths", "expected"), SHEETS)
def test_a_sheet(depths: float, expected: complex) -> None:
    found = flat_permeability(HERTZ, permeability=MU, resistivity=RHO, half_thickness=depths * DEPTH)
    assert found / MU == pytest.approx(expected, abs=1e-6)


def test_a_rods_mean_is_its_fields_average() -> None:
    radius = 1.5e-3
    k = (1.0 - 1j) / DEPTH
    real, imaginary = (
        integrate.quad(lambda r, part=part: part(special.jv(0, k * r) / special.jv(0, k * radius)) * r, 0.0, radius)[0]
        for part in (np.real, np.imag)
    )
    expected = MU * 2.0 * (real + 1j * imaginary) / radius**2
    found = round_permeability(HERTZ, permeability=MU, resistivity=RHO, radius=radius)
    assert found == pytest.approx(expected, rel=1e-7)  # the quadrature's own bound


def test_limits() -> None:
    for law, size in ((round_permeability, "radius"), (flat_permeability, "half_thickness")):
        assert law(0.0, permeability=MU, resistivity=RHO, **{size: 1e-3}) == MU
        assert law(1e3, permeability=MU, resistivity=np.inf, **{size: 1e-3}) == pytest.approx(MU)
        # first order: 1 - j (a / delta)^2 / 4 for a rod, 1 - j (2/3) (t / 2 delta)^2 for a sheet
        share = 0.01
        low = law(HERTZ, permeability=MU, resistivity=RHO, **{size: share * DEPTH}) / MU
        first = 0.25 if size == "radius" else 2.0 / 3.0
        assert low == pytest.approx(1.0 - 1j * first * share**2, abs=share**4)
        # deep skin: flux in a layer of (1 - j) delta / 2 round the rim
        high = law(HERTZ, permeability=MU, resistivity=RHO, **{size: 500.0 * DEPTH}) / MU
        edge = 2.0 if size == "radius" else 1.0
        assert high == pytest.approx(edge * (1.0 - 1j) / 2.0 / 500.0, rel=2e-3)


def test_bias_lowers_reversible_permeability_and_never_below_air() -> None:
    level = np.linspace(0.0, 0.999, 40) * 2.05 / MU_0
    mu = biased_permeability(280.0, level, 2.05)
    assert mu[0] == pytest.approx(280.0, rel=1e-3)
    assert (np.diff(mu) <= 0.0).all() and mu[-1] >= 1.0 and mu[-1] < 3.0
    np.testing.assert_array_equal(biased_permeability(280.0, level, np.inf), np.full(40, 280.0))
    # Gans: where M is half of saturation the Langevin argument solves coth a - 1/a = 0.5, a = 1.7968
    half = biased_permeability(280.0, np.array([0.5 * 2.05 / MU_0]), 2.05)[0]
    a = 1.79676
    assert (half - 1.0) / 279.0 == pytest.approx(3.0 * (1.0 / a**2 - 1.0 / np.sinh(a) ** 2), rel=1e-4)


def rectangle(thick: float, long: float, k2: complex, cells: tuple[int, int]) -> complex:
    """Mean of H over a rectangle on whose rim H is 1, by finite differences: H'' = k^2 H."""
    hx, hy = thick / cells[0], long / cells[1]
    across, along = (
        sparse.diags_array([np.full(n - 1, 1.0), np.full(n, -2.0), np.full(n - 1, 1.0)], offsets=[-1, 0, 1]) / h**2
        for n, h in ((cells[0] - 1, hx), (cells[1] - 1, hy))
    )
    eye = [sparse.eye_array(n - 1) for n in cells]
    laplace = sparse.kron(across, eye[1]) + sparse.kron(eye[0], along)
    count = laplace.shape[0]
    # H = 1 + u, u = 0 on the rim
    u = sparse.linalg.spsolve((laplace - k2 * sparse.eye_array(count)).tocsc(), np.full(count, k2))
    return complex(1.0 + u.sum() * hx * hy / (thick * long))


@pytest.mark.parametrize("depths", [1.0, 3.0, 8.0])
def test_a_rectangle_is_a_sheet_and_the_skin_of_its_narrow_faces(depths: float) -> None:
    """Cells of a tenth of the skin at most: finite differences are |k h|^2 / 8 off themselves, 0.25 %."""
    thick = depths * DEPTH
    k2 = 2j / DEPTH**2
    like = {"permeability": MU, "resistivity": RHO, "half_thickness": 0.5 * thick}
    sheet = flat_permeability(HERTZ, **like)
    both = sheet + 2.0 * narrow_face_permeability(HERTZ, width=4.0 * thick, **like)
    expected = rectangle(thick, 4.0 * thick, k2, (80, 320))
    assert both / MU == pytest.approx(expected, rel=3e-3)
    assert abs(sheet / MU - expected) > 5.0 * abs(both / MU - expected)  # the faces are what is told


def test_limits_of_a_narrow_face() -> None:
    """0.630 of thickness over length off the loss where the skin is thick, as of a bar's torsion; else its own skin."""
    thick, long = 0.02 * DEPTH, 1.0 * DEPTH
    like = {"permeability": MU, "resistivity": RHO, "half_thickness": 0.5 * thick}
    loss = 2.0 * narrow_face_permeability(HERTZ, width=long, **like).imag / flat_permeability(HERTZ, **like).imag
    assert loss == pytest.approx(-0.630 * thick / long, rel=1e-3)  # tabulated to three figures
    deep = {"permeability": MU, "resistivity": RHO, "half_thickness": 0.5 * 25.0 * DEPTH, "width": 5e-3}
    skin = MU * DEPTH / ((1.0 + 1j) * 5e-3)
    # the broad faces have their skin in the corners already: the sum over n as an integral, its integrand's being -2
    corners = 8.0 / (np.pi * 25.0 * (1.0 + 1j))
    assert narrow_face_permeability(HERTZ, **deep) == pytest.approx(skin * (1.0 - corners), rel=1e-3)  # 24 terms
    assert narrow_face_permeability(0.0, **deep) == 0.0
    assert narrow_face_permeability(HERTZ, **{**deep, "resistivity": np.inf}) == 0.0
