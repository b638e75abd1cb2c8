"""A construction is one file: a fifth one, from its file and its place in the registry, is known everywhere.

What is asked of it is in `questions.py`, which runs in a process of its own: this one has the package without it.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

from polepiece.guitar import constructions

HERE, ROOT = Path(__file__).parent, Path(__file__).parents[2]
IMPORT = "from polepiece.guitar.constructions.two_bar_single import TWO_BAR_SINGLE\n"
MORE = "from polepiece.guitar.constructions.two_ferrite_single import TWO_FERRITE_SINGLE\n"
PLACE = "SIDE_BAR_SINGLE,\n"


def test_contributing_names_the_two_files() -> None:
    (row,) = re.findall(r"^\| construction \|([^|]*)\|", (ROOT / "CONTRIBUTING.md").read_text("utf-8"), re.MULTILINE)
    assert re.findall(r"`([^`]+)`", row) == ["guitar/constructions/NAME.py", "guitar/constructions/__init__.py"]


def test_a_construction_of_one_file_is_known_everywhere(tmp_path: Path) -> None:
    registry = Path(constructions.__file__).read_text(encoding="utf-8")
    listed = registry.replace(IMPORT, IMPORT + MORE).replace(PLACE, "SIDE_BAR_SINGLE, TWO_FERRITE_SINGLE,\n")
    was, now = registry.splitlines(), listed.splitlines()
    assert len(set(now) - set(was)) == 2, "one import, one place in the tuple"
    (tmp_path / "__init__.py").write_text(listed, encoding="utf-8")
    added = (HERE / "two_ferrite_single.py").read_text(encoding="utf-8")
    (tmp_path / "two_ferrite_single.py").write_text(added, encoding="utf-8")
    asked = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "tests.added_construction.overlay", "-p", "no:cacheprovider",
         str(HERE / "questions.py")],
        cwd=ROOT, env=os.environ | {"POLEPIECE_ADDED": str(tmp_path)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert asked.returncode == 0, asked.stdout[-8000:] + asked.stderr[-2000:]
    assert " passed" in asked.stdout and "skipped" not in asked.stdout, asked.stdout
