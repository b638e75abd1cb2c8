"""Pickups of every construction to hold against finite elements: of usual sizes, drawn at random, set far from both.

``python -m verification.construction_cases NAME CONSTRUCTION [SEED]`` writes one as a guitar file into
tests/reference/fem/constructions: without a seed every size is the construction's default; with one each size that has
a spread is drawn from it, evenly, rounded to 0.01 mm, until the parts fit. The files are kept, so that a default that
moves later leaves the cases as they were solved. The ``-second`` ones are written by hand: other numbers of poles,
bars, coils and gaps than the usual ones, within what is built.
"""

import sys
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from polepiece.coil import Racetrack
from polepiece.errors import InputError
from polepiece.geometry import Assembly
from polepiece.guitar import Guitar, Pickup, parse_guitar, write_guitar
from polepiece.guitar.defaults import pickup_defaults
from polepiece.pickup import Anatomy, anatomy
from verification import cases

FOLDER = cases.TABLES / "constructions"
ABOVE = 3e-3  # m over the highest pole: where fields are read and strings run
A5_CASES = ("split-rods-drawn", "side-bar-single-second")
WITHOUT = ("coil.turns", "poles.screw_raise", "poles.second_screw_raise")  # not drawn: turns scale, screws as drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One pickup: its shapes, its windings (turns counted), where it is read."""

    pickup: Pickup
    shape: Anatomy

    @property
    def assembly(self) -> Assembly:
        """Its magnetic parts."""
        return self.shape.assembly

    @property
    def coils(self) -> tuple[Racetrack, ...]:
        """Its windings with their turns."""
        return tuple(replace(c, turns=one.turns) for c, one in zip(self.shape.coils, self.pickup.coils))

    @property
    def string_y(self) -> float:
        """Where the string runs that is looked at, m: over the pole nearest to the middle, y > 0."""
        return min(y for y in self.shape.pole_y if y > 0.0)

    @property
    def height(self) -> float:
        """Height of the lines and of the string's axis, m."""
        return self.shape.top + ABOVE

    @property
    def points(self) -> "np.ndarray":
        """Points (n, 3) of lines over the poles y > 0, mm."""
        ys = sorted(round(1e3 * y, 6) for y in self.shape.pole_y if y > 0.0)
        return np.array([(x, y, round(1e3 * self.height, 6)) for y in ys for x in range(-24, 25, 2)])


@lru_cache(maxsize=32)
def case(name: str) -> Case:
    """Return a kept pickup by its name."""
    pickup = parse_guitar((FOLDER / f"{name}.toml").read_text(encoding="utf-8")).pickups[0]
    return Case(pickup=pickup, shape=anatomy(pickup))


def magnet_of(name: str) -> str:
    """Return the magnet whose field is held: of every construction one case has A5 where its other one has C8."""
    return "A5" if name in A5_CASES or not any(word in name for word in ("-drawn", "-second", "-steel-")) else "C8"


def names() -> tuple[str, ...]:
    """Return the names of all pickups that are kept."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


def usual(construction: str) -> Guitar:
    """Return a guitar whose only pickup has the construction's usual sizes, without sheets."""
    text = f"""
name = "{construction}"
[[pickups]]
name = "middle"
position = "middle"
construction = "{construction}"
base_plate = "none"
cover = "none"
"""
    return parse_guitar(text)


def drawn(construction: str, seed: int) -> Guitar:
    """Return the same with every size that has a spread drawn from it."""
    guitar, rng = usual(construction), np.random.default_rng(seed)
    spread = pickup_defaults(construction=construction, position="middle", drawn=False)
    lacks = guitar.pickups[0].built.lacks
    drawable = {
        attr: one for attr, one in spread.items()
        if attr.startswith(("magnet.", "poles.", "coil.")) and not attr.startswith(lacks) and attr not in WITHOUT
    }  # fmt: skip
    for _ in range(1000):
        sizes = {
            attr: round(1e-3 * round(float(rng.uniform(one.low, one.high)), 2), 9)
            for attr, one in drawable.items()
            if one.low is not None and one.high is not None
        }
        with suppress(InputError):
            return parse_guitar(kept(replace(guitar, pickups=(_sized(guitar.pickups[0], sizes),))))
    raise SystemExit(f"no sizes of a {construction} drawn with seed {seed} fit")


def _sized(pickup: Pickup, sizes: dict[str, float]) -> Pickup:
    """Return ``pickup`` with ``sizes`` (m) by attribute."""
    for part in ("magnet", "poles"):
        record = getattr(pickup, part)
        own = {attr.partition(".")[2]: value for attr, value in sizes.items() if attr.startswith(f"{part}.")}
        listed = {name: (value,) * pickup.poles.count for name, value in own.items()
                  if isinstance(getattr(record, name), tuple)}  # fmt: skip
        pickup = replace(pickup, **{part: replace(record, **{**own, **listed})})
    coil = {attr.partition(".")[2]: value for attr, value in sizes.items() if attr.startswith("coil.")}
    return replace(pickup, coils=tuple(replace(one, **coil) for one in pickup.coils))


def kept(guitar: Guitar) -> str:
    """Return the part of the guitar file that says the pickup."""
    text = write_guitar(replace(guitar, assumed=()))
    pickup = text[text.index("[[pickups]]") : text.index("[[strings]]")]
    return f'name = "case"\n\n{pickup}'


def main() -> None:
    """Write one case."""
    name, construction, *seed = sys.argv[1:]
    guitar = drawn(construction, int(seed[0])) if seed else usual(construction)
    said = f"drawn at random, seed {seed[0]}" if seed else "usual sizes"
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / f"{name}.toml").write_text(f"# {construction}, {said}\n{kept(guitar)}", encoding="utf-8")


if __name__ == "__main__":
    main()
