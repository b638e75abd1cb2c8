"""Pickups drawn at random over all constructions, to hold against finite elements.

``python -m verification.drawn_cases`` writes the twenty guitar files of tests/reference/fem/drawn, one for each line of
`PLAN`, each from its own generator (seed `SEED` and its number). Every size that has a spread, the range in which
nineteen in twenty lie, is drawn evenly from all of it, to 0.01 mm, until the parts fit; screws and rods each by
themselves, alike at y and -y where the poles are even in number, since half of such a pickup is half of the work. So
are the grade and the height at which fields are read. The files are kept: a spread that moves later leaves the cases as
they were solved.
"""

import argparse
import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.errors import InputError
from polepiece.geometry import MagnetRod
from polepiece.guitar import Guitar, Sheet, parse_guitar
from polepiece.guitar.assumption import Default
from polepiece.guitar.constructions import construction_of
from polepiece.guitar.defaults import as_long_as_its_row, pickup_defaults, row_longer
from polepiece.pickup import anatomy
from verification import cases, construction_cases

FOLDER = cases.TABLES / "drawn"
SEED = 20261130
PLAN: tuple[tuple[str, int], ...] = (  # construction, poles; the other constructions have six as they are usual
    ("humbucker", 6), ("humbucker", 8), ("two-screw-rows", 6), ("small-humbucker", 6), ("three-bars", 6),
    ("rod-single", 6), ("rod-single", 4), ("bar-single", 6), ("bar-single", 4), ("two-bar-single", 6),
    ("two-bar-single", 4), ("two-bar-slugs", 6), ("side-bar-single", 6), ("screws-over-bar", 6),
    ("screws-over-bar", 4), ("plate-rod-single", 6), ("blade-single", 6), ("twin-blade", 6), ("small-twin-blade", 6),
    ("split-rods", 4),
)  # fmt: skip
GRADES = ("C8", "A5", "A2")  # of `cases.MAGNETS`: flat, tall and steep curves
APART = (14.0, 19.0)  # mm between four poles, as basses have them; of other rows the spread
HEIGHT = (1.5, 3.2)  # mm over the highest pole: from the least to the largest gap that a guitar file assumes
EDDY = (  # of which complex L is solved too, in the order in which they are
    "08-bar-single", "17-blade-single", "16-plate-rod-single", "14-screws-over-bar", "06-rod-single",
    "12-two-bar-slugs", "18-twin-blade",
)  # fmt: skip
BRASS = Sheet(material="brass", thickness=0.5e-3, length=74e-3, width=20e-3, z=20e-3, skirt=14e-3)
COVERS = {"06-rod-single": BRASS}  # rods have no steel: a cover of brass, clear of all its parts, in that calculation
RAISES = {"poles.screw_raise": "screws", "poles.second_screw_raise": "second screws"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One pickup and what it is looked at with."""

    case: construction_cases.Case
    grade: str
    above: float  # m over the highest pole

    @property
    def height(self) -> float:
        """Return the height of the lines, m."""
        return highest(self.case) + self.above

    @property
    def points(self) -> "np.ndarray":
        """Return points (n, 3) of lines over the poles, mm; of a pickup that is its mirror image those at y > 0."""
        even = self.case.assembly.is_mirrored()
        ys = sorted(round(1e3 * y, 6) for y in self.case.shape.pole_y if y > 0.0 or not even)
        return np.array([(x, y, round(1e3 * self.height, 6)) for y in ys for x in range(-20, 21, 2)])


def highest(case: construction_cases.Case) -> float:
    """Return the z of the highest pole with screws as they are turned, m."""
    parts = case.assembly
    tops = [section.top for rod in parts.rods for section in rod.sections]
    tops += [magnet.top for magnet in parts.magnets if isinstance(magnet, MagnetRod)]
    return max([*tops, *(bar.z_max for bar in parts.bars if bar.role == "blade")])


@lru_cache(maxsize=32)
def drawn(name: str) -> Drawn:
    """Return a kept pickup by its name."""
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    pickup = parse_guitar(text).pickups[0]
    said = dict(part.split(" = ") for part in text.splitlines()[0].removeprefix("# ").split(", ")[1:])
    case = construction_cases.Case(pickup=pickup, shape=anatomy(pickup))
    return Drawn(case=case, grade=said["grade"], above=float(said["above_mm"]) * cases.MM)


def dressed(name: str) -> construction_cases.Case:
    """Return a drawn pickup as complex L is computed of it: with its cover of `COVERS`."""
    pickup = replace(drawn(name).case.pickup, cover=COVERS.get(name))
    return construction_cases.Case(pickup=pickup, shape=anatomy(pickup))


def names() -> tuple[str, ...]:
    """Return the names of all lines of the plan, in its order."""
    return tuple(f"{k + 1:02d}-{construction}" for k, (construction, _) in enumerate(PLAN))


def text_of(number: int, seed: int = SEED) -> str:
    """Return the guitar file of line ``number`` (from 0) of the plan.

    Raises
    ------
    InputError
        When a thousand draws give no pickup whose parts fit.
    """
    construction, count = PLAN[number]
    rng = np.random.default_rng([seed, number])
    grade = GRADES[int(rng.integers(len(GRADES)))]
    above = round(float(rng.uniform(*HEIGHT)), 1)
    for _ in range(1000):
        with suppress(InputError):
            guitar = _one(construction, count, rng)
            said = f"# {construction} drawn at random, grade = {grade}, above_mm = {above}"
            return f"{said}\n{construction_cases.kept(guitar)}"
    raise InputError(
        f"a thousand draws of a {construction} with {count} poles do not fit; its spreads exclude each other"
    )


def _one(construction: str, count: int, rng: np.random.Generator) -> Guitar:
    """Return one draw; an `InputError` where its parts do not fit."""
    usual = construction_cases.usual(construction)
    pickup = usual.pickups[0]
    spreads = pickup_defaults(construction=construction, position="middle", drawn=False)
    spacing = spreads["poles.pole_spacing"]
    low, high = APART if count == 4 and construction != "split-rods" else (spacing.low, spacing.high)
    apart = round(float(rng.uniform(low or 0.0, high or 0.0)), 2)
    spreads = as_long_as_its_row(spreads, row_longer(spreads, count, apart))
    sizes: dict[str, float | tuple[float, ...]] = {"poles.pole_spacing": apart * cases.MM}
    for attr, one in _drawable(spreads, construction).items():
        listed = attr in RAISES or attr == "poles.rod_lengths"
        sizes[attr] = tuple(_alike(one, count, rng)) if listed else _size(one, rng)
    poles = replace(pickup.poles, **{**_of(sizes, "poles"), "count": count, **_lists(pickup.poles, sizes, count)})
    coils = tuple(replace(coil, **_of(sizes, "coil")) for coil in pickup.coils)
    pickup = replace(pickup, magnet=replace(pickup.magnet, **_of(sizes, "magnet")), poles=poles, coils=coils)
    return parse_guitar(construction_cases.kept(replace(usual, pickups=(pickup,))))


def _drawable(spreads: dict[str, Default], construction: str) -> dict[str, Default]:
    """Return the spreads of all sizes that such a pickup has, each screw's turn with that of the first row."""
    lacks = construction_of(construction).lacks
    raised = spreads["poles.screw_raise"]
    out = {**spreads, **dict.fromkeys(RAISES, raised)}
    return {
        attr: one for attr, one in out.items()
        if attr.startswith(("magnet.", "poles.", "coil.")) and not attr.startswith(lacks)
        and attr not in ("coil.turns", "poles.pole_spacing", "poles.screw_pitch")
        and one.low is not None and one.high is not None
    }  # fmt: skip


def _size(one: Default, rng: np.random.Generator) -> float:
    """Return one size (m), even over a spread."""
    assert one.low is not None and one.high is not None
    return round(cases.MM * round(float(rng.uniform(one.low, one.high)), 2), 9)


def _alike(one: Default, count: int, rng: np.random.Generator) -> Iterator[float]:
    """Yield a size (m) for each pole, the same at y and -y where their number is even."""
    half = [_size(one, rng) for _ in range(count // 2 if count % 2 == 0 else count)]
    yield from half
    if count % 2 == 0:
        yield from reversed(half)


def _of(sizes: dict[str, float | tuple[float, ...]], part: str) -> "dict[str, float | tuple[float, ...]]":
    """Return the sizes of one part by field."""
    return {attr.partition(".")[2]: value for attr, value in sizes.items() if attr.startswith(f"{part}.")}


def _lists(poles: object, sizes: dict[str, float | tuple[float, ...]], count: int) -> dict[str, tuple[float, ...]]:
    """Return the fields with one number a pole that were not drawn, as long as there are poles."""
    out = {}
    for name in ("screw_raise", "second_screw_raise", "rod_lengths"):
        if f"poles.{name}" not in sizes:
            out[name] = (getattr(poles, name)[0],) * count
    return out


def main() -> None:
    """Write every case."""
    FOLDER.mkdir(exist_ok=True)
    for number, name in enumerate(names()):
        (FOLDER / f"{name}.toml").write_text(text_of(number), encoding="utf-8")


if __name__ == "__main__":
    main()


def solve_those_asked_for(
    told: str, usual: Iterable[str], ending: str, solved: Callable[[str], dict[str, Any]]
) -> None:
    """Solve the cases named on the command line, or all of ``usual`` that have no solution yet, and keep each."""
    parser = argparse.ArgumentParser(description=told)
    parser.add_argument("case", nargs="*")
    given = parser.parse_args().case
    for name in given or usual:
        path = FOLDER / f"{name}{ending}"
        if given or not path.exists():
            found = solved(name)
            path.write_text(json.dumps(found) + "\n", encoding="utf-8")
            print(f"{name}: {found['seconds']} s", flush=True)
