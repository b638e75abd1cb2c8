"""The state of charge from readings at the pole tops: found again where it is known, flags, what is handed over."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench, field, pole_tops, predict
from polepiece.bench.grades import replace_pickup
from polepiece.bench.pole_tops import PROBE, drawn_factors
from polepiece.errors import InputError
from polepiece.evidence import ChargeFound, find_charge, usual_probe, with_charge
from polepiece.guitar import Guitar, parse_guitar, write_guitar
from polepiece.measure import GaussMeter, PoleReading, Probe, parse_gauss_readings
from polepiece.moves import apply, parse_changes

POINT = Probe(height=PROBE, low=PROBE, high=PROBE, size=0.0)
EXACT = GaussMeter(scale_tolerance=0.0, repeatability=0.0)


def charged(guitar: Guitar, charge: str | float, pickup: str = "bridge") -> Guitar:
    the_pickup = guitar.pickup(pickup)
    return replace_pickup(guitar, replace(the_pickup, magnet=replace(the_pickup.magnet, charge=charge)))


def read_off(guitar: Guitar, bench: Bench, pickup: str = "bridge", *, factor: float = 1.0) -> list[PoleReading]:
    """Return what an ideal probe reads on every pole of a guitar."""
    return [
        PoleReading(pole=one.pole, row=one.row, flux_density=factor * one.flux_density, signed=True)
        for one in pole_tops(guitar, pickup, draws=8, bench=bench)
    ]


def found(guitar: Guitar, bench: Bench, readings: list[PoleReading], **options: object) -> ChargeFound:
    return find_charge(guitar, "bridge", readings, probe=POINT, meter=EXACT, draws=32, bench=bench, **options)  # type: ignore[arg-type]


@pytest.mark.parametrize("charge", [0.3, 0.5, 0.75, 1.0])
def test_a_charge_is_found_again(guitar: Guitar, bench: Bench, charge: float) -> None:
    """Between the states that are solved the curve is drawn smoothly: within 1 % of outside."""
    one = found(guitar, bench, read_off(charged(guitar, charge), bench))
    assert one.fraction is not None
    assert one.fraction[0] == pytest.approx(charge, abs=0.01)
    assert one.fraction[1] <= charge + 0.01
    assert one.fraction[2] >= charge - 0.01
    assert one.polarity == "as in the file"
    assert ("weak" in one.flags) == (charge < 0.8)
    assert one.computed == pytest.approx(one.reading[0], rel=0.01)


def test_in_place_is_found(guitar: Guitar, bench: Bench) -> None:
    one = found(guitar, bench, read_off(charged(guitar, "in-place"), bench))
    assert (one.charge, one.fraction) == ("in-place", None)
    assert one.share == pytest.approx(one.in_place_share, rel=1e-6)
    assert one.in_place_share > 1.2  # oriented alnico 5 loses much when it is charged outside


def test_a_probe_of_unknown_height_may_not_tell(guitar: Guitar, bench: Bench) -> None:
    """A reading between both states, an element anywhere from 0.4 to 2.5 mm up: nothing is claimed."""
    between = read_off(charged(guitar, "outside"), bench, factor=1.1)
    vague = Probe(height=PROBE, low=0.4e-3, high=2.5e-3)
    one = find_charge(guitar, "bridge", between, probe=vague, draws=64, bench=bench)
    assert one.charge is None
    assert "both lie in the interval" in one.notes[0]
    learnt = with_charge(guitar, one, date="2026-11-27")
    assert learnt.pickup("bridge").magnet.charge == "unknown"
    assert learnt.measured == ()  # neither the file nor the readings know the charge: no field to scale
    assert "pickups[1].magnet.charge" in {entry.path for entry in learnt.assumed}


@pytest.mark.parametrize(("charge", "factor", "high"), [(0.9, 1.0, 4e-3), ("in-place", 0.82, 2.5e-3)])
def test_readings_that_do_not_tell_leave_the_charge_and_count_it_once(
    guitar: Guitar, bench: Bench, charge: str | float, factor: float, high: float
) -> None:
    """The strength that is handed over is re what the file's own charge makes, not re a bar charged outside."""
    there = charged(guitar, charge)
    vague = Probe(height=PROBE, low=0.2e-3, high=high)
    one = find_charge(there, "bridge", read_off(there, bench, factor=factor), probe=vague, draws=64, bench=bench)
    assert one.charge is None
    learnt = with_charge(there, one, date="2026-11-27")
    assert learnt.pickup("bridge").magnet.charge == charge
    (entry,) = learnt.measured
    assert entry.computed is not None
    assert entry.value / entry.computed == pytest.approx(factor, rel=0.01)


