"""Windings that can be: room for the turns, the gauge nobody read, the inductance that was typed, the slip named."""

import re
from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.bench.together import together
from polepiece.errors import GuitarFileError, InputError
from polepiece.evidence.meter_readings import Readings, with_readings
from polepiece.geometry import Resolution
from polepiece.guitar import Guitar, known, parse_guitar, write_guitar
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import CONSTRUCTIONS, SLUGS
from polepiece.guitar.file.unusual import cautions
from polepiece.guitar.gauges import assumed_gauges
from polepiece.guitar.spread import draws
from polepiece.guitar.windings import MOST_FILL, fill, mean_turn, window_area
from polepiece.materials import catalogue
from polepiece.moves import apply, parse_changes
from polepiece.pickup.electrics import coil_resistances, turns
from tests.tables import every

HEAD = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{}"\nmagnet.grade = "alnico-5"\n'
COARSE = Resolution(
    sectors=8, slice_height=2.5e-3, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2
)  # fmt: skip


def one(more: str = "", construction: str = "humbucker") -> Guitar:
    return parse_guitar(HEAD.format(construction) + more + "\n")


def refused(more: str, construction: str = "humbucker") -> str:
    with pytest.raises(GuitarFileError) as caught:
        one(more, construction)
    return str(caught.value)


# ---------------------------------------------------------------- room


def test_fill_is_the_area_of_the_wires_over_that_of_the_window() -> None:
    """5000 wires of 0.071 mm (NEMA MW 1000, AWG 42 single) have 19.8 mm2; the window 4.4 x 6.5 mm = 28.6 mm2."""
    assert window_area(Coil()) == pytest.approx(28.6e-6, rel=1e-9)
    assert fill(Coil(), 5000.0) == pytest.approx(19.796 / 28.6, rel=1e-4)
    assert fill(Coil(), 5000.0, thinnest=True) == pytest.approx((0.066 / 0.071) ** 2 * 19.796 / 28.6, rel=1e-4)


@pytest.mark.parametrize("construction", SLUGS)
def test_default_windings_have_room_with_wire_of_the_nominal_diameter(construction: str) -> None:
    pickup = one(construction=construction).pickup("p")
    for coil, n in zip(pickup.coils, turns(pickup)):
        assert fill(coil, n) < MOST_FILL
        assert coil.wire_awg == 42


def test_turns_go_with_the_resistance_of_a_metre() -> None:
    """R = turns x mean turn x ohm a metre, for every gauge that is typed."""
    for gauge in (43, 44):
        pickup = one(f"resistance_kohm = 14\ncoil.wire_awg = {gauge}").pickup("p")
        wire = catalogue.wire(gauge, "single").resistance_per_metre()
        assert turns(pickup)[0] * mean_turn(pickup.coils[0]) * wire == pytest.approx(7000.0, rel=1e-12)


@pytest.mark.parametrize(
    ("more", "construction", "slip"),
    [
        ('resistance_kohm = 14\nwiring = "parallel"', "humbucker", r"what the coils read in series\? .* 3.5 kohm"),
        ('resistance_kohm = 14\nwiring = "split-slugs"', "humbucker", r"reading of both coils\? .* 7 kohm"),
        ("coil_resistances_kohm = [14, 14.2]", "humbucker", "reading of both coils, given for each"),
        ("coil.resistance_kohm = 14", "humbucker", "reading of both coils, given for each"),
        ("resistance_kohm = 14\ncoil.wire_awg = 42", "humbucker", "AWG 43 or 44 would fit"),
        ("resistance_kohm = 30", "bar-single", "AWG 45 or 46 would fit"),
        ("coil.turns = 12000", "two-bar-single", None),
        ("coil.turns = 20000", "humbucker", "AWG 46|those of both coils"),
        ("resistance_kohm = 7.9\ninductance_h = 20", "humbucker", "one of the two readings is wrong"),
        ("resistance_kohm = 7.9\ninductance_h = 0.5", "humbucker", "one of the two readings is wrong"),
        ('wiring = "parallel"', "rod-single", "one coil; parallel needs two"),
        ('wiring = "out-of-phase"', "rod-single", 'wound = "reverse"'),
    ],
)
def test_what_cannot_be_is_refused_with_the_slip(more: str, construction: str, slip: str | None) -> None:
    if slip is None:
        assert one(more, construction)
        return
    said = refused(more, construction)
    assert re.search(slip, said), said
    assert "pickups[0]" in said


