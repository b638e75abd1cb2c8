"""The last values that were made, by key, in the memory of one process: the one cache that forgets by age or by size.

A function of hashable arguments takes `functools.lru_cache`; `Kept` is for what that cannot do: values that are put in
from elsewhere, a limit in bytes, a look at what is kept without making it. `HashedOnce` is for records of many parts
that are such keys.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from contextlib import suppress
from dataclasses import fields
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Kept(Generic[Key, Value]):
    """Values by key; whatever goes over the limit goes in the order of its last use, the newest value never.

    Threads may share one: no call fails because another took a value away, and a value may be made twice. It can be
    pickled when what it holds can.

    Parameters
    ----------
    most : float
        Number of values, or the sum of their sizes where ``size`` is given.
    size : callable, optional
        Size of a value, bytes.

    >>> last = Kept[str, int](2)
    >>> last["a"], last["b"] = 1, 2
    >>> last["a"]  # used again: "b" is the next to go
    1
    >>> last["c"] = 3
    >>> list(last)
    ['a', 'c']
    """

    __slots__ = ("_most", "_size", "_values")

    def __init__(self, most: float, size: Callable[[Value], float] | None = None) -> None:
        self._most, self._size = most, size
        self._values: OrderedDict[Key, Value] = OrderedDict()

    def __contains__(self, key: object) -> bool:
        return key in self._values

    def __len__(self) -> int:
        return len(self._values)

    def __iter__(self) -> Iterator[Key]:
        """Go through the keys as they are now, the newest last; none of them is made newer by that."""
        return iter(list(self._values))

    def __getitem__(self, key: Key) -> Value:
        """Return what is kept under ``key`` and make it the newest.

        Raises
        ------
        KeyError
            When nothing is.
        """
        value = self._values[key]
        self._touch(key)
        return value

    def __setitem__(self, key: Key, value: Value) -> None:
        self._values[key] = value
        self._touch(key)
        while len(self._values) > 1 and self._total() > self._most:
            try:
                self._values.popitem(last=False)
            except KeyError:  # another thread emptied it meanwhile
                return

    def __delitem__(self, key: Key) -> None:
        self._values.pop(key, None)

    def get(self, key: Key) -> Value | None:
        """Return what is kept under ``key`` and make it the newest; None when nothing is."""
        try:
            return self[key]
        except KeyError:
            return None

    def clear(self) -> None:
        """Forget everything."""
        self._values.clear()

    def items(self) -> list[tuple[Key, Value]]:
        """Return keys and values, the newest last."""
        return list(self._values.items())

    def values(self) -> list[Value]:
        """Return the values, the newest last."""
        return list(self._values.values())

    def _touch(self, key: Key) -> None:
        with suppress(KeyError):  # another thread took it away meanwhile
            self._values.move_to_end(key)

    def _total(self) -> float:
        return len(self._values) if self._size is None else sum(self._size(one) for one in self.values())


class HashedOnce:
    """Base of a frozen dataclass of many parts that is often a key: its hash is worked out once.

    A dataclass makes a hash of its own unless its body names one: ``__hash__ = HashedOnce.__hash__``. What was worked
    out is no field: not compared, not pickled (another process hashes text otherwise), not taken over by `replace`.
    """

    __slots__ = ("_hash",)
    _hash: int

    def __hash__(self) -> int:
        """Return the hash of the fields, as a frozen dataclass has it."""
        try:
            return self._hash
        except AttributeError:
            found = hash(tuple(getattr(self, one.name) for one in fields(self)))  # type: ignore[arg-type]
            object.__setattr__(self, "_hash", found)
            return found