def test_between_both_states_is_said(guitar: Guitar, bench: Bench) -> None:
    one = found(guitar, bench, read_off(charged(guitar, "outside"), bench, factor=1.18))
    assert (one.charge, one.fraction) == (None, None)
    assert "neither within the interval" in one.notes[0]


def test_the_interval_holds_bars_that_differ_within_their_spread(guitar: Guitar, bench: Bench) -> None:
    """Twenty bars at 0.6 of outside, drawn from the spread of the grade with another seed, 90 % intervals.

    Fewer than 14 of 20 would come up in 1 of 400 such tests (binomial); all 20 is common.
    """
    truth = charged(guitar, 0.6)
    whole = charged(guitar, 1.0)
    bars = drawn_factors(whole, whole.pickup("bridge"), 20, Bench(seed=4)).mean(axis=1)
    held = 0
    for factor in bars:
        one = found(guitar, bench, read_off(truth, bench, factor=float(factor)))
        assert one.fraction is not None
        held += one.fraction[1] <= 0.6 <= one.fraction[2]
    assert held >= 14
    assert np.ptp(bars) > 0.05  # the bars do differ


def test_meter_and_probe_widen_the_reading(guitar: Guitar, bench: Bench) -> None:
    readings = read_off(charged(guitar, 0.6), bench)
    exact = found(guitar, bench, readings)
    assert exact.reading[1] == pytest.approx(exact.reading[2], rel=1e-9)
    real = find_charge(guitar, "bridge", readings, probe=POINT, meter=GaussMeter(scale_tolerance=0.05), bench=bench)
    assert real.reading[1] < 0.97 * real.reading[0] < 1.03 * real.reading[0] < real.reading[2]
    higher = find_charge(guitar, "bridge", readings, probe=usual_probe(), meter=EXACT, bench=bench)
    assert higher.reading[2] / higher.reading[1] > 1.1


def test_a_wide_probe_reads_the_mean_of_its_area(guitar: Guitar, bench: Bench) -> None:
    """Over the slug of string 1, 4 mm wide: the mean of the field over 1200 points of the disc, within 1 %.

    The rim of a steel pole is stronger than its middle, so a wide probe reads more there.
    """
    slug = read_off(guitar, bench)[6]
    wide = find_charge(guitar, "bridge", [slug], probe=replace(POINT, size=4e-3), draws=8, bench=bench).poles[0]
    poles = guitar.pickup("bridge").poles
    radius, angle = 2e-3 * np.sqrt((np.arange(30) + 0.5) / 30), 2.0 * np.pi * np.arange(40) / 40
    ring = np.stack([np.outer(radius, np.cos(angle)), np.outer(radius, np.sin(angle))], -1).reshape(-1, 2)
    middle = (poles.row_offset, 2.5 * poles.pole_spacing)
    points = np.column_stack([ring + middle, np.full(len(ring), poles.slug_height + PROBE)])
    dense = field(charged(guitar, "outside"), "bridge", points, bench=bench).flux_density[:, 2].mean()
    assert wide.outside == pytest.approx(dense, rel=0.01)
    assert wide.outside > 1.02 * slug.flux_density


