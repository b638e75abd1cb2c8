"""Benches drawn from a stated truth: bars that differ within their grade, meters that are off, steel of many kinds.

What a bench reads is not linear in what is not known (each side of a spread has its own width, a meter is off by any
share within its limits), while the pool linearises it and takes everything as normal.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.evidence.pool.observed import LAID_ON, STEEL_DEVIATES, BarReading, CoilReading

Ends = Mapping[str, tuple[float, float]]  # ln of the field at both ends of each constant's spread, and of "gap"
KEYS = ("remanence", "coercivity", "energy_product", "recoil_permeability")
SIGMAS = 1.6449


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Of one world: deviates of each grade's constants, spread from bar to bar, charge of bars charged outside."""

    grades: Mapping[str, np.ndarray]
    tau: float
    charge: float
    steel: tuple[float, float]  # mean deviate and spread


def drawn_truth(draw: np.random.Generator, grades: Sequence[str], *, tau: float, charge: bool = False) -> Truth:
    return Truth(
        grades={one: draw.standard_normal(4) for one in grades}, tau=tau,
        charge=float(draw.normal(-0.03, 0.03)) if charge else 0.0,
        steel=(float(draw.standard_normal() * 0.6), float(draw.uniform(0.2, 0.6))),
    )  # fmt: skip


def moved(ends: Ends, deviates: Mapping[str, float]) -> float:
    """ln of the field as `MagnetMoves` has it: a parabola through both ends within the spread, straight beyond."""
    total = 0.0
    for key, (low, high) in ends.items():
        z = deviates[key] / SIGMAS
        inside = 0.5 * z * (z + 1.0) * high + 0.5 * z * (z - 1.0) * low
        total += inside if abs(z) <= 1.0 else (z * high if z > 0 else -z * low)
    return total


def bar(draw: np.random.Generator, truth: Truth, grade: str, ends: Ends) -> float:
    """ln of the field of a new bar over that of the published constants, charge left aside."""
    own = truth.grades[grade] + truth.tau * draw.standard_normal(4)
    return moved(ends, dict(zip(KEYS, own)) | {"gap": float(draw.standard_normal())})


def readings(
    draw: np.random.Generator, truth: Truth, ends: Mapping[str, Ends], *, benches: int, bars: int, in_place: float = 0.0
) -> list[BarReading]:  # fmt: skip
    """What ``benches`` read of ``bars`` bars each: a meter of 3 % limits and a probe whose height is not known."""
    found = []
    for bench in range(benches):
        probe = draw.uniform(0.02, 0.12)  # spread of ln by the probe's height, as the bench's interval has it
        off = draw.uniform(-0.03, 0.03) + probe * draw.standard_normal()
        shared = float(np.hypot(0.03 / np.sqrt(3.0), probe))
        for _ in range(bars):
            grade = str(draw.choice(list(truth.grades)))
            outside = bool(draw.random() >= in_place)
            ratio = bar(draw, truth, grade, ends[grade]) + truth.charge * outside + off
            ratio += LAID_ON * draw.standard_normal() + 0.01 * draw.standard_normal()
            low, high = (tuple(ends[grade].get(key, (0.0, 0.0))[k] for key in KEYS) for k in (0, 1))
            gap = abs(ends[grade]["gap"][1] - ends[grade]["gap"][0]) / (2.0 * SIGMAS)
            found.append(BarReading(
                bench=str(bench), grade=grade, outside=outside, ratio=float(ratio), low=low, high=high, gap=gap,
                shared=shared, own=float(np.hypot(LAID_ON, 0.01)),
            ))  # fmt: skip
    return found


def coils(draw: np.random.Generator, truth: Truth, *, pickups: int) -> list[CoilReading]:
    """Inductances of pickups whose steel differs: each its own curve, steep below and flat above."""
    found = []
    for number in range(pickups):
        depth, rise = draw.uniform(0.25, 0.5), draw.uniform(0.01, 0.05)
        z = np.array(STEEL_DEVIATES)
        curve = np.where(
            z < 0.0, -depth * (np.maximum(-z, 0.0) / SIGMAS) ** 1.8, rise * (1.0 - np.exp(-np.maximum(z, 0.0)))
        )
        own = float(draw.uniform(0.02, 0.06))
        true = float(np.clip(draw.normal(*truth.steel), -2.5, 2.5))
        at = -depth * (-true / SIGMAS) ** 1.8 if true < 0.0 else rise * (1.0 - np.exp(-true))
        found.append(
            CoilReading(bench=str(number), ratio=float(at + own * draw.standard_normal()), curve=curve, own=own)
        )
    return found
