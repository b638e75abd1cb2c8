"""What no command, page, report, notebook or name of the package's front needs is no part of the package.

A plain twin that only judges ours lives in tests/reference. Followed are imports from module to module; a name that is
taken from a room's front door leads to the module that the door has it from, not to all that the door opens.
"""

import ast
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"
ROOTS = ("cli", "app", "report", "notebook")
WAITING: set[str] = set()

Names = dict[str, set[tuple[str, str | None]]]  # of a module: what it names of the package, (module, name in it)


def dotted(path: Path) -> str:
    """Return the dotted name of a module's file."""
    return ".".join(("polepiece", *path.relative_to(SOURCE).with_suffix("").parts)).removesuffix(".__init__")


def named(source: str) -> set[tuple[str, str | None]]:
    """Return (module, name) of every import from the package, anywhere in a module."""
    found: set[tuple[str, str | None]] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "polepiece":
            found |= {(str(node.module), alias.name) for alias in node.names}
        elif isinstance(node, ast.Import):
            found |= {(alias.name, None) for alias in node.names if alias.name.startswith("polepiece")}
    return found


def reached(sources: dict[str, str], starts: set[str]) -> set[str]:
    """Return the modules that ``starts`` need, themselves among them."""
    imports = {module: named(text) for module, text in sources.items()}
    doors = {
        module: {name: (where, name) for where, name in imports[module] if name is not None}
        for module in sources
        if module.count(".") == 1
    }
    seen: set[str] = set()
    todo = sorted(starts)
    while todo:
        module = todo.pop()
        if module in seen:
            continue
        seen.add(module)
        for where, name in imports[module]:
            target, own = where, name
            if own is not None and own in doors.get(target, {}):
                target, own = doors[target][own]
            inner = f"{target}.{own}"
            todo += [one for one in (inner if inner in sources else target,) if one in sources]
    return seen


def test_every_module_is_needed_by_somebody() -> None:
    sources = {dotted(path): path.read_text("utf-8") for path in SOURCE.rglob("*.py")}
    starts = {name for name in sources if name.split(".")[1:2] and name.split(".")[1] in ROOTS}
    starts |= {"polepiece", "polepiece.__main__"}
    doors = _doors(sources)
    rooms = {name for name, text in sources.items() if text.strip() == "" or name in doors}
    idle = set(sources) - reached(sources, starts) - rooms
    assert idle == WAITING


def _doors(sources: dict[str, str]) -> set[str]:
    """Packages: their `__init__` is read by whoever imports a module of theirs."""
    return {name.rpartition(".")[0] for name in sources}


def test_a_module_that_only_tests_use_is_found() -> None:
    sources = {
        "polepiece.cli.main": "from polepiece.coil import Winding",
        "polepiece.coil": "from polepiece.coil.winding import Winding\nfrom polepiece.coil.twin import Twin",
        "polepiece.coil.winding": "from polepiece.coil import kernels",
        "polepiece.coil.kernels": "",
        "polepiece.coil.twin": "",
    }
    assert "polepiece.coil.twin" not in reached(sources, {"polepiece.cli.main"})
    assert {"polepiece.coil.winding", "polepiece.coil.kernels"} <= reached(sources, {"polepiece.cli.main"})
