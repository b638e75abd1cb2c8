"""What was pooled, as constants that can be used in place of the published ones."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.evidence.pool.grades import GradeFound, GradesFound, constant_at, pool_grades
from polepiece.evidence.pool.observed import Observed, Proven, observe, permeability
from polepiece.evidence.pool.steel import SteelFound, pool_steel
from polepiece.guitar import SIGMAS
from polepiece.materials import QUANTITIES, PooledConstants, PooledGrade, catalogue, in_use, published_hash


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pooled:
    """The constants, and what they came of."""

    constants: PooledConstants
    observed: Observed
    grades: GradesFound
    steel: SteelFound | None


def pool(proven: Iterable[Proven], *, date: str, bench: Bench | None = None) -> Pooled:
    """Return the constants that ledgers of many guitars speak for.

    Parameters
    ----------
    proven : iterable of Proven
        Ledgers with the guitar before each change, and whose they are: readings of one bench share its meter.
    date : str
        ISO.
    bench : Bench, optional

    Raises
    ------
    InputError
        When pooled constants are in use already, or no ledger says anything of a bar or of steel.

    Notes
    -----
    The published constants are the prior. See `pool_grades` and `pool_steel`.
    """
    if in_use() is not None:
        raise InputError("pooled constants are in use; pooling starts from the published ones: --constants published.")
    observed = observe(proven, bench=bench)
    if not observed.bars and not observed.coils:
        why = "; ".join(f"{one} ({count})" for one, count in observed.left_out.items())
        raise InputError(
            "no ledger has a gauss reading or an inductance, computed and measured, of a bar that is known"
            f"{': ' + why if why else ''}. Keep ledgers with polepiece prove --keep."
        )
    grades, steel = pool_grades(observed.bars), pool_steel(observed.coils)
    benches = {one.bench for one in observed.bars} | {one.bench for one in observed.coils}
    constants = PooledConstants(
        date=date, benches=len(benches), readings=len(observed.bars) + len(observed.coils), published=published_hash(),
        grades={slug: pooled_grade(slug, one) for slug, one in grades.grades.items()},
        steel=None if steel is None else _steel(steel),
        charge=None if grades.charge is None else _charge(grades.charge),
    )  # fmt: skip
    return Pooled(constants=constants, observed=observed, grades=grades, steel=steel)


def pooled_grade(slug: str, found: GradeFound) -> PooledGrade:
    """Return a grade's constants for its next bar: at the mean deviate, ends at 1.645 deviations round it."""
    stuff = catalogue.magnet(slug)
    spread = np.sqrt(np.diag(found.next_bar))
    constants = {}
    for k, key in enumerate(QUANTITIES):
        value = getattr(stuff, key)
        low, high = stuff.spread.get(key, (value, value))
        floor = 1.0 if key == "recoil_permeability" else 0.2 * value  # what a magnet cannot be below
        middle, half = found.mean[k], SIGMAS * spread[k]
        ends = [max(constant_at(at, value, low, high), floor) for at in (middle, middle - half, middle + half)]
        constants[key] = (ends[0], min(ends[1], ends[0]), max(ends[2], ends[0]))
    together = found.next_bar / np.outer(spread, spread)
    return PooledGrade(constants=constants, together=tuple(map(tuple, together.tolist())), bars=found.bars)


def _steel(found: SteelFound) -> tuple[float, float, float]:
    middle, low, high = (permeability(one) for one in found.next_pickup)
    return middle, low, high


def _charge(found: tuple[float, float]) -> tuple[float, float, float]:
    mean, deviation = found
    value = min(math.exp(mean), 1.0)  # no bar is charged more than all the way
    return value, min(value, math.exp(mean - SIGMAS * deviation)), max(value, math.exp(mean + SIGMAS * deviation))
