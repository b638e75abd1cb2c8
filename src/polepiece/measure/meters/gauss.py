"""What a gauss meter says at the pole tops: readings with their units, the probe, and the meter's uncertainty."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.typed_number import DIGITS, typed_float

SCALE = 0.03  # limits of a hand-held meter's scale, share; common practice, no source
REPEATABILITY = 0.03  # standard deviation of laying the probe on again, share; common practice, no source
LEAST, MOST = 1e-4, 0.3  # T that are taken for a reading at a pole top
UNITS = {"g": 1e-4, "gs": 1e-4, "gauss": 1e-4, "kg": 0.1, "mt": 1e-3, "t": 1.0, "ut": 1e-6, "\u00b5t": 1e-6}
ROWS = {
    "": "", "screw": "screws", "screws": "screws", "slug": "slugs", "slugs": "slugs", "rod": "rods", "rods": "rods"
}  # fmt: skip
_READING = re.compile(r"\s*([a-z]*)\s*(\d{1,2})\s*=\s*([-+\u2212]?)\s*(" + DIGITS + r")\s*([a-z\u00b5]*)\s*")
_HOW = "write pole = value with its unit: 1=38mT, slug 2=-380G, 3=41,5 mT"


@dataclass(frozen=True, slots=True, kw_only=True)
class PoleReading:
    """One reading on one pole; pole 1 is under string 1, the thin one."""

    pole: int
    flux_density: float  # T, + = up, out of the pickup; of an unsigned meter its size
    row: str = ""  # "screws", "slugs", "rods"; "" is the only row, or that of the screws
    signed: bool = False  # whether a sign was given

    def __post_init__(self) -> None:
        size = abs(self.flux_density)
        if not math.isfinite(size) or not LEAST <= size <= MOST:
            likely = "tesla typed as mT, or mT as G?" if size > MOST else "G typed as uT, or mT with a slipped point?"
            raise InputError(
                f"the reading at pole {self.pole} is {self.flux_density * 1e4:g} gauss ({self.flux_density * 1e3:g} "
                f"mT); 1 to 3000 gauss are taken, 150 to 1200 are usual: {likely} 1 mT is 10 gauss."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """Where the sensing element is, and how wide it is; m."""

    height: float  # of the element above the face that the probe lies on
    low: float  # 90 % range of the height
    high: float
    size: float = 0.0  # diameter of the area over which it averages

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.height <= self.high <= 10e-3:
            raise InputError(
                f"the probe's height is {self.height * 1e3:g} mm ({self.low * 1e3:g} to {self.high * 1e3:g}); 0 to 10 "
                "mm are taken, flat probes have 0.3 to 1.5."
            )
        if not 0.0 <= self.size <= 10e-3:
            raise InputError(f"the probe's size is {self.size * 1e3:g} mm; 0 to 10 mm are taken, 0.2 to 4 are usual.")


@dataclass(frozen=True, slots=True, kw_only=True)
class GaussMeter:
    """What a meter is good for: limits of its scale, and how well a reading repeats, as shares of the reading."""

    scale_tolerance: float = SCALE
    repeatability: float = REPEATABILITY

    def __post_init__(self) -> None:
        for name in ("scale_tolerance", "repeatability"):
            value = getattr(self, name)
            if not 0.0 <= value <= 0.3:
                raise InputError(f"{name} is {value:g}; a share up to 0.3 is needed: 3 % is 0.03.")


def parse_gauss_reading(text: str) -> PoleReading:
    """Read ``1=38mT``, ``slug 2 = -380 G`` or ``3=41,5 mT``.

    Raises
    ------
    InputError
        When it is no pole and value, or has no unit: gauss and millitesla differ by ten.
    """
    found = _READING.fullmatch(text.lower())
    if found is None:
        raise InputError(f"the reading {text!r} is not understood; {_HOW}.")
    row, pole, sign, digits, unit = found.groups()
    if row not in ROWS:
        raise InputError(f"the reading {text!r}: there is no row {row!r}; rows are screw, slug, rod.")
    if unit not in UNITS:
        given = f"has the unit {unit!r}" if unit else "has no unit"
        raise InputError(f"the reading {text!r} {given}; G or mT is needed, 1 mT is 10 gauss: {_HOW}.")
    size = typed_float(digits, f"the reading {text!r}", allowed=f"{_HOW[:1].upper()}{_HOW[1:]}") * UNITS[unit]
    return PoleReading(
        pole=int(pole), row=ROWS[row], signed=bool(sign),
        flux_density=-size if sign in ("-", "\u2212") else size,
    )  # fmt: skip


def parse_gauss_readings(texts: Sequence[str]) -> tuple[PoleReading, ...]:
    """Read several; every fault is reported at once.

    When one of them has a sign, the meter shows signs, and a reading without one is positive.

    Raises
    ------
    InputError
        With one line for each that cannot be read, for none at all, and for a pole that is given twice.
    """
    faults, found = [], []
    for text in texts:
        try:
            found.append(parse_gauss_reading(text))
        except InputError as error:
            faults.append(str(error))
    places = [(one.row, one.pole) for one in found]
    for place in sorted({one for one in places if places.count(one) > 1}):
        faults.append(f"{' '.join(map(str, place)).strip()} is given twice; give the mean of its readings.")
    if not texts:
        faults.append(f"there is no reading; {_HOW}.")
    if faults:
        raise InputError("\n".join(faults))
    signed = any(one.signed for one in found)
    return tuple(PoleReading(pole=one.pole, row=one.row, flux_density=one.flux_density, signed=signed) for one in found)


def disc_average(diameter: float) -> tuple[FloatArray, FloatArray]:
    """Return points (7, 2) of a disc about its middle, m, and their weights (7,): what a probe averages over.

    Exact for fields that are polynomials up to the fifth degree across the disc; a disc of no size is one point.

    References
    ----------
    .. [1] J. Radon, "Zur mechanischen Kubatur", Monatshefte fuer Mathematik 52, 286 (1948), from memory.
    """
    if diameter == 0.0:
        return np.zeros((1, 2)), np.ones(1)
    angle = np.arange(6) * np.pi / 3.0
    ring = 0.5 * diameter * np.sqrt(2.0 / 3.0) * np.column_stack([np.cos(angle), np.sin(angle)])
    return np.vstack([np.zeros((1, 2)), ring]), np.array([0.25, *[0.125] * 6])
