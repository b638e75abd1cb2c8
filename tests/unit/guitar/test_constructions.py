"""Records of constructions: what contradicts itself is refused when it is made, and an unknown name clearly."""

from dataclasses import replace
from typing import Any

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Pickup, Poles
from polepiece.guitar.assumption import Default
from polepiece.guitar.constructions import CONSTRUCTIONS, Construction, construction_of
from polepiece.guitar.constructions.pole import SCREWS, SLUGS, Row

HUMBUCKER, RODS, BAR, TWO_BARS = CONSTRUCTIONS[:4]
EACH = pytest.mark.parametrize("one", CONSTRUCTIONS, ids=[one.slug for one in CONSTRUCTIONS])
WORK = BAR.bar_work
assert WORK is not None


def test_an_unknown_construction_is_refused_with_those_that_there_are() -> None:
    with pytest.raises(InputError, match=r"humbuker.; it must be one of humbucker, rod-single, "):
        Pickup(name="p", position="neck", construction="humbuker")


def test_a_pickup_has_the_record_of_its_construction() -> None:
    assert Pickup(name="p", position="neck", construction="humbucker").built is HUMBUCKER
    assert [construction_of(one.slug) for one in CONSTRUCTIONS] == list(CONSTRUCTIONS)


@pytest.mark.parametrize(
    ("one", "values", "words"),
    [
        (BAR, {"rows": ()}, "no row of poles"),
        (BAR, {"bar_work": None}, "either bar_work or magnets_stay"),
        (BAR, {"bars": 0}, "0 bars, and its poles are slugs"),
        (RODS, {"bars": 1}, "1 bars, and its poles are rods"),
        (BAR, {"has_keeper": True}, "a keeper sits on screws"),
        (BAR, {"wirings": ("series", "parallel")}, "one coil is wired in series only"),
        (BAR, {"bars": 2}, "bars_together says how several bars stand"),
        (BAR, {"cover": {"length": 70.0}}, "cover lacks thickness, width, z"),
        (BAR, {"defaults": {"poles.screw_top": Default(1.0)}}, "defaults for what it does not have: poles.screw_top"),
        (BAR, {"bar_work": replace(WORK, fit_words={})}, "fit_words say nothing of"),
        (BAR, {"bar_work": replace(WORK, new_bar_in="In.")}, "no place for {to}"),
        (BAR, {"rows": (Row(pole=SCREWS),), "defaults": {}}, r"shapes draw \['slugs'\] instead of \['screws'\]"),
        (TWO_BARS, {"bar_stretches": BAR.bar_stretches}, "bar_stretches gives 1 bars instead of 2"),
        (TWO_BARS, {"shapes": BAR.shapes}, "shapes draw 1 magnets instead of 2"),
        (HUMBUCKER, {"rows": (Row(pole=SLUGS, side=1), Row(pole=SCREWS, side=-1))}, "coils need names of their own"),
    ],
)
def test_a_record_that_contradicts_itself_is_refused(one: Construction, values: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        replace(one, **values)


@EACH
def test_the_highest_pole_is_that_of_the_shapes(one: Construction) -> None:
    poles = Poles()
    drawn = one.shapes(Pickup(name="p", position="neck", construction=one.slug, coils=(), poles=poles).magnet, poles)
    tops = [section.top for rod in drawn.rods for section in rod.sections]
    tops += [bar.z_max for bar in drawn.bars if bar.is_blade]
    tops += poles.rod_lengths if one.magnet_is_the_pole else ()
    assert one.highest_pole(poles) == max(tops)


@EACH
def test_a_record_lacks_exactly_what_nothing_of_it_is_made_of(one: Construction) -> None:
    wanted = {
        "poles.slug_": "slugs", "poles.screw_": "screws", "poles.head_": "screws", "poles.rod_": "rods",
    }  # fmt: skip
    rows = {row.pole.name for row in one.rows}
    for key, pole in wanted.items():
        assert (key in one.lacks) == (pole not in rows)
    assert ("magnet.width" in one.lacks) == (one.bars == 0)
    assert ("poles.keeper_" in one.lacks) != one.has_keeper


@pytest.mark.parametrize(("one", "shown"), [(HUMBUCKER, "S"), (TWO_BARS, "N")])
def test_the_other_pole_is_shown_where_the_bar_is_turned(one: Construction, shown: str) -> None:
    pickup = Pickup(name="p", position="neck", construction="humbucker")
    turned = replace(pickup.magnet, flipped=True)
    assert one.pole_shown(pickup.magnet, pickup.poles) == shown
    assert one.pole_shown(turned, pickup.poles) != shown
