"""A resistance read between the leads belongs to the wiring it was read in.

Source: resistors in series and parallel (Ohm and Kirchhoff); a meter reads what is between its probes.
"""

from dataclasses import replace

import pytest

from polepiece.guitar import parse_guitar, write_guitar
from polepiece.guitar.records import Guitar, Measured
from polepiece.moves import apply, parse_changes
from polepiece.pickup.electrics import pickup_resistance, turns

FILE = """
[[pickups]]
name = "p"
position = "bridge"
construction = "humbucker"
wiring = "{wiring}"
resistance_kohm = {read}
temperature_c = 20
magnet.grade = "alnico-5"
"""


@pytest.mark.parametrize(
    ("wiring", "read"), [("series", 8.0), ("parallel", 2.0), ("split-slugs", 4.0), ("split-screws", 4.0)]
)
def test_the_program_repeats_the_meter_and_finds_the_same_coils(wiring: str, read: float) -> None:
    unit = parse_guitar(FILE.format(wiring=wiring, read=read)).pickup("p")
    whole = parse_guitar(FILE.format(wiring="series", read=8.0)).pickup("p")
    assert pickup_resistance(unit) == pytest.approx(1e3 * read, rel=1e-12)
    assert turns(unit) == pytest.approx(turns(whole), rel=1e-12)


def test_rewiring_moves_the_reading_and_not_the_turns() -> None:
    guitar = parse_guitar(FILE.format(wiring="series", read=8.0))
    for wiring, ohm in (("parallel", 2000.0), ("split-slugs", 4000.0)):
        moved = apply(guitar, "p", parse_changes([f"wiring={wiring}"]))
        assert pickup_resistance(moved.pickup("p")) == pytest.approx(ohm)
        assert turns(moved.pickup("p")) == pytest.approx(turns(guitar.pickup("p")), rel=1e-12)
        again = parse_guitar(write_guitar(moved))
        assert pickup_resistance(again.pickup("p")) == pytest.approx(ohm)


def measured(guitar: Guitar) -> Guitar:
    """Return the guitar with a resistance and an inductance that were measured."""
    unit = replace(guitar.pickups[0], inductance=4.4)
    entries = (
        Measured(path="pickups[0].resistance_kohm", value=8.0, low=7.9, high=8.1, date="2026-11-28"),
        Measured(
            path="pickups[0].inductance_h", value=4.4, low=4.3, high=4.5, date="2026-11-28", computed=4.5,
            bar="alnico-5", bar_charge="unknown",
        ),
    )  # fmt: skip
    return replace(guitar, pickups=(unit,), measured=entries)


def test_a_measured_resistance_goes_along_with_its_interval() -> None:
    guitar = measured(parse_guitar(FILE.format(wiring="series", read=8.0)))
    moved = apply(guitar, "p", parse_changes(["wiring=parallel"]))
    assert (moved.measured[0].low, moved.measured[0].value, moved.measured[0].high) == pytest.approx(
        (1.975, 2.0, 2.025)
    )
    assert parse_guitar(write_guitar(moved)).measured == moved.measured


@pytest.mark.parametrize("change", ["magnet=alnico-3", "charge=in-place", "finish=rough-cast", "wiring=parallel"])
def test_an_inductance_read_with_another_bar_or_wiring_is_not_said_of_this_one(change: str) -> None:
    guitar = measured(parse_guitar(FILE.format(wiring="series", read=8.0)))
    moved = apply(guitar, "p", parse_changes([change]))
    assert moved.pickup("p").inductance is None
    assert "inductance_h =" not in write_guitar(moved)
    entry = next(one for one in moved.measured if one.path.endswith("inductance_h"))
    assert (entry.value, entry.bar) == (4.4, "alnico-5")  # kept, with the bar that was in
    assert parse_guitar(write_guitar(moved)).measured == moved.measured


@pytest.mark.parametrize("change", ["flip=yes", "lower=0.5mm", "cable=300pF"])
def test_an_inductance_stays_where_nothing_moves_it(change: str) -> None:
    guitar = measured(parse_guitar(FILE.format(wiring="series", read=8.0)))
    if change == "flip=yes":
        unit = replace(guitar.pickups[0], magnet=replace(guitar.pickups[0].magnet, charge="outside"))
        guitar = replace(guitar, pickups=(unit,))
    assert apply(guitar, "p", parse_changes([change])).pickup("p").inductance == 4.4
