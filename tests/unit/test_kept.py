"""What is kept, what goes first, and that threads do not trip over one another."""

import pickle
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import pytest

from polepiece.kept import HashedOnce, Kept


def test_the_least_lately_used_goes_first() -> None:
    last = Kept[str, int](2)
    last["a"], last["b"] = 1, 2
    assert last["a"] == 1
    last["c"] = 3
    assert list(last) == ["a", "c"]
    last["a"] = 4  # written again: newest again
    assert last.items() == [("c", 3), ("a", 4)]


def test_to_look_at_all_of_them_is_no_use_of_any() -> None:
    last = Kept[str, int](3)
    last["a"], last["b"], last["c"] = 1, 2, 3
    assert (last.values(), "a" in last, len(last)) == ([1, 2, 3], True, 3)
    last["d"] = 4
    assert list(last) == ["b", "c", "d"]


def test_a_limit_in_size_counts_sizes_and_spares_the_newest() -> None:
    last = Kept[str, bytes](10, size=len)
    last["a"], last["b"] = b"12345", b"12345"
    assert list(last) == ["a", "b"]
    last["c"] = b"1"
    assert list(last) == ["b", "c"]
    last["large"] = b"x" * 99  # over the limit by itself: the others go, it stays
    assert list(last) == ["large"]


def test_what_is_not_there() -> None:
    last = Kept[str, int](2)
    assert last.get("a") is None
    with pytest.raises(KeyError):
        last["a"]
    del last["a"]  # as after another thread took it away
    last["a"] = 1
    last.clear()
    assert len(last) == 0


def test_it_can_go_to_another_process() -> None:
    last = Kept[str, int](2)
    last["a"] = 1
    again = pickle.loads(pickle.dumps(last))
    again["b"], again["c"] = 2, 3
    assert list(again) == ["b", "c"]
    assert list(last) == ["a"]


class Vanishing:
    """A key that "another thread" takes away the second time that it is looked at."""

    def __init__(self) -> None:
        self.looks, self.away = 0, lambda: None

    def __hash__(self) -> int:
        self.looks += 1
        if self.looks == 2:
            self.away()
        return 1


def test_another_thread_may_take_a_value_away_at_any_moment() -> None:
    last, key = Kept[Vanishing, int](2), Vanishing()
    last[key], last[Vanishing()] = 1, 2
    key.looks, key.away = 0, last.clear
    assert last[key] == 1  # it was there when it was looked up
    assert len(last) == 0

    emptied = Kept[str, int](1, size=lambda one: emptied.clear() or 2)  # while sizes are added up
    emptied["a"], emptied["b"] = 1, 2
    assert len(emptied) == 0


def test_threads_share_one() -> None:
    last = Kept[int, int](3)

    def turn(seed: int) -> None:
        for k in range(2000):
            key = (seed + k) % 7
            last[key] = key
            found = last.get((key + 3) % 7)
            assert found is None or found == (key + 3) % 7
            last.values()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(turn, range(4)))  # raises what a thread raised
    assert len(last) <= 3


@dataclass(frozen=True, slots=True)
class Drawn(HashedOnce):
    """A record that is a key."""

    name: str
    sizes: tuple[float, ...]
    __hash__ = HashedOnce.__hash__


def test_a_hash_worked_out_once_is_that_of_the_record_and_stays_behind_when_it_travels():
    one = Drawn("a", (1.0, 2.0))
    assert hash(one) == hash(("a", (1.0, 2.0))) == hash(one) and hash(replace(one, name="b")) != hash(one)
    assert {one: 1}[Drawn("a", (1.0, 2.0))] == 1 and replace(replace(one, name="b"), name="a") == one
    assert not hasattr(pickle.loads(pickle.dumps(one)), "_hash")  # another process hashes text otherwise
