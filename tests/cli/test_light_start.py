"""Commands that compute nothing load nothing numerical: they answer in a fifth of a second."""

import subprocess
import sys
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
    """A plan's starts later: its first words come 0.2 s sooner while nothing else loads, and its end is the same."""
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
