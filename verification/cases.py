"""The shapes, materials and tables of the reference cases: see tests/reference/fem/README.md."""

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Racetrack
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Section, SteelBar, SteelRod
from polepiece.magnetics import MagnetLaw, SteelCurve
from polepiece.materials import Hyperbola, LangevinSteel, LinearSteel
from tests.reference.axisymmetric import CoreRod, Disc
from tests.reference.circles import RoundWinding

TABLES = Path(__file__).parents[1] / "tests" / "reference" / "fem"
MM = 1e-3
ROWS_Y = (25.0, 15.0, 5.0, -5.0, -15.0, -25.0)
STEEL_PARTS = ("slugs", "screws", "keeper")
# Br T, Hc A/m, (BH)max J/m3, recoil permeability: the verification case, not the catalogue
MAGNETS = {
    "A2": (0.75, 44.6e3, 13.5e3, 6.4),
    "A3": (0.70, 38.2e3, 10.7e3, 6.5),
    "A4": (0.56, 57.3e3, 10.7e3, 4.0),
    "A5": (1.28, 50.9e3, 43.8e3, 3.7),
    "A8": (0.82, 131.3e3, 42.2e3, 2.0),
    "C8": (0.385, 235e3, 27.9e3, 1.05),
}
STEELS: dict[str, SteelCurve] = {
    "linear-800": LinearSteel(permeability=800.0),
    "langevin": LangevinSteel(saturation=2.05, a=680.57),
}


@lru_cache(maxsize=16)
def table(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of one table of the finite-element reference."""
    with (TABLES / f"{name}.csv").open(newline="") as file:
        return tuple(csv.DictReader(file))


def chosen(name: str, **wanted: str) -> list[dict[str, str]]:
    """Return the rows of a table whose columns equal ``wanted``."""
    return [row for row in table(name) if all(row[key] == value for key, value in wanted.items())]


def places(rows: list[dict[str, str]]) -> FloatArray:
    """Return the points (n, 3) of ``rows``, m."""
    return np.array([[float(row[f"{axis}_mm"]) for axis in "xyz"] for row in rows]) * MM


def column(rows: list[dict[str, str]], name: str) -> FloatArray:
    """Return one column of ``rows``."""
    return np.array([float(row[name]) for row in rows])


def bar() -> MagnetBox:
    """Return the humbucker's bar magnet."""
    return MagnetBox(
        part="magnet", x_min=-6.35 * MM, x_max=6.35 * MM, y_min=-31.75 * MM, y_max=31.75 * MM,
        z_min=0.0, z_max=3.175 * MM, marks=tuple(y * MM for y in ROWS_Y),
    )  # fmt: skip


def humbucker() -> Assembly:
    """Return the reference humbucker."""
    slug = (Section(bottom=0.0, top=12.5 * MM, radius=2.4 * MM),)
    screw = (
        Section(bottom=-6.0 * MM, top=12.5 * MM, radius=1.5 * MM),
        Section(bottom=12.5 * MM, top=14.0 * MM, radius=2.5 * MM),
    )
    through = (0.0, 3.175 * MM)
    slugs = [SteelRod(part="slugs", x=9 * MM, y=y * MM, sections=slug) for y in ROWS_Y]
    screws = [SteelRod(part="screws", x=-9 * MM, y=y * MM, sections=screw, through=through) for y in ROWS_Y]
    keeper = SteelBar(
        part="keeper", x_min=-11.6 * MM, x_max=-6.4 * MM, y_min=-31 * MM, y_max=31 * MM, z_min=0.0, z_max=3.175 * MM,
        holes=tuple((-9 * MM, y * MM, 1.5 * MM) for y in ROWS_Y),
    )  # fmt: skip
    return Assembly(rods=(*slugs, *screws), bars=(keeper,), magnets=(bar(),))


def humbucker_coils() -> tuple[Racetrack, Racetrack]:
    """Return the coil about the slugs and the coil about the screws, both counted the same way round."""
    slug, screw = (
        Racetrack(
            x=x * MM, inner_half_x=3.2 * MM, inner_half_y=29 * MM, outer_half_x=6.4 * MM, outer_half_y=32.2 * MM,
            bottom=4.5 * MM, top=11 * MM, turns=5000,
        )
        for x in (9.0, -9.0)
    )  # fmt: skip
    return slug, screw


def rod_single() -> Assembly:
    """Return the rod-magnet single coil's six magnets."""
    return Assembly(
        magnets=tuple(
            MagnetRod(part="magnet", x=0.0, y=y * MM, radius=2.4 * MM, bottom=0.0, top=17 * MM)
            for y in (26.0, 15.6, 5.2, -5.2, -15.6, -26.0)
        )
    )


def rod_single_coil() -> Racetrack:
    """Return the rod-magnet single coil's winding."""
    return Racetrack(
        inner_half_x=3 * MM, inner_half_y=29 * MM, outer_half_x=8 * MM, outer_half_y=34 * MM,
        bottom=3 * MM, top=14 * MM, turns=8000,
    )  # fmt: skip


def magnet_law(name: str, charge: str, *, pure_recoil: bool = True) -> MagnetLaw:
    """Return the law of one of the verification magnets, ``in-place``, ``outside`` or ``bare``."""
    remanence, coercivity, energy, recoil = MAGNETS[name]
    return MagnetLaw(
        curve=Hyperbola(remanence=remanence, coercivity=coercivity, energy_product=energy),
        recoil_permeability=recoil,
        charge=1.0 if charge == "outside" else "in-place",
        pure_recoil=pure_recoil,
    )


def round_case(name: str) -> tuple[RoundWinding, tuple[CoreRod, ...], tuple[Disc, ...]]:
    """Return coil, rods and discs of one axisymmetric case."""
    winding = RoundWinding(inner_radius=3.2 * MM, outer_radius=8 * MM, bottom=10.5 * MM, top=17 * MM, turns=5000)
    core = CoreRod(radius=1.5 * MM, bottom=0.0, top=18.5 * MM, permeability=800.0, resistivity=1.43e-7)
    hole = 2 * MM if "core" in name else 0.0
    disc = Disc(outer_radius=20 * MM, inner_radius=hole, thickness=0.5 * MM, z=9.25 * MM, resistivity=2.9e-7)
    return winding, (core,) * ("core" in name), (disc,) * ("disc" in name)


def line_error(found: FloatArray, reference: FloatArray, points: FloatArray) -> tuple[float, int]:
    """Return the largest |found - reference| over max(|reference|, its largest on that line / 4), and where.

    Lines are points of one y.
    """
    scale = np.empty(len(reference))
    for y in np.unique(points[:, 1]):
        line = points[:, 1] == y
        scale[line] = np.maximum(abs(reference[line]), 0.25 * abs(reference[line]).max())
    error = (found - reference) / scale
    worst = int(np.argmax(abs(error)))
    return float(error[worst]), worst
