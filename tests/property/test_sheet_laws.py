"""Laws of covers and base plates that hold whatever their sizes and metals."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench, State
from polepiece.guitar import Guitar, parse_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup.engine import COARSE
from verification import cases
from verification.finite_elements_eddy import CASES, Case, Sheet
from verification.sheets import solved

HERTZ = (120.0, 500.0, 1000.0, 2000.0, 5000.0, 12e3, 20e3)
NOTHING = np.zeros((0, 3))


def drawn(seed: int) -> Case:
    """A bare case with sheets drawn at random."""
    rng = np.random.default_rng(seed)
    bare = (CASES["short"], CASES["rods"])[seed % 2]
    deep = 1.0 if seed % 2 else 0.0
    half_x, half_y = rng.uniform(17.5, 22.0) - 8.0 * deep, rng.uniform(14.5, 20.0) + 20.0 * deep
    thickness, rho = rng.uniform(0.2, 1.0), float(np.exp(rng.uniform(np.log(5e-8), np.log(5e-7))))
    holes = tuple((x, y, 2.8) for x, y, _ in bare.rods if x < 0.0)
    plate = Sheet(half_x=half_x, half_y=half_y, top=-1.0, resistivity=rho, holes=holes, thickness=thickness)
    top = rng.uniform(14.8, 15.2) if rng.random() < 0.5 or deep else 13.4
    cover = replace(plate, top=top, skirt_to=rng.uniform(-1.0, 9.0), holes=holes if top < 14.0 else ())
    return replace(bare, sheets=((plate,), (cover,), (plate, cover))[int(rng.integers(3))])


@pytest.mark.parametrize("seed", range(6))
def test_no_sheet_raises_what_a_coil_has_of_a_string(seed: int) -> None:
    """Over each pole, 2 to 4 mm above the poles' tops: eddy currents turn against the field that drives them."""
    case = drawn(seed)
    bare = replace(case, sheets=())
    places = np.array([[x, y, z] for x, y, _ in case.rods for z in (16.2, 18.0)]) * cases.MM
    with_sheets, without = solved(case, places, HERTZ), solved(bare, places, HERTZ)
    for coil in range(len(case.coils)):
        own = [k for k, p in enumerate(places) if abs(p[0] - case.coils[coil].x) < 1e-3]
        share = abs(with_sheets.bz[:, coil, own]) / abs(without.bz[:, coil, own])
        assert share.max() < 1.003  # the cut of the sheets' basis and of the magnets' is worth 0.1 % each
    assert np.linalg.eigvalsh(np.moveaxis(with_sheets.inductance.imag, 2, 0)).max() < 1e-6


@pytest.mark.parametrize("name", ["rods+brass", "rods+cover", "short+plate", "short+brass", "short+cover"])
def test_twice_as_fine_a_mesh_moves_the_change_by_a_sheet_by_two_per_cent(name: str) -> None:
    case = CASES[name]
    bare = replace(case, sheets=())
    places = np.array([[x, y, 16.5] for x, y, _ in case.rods]) * cases.MM
    hertz = (1000.0, 5000.0)
    start, coarse, fine = solved(bare, places, hertz), solved(case, places, hertz), solved(case, places, hertz, 0.5)
    change = fine.series() - start.series()
    assert (abs(coarse.series() - fine.series()) < 0.02 * abs(change)).all()
    change = fine.bz - start.bz
    for coil, winding in enumerate(case.coils):
        own = abs(places[:, 0] - winding.x) < 1e-3
        apart = abs(coarse.bz - fine.bz)[:, coil, own].max(axis=1)
        assert (apart < 0.02 * abs(change[:, coil, own]).max(axis=1) + 1e-4 * abs(start.bz[:, coil, own]).max()).all()


def guitar(more: str) -> Guitar:
    return parse_guitar('name = "G"\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "humbucker"\n' + more)


def test_a_part_of_permeability_one_changes_nothing_under_any_sheets() -> None:
    """Poles of air with a cover and a plate are no poles: longer ones are the same."""
    air = "".join(f"{part}_permeability = 1\n" for part in ("slug", "screw", "keeper"))
    henry = []
    for bottom in (-3.0, -6.0):
        one = guitar('cover = "brass"\nbase_plate = "brass"\n[pickups.poles]\n' + air + f"screw_bottom_mm = {bottom}\n")
        unit = one.pickups[0]
        henry.append(Bench().magnetised(one, unit).coils.fields.inductance)
    np.testing.assert_allclose(henry[0], henry[1], rtol=1e-12)


def made(construction: str, cover: str, plate: str) -> tuple[State, np.ndarray]:
    """A usual pickup with these sheets: its state, and V s/m of each string before the circuit (strings, grid)."""
    whole = parse_guitar(
        'name = "G"\n[[pickups]]\nname = "p"\nposition = "bridge"\n'
        f'construction = "{construction}"\ncover = "{cover}"\nbase_plate = "{plate}"\n'
    )
    bench = Bench(resolution=COARSE)
    switched = bench.switched(whole, whole.pickup("p"))
    volts = np.einsum("kcf,c->kf", switched.pickups[0].emf, switched.senses[0])
    return bench.state(whole, "p"), abs(volts)


@pytest.mark.parametrize(
    ("construction", "cover", "plate"),
    [
        ("rod-single", "brass", "none"),
        ("bar-single", "nickel-silver", "none"),
        ("two-bar-single", "none", "brass"),
        ("humbucker", "nickel-silver", "nickel-silver"),
    ],
)
def test_no_sheet_raises_any_string_or_band(construction: str, cover: str, plate: str) -> None:
    """Strings were once read through the cover's own plane: +0.8 dB of level, +2.4 dB of presence on rods.

    Before the circuit it holds at every frequency; after it a lower L moves the peak up, which no case here gains by.
    """
    bare, volts_bare = made(construction, "none", "none")
    dressed, volts = made(construction, cover, plate)
    # 0.5 % is what another range of heights moves a table of potentials by at 0 Hz, where a sheet does nothing
    assert (volts / volts_bare).max() < 1.006
    assert (volts[:, -1] / volts_bare[:, -1]).max() < 0.99  # at the top of the grid it takes something
    assert dressed.level_db < bare.level_db
    for band, level in dressed.bands_own_db.items():
        assert level < bare.bands_own_db[band] + 0.01, band  # dB, the same 0.5 % of one string among six


def test_a_cover_taken_off_a_humbucker_matters() -> None:
    bench = Bench(resolution=COARSE)
    covered = guitar('cover = "nickel-silver"\n')
    off = apply(covered, "p", parse_changes(["cover=off"]))
    before, after = (bench.state(one, "p").resonance_hz for one in (covered, off))
    assert before is not None and after is not None
    # finite elements give a peak 0.7 dB higher and 100 Hz up: a half to one and a half of that
    assert 50.0 < after - before < 150.0
