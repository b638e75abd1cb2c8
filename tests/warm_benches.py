"""A bench begins with what benches like it have solved before in this process, in rooms that look at what is answered.

A command makes a bench, and a hundred tests run a command on the same guitar: each would solve it again. What a bench
keeps is a function of its keys, so an answer is the same; pages keep their bench in the same way. That a command alone
answers is looked at by those that start one (`started` in `tests/cli`), by the pages' and by `tests/unit/bench`, whose
benches begin with nothing. Only constants are no part of a key: those of another file are kept apart.
"""

import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest

ROOMS = (
    "tests/cli/", "tests/docs/", "tests/examples/", "tests/trade/", "tests/unit/auditioning/", "tests/unit/moves/",
    "tests/unit/report/",
)  # fmt: skip
MOST = 24  # geometries that are held, as many as the engine holds itself
KNOWN: dict[tuple[object, ...], dict[str, Any]] = {}


def on_a_warm_bench(made: Callable[..., None]) -> Callable[..., None]:
    """Return a constructor whose bench has what benches of the same draws, fineness and constants have solved."""
    from polepiece.kept import Kept
    from polepiece.which_constants import VARIABLE

    def begun(self: Any, **options: Any) -> None:
        made(self, **options)
        kind = (type(self), self.seed, self.resolution, self.exact_screws, os.environ.get(VARIABLE))
        own = {name: value for name, value in vars(self).items() if isinstance(value, Kept)}
        if len({id(one.model) for one in KNOWN.get(kind, own)["_magnetised"].values()}) > MOST:
            del KNOWN[kind]
        vars(self).update(KNOWN.setdefault(kind, own))

    return begun


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Have every bench of a test of those rooms, and of its fixtures, begin so."""
    if not item.nodeid.startswith(ROOMS):
        return (yield)
    from polepiece.bench import Bench

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Bench, "__init__", on_a_warm_bench(Bench.__init__))
        return (yield)
