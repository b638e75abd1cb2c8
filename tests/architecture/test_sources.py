"""Whoever reads a computed number can find out where its equation is from: counted, and held where the count stands.

Counted are public functions and methods of the rooms of physics that compute: their bodies multiply, divide or raise
to a power at least twice (a sum counts half), and they do not return text, a choice, numbers of places, or nothing.
One of them names its source when its docstring, or its class's, has

- a work (surname and year), a standard by its number, or one of the laws that are known by a name, or
- a page of docs/theory, or "derived" and where: here, in the module's docstring, on a page, or
- the plain words that there is none: definition, assumption, common practice, from memory.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "polepiece"
ROOMS = ("materials", "magnetics", "coil", "circuit", "strings", "sound", "measure", "pickup")
SHARE = 0.92  # of those counted: what was reached; it may rise
LEAST = 2.0  # products, quotients and powers that make a body compute
WORK = r"[A-Z][\w'’\-]+(?:,? (?:and|et al\.?|[A-Z][\w'’\-]+))*,? \(?(?:18|19|20)\d\d(?!\d)"
NAMED = re.compile(
    rf"{WORK}|\bBS\.1770|\b(?:IEC|ISO|DIN|NEMA|ASTM|DLMF|JCGM)\b|arXiv:|docs/theory/\w"
    r"|Kirchhoff|Thevenin|Faraday|Coulomb|Biot-Savart|Neumann's integral|Mersenne"
    r"|[Dd]erived (?:here|there|in|from)|[Dd]efinition|[Aa]n? assumption|[Aa]ssumptions?\b|[Cc]ommon practice"
    r"|\bmemory\b|\(read\)|[Tt]extbooks?"
)
NO_NUMBERS = re.compile(r"^(?:None|bool|str|int|.*\bstr\b.*|.*IntArray.*|Iterator.*|contextlib.*)$")


def computes(node: ast.FunctionDef) -> bool:
    """Say whether a body does sums that somebody may ask the source of."""
    if node.returns is not None and NO_NUMBERS.match(ast.unparse(node.returns).strip("'\"")):
        return False
    count = 0.0
    for one in ast.walk(node):
        if isinstance(one, ast.BinOp):
            if isinstance(one.op, ast.Mult | ast.Div | ast.Pow | ast.MatMult):
                count += 1.0
            elif isinstance(one.op, ast.Add | ast.Sub):
                count += 0.5
        elif isinstance(one, ast.AugAssign):
            count += 0.5
    return count >= LEAST


def computing(source: str) -> Iterator[tuple[str, str]]:
    """Yield name and docstring (with its class's) of every public function and method that computes."""
    for node in ast.parse(source).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and computes(node):
            yield node.name, ast.get_docstring(node) or ""
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            own = ast.get_docstring(node) or ""
            for part in node.body:
                if isinstance(part, ast.FunctionDef) and not part.name.startswith("_") and computes(part):
                    yield f"{node.name}.{part.name}", f"{ast.get_docstring(part) or ''}\n{own}"


def counted() -> dict[str, bool]:
    """Return every function that computes, and whether it names its source."""
    return {
        f"{path.relative_to(SOURCE).as_posix()}:{name}": bool(NAMED.search(" ".join(said.split())))
        for room in ROOMS
        for path in sorted((SOURCE / room).rglob("*.py"))
        for name, said in computing(path.read_text("utf-8"))
    }


def test_functions_that_compute_name_their_source() -> None:
    found = counted()
    assert len(found) > 150  # the rule still finds what it is for
    silent = [name for name, said in found.items() if not said]
    share = 1.0 - len(silent) / len(found)
    assert share >= SHARE, f"{100 * share:.0f} % name their source, {100 * SHARE:.0f} % did; silent: {silent}"


@pytest.mark.parametrize(
    ("said", "named"),
    [
        ("Return the field, A/m.", False),
        ("Return the field, A/m, of 1984 panels.", False),
        ("Return the field (Wilton et al. 1984, from memory).", True),
        ("Return the loudness, ITU-R BS.1770.", True),
        ("Return the level. Definition.", True),
        ("Derived in docs/theory/coil.md.", True),
        ("Derived here: H = M / 3.", True),
        ("The spread is an assumption.", True),
    ],
)
def test_what_counts_as_a_source(said: str, named: bool) -> None:
    assert bool(NAMED.search(said)) is named


def test_what_counts_as_computing() -> None:
    source = '''
def field(x: float) -> float:
    """Say."""
    return 2.0 * x / 3.0

def _private(x: float) -> float:
    return 2.0 * x / 3.0

def words(x: float) -> str:
    return f"{100.0 * x / 3.0}"

def handed_on(x: float) -> float:
    return field(x)

class Steel:
    """Langevin 1905."""

    def level(self, x: float) -> float:
        """Return it."""
        return x**2 / 3.0
'''
    assert dict(computing(source)) == {"field": "Say.", "Steel.level": "Return it.\nLangevin 1905."}


def works(text: str) -> set[tuple[str, str]]:
    """Return (surname, year) of the works that a text names; the first surname of several."""
    flat = " ".join(text.split())
    pattern = (
        r"\b([A-Z][a-zéöü]+)(?:,? (?:and|et al\.|[A-Z]\.|van der|Le|[A-Z][a-zéöü]+))*,? \(?((?:18|19|20)\d\d)(?!\d)"
    )
    return {(name, year) for name, year in re.findall(pattern, flat)}


def test_every_work_that_a_docstring_names_is_in_the_list() -> None:
    listed = (ROOT / "docs" / "references.md").read_text("utf-8")
    missing = []
    for room in ROOMS:
        for path in sorted((SOURCE / room).rglob("*.py")):
            for _, said in computing(path.read_text("utf-8")):
                missing += [
                    (path.name, name, year)
                    for name, year in works(said)
                    if not re.search(rf"{name}[^|\n]*{year}", listed)
                ]
    assert missing == []


def test_a_work_that_is_not_in_the_list_is_found() -> None:
    assert works("as in Pate, Le Carrou and Fabre 2014, and (Wilton et al. 1984)") == {
        ("Pate", "2014"),
        ("Wilton", "1984"),
    }
    assert works("of 2000 panels; see Bozorth (1951).") == {("Bozorth", "1951")}
