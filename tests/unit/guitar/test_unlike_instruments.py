"""Instruments of other kinds than usual: what is assumed of them fits them, and is asked about rightly."""

from typing import Any

import pytest

from polepiece.guitar import Guitar, Slot, cautions, construction_of, entered, parse_guitar, write_guitar

BASS_OF_FIVE = {"strings": "45-130", "scale_length": "34 in"}


def one_pickup(construction: str, guitar: dict[str, str] | None = None, **answers: str) -> Guitar:
    """A guitar with one pickup at the bridge."""
    said = {"position": "bridge", "construction": construction} | {k.replace("__", "."): v for k, v in answers.items()}
    found = entered({"name": "x"} | (guitar or {}), [Slot(answers=said)])
    assert found.guitar is not None, found.faults
    return found.guitar


def assumed(guitar: Guitar, key: str) -> Any:
    return next(one for one in guitar.assumed if one.path.endswith(key))


@pytest.mark.parametrize(
    "known, unread, usual", [("gap_bass", "gap_treble", 0.5), ("gap_treble", "gap_bass", -0.5)]
)  # fmt: skip
def test_a_gap_that_was_not_read_is_assumed_beside_the_one_that_was(known: str, unread: str, usual: float) -> None:
    """A person who reads one gap is not asked whether bass and treble are swapped: the other was never said."""
    for read in (2.1, 2.25, 3.5):
        guitar = one_pickup("humbucker", **{known: f"{read}"})
        pickup, other = guitar.pickups[0], assumed(guitar, f"{unread}_mm")
        assert 1e3 * (getattr(pickup, known) - getattr(pickup, unread)) == pytest.approx(usual)
        assert other.low < 1e3 * getattr(pickup, unread) < other.high
        assert not any("swapped" in one for one in cautions(guitar))
    both = one_pickup("humbucker", gap_bass="2", gap_treble="2.6")
    assert any("swapped" in one for one in cautions(both))


@pytest.mark.parametrize("construction", ["humbucker", "rod-single", "split-rods"])
def test_no_gap_is_assumed_at_which_a_string_would_be_pulled(construction: str) -> None:
    """Of a small gap that was read it may be asked; of one that nobody gave it would be asked for nothing."""
    built = construction_of(construction)
    just_safe = one_pickup(construction, gap_bass=f"{1e3 * built.safe_gap_bass:g}")
    assert just_safe.pickups[0].gap_treble >= min(built.safe_gap_treble, just_safe.pickups[0].gap_bass)
    assert not any("pulled or touch" in one for one in cautions(just_safe))
    near = one_pickup(construction, gap_bass="0.4")
    assert near.pickups[0].gap_treble == near.pickups[0].gap_bass
    assert assumed(near, "gap_treble_mm").low == pytest.approx(0.3)  # as little as a file may say
    high = one_pickup(construction, gap_treble=f"{1e3 * built.safe_gap_treble:g}")
    assert high.pickups[0].gap_bass >= built.safe_gap_bass


@pytest.mark.parametrize("strings", ["11 14 18 28 38 49", "9 11 16 19 32 42", "10 13 17 26 36 46"])
def test_a_plain_third_string_leaves_the_file_short(strings: str) -> None:
    """One of .018 to .024 is only assumed to be plain: its core is not written, or reading would take it as said."""
    guitar = one_pickup("humbucker", {"strings": strings})
    text = write_guitar(guitar)
    assert "[[assumed]]" not in text
    assert parse_guitar(text) == guitar


@pytest.mark.parametrize("construction", ["humbucker", "rod-single", "split-rods", "small-twin-blade"])
@pytest.mark.parametrize("strings", ["45-105", "10-46", "10-59"])
def test_spacing_is_measured_as_many_poles_as_there_are(construction: str, strings: str) -> None:
    settle = assumed(one_pickup(construction, {"strings": strings}), "pole_spacing").settle
    assert "divided by one less than there are" in settle
    assert ("strings" in settle) == ("blade" in construction)  # a blade shows no pole that a caliper could find


def test_two_rods_a_string_stand_half_as_far_apart() -> None:
    """Ten rods under five strings of a bass: a row as long as its strings are wide, not one of 162 mm."""
    guitar = one_pickup("rod-single", BASS_OF_FIVE, poles__count="10")
    assert guitar.pickups[0].poles.pole_spacing == pytest.approx(9e-3)
    one_each = one_pickup("rod-single", BASS_OF_FIVE)
    assert one_each.pickups[0].poles.pole_spacing == pytest.approx(18e-3)
    spread = assumed(guitar, "pole_spacing")
    assert (spread.low, spread.high) == (8.0, 10.0)


@pytest.mark.parametrize("construction", ["rod-single", "split-rods"])
def test_the_spacing_of_two_rods_a_string_is_not_asked_about(construction: str) -> None:
    usual = one_pickup(construction, {"strings": "45-105"}, poles__count="8", poles__pole_spacing="9.5")
    assert not any("pole_spacing" in one for one in cautions(usual))
    wrong = one_pickup(construction, {"strings": "45-105"}, poles__count="8", poles__pole_spacing="6")
    assert any("usual are 7.5 to 10 mm" in one for one in cautions(wrong))


@pytest.mark.parametrize("strings, rods", [("45-105", 4), ("45-130", 5)])
def test_a_coil_round_half_of_a_longer_row_is_as_much_longer_as_its_half(strings: str, rods: int) -> None:
    pickup = one_pickup("split-rods", {"strings": strings}).pickups[0]
    half_row = 0.5 * (rods - 1) * pickup.poles.pole_spacing + 0.5 * pickup.poles.rod_diameter
    for coil in pickup.coils:
        assert half_row < coil.inner_half_y < half_row + 1.5e-3  # the rods fill it but for a flange


def test_an_odd_string_between_two_halves_is_asked_about() -> None:
    assert any("string 3 of 5 lies over both" in one for one in cautions(one_pickup("split-rods", BASS_OF_FIVE)))
    assert not any("over both" in one for one in cautions(one_pickup("split-rods", {"strings": "45-105"})))
    assert not any("over both" in one for one in cautions(one_pickup("humbucker", BASS_OF_FIVE)))
