"""A table that is asked as one test: it holds where every row does, and else names each row that does not, and why."""

import pytest

from tests.tables import every

ROWS = ((1, 1), (2, 4), (3, 6), (4, 16))


def test_a_table_that_holds_is_asked_row_by_row() -> None:
    asked = []

    @every(ROWS)
    def noted(number: int, square: int) -> None:
        asked.append((number, square))

    noted()
    assert asked == list(ROWS)


def test_each_row_that_does_not_hold_is_named_and_the_others_are_asked_all_the_same() -> None:
    @every(((2, 4), (3, 6), (5, "x"), (4, 16), (7, 50)))
    def squared(number: int, square: int) -> None:
        """Say what a square is."""
        assert number**2 == square + 0, "no square"

    assert squared.__name__ == "squared" and squared.__doc__ == "Say what a square is."
    with pytest.raises(pytest.fail.Exception) as caught:
        squared()
    head, *lines = str(caught.value).splitlines()
    assert head == "3 of 5 rows do not hold:"
    firsts = [one for one in lines if one.startswith("- ")]
    assert [one.split(":")[0] for one in firsts] == ["- 3, 6", "- 5, x", "- 7, 50"]
    assert "no square" in firsts[0] and "TypeError" in firsts[1] and "line " in firsts[2]


def test_what_should_have_been_refused_and_was_not_is_a_row_that_does_not_hold() -> None:
    @every(["1", "x", "2"])
    def refused(text: str) -> None:
        with pytest.raises(ValueError):
            int(text)

    with pytest.raises(pytest.fail.Exception, match=r"2 of 3 rows") as caught:
        refused()
    assert "- 1: Failed" in str(caught.value) and "- x" not in str(caught.value)


def test_a_row_that_is_a_list_is_one_argument_where_the_test_takes_one() -> None:
    seen: list[list[str]] = []
    every([["a", "b"]])(seen.append)()
    assert seen == [["a", "b"]]


def test_a_table_without_rows_is_refused() -> None:
    with pytest.raises(ValueError, match="no rows"):
        every(())(lambda row: None)


def test_a_stop_from_the_keyboard_stops_the_table() -> None:
    def stopped(row: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        every([1, 2])(stopped)()
