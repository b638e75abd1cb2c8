"""Studies by name: functions that return rows, each row one figure beside its reference."""

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

STUDIES: "dict[str, Study]" = {}


def two_processes() -> ProcessPoolExecutor:
    """Return two fresh processes: a fork after compiled loops have run in threads ends at once (GNU OpenMP)."""
    return ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One figure. ``error`` and ``tolerance`` share a unit; a row without tolerance states, it does not judge."""

    case: str
    quantity: str
    found: str
    reference: str
    error: float | None = None  # a fraction, unless the study says otherwise
    tolerance: float | None = None

    @property
    def verdict(self) -> str:
        """PASS, FAIL or - (nothing to judge)."""
        if self.tolerance is None or self.error is None:
            return "-"
        return "PASS" if abs(self.error) <= self.tolerance else "FAIL"


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A named study: what it compares, with what, and the function that computes its rows."""

    name: str
    title: str
    about: str
    compute: Callable[[], Iterator[Row]] = field(repr=False)


def study(name: str, title: str, about: str) -> Callable[[Callable[[], Iterator[Row]]], Callable[[], Iterator[Row]]]:
    """Register a function that yields rows as the study ``name``."""

    def register(compute: Callable[[], Iterator[Row]]) -> Callable[[], Iterator[Row]]:
        if name in STUDIES:
            raise ValueError(f"two studies are called {name}")
        STUDIES[name] = Study(name=name, title=title, about=about, compute=compute)
        return compute

    return register
