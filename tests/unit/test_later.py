"""Libraries that take long to load come when they are asked for, and not before."""

import inspect
import subprocess
import sys
from pathlib import Path

import pytest

from polepiece.later import Compiled, Later, is_compiled, njit, prange

DEMO = Path(__file__).parents[2] / "examples" / "demo.guitar.toml"
LOADED = "print([n for n in ('scipy', 'numba') if n in sys.modules])"


def said(program: str, *arguments: object) -> list[str]:
    """Return the lines that a Python of its own prints."""
    found = subprocess.run(
        [sys.executable, "-c", f"import sys\n{program}", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=True,
    )
    return found.stdout.splitlines()


@njit()
def _twice(x):  # type: ignore[no-untyped-def]
    return 2.0 * x


@njit(parallel=True)
def _sum_of_twice(values):  # type: ignore[no-untyped-def]
    total = 0.0
    for k in prange(len(values)):
        total += _twice(values[k])
    return total


def test_a_compiled_function_calls_another_and_loops_in_threads() -> None:
    import numpy as np

    twice, total = _twice, _sum_of_twice
    assert isinstance(twice, Compiled)
    assert isinstance(total, Compiled)
    assert not is_compiled(total)
    assert total(np.arange(5.0)) == 20.0  # sums of small whole numbers are exact
    assert is_compiled(twice)
    assert twice(3.0) == 6.0
    assert len(total.signatures) == 1
    assert not isinstance(_twice, Compiled)  # compiled code calls what took its place


def test_who_looks_what_a_library_is_does_not_load_it() -> None:
    def load():  # type: ignore[no-untyped-def]
        raise AssertionError("loaded")

    library = Later(load)
    assert inspect.unwrap(library) is library  # type: ignore[arg-type]
    assert not hasattr(library, "__wrapped__")
    with pytest.raises(AssertionError, match="loaded"):
        _ = library.solve


def test_all_that_a_plan_is_made_with_loads_neither_solver_nor_compiler() -> None:
    assert said(f"import polepiece.cli.commands, polepiece.bench, polepiece.planning\n{LOADED}") == ["[]"]


def test_the_first_moves_on_a_warm_cache_need_neither_solver_nor_compiler(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A coarse pickup, solved in this process and left on disk, is asked for in another."""
    from polepiece.bench import Bench
    from polepiece.guitar import read_guitar
    from polepiece.pickup import engine, turning

    engine.forget()  # what other tests have solved in this process is on another disk
    turning.forget()
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path))
    Bench(resolution=engine.COARSE).state(read_guitar(DEMO), "neck")
    program = (
        "from polepiece.bench import Bench\n"
        "from polepiece.guitar import Complaint, read_guitar\n"
        "from polepiece.pickup import engine\n"
        "from polepiece.planning import make_plan\n"
        "def tell(line):\n"
        "    if line.startswith('Best free move'):\n"
        f"        {LOADED}; print(line); sys.exit()\n"
        "bench = Bench(resolution=engine.COARSE, exact_screws=False)\n"
        "make_plan(read_guitar(sys.argv[1]), bench, [Complaint(word='muddy', pickup='neck')], tell=tell)\n"
    )
    loaded, line = said(program, DEMO)
    assert loaded == "[]"
    assert "neck pickup" in line
