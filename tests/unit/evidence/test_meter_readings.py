"""Readings of plain meters, put into the guitar as measured."""

from dataclasses import replace

import pytest

from polepiece.bench import pickup_state
from polepiece.errors import InputError
from polepiece.evidence import Readings, with_readings
from polepiece.guitar import Guitar, parse_guitar, write_guitar
from polepiece.moves import apply, parse_changes

COPPER_20 = 3.93e-3  # 1/K, temperature coefficient of copper at 20 degC (IEC 60028)


def test_nothing_read_changes_nothing(guitar: Guitar) -> None:
    assert with_readings(guitar, "neck", Readings()) == guitar
    assert with_readings(guitar, "neck", Readings(temperature=25.0)) == guitar


def test_what_was_read_is_no_assumption_any_more_and_survives_the_file(guitar: Guitar) -> None:
    read = Readings(
        resistance=7870.0, coil_resistances=(3910.0, 3960.0), temperature=24.5, coil_to_plate_open=True,
        inductance=4.61, gap_bass=2.4e-3, gap_treble=1.984e-3, pole_gauss=(None, 240.0, -235.0), volume_pot=487e3,
        tone_pot=512e3, tone_cap=21.7e-9,
    )  # fmt: skip
    found = with_readings(guitar, "neck", read)
    assert parse_guitar(write_guitar(found)) == found
    gone = {one.path for one in guitar.assumed} - {one.path for one in found.assumed}
    assert gone == {"pickups[0].inductance_h", "pickups[0].temperature_c"}
    assert with_readings(found, "neck", read) == found


def test_a_warm_coil_is_brought_to_20_degrees(guitar: Guitar) -> None:
    warm = with_readings(guitar, "neck", Readings(resistance=7900.0, temperature=30.0))
    expected = 7900.0 / (1.0 + 10.0 * COPPER_20)
    assert pickup_state(warm, "neck").dc_resistance_ohm == pytest.approx(expected, rel=1e-3)  # of the coefficient
    halves = with_readings(guitar, "neck", Readings(coil_resistances=(3900.0, 4000.0), temperature=30.0))
    assert pickup_state(halves, "neck").dc_resistance_ohm == pytest.approx(expected, rel=1e-3)
    assert halves.pickup("neck").resistance == 7900.0  # as read: it is the whole, too


def test_a_whole_read_alone_is_shared_out_as_the_coils_were(guitar: Guitar) -> None:
    halves = with_readings(guitar, "neck", Readings(coil_resistances=(3800.0, 4100.0)))
    whole = with_readings(halves, "neck", Readings(resistance=8295.0))  # 5 % more
    assert whole.pickup("neck").coil_resistances == pytest.approx((3990.0, 4305.0))


def test_the_meter_across_coils_in_parallel_does_not_read_their_sum(guitar: Guitar) -> None:
    parallel = apply(guitar, "neck", parse_changes(["wiring=parallel"]))
    read = with_readings(parallel, "neck", Readings(resistance=1980.0))
    assert pickup_state(read, "neck").dc_resistance_ohm == pytest.approx(1980.0)
    both = with_readings(parallel, "neck", Readings(coil_resistances=(3800.0, 4100.0)))
    assert both.pickup("neck").resistance == pytest.approx(3800.0 * 4100.0 / 7900.0, rel=1e-3)  # product over sum


def test_more_readings_than_there_are_parts_are_refused(guitar: Guitar) -> None:
    with pytest.raises(InputError, match="6 poles; 7 were read"):
        with_readings(guitar, "neck", Readings(pole_gauss=(250.0,) * 7))
    pickup = guitar.pickup("neck")
    single = replace(
        guitar, pickups=(replace(pickup, construction="rod-single", coils=pickup.coils[:1], resistance=4e3),)
    )
    with pytest.raises(InputError, match="one coil; two coils were read"):
        with_readings(single, "neck", Readings(coil_resistances=(3.0e3, 3.0e3)))
