"""No module outside `guitar/constructions/` says the name of a construction: it asks its record instead."""

import ast
from pathlib import Path

import pytest

from polepiece.guitar.constructions import SLUGS

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"
ROOM = "guitar/constructions/"
MODULES = [path.relative_to(SOURCE).as_posix() for path in sorted(SOURCE.rglob("*.py"))]


def names_said(source: str) -> list[tuple[int, str]]:
    """Return (line, slug) of every string that is the slug of a construction; documentation strings apart."""
    tree = ast.parse(source)
    documentation = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and node.value in SLUGS and id(node) not in documentation
    ]


def test_no_construction_is_named() -> None:
    words = [
        f"{path}:{line}: {slug!r}: ask `pickup.built`, and put the answer into its record"
        for path in MODULES
        if not path.startswith(ROOM)
        for line, slug in names_said((SOURCE / path).read_text(encoding="utf-8"))
    ]
    assert not words, "\n".join(words)


def test_each_construction_is_one_file_that_only_the_registry_imports() -> None:
    for slug in SLUGS:
        own = slug.replace("-", "_")
        assert f"{ROOM}{own}.py" in MODULES
        arrow = f"polepiece.guitar.constructions.{own}"
        importers = [one for one in MODULES if arrow in (SOURCE / one).read_text(encoding="utf-8")]
        assert importers == [f"{ROOM}__init__.py"]


@pytest.mark.parametrize(
    "source",
    [
        'if unit.construction == "humbucker":\n    pass',
        'ROWS = {"rod-single": 1}',
        'kinds = ("bar-single", "two-bar-single")',
        'def f(kind: str = "humbucker") -> None:\n    "humbucker"\n    return "humbucker"',
        "match kind:\n    case 'two-bar-single':\n        pass",
    ],
)
def test_a_name_is_found(source: str) -> None:
    assert names_said(source)


@pytest.mark.parametrize("source", ['"""humbucker"""', 'f"a full-size humbucker"', "def f():\n    'rod-single'"])
def test_words_about_one_pass(source: str) -> None:
    assert names_said(source) == []
