"""Commands that compute nothing load nothing numerical: they answer in a fifth of a second."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@pytest.mark.parametrize("line", [["notebook", "backup", "--list"], ["customer", "list"], ["--version"]])
def test_looking_loads_no_numerical_library(line: list[str], tmp_path: Path) -> None:
    code = (
        "import sys, os; sys.argv = ['polepiece', *sys.argv[1:]]\n"
        "def end(code=0):\n"
        "    print('LOADED', sorted({'numpy', 'scipy', 'numba'} & set(sys.modules))); sys.stdout.flush(); kill(0)\n"
        "kill = os._exit; os._exit = end\n"
        "from polepiece.cli.main import run\n"
        "try:\n    run()\nfinally:\n    end()\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", code, *line], capture_output=True, text=True, check=False,
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "POLEPIECE_NOTEBOOK": str(tmp_path / "n.sqlite"),
             "PYTHONPATH": ":".join(sys.path)},
    )  # fmt: skip
    assert "LOADED []" in found.stdout, found.stdout + found.stderr


def test_the_second_process_of_grades_starts_before_the_first_loads_what_both_need() -> None:
    """A plan's starts later, with its first words: they come sooner while nothing else loads."""
    code = (
        "import sys\n"
        "import polepiece.cli.second as second\n"
        "def started():\n"
        "    print('LOADED', sorted({'numpy', 'polepiece.bench'} & set(sys.modules)))\n"
        "    raise SystemExit\n"
        "second.second_process = started\n"
        "sys.argv = ['polepiece', *sys.argv[1:]]\n"
        "from polepiece.cli.main import run\n"
        "run()\n"
    )
    found = subprocess.run([sys.executable, "-c", code, "grades", "demo"], capture_output=True, text=True, check=False)
    assert "LOADED []" in found.stdout, found.stdout + found.stderr


def test_the_second_process_of_a_plan_is_asked_for_with_the_first_words_and_not_before(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from polepiece.bench import Bench
    from polepiece.cli import plan
    from polepiece.guitar import read_guitar

    class Nothing(Bench):
        def state(self, *_: object) -> None:  # type: ignore[override]
            raise KeyboardInterrupt

    happened: list[object] = []

    @contextmanager
    def aloud(_: str) -> Iterator[tuple[object, object]]:
        yield None, happened.append

    monkeypatch.setattr(plan, "working_aloud", aloud)
    demo = read_guitar(Path(__file__).parents[2] / "examples" / "demo.guitar.toml")
    with pytest.raises(KeyboardInterrupt):
        plan.planned(demo, None, None, draws=64, bench=Nothing(), quiet=False, second=happened.append)
    assert str(happened[0]).startswith("Rule out first")
    assert happened[1] is plan.import_physics
    assert plan.import_physics not in happened[2:]
