"""The rules of ARCHITECTURE.md, read off the syntax tree of every module; each rule is shown able to fail."""

import ast
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"
RUNGS = [
    "errors constants arrays threads later typed_number shown_number meter_accuracy draw_counts which_constants kept",
    "materials",
    "geometry",
    "magnetics",
    "coil",
    "circuit",
    "strings",
    "sound",
    "measure",
    "guitar",
    "pickup",
    "moves",
    "bench",
    "winding",
    "trade",
    "evidence",
    "study",
    "planning",
    "auditioning",
    "notebook",
    "report",
    "app",
    "cli",
]
RANK = {name: rank for rank, rung in enumerate(RUNGS) for name in rung.split()}
READERS = {
    "materials/catalogue.py",
    "materials/pooled.py",  # constants that many benches told
    "guitar/file/guitar_file.py",
    "sound/wav.py",
    "sound/written_wav.py",
    "measure/files.py",
    "magnetics/cache.py",
    "notebook/archive_zip.py",
    "notebook/end_note.py",  # where the notebook ends
    "notebook/photos.py",  # beside the notebook
    "app/server/address.py",  # the token of the visitors
    "cli/output.py",  # the head of a page that is in the way
    "sound/phrase_file.py",  # a phrase of one's own
    "study/kept_parts.py",  # finished chunks of a sweep
}
WRITING_ROOMS = {"report", "cli"}
READ_METHODS = {"read_text", "read_bytes", "loadtxt", "genfromtxt", "fromfile", "memmap", "SoundFile"}
READ_FUNCTIONS = {
    *((library, "load") for library in ("np", "numpy", "json", "pickle", "tomllib")),
    *((library, name) for library in ("sf", "soundfile") for name in ("read", "blocks", "info")),
    ("resources", "files"),
    ("wavfile", "read"),
}
SQL = {"sqlite3", "sqlalchemy", "alembic", "psycopg"}
WRITE_METHODS = {"write_text", "write_bytes", "savetxt", "savez", "savez_compressed", "tofile"}


@cache
def nodes_of(source: str) -> tuple[ast.AST, ...]:
    """Return every node of a module's tree; asked for three times a module."""
    return tuple(ast.walk(ast.parse(source)))


def called(call: ast.Call) -> list[str]:
    """Return the dotted name of what is called, in parts."""
    parts, node = [], call.func
    while isinstance(node, ast.Attribute):
        parts.append(node.attr)
        node = node.value
    return [*(ast.unparse(node).split(".")), *reversed(parts)]


def front_doors(source: str) -> Iterator[tuple[str, bool, int]]:
    """Yield (rung, went past its front door, line) for every import of this package; refuse hidden ones."""
    for node in nodes_of(source):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: relative import; write `from polepiece.<rung> import`"
            names = [node.module or ""]
            if node.module == "polepiece":
                names = [f"polepiece.{alias.name}" for alias in node.names if alias.name != "__version__"]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.Call) and called(node)[-1] in (
            "import_module",
            "__import__",
        ):
            raise AssertionError(f"line {node.lineno}: hidden import; write it at the top of the module")
        else:
            continue
        for name in names:
            parts = name.split(".")
            if parts[0] == "polepiece":
                assert len(parts) > 1, f"line {node.lineno}: import a rung, not the whole package"
                yield parts[1], len(parts) > 2, node.lineno


def import_faults(path: str, source: str) -> list[str]:
    """Say what is wrong with the imports of one module; `path` is relative to the package."""
    here = path.split("/", maxsplit=1)[0].removesuffix(".py")
    if here not in RANK:
        return [f"{path}: {here!r} is no rung; the rungs are {', '.join(RANK)}"]
    faults = []
    try:
        for there, past_door, line in front_doors(source):
            if there == here:
                continue
            ground_floor = RANK.get(there) == RANK[here] == 0
            if there not in RANK:
                faults.append(f"{path}:{line}: polepiece.{there} is no rung")
            elif RANK[there] >= RANK[here] and not ground_floor:
                faults.append(f"{path}:{line}: {here} imports {there}: move the code down, or pass the value in")
            elif past_door:
                faults.append(f"{path}:{line}: import it from polepiece.{there} itself, its front door")
    except AssertionError as fault:
        faults.append(f"{path}: {fault}")
    return faults


