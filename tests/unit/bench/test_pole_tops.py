"""What a probe says on the poles, against the field of the same solution and the ranges of the bench."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench, field, pole_tops
from polepiece.bench.pole_tops import PROBE
from polepiece.guitar import Guitar, parse_guitar
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.pickup.engine import COARSE


def test_alnico_2_humbucker_reads_what_a_bench_reads(guitar: Guitar, bench: Bench) -> None:
    """150-350 gauss on the poles of a humbucker with an alnico 2 bar: common practice, no source."""
    found = pole_tops(guitar, "neck", draws=16, bench=bench)
    assert [one.row for one in found] == ["screws"] * 6 + ["slugs"] * 6
    assert all(150.0 <= abs(one.flux_density) * 1e4 <= 350.0 for one in found)
    assert all(one.interval[0] < one.flux_density < one.interval[1] for one in found)


def test_rows_have_opposite_poles(guitar: Guitar, bench: Bench) -> None:
    found = pole_tops(guitar, "neck", draws=8, bench=bench)
    signs = {row: {np.sign(one.flux_density) for one in found if one.row == row} for row in ("screws", "slugs")}
    assert signs["screws"] == {-1.0}  # the easy axis points to the slugs: north there, by the record's convention
    assert signs["slugs"] == {1.0}


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS if one.bar_work is not None])
def test_the_pole_that_a_sheet_names_is_the_one_that_a_probe_finds(construction: str) -> None:
    """North up is a positive reading; poles take the polarity of the face that touches them."""
    text = f'[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{construction}"\n'
    one = parse_guitar(text + 'magnet.grade = "alnico-5"\nmagnet.charge = "outside"\n')
    pickup = one.pickup("p")
    row = pickup.built.measured_row.pole.name
    found = pole_tops(one, "p", draws=8, bench=Bench(resolution=COARSE, exact_screws=False))
    signs = {np.sign(top.flux_density) for top in found if top.row == row}
    assert signs == {1.0 if pickup.built.pole_shown(pickup.magnet, pickup.poles) == "N" else -1.0}


def test_it_is_the_field_above_the_pole(guitar: Guitar, bench: Bench) -> None:
    poles = guitar.pickup("neck").poles
    y = 2.5 * poles.pole_spacing
    at = np.array([[-poles.row_offset, y, poles.screw_top + poles.head_height + PROBE]])
    same = field(guitar, "neck", at, bench=bench).flux_density[0, 2]
    assert pole_tops(guitar, "neck", draws=8, bench=bench)[0].flux_density == same


def test_unknown_charge_widens_the_interval_upwards(guitar: Guitar, bench: Bench) -> None:
    """A bar charged in place keeps more, so not knowing reaches further up and hardly further down."""
    known = replace(guitar.pickup("bridge").magnet, charge="outside")
    settled = replace(guitar, pickups=(guitar.pickups[0], replace(guitar.pickups[1], magnet=known)))
    open_, shut = (pole_tops(one, "bridge", draws=32, bench=bench)[8] for one in (guitar, settled))
    assert open_.flux_density == shut.flux_density
    assert open_.interval[1] > 1.2 * shut.interval[1]
    assert open_.interval[0] > 0.95 * shut.interval[0]
