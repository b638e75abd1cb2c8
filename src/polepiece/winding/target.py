"""What a winding is to sound like: a curve over frequency, or a resonance and its height; and a level."""

import math
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.measure import Grid
from polepiece.pickup import GRID
from polepiece.typed_number import typed_number

FEWEST, MOST = 4, 5000  # points of a curve
RESONANCES = (500.0, 15e3)  # Hz, in the guitar
HEIGHTS = (0.0, 25.0)  # dB
LEVELS = (-12.0, 12.0)  # dB against the guitar as it is


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Target:
    """A curve (f,), dB with any zero, or a resonance in Hz with, perhaps, its height in dB; ``level_db`` beside either.

    ``level_db`` is a difference against the guitar as it is; None leaves the gap.

    Raises
    ------
    InputError
        When both or neither are said, or a value is none of a pickup.
    """

    frequency: FloatArray | None = None
    curve_db: FloatArray | None = None
    resonance: float | None = None
    height_db: float | None = None
    level_db: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be aimed at."""
        if (self.frequency is None) == (self.resonance is None):
            raise InputError("a target is a curve or a resonance: say one of the two.")
        if self.height_db is not None and self.resonance is None:
            raise InputError("the height of a peak belongs to its resonance: say that too.")
        for name, value, (low, high), unit, slip in (
            ("resonance", self.resonance, RESONANCES, "Hz", "3200 Hz is 3.2 kHz"),
            ("height of the peak", self.height_db, HEIGHTS, "dB", "above the plateau"),
            ("level", self.level_db, LEVELS, "dB", "against the guitar as it is"),
        ):
            if value is not None and not low <= value <= high:
                raise InputError(f"{name} is {value:g} {unit}; allowed are {low:g} to {high:g} {unit}: {slip}.")

    @property
    def unit(self) -> str:
        """What a misfit is counted in."""
        return "dB" if self.curve_db is not None else "x just heard"

    def misfit(
        self, response_db: FloatArray, resonance: float | None, height_db: float | None, just_heard: tuple[float, float]
    ) -> float:
        """Return how far a state is from the target; `unit`.

        Parameters
        ----------
        response_db : ndarray, shape (f,)
            On `pickup.GRID`.
        resonance, height_db : float or None
            Of its peak, Hz and dB.
        just_heard : (float, float)
            Of a resonance in per cent, of the height of its peak in dB (`bench.threshold_of`).

        Notes
        -----
        A curve: root mean square of the difference without its mean, every octave alike (trapezoids over log f). A
        resonance: its distance and that of its height, each over what is just heard of it, as a root mean square.
        Definitions.
        """
        if self.frequency is not None and self.curve_db is not None:
            octave = np.log2(self.frequency)
            made = np.interp(octave, np.log2(GRID), response_db)
            weight = np.gradient(octave)
            weight = weight / weight.sum()
            left = made - self.curve_db
            left = left - float(weight @ left)
            return math.sqrt(float(weight @ left**2))
        assert self.resonance is not None
        if resonance is None or height_db is None:
            return math.inf
        parts = [math.log(resonance / self.resonance) / math.log1p(0.01 * just_heard[0])]
        if self.height_db is not None:
            parts.append((height_db - self.height_db) / just_heard[1])
        return math.sqrt(sum(one**2 for one in parts) / len(parts))


def target_curve(grid: Grid, column: str | None = None) -> tuple[FloatArray, FloatArray]:
    """Return frequencies (f,) in Hz, rising, and levels (f,) in dB of a table.

    Parameters
    ----------
    grid : Grid
        Its head names a column of frequencies (Hz or kHz) and one or more in dB, as ``--curve`` writes them.
    column : str, optional
        Head of the column that is aimed at, where there are several.

    Raises
    ------
    InputError
        When a column is not found, a cell is no number, or the frequencies are none of a pickup; with its row.
    """
    head = list(grid.rows[0][1])
    plain = [one.lower() for one in head]
    at = next((k for k, one in enumerate(plain) if "freq" in one or "hz" in one or one == "f"), None)
    levels = [k for k, one in enumerate(plain) if k != at and ("db" in one or "level" in one or "response" in one)]
    if column is not None:
        levels = [k for k in levels if column.lower() in plain[k]]
    if at is None or len(levels) != 1:
        which = "no column of frequencies" if at is None else f"{len(levels)} columns in dB"
        raise InputError(
            f"{grid.name} has {which}; its columns are {', '.join(map(repr, head))}. Name one frequency_hz, and say "
            "which is meant with --column where several are in dB."
        )
    kilo = 1e3 if "khz" in plain[at] else 1.0
    points, faults = [], []
    for number, cells in grid.rows[1:]:
        try:
            points.append((kilo * float(typed_number(cells[at])), float(typed_number(cells[levels[0]]))))
        except (InputError, IndexError) as error:
            faults.append(
                f"{grid.name}, row {number}: {error if isinstance(error, InputError) else 'a cell is missing'}."
            )
    if faults:
        raise InputError("\n".join(faults[:12]))
    inside = [(f, d) for f, d in points if GRID[0] <= f <= GRID[-1]]
    if not FEWEST <= len(inside) <= MOST or len({f for f, _ in inside}) != len(inside):
        raise InputError(
            f"{grid.name} has {len(inside)} frequencies between {GRID[0]:.0f} and {GRID[-1]:.0f} Hz, or one twice; "
            f"{FEWEST} to {MOST} are taken. Are they in kHz?"
        )
    frequency, level = np.array(sorted(inside)).T
    return frequency, level
