"""Where people say of a bar what was not found."""

from polepiece.trade import not_found

FLAT = {
    "level_db": 0.0, "bands_db.lows": 0.0, "bands_db.mids": 0.0, "bands_db.highs": 0.0, "bands_db.presence": 0.0,
    "bands_own_db.lows": 0.0, "bands_own_db.mids": 0.0, "bands_own_db.highs": 0.0, "bands_own_db.presence": 0.0,
}  # fmt: skip


def test_a_saying_that_was_not_found_is_one_sentence_with_both() -> None:
    found = {**FLAT, "level_db": -1.5, "bands_own_db.lows": -1.5}
    said = not_found("alnico-2", "alnico-3", found)
    assert said == (
        "People say of Alnico 3 (highs, disputed): clearer, a little more than 2; computed here, top: "
        "hardly any difference."
    )


def test_where_it_was_found_nothing_is_said() -> None:
    found = {**FLAT, "level_db": -1.5, "bands_own_db.lows": -1.5, "bands_db.highs": 0.8, "bands_db.presence": 0.8}
    assert not_found("alnico-2", "alnico-3", found) == ""


def test_the_saying_of_the_bar_that_comes_out_counts_the_other_way_round() -> None:
    """5 is said to be louder than 2; out with the 5 and in with a 2 it should be quieter."""
    quieter = {**FLAT, "level_db": -2.0, "bands_own_db.lows": -2.0, "bands_db.highs": -1.0, "bands_db.presence": -1.0,
               "bands_db.mids": 1.0}  # fmt: skip
    assert not_found("alnico-5", "alnico-2", quieter) == ""
    assert "Alnico 2 (level): moderate: over 3, under 5" in not_found(
        "alnico-5", "alnico-2", {**quieter, "level_db": 1.0}
    )


def test_without_constants_or_without_a_change_nothing_is_said() -> None:
    assert not_found("alnico-2", "alnico-2", FLAT) == ""
    assert not_found("alnico-2", "alnico-5-unoriented", FLAT) == ""
    assert not_found("alnico-2", "alnico-3", {}) == ""