def touches(call: ast.Call) -> str | None:
    """Return "reads" or "writes" when the call touches a file, by the names of the usual functions."""
    name = called(call)
    owner, method = (name[-2] if len(name) > 1 else ""), name[-1]
    if method == "open" and owner not in ("webbrowser", "os"):
        mode_at = 1 if name == ["open"] else 0  # open(name, mode) but path.open(mode)
        arguments = [*call.args[mode_at:], *(word.value for word in call.keywords if word.arg == "mode")]
        modes = [str(one.value) for one in arguments if isinstance(one, ast.Constant)]
        return "writes" if any(set(mode) <= set("wxabt+") and mode.strip("bt+") for mode in modes) else "reads"
    if method in READ_METHODS or (owner, method) in READ_FUNCTIONS:
        return "reads"
    return "writes" if method in WRITE_METHODS else None


def room_faults(path: str, source: str) -> list[str]:
    """Say where one module prints, reads or writes files, or speaks SQL outside the room for it."""
    room = path.split("/", maxsplit=1)[0]
    faults = []
    for node in nodes_of(source):
        if isinstance(node, ast.Name) and node.id == "print" and room != "cli":
            faults.append(f"{path}:{node.lineno}: only cli/ prints; return the text")
        if isinstance(node, ast.Call) and path not in READERS:
            what = touches(node)
            if what == "reads" or (what == "writes" and room not in WRITING_ROOMS):
                faults.append(f"{path}:{node.lineno}: {ast.unparse(node.func)} {what} a file in the wrong room")
        modules = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        modules += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        if any(module.split(".")[0] in SQL for module in modules) and room != "notebook":
            faults.append(f"{path}:{node.lineno}: SQL lives in notebook/")
    return faults


MODULES = [path.relative_to(SOURCE).as_posix() for path in sorted(SOURCE.rglob("*.py"))]
MODULES.remove("__init__.py")  # re-exports the verbs lazily, so it knows every rung
if "__main__.py" in MODULES:
    MODULES.remove("__main__.py")  # starts the command line


def test_every_module_keeps_the_rules() -> None:
    faults = []
    for path in MODULES:
        source = (SOURCE / path).read_text(encoding="utf-8")
        faults += import_faults(path, source) + room_faults(path, source)
    assert not faults, "\n".join(faults)


def test_every_module_has_a_name_of_its_own() -> None:
    standard = [path for path in MODULES if Path(path).stem in sys.stdlib_module_names]
    assert not standard, f"{standard} have the name of a standard module"


def test_every_rung_that_exists_was_walked() -> None:
    walked = {path.split("/")[0].removesuffix(".py") for path in MODULES}
    assert {"errors", "constants", "materials", "circuit", "bench", "cli"} <= walked


@pytest.mark.parametrize(
    ("path", "source", "words"),
    [
        ("coil/winding.py", "from polepiece.circuit import solve", "coil imports circuit"),
        ("coil/winding.py", "import polepiece.bench", "coil imports bench"),
        ("coil/winding.py", "from polepiece import bench", "coil imports bench"),
        ("coil/winding.py", "def f():\n    from polepiece.cli import run", "coil imports cli"),
        ("coil/winding.py", "if TYPE_CHECKING:\n    from polepiece.sound import x", "coil imports sound"),
        ("guitar/records.py", "from polepiece.planning import Row", "guitar imports planning"),
        ("app/widgets/theme.py", "from polepiece.cli import run", "app imports cli"),
        ("errors.py", "from polepiece.materials import grade", "errors imports materials"),
        ("coil/winding.py", "from polepiece.magnetics._kernels import panel", "front door"),
        ("coil/winding.py", "import polepiece.magnetics.field", "front door"),
        ("coil/winding.py", "from . import inductance", "relative import"),
        ("coil/winding.py", "from ..magnetics import field", "relative import"),
        ("coil/winding.py", "import polepiece", "not the whole package"),
        ("coil/winding.py", "from polepiece import predict", "is no rung"),
        ("coil/winding.py", "import importlib\nimportlib.import_module('polepiece.cli')", "hidden import"),
        ("utils/maths.py", "import numpy", "'utils' is no rung"),
    ],
)
def test_a_bad_import_is_found(path: str, source: str, words: str) -> None:
    faults = import_faults(path, source)
    assert len(faults) == 1
    assert words in faults[0]


