"""What a worker does: the rows of one chunk of candidates. What is solved stays in its process for the next chunk."""

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field

from polepiece import __version__
from polepiece.bench import Bench, coarse_bench, heard_before_and_after, numbers_of_many, solved_alike
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar, draws
from polepiece.materials import constants_hash
from polepiece.pickup import anatomy, engine
from polepiece.study.columns import columns_of
from polepiece.study.setup import Setup, Values

TOGETHER = 128  # guitars whose circuits are solved at once: some 20 MB
GEOMETRIES = 8  # that a worker keeps, some 50 MB each; then it begins anew

Found = dict[str, float] | str
Rows = dict[str, list[object]]


@dataclass(slots=True, kw_only=True, eq=False)
class _Solved:
    """What one process has solved for one study."""

    setup: Setup
    bench: Bench
    files: dict[Values, Guitar | str] = field(default_factory=dict)
    shapes: set[object] = field(default_factory=set)


_HERE: list[_Solved] = []
_ONE_AT_A_TIME = threading.Lock()  # a worker of a cluster may have threads: a bench is no thing to share


def compute_chunk(setup: Setup, numbers: Sequence[int], values: Sequence[Values]) -> Rows:
    """Return the rows of some candidates, by column.

    Parameters
    ----------
    setup : Setup
    numbers : sequence of int
        Their places in the design.
    values : sequence
        Of every axis, for each candidate.

    Raises
    ------
    InputError
        When this program or its constants are others than those of whoever asks.
    """
    mine = (__version__, constants_hash())
    if mine != (setup.version, setup.constants):
        raise InputError(
            f"a worker has polepiece {mine[0]}, constants {mine[1][:19]}; the study was begun with {setup.version}, "
            f"{setup.constants[:19]}. Install the same on every machine, POLEPIECE_CONSTANTS too."
        )
    with _ONE_AT_A_TIME:
        found = _numbers(_solved(setup), values)
    return _rows(setup, numbers, values, found)


def _solved(setup: Setup) -> _Solved:
    """Return what was solved for this study here; a fresh bench for another, or when it holds many geometries."""
    if _HERE and _HERE[0].setup == setup and len(_HERE[0].shapes) <= GEOMETRIES:
        return _HERE[0]
    files = _HERE[0].files if _HERE and _HERE[0].setup == setup else {}
    if _HERE:
        engine.forget()
    bench = coarse_bench() if setup.coarse else Bench()
    bench.seed = setup.seed
    _HERE[:] = [_Solved(setup=setup, bench=bench, files=files)]
    return _HERE[0]


def _numbers(here: _Solved, values: Sequence[Values]) -> list[list[Found]]:
    """Return the numbers of every candidate, a list of its rows each; those that are alike are solved together."""
    setup, out = here.setup, dict[int, list[Found]]()
    alike: dict[object, list[tuple[int, Guitar]]] = {}
    benches: dict[object, Bench] = {}
    for at, one in enumerate(values):
        try:
            filed = _filed(here, one)
            guitar = setup.moved(filed, one)
            _, heard = heard_before_and_after(filed, guitar, setup.pickup, setup.position)
            key = (solved_alike(guitar), heard)
        except PolepieceError as error:
            out[at] = [str(error)] * setup.rows
            continue
        alike.setdefault(key, []).append((at, guitar))
        benches.setdefault(key, here.bench.heard_in(heard))
    for same, group in alike.items():
        here.shapes.add(anatomy(group[0][1].pickup(setup.pickup)))
        for start in range(0, len(group), TOGETHER):
            part = group[start : start + TOGETHER]
            for (at, _), rows in zip(part, _together(setup, benches[same], [guitar for _, guitar in part])):
                out[at] = rows
    return [out[at] for at in range(len(values))]


def _filed(here: _Solved, values: Values) -> Guitar:
    """Return the guitar whose file has these values; kept, for a file is read in some milliseconds."""
    key = tuple(value for axis, value in zip(here.setup.axes, values) if axis.is_path)
    if key not in here.files:
        if len(here.files) > 1000:
            here.files.clear()
        try:
            here.files[key] = here.setup.filed(values)
        except PolepieceError as error:
            here.files[key] = str(error)
    found = here.files[key]
    if isinstance(found, str):
        raise InputError(found)
    return found


def _together(setup: Setup, bench: Bench, guitars: list[Guitar]) -> list[list[Found]]:
    try:
        if len(guitars) == 1:
            nominal: list[Found] = [bench.state(guitars[0], setup.pickup).numbers()]
        else:
            nominal = [*numbers_of_many(bench, guitars, setup.pickup)]
    except PolepieceError as error:
        return [[str(error)] * setup.rows] * len(guitars)
    if not setup.draws:
        return [[one] for one in nominal]
    sample = draws(setup.draws, setup.seed)
    return [
        [one] * setup.rows if isinstance(one, str) else [one, *bench.drawn(guitar, setup.pickup, sample)]
        for guitar, one in zip(guitars, nominal)
    ]


def _rows(setup: Setup, numbers: Sequence[int], values: Sequence[Values], found: list[list[Found]]) -> Rows:
    columns, each = columns_of(setup), setup.rows
    at = {one.column: k for k, one in enumerate(setup.axes)}
    out: Rows = {}
    for column in columns:
        name = column.name
        if name == "candidate":
            out[name] = [number for number in numbers for _ in range(each)]
        elif name in at:
            out[name] = [one[at[name]] for one in values for _ in range(each)]
        elif name == "draw":
            out[name] = [k for _ in numbers for k in range(each)]
        elif name == "refused":
            out[name] = [row if isinstance(row, str) else None for rows in found for row in rows]
        else:
            out[name] = [None if isinstance(row, str) else row.get(column.key) for rows in found for row in rows]
    return out
