"""A choice among the words of a `Literal` is a `match` that ends in `assert_never`: one more word is found by mypy.

Read off the syntax tree: fields and arguments whose annotation is a `Literal` (or a name for one) and that two branches
or more compare with its words; and every `match` over plain words.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"
Words = dict[str, frozenset[str]]  # of a field, or of a name for a Literal


def literal(node: ast.AST, named: Words) -> frozenset[str]:
    """Return the words that an annotation allows; none where it is no `Literal` of words."""
    found: set[str] = set()
    for one in ast.walk(node):
        if isinstance(one, ast.Subscript) and isinstance(one.value, ast.Name) and one.value.id == "Literal":
            found |= {each.value for each in ast.walk(one.slice) if isinstance(each, ast.Constant)}
        elif isinstance(one, ast.Name) and one.id in named:
            found |= named[one.id]
    return frozenset(found) if all(isinstance(one, str) for one in found) else frozenset()


def names_of_literals(trees: list[ast.Module]) -> Words:
    """Return what every `Kind = Literal[...]` of the package allows."""
    found: dict[str, set[str]] = {}
    for tree in trees:
        for node in tree.body:
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                found.setdefault(node.targets[0].id, set()).update(literal(node.value, {}))
    return {name: frozenset(words) for name, words in found.items() if words}


def typed(trees: list[ast.Module], named: Words) -> Words:
    """Return the words of every field that some record annotates with a `Literal`, and always so."""
    found: dict[str, set[frozenset[str]]] = {}
    for tree in trees:
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                for one in node.body:
                    if isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name):
                        found.setdefault(one.target.id, set()).add(literal(one.annotation, named))
    return {name: frozenset().union(*each) for name, each in found.items() if frozenset() not in each}


def compared(test: ast.expr) -> tuple[str, frozenset[str]] | None:
    """Return what a test compares with which words; None where it is no such test."""
    if not isinstance(test, ast.Compare) or len(test.ops) != 1 or not isinstance(test.ops[0], ast.Eq | ast.In):
        return None
    words = [one.value for one in ast.walk(test.comparators[0]) if isinstance(one, ast.Constant)]
    return ast.unparse(test.left), frozenset(one for one in words if isinstance(one, str))


def chains(tree: ast.AST) -> Iterator[tuple[int, list[ast.expr], bool]]:
    """Yield (line, tests, whether it ends by refusing) of every `if` with its `elif`s, as statement or expression."""
    inner: set[int] = set()
    for node in ast.walk(tree):
        if not isinstance(node, ast.If | ast.IfExp) or id(node) in inner:
            continue
        tests, last = [node.test], node.orelse
        while (after := last[0] if isinstance(last, list) and len(last) == 1 else last) and isinstance(
            after, ast.If | ast.IfExp
        ):
            inner.add(id(after))
            tests.append(after.test)
            last = after.orelse
        refuses = isinstance(last, list) and bool(last) and isinstance(last[0], ast.Raise)
        yield node.lineno, tests, refuses


def faults(path: str, tree: ast.Module, fields: Words) -> list[str]:
    """Say which choices of a module do not end in `assert_never`."""
    found = []
    for line, tests, refuses in chains(tree):
        pairs = [one for one in map(compared, tests) if one is not None]
        for subject in {one for one, _ in pairs}:
            words = fields.get(subject.rpartition(".")[2], frozenset())
            said = [some for one, some in pairs if one == subject]
            if len(said) > 1 and words and frozenset().union(*said) <= words and not refuses:
                found.append(f"{path}:{line}: {subject} has the words {sorted(words)}: match it, down to assert_never")
    for node in ast.walk(tree):
        if isinstance(node, ast.Match) and all(isinstance(one.pattern, ast.MatchValue) for one in node.cases[:-1]):
            end = node.cases[-1]
            if isinstance(end.pattern, ast.MatchValue) or not isinstance(end.body[0], ast.Raise | ast.Expr):
                found.append(f"{path}:{node.lineno}: match {ast.unparse(node.subject)} does not end in assert_never")
    return found


def test_every_choice_ends_in_assert_never() -> None:
    trees = {path.relative_to(SOURCE).as_posix(): ast.parse(path.read_text("utf-8")) for path in SOURCE.rglob("*.py")}
    every = list(trees.values())
    fields = typed(every, names_of_literals(every))
    assert fields["bleed_wiring"] == {"series", "parallel"}
    assert fields["relation"] >= {"above", "below"}
    assert "name" not in fields  # of some records a text
    found = [one for path, tree in sorted(trees.items()) for one in faults(path, tree, fields)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "source",
    [
        'if bar.role == "blade":\n    a()\nelif bar.role == "plate":\n    b()',
        'if bar.role == "blade":\n    a()\nelif bar.role in ("plate", "keeper"):\n    b()\nelse:\n    c()',
        'x = 1 if bar.role == "blade" else 2 if bar.role == "plate" else 3',
        'match bar.role:\n    case "blade":\n        a()\n    case "plate":\n        b()',
        'match bar.role:\n    case "blade":\n        a()\n    case _:\n        x = 2',
    ],
)
def test_a_choice_left_open_is_found(source: str) -> None:
    assert faults("m.py", ast.parse(source), {"role": frozenset({"blade", "plate", "keeper"})})


@pytest.mark.parametrize(
    "source",
    [
        'if bar.role == "blade":\n    a()\nelse:\n    b()',  # one word against all others
        'match bar.role:\n    case "blade":\n        a()\n    case _:\n        assert_never(bar.role)',
        'if word == "blade":\n    a()\nelif word == "plate":\n    b()\nelse:\n    raise InputError(word)',
        'match text:\n    case "blade":\n        a()\n    case _:\n        raise InputError(text)',
    ],
)
def test_a_whole_choice_passes(source: str) -> None:
    assert (
        faults(
            "m.py", ast.parse(source), {"role": frozenset({"blade", "plate", "keeper"}), "word": frozenset({"blade"})}
        )
        == []
    )
