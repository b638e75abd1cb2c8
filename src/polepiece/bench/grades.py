"""What every grade would do in this very pickup, relative to the bar that is in."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from polepiece.bench.bench import Bench
from polepiece.bench.state import State, difference
from polepiece.bench.switched import position_of
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Charge, Guitar, Pickup, check_draws
from polepiece.materials import catalogue
from polepiece.pickup import anatomy

ROUGH_CAST = "alnico-5-rough-cast"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradeAtLevel:
    """One grade with the gap re-set to the old level, as every bench does before it judges."""

    lowered: float  # m; raised: < 0. Stops at the smallest safe gap and at 7 mm: the level may then still differ
    state: State
    difference: dict[str, float]
    interval: dict[str, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradeResult:
    """One grade in the pickup."""

    grade: str
    state: State
    difference: dict[str, float]  # re the bar that is in, by dotted key
    interval: dict[str, tuple[float, float]]  # 90 % of the difference
    at_level: GradeAtLevel | None = None  # where it was asked for


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grades:
    """All grades of the catalogue in one pickup."""

    pickup: str
    present: str
    charge: Charge  # how the other bars are taken to be charged
    before: State
    results: tuple[GradeResult, ...]


def grade_slugs() -> tuple[str, ...]:
    """Return every slug of the catalogue, the rough-cast finish included."""
    slugs = [m.slug for m in catalogue.magnets()]
    slugs.insert(slugs.index("alnico-5") + 1, ROUGH_CAST)
    return tuple(slugs)


def with_grade(pickup: Pickup, slug: str, charge: Charge) -> Pickup:
    """Return the pickup with a bar of grade ``slug`` of the same size, charged as said."""
    rough = slug == ROUGH_CAST
    magnet = replace(
        pickup.magnet,
        grade="alnico-5" if rough else slug,
        constants=None,
        charge=charge,
        pure_recoil=False,
        finish="rough-cast" if rough else "polished",
        measured_gauss=(),
    )
    return replace(pickup, magnet=magnet)


def compare_grades(
    guitar: Guitar,
    pickup: str,
    *,
    charge: Charge | None = None,
    seed: int = 0,
    draws: int = DRAWS,
    slugs: tuple[str, ...] | None = None,
    at_level: bool = False,
    position: str | None = None,
    bench: Bench | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Grades:
    """Compare every grade in one pickup with the bar that is in, at the same gap.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    charge : optional
        How the other bars are charged. Default: as the bar that is in (unknown: outside).
    seed, draws : int
        Of the 90 % intervals.
    slugs : optional
        Only these grades.
    at_level : bool
        Also with the gap re-set to the old level.
    position : str, optional
        In which the guitar is heard, see `pickups_on`. Default: the pickup by itself.
    bench : Bench, optional
    progress : callable, optional
        Called with (done, all).
    """
    if draws:
        check_draws(draws)
    the_pickup = guitar.pickup(pickup)
    bench = (bench or Bench(seed=seed)).heard_in(position_of(guitar, the_pickup.name, position))
    here = the_pickup.magnet.charge if charge is None else charge
    here = "outside" if here == "unknown" else here
    names = slugs or grade_slugs()
    changed = {slug: replace_pickup(guitar, with_grade(the_pickup, slug, here)) for slug in names}
    other_shape = {slug for slug, one in changed.items() if anatomy(one.pickup(the_pickup.name)) != anatomy(the_pickup)}
    order = sorted(names, key=other_shape.__contains__)  # another shape takes longer to be ready
    for slug in order:
        bench.solve_ahead(changed[slug], the_pickup.name, state=slug in other_shape, interval=draws > 0)
    before = bench.state(guitar, the_pickup.name)
    results = {}
    for done, slug in enumerate(order):
        if progress is not None:
            progress(done, len(names))
        if slug in other_shape:
            bench.meanwhile(changed[slug], the_pickup.name)
        state = bench.state(changed[slug], the_pickup.name)
        interval = bench.interval(guitar, changed[slug], the_pickup.name, draws=draws) if draws else {}
        results[slug] = GradeResult(
            grade=slug, state=state, difference=difference(before, state), interval=interval,
            at_level=_at_level(bench, guitar, changed[slug], the_pickup.name, before, draws) if at_level else None,
        )  # fmt: skip
    if progress is not None:
        progress(len(names), len(names))
    present = "own constants" if the_pickup.magnet.constants is not None else the_pickup.magnet.grade
    found = tuple(results[slug] for slug in names)
    return Grades(pickup=the_pickup.name, present=present, charge=here, before=before, results=found)


def _at_level(bench: Bench, guitar: Guitar, changed: Guitar, pickup: str, before: State, draws: int) -> GradeAtLevel:
    reset, lowered = bench.regap(before, changed, pickup)
    state = bench.state(reset, pickup)
    return GradeAtLevel(
        lowered=lowered, state=state, difference=difference(before, state),
        interval=bench.interval(guitar, reset, pickup, draws=draws) if draws else {},
    )  # fmt: skip


def replace_pickup(guitar: Guitar, pickup: Pickup) -> Guitar:
    """Return ``guitar`` with the pickup of the same name replaced."""
    return replace(guitar, pickups=tuple(pickup if p.name == pickup.name else p for p in guitar.pickups))
