"""A number with a name stands in one module: two modules that say the same name for the same value share it."""

import ast
from collections import defaultdict
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"
UNLIKE = {  # one value by chance: each is a choice of its own, and one may move without the other
    "FEWEST": "rows of a plan; coils of a batch",
    "LATELY": "trials on record; lines of the log",
    "LONGEST": "characters of a typed number, of an attribute",
    "LOUD_DB": "hiss under a recording's loudest window, under a stroke, and worth a word",
    "ROUGH": "noise of a wound string; deviation of a spectrum",
    "SAME": "equal readings of a file; a factor that cannot move",
    "SHORTEST": "seconds of a clip that is heard, of a part that is played",
    "STEP": "metres a gap is moved by; metres of a derivative",
    "STRETCH": "samples of two loops, each as its own cache likes it",
}


def numbers(path: Path) -> list[tuple[str, float]]:
    """Return the numbers that a module names: what is assigned at its top is a plain number."""
    found = []
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.Assign):
            named, value = node.targets, node.value
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            named, value = [node.target], node.value
        else:
            continue
        if isinstance(value, ast.Constant) and type(value.value) in (int, float):
            found += [(one.id.strip("_"), float(value.value)) for one in named if isinstance(one, ast.Name)]
    return found


def twice(folder: Path) -> dict[str, list[str]]:
    """Return the names that several modules below a folder give to one value, and where."""
    places = defaultdict(list)
    for path in sorted(folder.rglob("*.py")):
        if "migrations" not in path.parts:  # each step stays as it was
            for name, value in numbers(path):
                places[name, value].append(str(path.relative_to(folder)))
    return {name: where for (name, _), where in places.items() if len(where) > 1}


def test_a_constant_stands_in_one_module() -> None:
    found = {name: where for name, where in twice(SOURCE).items() if name not in UNLIKE}
    assert not found, f"one of each is enough; the other imports it: {found}"


def test_what_is_excused_is_still_there() -> None:
    assert sorted(UNLIKE) == sorted(set(UNLIKE) & set(twice(SOURCE)))


def test_a_second_one_is_seen(tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text("HEARD = 1.0\nOTHER = 2\n", "utf-8")
    (tmp_path / "two.py").write_text("_HEARD: float = 1\nOTHER = 3\n", "utf-8")
    assert twice(tmp_path) == {"HEARD": ["one.py", "two.py"]}