def test_kohm_for_ohm_is_named_where_records_are_made() -> None:
    unit = one().pickup("p")
    with pytest.raises(InputError, match="kohm where ohm is meant"):
        replace(unit, resistance=7.9)
    with pytest.raises(InputError, match="ohm where kohm is meant"):
        replace(unit, resistance=7.9e6)
    with pytest.raises(InputError, match="what the coils read in series"):
        replace(unit, resistance=14e3, wiring="parallel")


def test_wiring_works_from_the_right_coils() -> None:
    parallel = one('resistance_kohm = 3.5\nwiring = "parallel"\nlead = "four-conductor"')
    series = apply(parallel, "p", parse_changes(["wiring=series"]))
    assert series.pickup("p").resistance == pytest.approx(14e3, rel=1e-12)
    assert coil_resistances(series.pickup("p")) == pytest.approx((7e3, 7e3), rel=1e-12)
    assert turns(series.pickup("p")) == pytest.approx(turns(parallel.pickup("p")), rel=1e-12)


@every(
    (one.slug, wiring)
    for one in CONSTRUCTIONS if len(one.coils) == 1
    for wiring in ("series", "parallel", "split-screws", "out-of-phase")
)  # fmt: skip
def test_one_coil_cannot_be_connected_otherwise(construction: str, wiring: str) -> None:
    with pytest.raises(InputError, match="one coil"):
        apply(one(construction=construction), "p", parse_changes([f"wiring={wiring}"]))


# ---------------------------------------------------------------- the gauge nobody read


def test_the_usual_gauge_where_it_fits_and_the_next_finer_where_not() -> None:
    assert one("resistance_kohm = 7.9").pickup("p").coils[0].wire_awg == 42
    assert one("resistance_kohm = 14").pickup("p").coils[0].wire_awg == 43
    assert one("resistance_kohm = 24").pickup("p").coils[0].wire_awg == 44


def test_what_else_fits_is_listed_with_how_to_settle_it_and_reads_back() -> None:
    guitar = one("resistance_kohm = 14")
    line = next(a for a in guitar.assumed if a.path == "pickups[0].coil.wire_awg")
    assert (line.value, line.low, line.high) == ("AWG 43; AWG 44 would fit as well", 43.0, 44.0)
    assert "inductance" in line.settle and "micrometer" in line.settle
    again = parse_guitar(write_guitar(guitar))
    assert again == guitar
    assert assumed_gauges(again, again.pickup("p")) == (43, 44)
    typed = one("resistance_kohm = 14\ncoil.wire_awg = 44")
    assert assumed_gauges(typed, typed.pickup("p")) == (44,)


def test_draws_take_every_gauge_that_fits_as_often() -> None:
    guitar = one("resistance_kohm = 14")
    pickup = guitar.pickup("p")
    found = np.array([known.drawn_turns(guitar, pickup, draw) for draw in draws(1000, 3)])
    wire = {g: catalogue.wire(g, "single").resistance_per_metre() for g in (43, 44)}
    fine = found < np.sqrt(wire[43] / wire[44])  # nearer to AWG 44
    assert fine.mean() == pytest.approx(0.5, abs=0.05)  # 1000 draws: 0.016 one standard deviation
    assert np.median(found[~fine]) == pytest.approx(1.0, abs=0.02)
    assert np.median(found[fine]) == pytest.approx(wire[43] / wire[44], abs=0.02)
    assert known.drawn_resistance(guitar, pickup, draws(8, 3)[0]) == pytest.approx(1.0, abs=0.02)  # the meter's