@pytest.mark.parametrize(
    ("path", "source"),
    [
        (
            "coil/winding.py",
            "from polepiece.magnetics import Factors\nfrom polepiece.errors import InputError",
        ),
        ("coil/winding.py", "from polepiece.coil.inductance import sheet_inductance"),
        ("arrays.py", "from polepiece.errors import InputError"),
        ("report/page.py", "from polepiece import __version__"),
    ],
)
def test_a_good_import_passes(path: str, source: str) -> None:
    assert import_faults(path, source) == []


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("coil/winding.py", "print('L')"),
        ("coil/winding.py", "list(map(print, values))"),
        ("coil/winding.py", "text = open(name).read()"),
        ("coil/winding.py", "text = Path(name).read_text()"),
        ("coil/winding.py", "Path(name).write_text('x')"),
        ("coil/winding.py", "open(name, 'w').write('x')"),
        ("coil/winding.py", "values = np.loadtxt(name)"),
        ("coil/winding.py", "values = np.load(name)"),
        ("sound/render.py", "samples, rate = sf.read(name)"),
        ("report/page.py", "text = Path(name).read_text()"),
        ("cli/main.py", "text = open(name, 'r').read()"),
        ("planning/plan.py", "import sqlite3"),
        ("cli/log.py", "from sqlalchemy.orm import Session"),
        ("app/server/main.py", "import alembic.op"),
    ],
)
def test_a_line_in_the_wrong_room_is_found(path: str, source: str) -> None:
    assert len(room_faults(path, source)) == 1


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("cli/main.py", "print('done')"),
        ("cli/main.py", "Path(name).write_text('x')\nwebbrowser.open(name)"),
        ("report/page.py", "with open(name, 'w', encoding='utf-8') as page:\n    page.write('x')"),
        ("guitar/file/guitar_file.py", "text = Path(name).read_text()"),
        ("magnetics/cache.py", "factors = np.load(name)\nnp.savez(name, factors)"),
        ("notebook/store.py", "import sqlite3"),
    ],
)
def test_a_line_in_its_room_passes(path: str, source: str) -> None:
    assert room_faults(path, source) == []


def modules_imported(source: str, known: set[str]) -> set[str]:
    """Return the modules of this package that one module names anywhere: at its top, in functions, for types alone."""
    out = set()
    for node in nodes_of(source):
        if isinstance(node, ast.ImportFrom) and node.module:
            inside = {f"{node.module}.{alias.name}" for alias in node.names} & known
            out |= inside if len(inside) == len(node.names) else inside | ({node.module} & known)
        elif isinstance(node, ast.Import):
            out |= {alias.name for alias in node.names} & known
    return out


def circles(arrows: dict[str, set[str]]) -> list[list[str]]:
    """Return the groups of modules each of which reaches the others; empty when the imports only point down."""
    graph = {name: sorted(there - {name}) for name, there in arrows.items()}
    reach: dict[str, set[str]] = {}
    for name, first in graph.items():
        seen, todo = set(), list(first)
        while todo:
            one = todo.pop()
            if one not in seen:
                seen.add(one)
                todo += graph.get(one, [])
        reach[name] = seen
    groups = {tuple(sorted(there for there in reach[name] if name in reach.get(there, ()))) for name in graph}
    return [list(group) for group in sorted(groups) if group]


def test_no_modules_import_one_another_in_a_circle() -> None:
    plain = {path: path.removesuffix(".py").removesuffix("/__init__") for path in MODULES}
    dotted = {path: f"polepiece.{name}".replace("/", ".") for path, name in plain.items()}
    known = set(dotted.values())
    arrows = {dotted[path]: modules_imported((SOURCE / path).read_text("utf-8"), known) for path in MODULES}
    assert circles(arrows) == []


def test_a_circle_is_found() -> None:
    known = {"polepiece.a", "polepiece.b", "polepiece.c"}
    sources = {
        "polepiece.a": "from polepiece.b import x",
        "polepiece.b": "def f():\n    from polepiece.c import y",
        "polepiece.c": "if TYPE_CHECKING:\n    from polepiece import a",
    }
    arrows = {name: modules_imported(text, known) for name, text in sources.items()}
    assert circles(arrows) == [["polepiece.a", "polepiece.b", "polepiece.c"]]
    assert circles(arrows | {"polepiece.c": set()}) == []
