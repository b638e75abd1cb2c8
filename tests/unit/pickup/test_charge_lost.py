"""A bar that is taken out: what it loses is computed, and the words follow from that, for every grade."""

from dataclasses import replace

import pytest

from polepiece.bench.intervals import magnet_moves
from polepiece.guitar.file.guitar_file import parse_guitar
from polepiece.guitar.records import Guitar, Pickup
from polepiece.materials import catalogue
from polepiece.moves.changes import parse_change
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.charge_lost import WHOLE, charge_lost, comes_back_whole
from polepiece.planning.candidates import Candidate
from polepiece.planning.words import notes_of

GRADES = tuple(one.slug for one in catalogue.magnets())


def made(grade: str, charge: str = "in-place", construction: str = "humbucker") -> tuple[Guitar, Pickup]:
    guitar = parse_guitar(
        f'[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{construction}"\n'
        f'magnet.grade = "{grade}"\nmagnet.charge = "{charge}"\n'
    )
    return guitar, guitar.pickups[0]


def notes(guitar: Guitar, pickup: Pickup) -> str:
    change = parse_change("magnet=alnico-3")
    task = change.describe(guitar, "p")
    candidate = Candidate(pickup="p", changes=(change,), tasks=(task,))
    return " ".join(notes_of(candidate, pickup)) + " " + task.way_back


@pytest.mark.parametrize("grade", GRADES)
def test_words_follow_from_the_computed_loss_for_every_grade(grade: str) -> None:
    guitar, unit = made(grade)
    lost = charge_lost(unit)
    assert comes_back_whole(unit) == (lost < WHOLE)
    said = notes(guitar, unit)
    assert ("does not come back whole" in said) == (lost >= WHOLE)
    assert ("weaker" in said) == (lost >= WHOLE)
    assert parse_change("flip=yes").describe(guitar, "p").reversible == (lost < WHOLE)
    if lost >= WHOLE:
        assert f"{100 * lost:.0f} % of its field" in said


@pytest.mark.parametrize("grade", GRADES)
def test_a_ferrite_bar_through_its_width_loses_nothing_and_every_alnico_does(grade: str) -> None:
    # a bar 63.5 x 12.7 x 3.2 mm through its width has N = 0.22: ferrite in air stays above its knee, alnico does not
    lost = charge_lost(made(grade)[1])
    assert (lost < 1e-3) == grade.startswith("ceramic") and lost < 0.4


@pytest.mark.parametrize("grade", ["alnico-2", "alnico-5", "ceramic-8"])
def test_the_loss_is_that_of_the_charge_interval(grade: str) -> None:
    """The interval of an unknown charge comes from another model of the same coarse mesh: the same change."""
    unit = made(grade, "unknown")[1]
    shape = anatomy(unit)
    ys = tuple(sorted({abs(y) for y in shape.pole_y}))
    layout = engine.StringLayout(y=ys, length=0.05, low=shape.top + engine.LOWEST, high=shape.top + engine.HIGHEST)
    moves = magnet_moves(unit, layout)
    assert moves.in_place is not None
    gained = float((moves.in_place * moves.table).sum() / (moves.table**2).sum())
    assert charge_lost(unit) == pytest.approx(gained / (1 + gained), abs=0.01)  # a norm against a projection


def test_what_has_been_in_air_has_nothing_left_to_lose() -> None:
    pickup = made("alnico-5", "outside")[1]
    assert charge_lost(pickup) == 0.0
    assert charge_lost(replace(pickup, magnet=replace(pickup.magnet, charge=0.5))) == 0.0


def test_long_rods_come_back_whole() -> None:
    assert comes_back_whole(made("alnico-5", "in-place", "rod-single")[1])