def test_a_gauge_that_was_assumed_follows_a_new_reading() -> None:
    guitar = one()
    moved = with_readings(guitar, "p", Readings(resistance=14e3, temperature=20.0))
    assert moved.pickup("p").coils[0].wire_awg == 43
    assert next(a for a in moved.assumed if a.path.endswith("wire_awg")).low == 43.0
    typed = one("coil.wire_awg = 42")
    with pytest.raises(InputError, match="AWG 43 or 44 would fit"):
        with_readings(typed, "p", Readings(resistance=14e3, temperature=20.0))


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(resolution=COARSE)


@pytest.mark.parametrize(
    ("construction", "kohm"), [("humbucker", 14.0), ("humbucker", 7.9), ("rod-single", 6.2), ("bar-single", 9.0)]
)
def test_the_true_gauge_lies_in_the_interval(construction: str, kohm: float, bench: Bench) -> None:
    """Pickups of the gauges that fit, each as likely: their inductances against the interval of the silent file.

    128 draws of the silent file hold 90 +- 2.6 % of the next ones; 85 % is two of these below.
    """
    silent = one(f"resistance_kohm = {kohm}", construction)
    low, high = bench.span(silent, "p", draws=128)["inductance_120hz_h"]
    inside = []
    for gauge in assumed_gauges(silent, silent.pickup("p")):
        true = one(f"resistance_kohm = {kohm}\ncoil.wire_awg = {gauge}", construction)
        assert low <= bench.state(true, "p").inductance_120hz_h <= high
        other = Bench(seed=11, resolution=COARSE)
        other._magnetised, other._moves = bench._magnetised, bench._moves
        inside += [low <= d["inductance_120hz_h"] <= high for d in other.drawn(true, "p", draws(64, 11))]
    assert np.mean(inside) >= 0.85


# ---------------------------------------------------------------- the inductance that was typed


@pytest.mark.parametrize("henry", [4.0, 5.5])
def test_a_typed_inductance_is_what_the_state_has(henry: float, bench: Bench) -> None:
    silent, typed = one("resistance_kohm = 7.9"), one(f"resistance_kohm = 7.9\ninductance_h = {henry}")
    state = bench.state(typed, "p")
    assert state.inductance_120hz_h == pytest.approx(henry, rel=2e-3)  # less what its capacitance shows at 120 Hz
    assert (state.level_db > bench.state(silent, "p").level_db) is (henry > 5.0)  # more turns, more EMF
    low, high = bench.span(typed, "p", draws=200)["inductance_120hz_h"]
    assert (low, high) == pytest.approx((0.982 * henry, 1.018 * henry), rel=5e-3)  # 90 % of a 2 % meter


def test_a_meter_at_1_khz_sees_less_inductance_and_the_file_may_say_so(bench: Bench) -> None:
    at_120 = bench.state(one("resistance_kohm = 7.9\ninductance_h = 4.4"), "p")
    kilohertz = one("resistance_kohm = 7.9\ninductance_h = 4.4\ninductance_frequency_hz = 1000")
    state = bench.state(kilohertz, "p")
    assert state.inductance_120hz_h > 1.03 * at_120.inductance_120hz_h  # eddy currents took what the meter did not see
    assert state.inductance_1khz_h == pytest.approx(4.4, rel=0.02)  # its capacitance adds about 1 % there
    assert parse_guitar(write_guitar(kilohertz)) == kilohertz


def test_resistance_and_inductance_choose_the_gauge(bench: Bench) -> None:
    """5.0 H at 14 kohm is AWG 44: the steel is not asked to explain what the gauge does."""
    fine = one("resistance_kohm = 14\ncoil.wire_awg = 44")
    henry = bench.state(fine, "p").inductance_120hz_h
    read = one(f"resistance_kohm = 14\ninductance_h = {henry:.4f}")
    fixed = one(f"resistance_kohm = 14\ninductance_h = {henry:.4f}\ncoil.wire_awg = 43")
    swap = parse_changes(["magnet=ceramic-8"])
    moved = {
        name: bench.state(apply(g, "p", swap), "p").inductance_120hz_h / henry
        for name, g in (("read", read), ("fine", fine), ("fixed", fixed))
    }
    assert moved["read"] == pytest.approx(moved["fine"], abs=0.004)
    assert abs(moved["fixed"] - moved["fine"]) > 2.0 * abs(moved["read"] - moved["fine"])