def test_polarity(guitar: Guitar, bench: Bench) -> None:
    right = read_off(charged(guitar, "outside"), bench)
    turned = [replace(one, flux_density=-one.flux_density) for one in right]
    one = found(guitar, bench, turned)
    assert one.polarity == "reversed"
    assert "reversed" in one.flags
    with pytest.raises(InputError, match=r"magnet\.flipped"):
        with_charge(guitar, one, date="2026-11-27")
    flipped = apply(charged(guitar, "outside"), "bridge", parse_changes(["flip=yes"]))
    assert found(flipped, bench, turned).polarity == "as in the file"
    mixed = found(guitar, bench, [turned[0], *right[1:]])
    assert mixed.polarity == "mixed"
    assert "screws 1" in " ".join(mixed.notes)
    unsigned = [replace(one, flux_density=abs(one.flux_density), signed=False) for one in right]
    one = found(guitar, bench, unsigned)
    assert one.polarity == "not told"
    assert "No sign was given" in " ".join(one.notes)


def test_one_weak_pole_is_named(guitar: Guitar, bench: Bench) -> None:
    right = read_off(charged(guitar, "outside"), bench)
    one = found(guitar, bench, [replace(right[0], flux_density=0.5 * right[0].flux_density), *right[1:]])
    assert one.flags == ("uneven",)
    assert "screws 1 -50 %" in " ".join(one.notes)


def test_more_than_the_bar_can_make(guitar: Guitar, bench: Bench) -> None:
    one = found(guitar, bench, read_off(charged(guitar, "in-place"), bench, factor=2.0))
    assert one.flags == ("too strong",)
    assert one.charge is None
    with pytest.raises(InputError, match="too strong"):
        with_charge(guitar, one, date="2026-11-27")


def test_poles_that_are_not_there(guitar: Guitar, bench: Bench) -> None:
    with pytest.raises(InputError, match="no pole 7 among its screws"):
        find_charge(guitar, "bridge", parse_gauss_readings(["7=30mT"]), bench=bench)
    with pytest.raises(InputError, match="no pole 1 among its rods"):
        find_charge(guitar, "bridge", parse_gauss_readings(["rod1=30mT"]), bench=bench)
    with pytest.raises(InputError, match="no reading"):
        find_charge(guitar, "bridge", [], bench=bench)


def test_what_is_handed_over(guitar: Guitar, bench: Bench) -> None:
    """Charge and readings are measured, dated and hashed; the next bar's level is told more narrowly, and truly."""
    truth = charged(guitar, 0.7)
    one = find_charge(guitar, "bridge", read_off(truth, bench), probe=usual_probe(PROBE, 0.0), bench=bench)
    learnt = with_charge(guitar, one, date="2026-11-27")
    assert parse_guitar(write_guitar(learnt)) == learnt
    magnet = learnt.pickup("bridge").magnet
    assert magnet.charge == pytest.approx(0.7, abs=0.01)
    assert len(magnet.measured_gauss) == 6
    assert {entry.path.rpartition(".")[2] for entry in learnt.measured} == {"charge", "measured_gauss"}
    assert all(entry.files == (one.sha256,) and entry.date == "2026-11-27" for entry in learnt.measured)
    assert "pickups[1].magnet.charge" not in {entry.path for entry in learnt.assumed}

    swap = parse_changes(["magnet=alnico-2"])
    wide, narrow = (predict(each, "bridge", swap, draws=64, bench=bench) for each in (guitar, learnt))
    true = predict(truth, "bridge", swap, draws=8, bench=bench).difference["level_db"]
    # where the strings run beside their poles is as open as before
    assert np.ptp(narrow.interval["level_db"]) < 0.85 * np.ptp(wide.interval["level_db"])
    assert narrow.interval["level_db"][0] < true < narrow.interval["level_db"][1]
    assert not wide.interval["level_db"][0] < true < wide.interval["level_db"][1]  # nobody assumed a weak bar


def test_a_slip_of_ten_is_questioned(guitar: Guitar, bench: Bench) -> None:
    """1 mT is 10 gauss: 38 gauss written where 38 mT was read."""
    true = read_off(charged(guitar, 1.0), bench)
    tenth = [replace(one, flux_density=0.1 * one.flux_density) for one in true]
    found = find_charge(guitar, "bridge", tenth, probe=usual_probe(PROBE, 0.0), bench=bench)
    assert "weak" in found.flags and any("slip of ten" in note for note in found.notes)
    fair = find_charge(guitar, "bridge", true, probe=usual_probe(PROBE, 0.0), bench=bench)
    assert not any("slip of ten" in note for note in fair.notes)
