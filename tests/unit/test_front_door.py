"""`from polepiece import ...` gives every verb, and `import polepiece` alone loads nothing heavy."""

import subprocess
import sys
from pathlib import Path

import pytest

import polepiece
from tests.tables import every

FILE = Path(__file__).parents[2] / "examples" / "reference-humbucker.guitar.toml"


@every(polepiece.__all__)
def test_every_name_is_there(name: str) -> None:
    assert callable(getattr(polepiece, name))


def test_verbs_of_the_command_line_are_there() -> None:
    for name in ("plan", "predict", "grades", "hear", "field", "impedance", "string_readings"):
        assert callable(getattr(polepiece, name)), name


def test_no_package_is_patched_into_a_verb() -> None:
    code = (
        "import types, polepiece.planning, polepiece.strings as package; "
        "from polepiece import strings, string_readings; "
        "assert strings is package and type(strings) is types.ModuleType and not callable(strings); "
        "from polepiece import read_guitar; "
        f"a = string_readings(read_guitar({str(FILE)!r}), 'reference'); print(len(a.force))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "6"


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="nonsense"):
        _ = polepiece.nonsense


def test_importing_the_package_loads_nothing_heavy() -> None:
    code = "import sys, polepiece; print([n for n in ('numpy', 'scipy', 'numba', 'typer', 'rich') if n in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