@pytest.mark.parametrize("change", ["magnet=ceramic-8", "wiring=parallel", "screws=up 1 turn", "lower=0.5mm"])
def test_a_typed_inductance_goes_with_its_pickup_through_changes(change: str, bench: Bench) -> None:
    """The ratio of read and computed stays: turns and steel do not change with a bar, a wiring or a screw."""
    silent = one(
        'resistance_kohm = 7.9\ncoil.wire_awg = 42\nlead = "four-conductor"\ngap_bass_mm = 3\ngap_treble_mm = 3'
    )
    typed = replace(silent, pickups=(replace(silent.pickups[0], inductance=4.3),))
    moves = parse_changes([change])
    was = [bench.state(g, "p").inductance_120hz_h for g in (silent, typed)]
    now = [bench.state(apply(g, "p", moves), "p").inductance_120hz_h for g in (silent, typed)]
    # 1 %: steel of less permeability, which the reading speaks for, moves a little less with another bar
    assert now[1] / was[1] == pytest.approx(now[0] / was[0], rel=0.01)
    kept = apply(typed, "p", moves)
    if change.startswith("lower"):
        assert kept.pickup("p").inductance == 4.3 and kept.measured == ()
    else:
        assert kept.pickup("p").inductance is None


# ---------------------------------------------------------------- the winding's sense

THREE = "".join(
    f'[[pickups]]\nname = "{name}"\nposition = "{name}"\nconstruction = "rod-single"\nresistance_kohm = {kohm}\n'
    f'coil.wire_awg = 42\nmagnet.grade = "alnico-5"\nmagnet.charge = "outside"\n{more}\n'
    for name, kohm, more in (("neck", 5.9, ""), ("middle", 6.1, "{}"), ("bridge", 6.4, ""))
)


@pytest.mark.parametrize(
    ("middle", "in_phase", "cancels"),
    [
        ("", True, False),
        ("magnet.flipped = true", False, False),
        ('wound = "reverse"', False, True),
        ('magnet.flipped = true\nwound = "reverse"', True, True),
    ],
)
def test_a_reverse_wound_middle(middle: str, in_phase: bool, cancels: bool, bench: Bench) -> None:
    guitar = parse_guitar(THREE.replace("{}", middle))
    both = together(guitar, ["neck", "middle"], bench=bench)
    alone = [bench.state(guitar, name).level_db for name in ("neck", "middle")]
    assert (both.in_phase, both.hum_cancelling) == (in_phase, cancels)
    # in phase two sources of one impedance give the mean of their voltages: 6 dB under either at worst
    assert (both.level_db > max(alone) - 6.0) is in_phase
    assert parse_guitar(write_guitar(guitar)) == guitar
    asked = [one for one in cautions(guitar) if "out of phase" in one]
    assert bool(asked) is not in_phase
    assert all('magnet.flipped = true and wound = "reverse"' in one for one in asked)


def test_a_winding_turned_changes_nothing_of_one_pickup_alone(bench: Bench) -> None:
    usual, turned = (parse_guitar(THREE.replace("{}", one)) for one in ("", 'wound = "reverse"'))
    a, b = (bench.state(guitar, "middle").numbers() for guitar in (usual, turned))
    assert a == pytest.approx(b, rel=1e-9)


def test_two_unequal_coils_leave_their_difference_of_hum(bench: Bench) -> None:
    """In parallel each coil counts by the other's resistance; n/R is one value, so what is left is small: -40 dB."""
    guitar = parse_guitar(THREE.replace("{}", 'magnet.flipped = true\nwound = "reverse"'))
    assert together(guitar, ["neck", "middle"], bench=bench).hum_db < -40.0
    assert together(guitar, ["neck", "bridge"], bench=bench).hum_db == pytest.approx(0.0, abs=0.01)
