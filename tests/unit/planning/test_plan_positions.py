"""What a row does both on and split: against states computed one by one, and by signs that a bench knows.

Common practice, no source: raising one pickup raises both on, by less; a bar turned over cancels; a two-conductor
lead cannot be split.
"""

from dataclasses import replace
from functools import partial
from types import SimpleNamespace

import pytest

from polepiece.bench import Bench
from polepiece.bench.state import BANDS, State
from polepiece.bench.together import together
from polepiece.geometry import Resolution
from polepiece.guitar import parse_guitar, position_named
from polepiece.guitar.records import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.planning import Constraints, parse_complaints
from polepiece.planning.beside import Beside
from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.plan import make_plan, plan_json
from polepiece.planning.positions import Position, Positions, position_words
from tests.unit.bench.test_together import TWO
from tests.unit.planning.double_bench import DoubleBench, guitar

FLAT = {f"bands_db.{band}": 0.0 for band in BANDS}


@pytest.fixture(scope="module")
def real() -> tuple[Guitar, Bench, Positions]:
    coarse = Resolution(
        sectors=8, slice_height=2.5e-3, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2
    )
    whole, bench = parse_guitar(TWO), Bench(resolution=coarse)
    return whole, bench, Positions(bench, partial(together, bench=bench), whole, "neck")


def by_setting(found: tuple[Position, ...]) -> dict[str, Position]:
    return {one.setting: one for one in found}


def test_no_change_changes_no_position(real):
    whole, _, positions = real

    found = positions.after(whole)

    assert {one.setting for one in found} == {"both on", "split-screws", "split-slugs"}
    assert all(value == 0.0 for one in found for value in one.difference.values())
    assert all(one.words.endswith(": level as before") for one in found)


def test_lowering_one_pickup_lowers_both_on_by_less_and_its_split_alike(real):
    whole, bench, positions = real
    after = apply(whole, "neck", parse_changes(["lower=1mm"]))

    found = by_setting(positions.after(after))

    alone = bench.state(after, "neck").level_db - bench.state(whole, "neck").level_db
    assert alone < found["both on"].difference["level_db"] < -0.3
    assert found["split-screws"].difference["level_db"] == pytest.approx(alone, abs=1.0)  # one coil, same string


def test_split_is_that_of_the_same_guitar_with_the_coil_switched(real):
    whole, bench, positions = real
    after = apply(whole, "neck", parse_changes(["tone=5"]))

    found = by_setting(positions.after(after))["split-slugs"]

    switched = [bench.state(apply(g, "neck", parse_changes(["wiring=split-slugs"])), "neck") for g in (whole, after)]
    for band in BANDS:
        moved = switched[1].bands_db[band] - switched[0].bands_db[band]
        assert found.difference[f"bands_db.{band}"] == pytest.approx(moved, abs=1e-9)


def test_a_bar_turned_over_is_said_to_be_out_of_phase(real):
    whole, _, positions = real

    found = by_setting(positions.after(apply(whole, "neck", parse_changes(["flip=yes"]))))["both on"]

    assert found.in_phase is False
    assert found.difference["level_db"] < -4.0
    assert found.words.endswith("out of phase now")


@pytest.mark.parametrize(
    ("lead", "settings", "words"),
    [
        ("two-conductor", set(), ""),
        ("four-conductor", {"split-screws", "split-slugs"}, "split to the screw coil: level -1.4 dB"),
        ("unknown", {"split-screws", "split-slugs"}, "split to the screw coil, if its lead allows: level -1.4 dB"),
    ],
)
def test_a_split_is_offered_where_the_lead_allows(lead, settings, words):
    whole = guitar()
    whole = replace(whole, pickups=tuple(replace(one, lead=lead) for one in whole.pickups))

    found = Positions(DoubleBench(), None, whole, "neck").after(apply(whole, "neck", parse_changes(["lower=0.4mm"])))

    assert {one.setting for one in found} == settings
    assert not words or found[0].words == words  # 3.5 dB a millimetre on the double


def test_small_bands_are_not_named_and_the_level_always_is():
    moved = {"level_db": 0.04, **FLAT, "bands_db.highs": -0.29, "bands_db.presence": 0.3}
    assert position_words("both on", moved) == "both on: level as before, presence +0.3 dB"
    assert position_words("both on", {"level_db": 0.4, **FLAT}) == "both on: level +0.4 dB"


class _Both:
    """A stand-in for `together`: counts its calls, and is 1 dB louder for every millimetre of the neck pickup."""

    def __init__(self) -> None:
        self.calls = 0

    def __call__(self, whole: Guitar, names) -> State:
        self.calls += 1
        level = -1e3 * whole.pickup("neck").gap_bass
        return replace(DoubleBench().state(whole, names[0]), level_db=level, in_phase=True)


def test_rows_that_are_shown_say_both_on_and_split_and_no_other_row_does():
    whole, both = guitar(), _Both()

    found = make_plan(whole, DoubleBench(), parse_complaints(["neck: boomy"], whole), both=both)

    shown = [row for row in found.rows if row.change]
    assert both.calls == 1 + len(shown)
    for row in shown:
        assert [one.setting for one in row.other_positions] == ["both on", "split-screws", "split-slugs"]
    assert not any(row.other_positions for row in (*found.rest, found.rows[-1]))
    lowered = next(row for row in shown if row.change[0].startswith("lower"))
    assert lowered.other_positions[0].difference["level_db"] < 0.0
    (first, *_) = plan_json(found)["rows"]
    assert set(first["other_positions"][0]) == {"setting", "pickups", "difference", "in_phase", "words"}
    assert set(first["other_positions"][0]["difference"]) == {"level_db", "bands_db"}


def test_a_complaint_of_the_split_is_not_split_again():
    whole = guitar()
    found = make_plan(whole, DoubleBench(), parse_complaints(["neck: split too thin"], whole))
    assert not any(row.other_positions for row in found.rows)


def test_what_is_behind_the_switch_is_judged_on_a_pickup_where_it_is_heard(real):
    """A plan for one position ended in an error where another pickup is not on there."""
    whole, bench, _ = real
    (one,) = [
        one for one in enumerate_candidates(whole, "neck", Constraints()).candidates if one.texts == ("cable=1000pF",)
    ]
    judged = SimpleNamespace(candidate=one, best=SimpleNamespace(guitar=one.act(whole)))

    benches = (bench.heard_in(position_named(whole, "neck")), bench)
    alone, usual = (Beside(one, whole, "neck", ()).losses(judged) for one in benches)

    assert alone == usual != ()
