"""Work of the winder's page, in a process of its own: a coil from what is known of it, and a winding from a target."""

from collections.abc import Callable, Mapping
from typing import Any

from polepiece.bench import Bench
from polepiece.guitar import Guitar, write_guitar
from polepiece.winding import (
    FOUND_HEADS,
    FOUND_NOTE,
    HEADS,
    Bobbin,
    Knowns,
    Target,
    electrical,
    found_row,
    found_sentence,
    per_turn,
    rows,
    search,
    sentence,
    solve,
)

Progress = Callable[[int, int, str], None]


def work_out_coil(progress: Progress, guitar: Guitar, pickup: str, knowns: Knowns) -> dict[str, Any]:
    """Return a coil in words and rows, and the guitar file with it on; plain values, for the page.

    Raises
    ------
    InputError
        When no winding can be like that, with the likely slip.
    """
    progress(0, 2, "solving the magnets, steel and coils of this geometry")
    bobbin, bench = Bobbin(guitar=guitar, pickup=guitar.pickup(pickup)), Bench()
    found = solve(bobbin, knowns, per_turn(bobbin, bench))
    progress(1, 2, "working out the coil")
    made = electrical(bobbin, found[0], bench)
    first = found[0]
    read = first.resistance.value if first.resistance.read and not first.turns.read else None
    wound, _ = bobbin.wound(first.turns.value, first.gauge, first.build, read)
    tables = [(f"AWG {first.gauge} {first.build}", HEADS, rows(first, made))]
    tables += [(f"or AWG {one.gauge} {one.build}", HEADS, rows(one, None)) for one in found[1:]]
    return {"told": sentence(bobbin, knowns, found), "tables": tables, "file": write_guitar(wound)}


def aim_winding(progress: Progress, guitar: Guitar, pickup: str, target: Target, **options: Any) -> dict[str, Any]:
    """Return the windings that come nearest to a target, in words and rows, and the guitar file of each.

    Raises
    ------
    InputError
        When no winding has room.
    """
    found = search(
        guitar, pickup, target, bench=Bench(),
        progress=lambda done, of: progress(done, of, "searching windings and bars"), **options,
    )  # fmt: skip
    table = ("Nearest", FOUND_HEADS, [found_row(one, found[0]) for one in found])
    files: Mapping[str, str] = {
        f"{one.turns:.0f} turns of AWG {one.gauge}, {one.grade}": write_guitar(one.guitar) for one in found
    }
    return {
        "told": found_sentence(found, target), "tables": [table], "files": files,
        "note": FOUND_NOTE.format(unit=target.unit),
    }  # fmt: skip
