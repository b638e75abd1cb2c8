"""Positions of the switch: which pickups are on, what is heard there, and what is refused."""

import numpy as np
import pytest

from polepiece.bench import Bench, compare_grades, predict
from polepiece.bench.switched import pickups_on
from polepiece.errors import InputError
from polepiece.geometry import Resolution
from polepiece.guitar import parse_guitar
from polepiece.guitar.file.guitar_file import write_guitar
from polepiece.moves import parse_changes
from polepiece.planning import parse_complaint
from polepiece.planning.jobs import jobs_of

COARSE = Resolution(sectors=8, slice_height=2.5e-3, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2)
THREE = "\n".join(
    ['name = "three"']
    + [
        f'[[pickups]]\nname = "{place}"\nposition = "{place}"\nconstruction = "rod-single"\n'
        'magnet.grade = "alnico-5"\nmagnet.charge = "outside"'
        for place in ("neck", "middle", "bridge")
    ]
)


@pytest.fixture(scope="module")
def guitar():
    return parse_guitar(THREE)


@pytest.fixture(scope="module")
def bench():
    return Bench(resolution=COARSE)


@pytest.mark.parametrize(
    ("position", "names"),
    [
        ("neck", ("neck",)), ("both", ("neck", "bridge")), ("neck+middle", ("neck", "middle")),
        ("middle + bridge", ("middle", "bridge")), ("all", ("neck", "middle", "bridge")),
    ],
)  # fmt: skip
def test_a_position_names_the_pickups_that_are_on(guitar, position, names):
    assert pickups_on(guitar, position) == names


def test_a_position_that_is_not_there_is_refused_with_those_that_are(guitar):
    with pytest.raises(InputError, match=r"(?s)position 'lead'.*neck and middle and bridge"):
        pickups_on(guitar, "lead")


def test_a_pickup_that_is_not_on_is_refused(guitar, bench):
    with pytest.raises(InputError, match="neck is not on in the position middle"):
        predict(guitar, "neck", parse_changes(["lower=0.3mm"]), position="middle+bridge", bench=bench, draws=8)


def test_a_selector_is_heard_before_and_after(guitar, bench):
    """Two like pickups on together, in phase: the middle of the two levels, and a higher resonance (half the coils'
    inductance; common practice, no source)."""
    found = predict(guitar, "neck", parse_changes(["selector=neck+middle"]), bench=bench, draws=8)
    alone = [bench.state(guitar, one) for one in ("neck", "middle")]
    assert found.before.level_db == alone[0].level_db
    assert found.after.in_phase
    assert min(one.level_db for one in alone) - 1.5 < found.after.level_db < max(one.level_db for one in alone)
    assert found.after.resonance_hz > 1.1 * found.before.resonance_hz
    assert found.difference["level_db"] != 0.0
    low, high = found.interval["level_db"]
    assert low <= found.difference["level_db"] <= high


def test_what_is_done_to_one_of_two_moves_about_half_of_it(guitar, bench):
    """One of two in parallel gives half the voltage: lowered, it takes less off the two than off itself."""
    change = parse_changes(["lower=1mm"])
    own, both = (
        predict(guitar, "neck", change, position=place, bench=bench, draws=8).difference["level_db"]
        for place in (None, "neck+middle")
    )
    assert own < both < 0.35 * own


def test_every_command_takes_it(guitar, bench):
    grades = compare_grades(
        guitar, "neck", position="neck+middle", slugs=("alnico-2", "alnico-5"), draws=0, bench=bench
    )
    assert grades.before.level_db == bench.heard_in(("neck", "middle")).state(guitar, "neck").level_db


def test_complaints_are_heard_where_they_are_said_to_be(guitar):
    told = parse_complaint("both: thin", guitar)
    assert [(one.position, one.pickup) for one in told] == [("both", "neck"), ("both", "bridge")]
    assert [(job.pickup, job.position) for job in jobs_of(guitar, told)] == [("neck", "both"), ("bridge", "both")]
    others = jobs_of(guitar, parse_complaint("middle+bridge: thin", guitar))
    assert [(one.pickup, one.position) for one in others] == [("middle", "middle+bridge"), ("bridge", "middle+bridge")]
    text = THREE + '\n[[complaints]]\nword = "thin"\nposition = "neck+middle"\n'
    read = parse_guitar(text)
    assert read.complaints[0].position == "neck+middle"
    assert parse_guitar(write_guitar(read)) == read


def test_the_comb_of_two_places_is_in_the_curve(guitar, bench):
    """Two pickups in phase, d apart: on a string whose wave there is half a wave long they cancel (textbook; f = c/2d).

    Seen in the low E by itself: c = 2 L f0."""
    from dataclasses import replace

    low = replace(guitar, strings=guitar.strings[-1:], tuning=guitar.tuning[-1:])
    state = bench.heard_in(("neck", "bridge")).state(low, "neck")
    apart = guitar.pickup("neck").distance_from_bridge - guitar.pickup("bridge").distance_from_bridge
    first = 2.0 * guitar.scale_length * low.strings[0].pitch / (2.0 * apart)
    inside = (state.frequency_hz > 0.6 * first) & (state.frequency_hz < 1.5 * first)
    lowest = state.frequency_hz[inside][np.argmin(state.response_db[inside])]
    assert lowest == pytest.approx(first, rel=0.06)  # stiffness and the grid's 1.7 %
