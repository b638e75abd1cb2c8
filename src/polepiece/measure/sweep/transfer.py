"""The response of a pickup under its load, from a sweep through a small exciter coil held over a pole."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray, frozen
from polepiece.circuit import resonance
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate
from polepiece.measure.files import FileFact
from polepiece.measure.sweep.fit import CLOCK
from polepiece.measure.sweep.ratio import RatioSpectrum
from polepiece.measure.uncertainty import NINETY

SCHEMA = "polepiece/pickup-transfer/1"
REFERENCE = 1e3  # Hz
ABOUT = 2.0 ** (1.0 / 6.0)  # the reference is the mean within a sixth of an octave either way
DRAWS = 400  # of the noise, for the peak
LOUD = 0.25  # share of the response: points less certain (hum lines, no signal) are left out of peak and reference
FLAT_DB = 0.5  # a peak lower than this above 1 kHz is none
METHOD = 1e-3  # share: what the parabola through three points, 24 an octave, misplaces a peak of Q 5 by (`resonance`)
ASSUMED = (
    "The exciter's flux is taken to follow its current, and channel 1 that current: it is the voltage across the "
    "resistor at the earth end of the exciter, or a resistor far larger than the exciter's reactance lies in series. "
    "The pickup's voltage then rises with frequency for an even response; that slope is taken out.",
    "A coil over one pole fills the pickup otherwise than a string does: curves taken at one place compare with each "
    "other; a string's response may differ from them where covers and plates matter.",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupTransfer:
    """The relative response of a pickup under its load.

    Attributes
    ----------
    frequency : (f,) Hz.
    level_db, low_db, high_db : (f,) dB re 1 kHz, and 90 % bounds of each point against the reference.
    estimates : ``resonance_hz`` and ``resonance_over_1khz_db``, where there is a peak.
    files : the recording.
    notes : what was assumed, and sentences worth reading.
    """

    frequency: FloatArray
    level_db: FloatArray
    low_db: FloatArray
    high_db: FloatArray
    estimates: tuple[Estimate, ...]
    files: tuple[FileFact, ...]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        for name in ("frequency", "level_db", "low_db", "high_db"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        if not len(self.frequency) == len(self.level_db) == len(self.low_db) == len(self.high_db):
            raise InputError("frequency, level_db, low_db and high_db must be lists of one length.")

    def __getitem__(self, name: str) -> Estimate:
        for one in self.estimates:
            if one.name == name:
                return one
        raise InputError(f"nothing called {name!r} was measured; there are {[o.name for o in self.estimates]}.")

    def to_dict(self) -> Mapping[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        return {
            "schema": SCHEMA,
            "frequency_hz": self.frequency.tolist(),
            "level_db": self.level_db.tolist(),
            "low_db": self.low_db.tolist(),
            "high_db": self.high_db.tolist(),
            "estimates": [asdict(one) for one in self.estimates],
            "files": [asdict(one) for one in self.files],
            "notes": list(self.notes),
        }


def transfer_of(ratio: RatioSpectrum, *, files: tuple[FileFact, ...] = (), seed: int = 0) -> PickupTransfer:
    """Return the relative response of a pickup from the ratio of exciter current to pickup voltage.

    Linear; the flux of the exciter follows its current, and channel 1 that current (see the record's notes).

    Parameters
    ----------
    ratio : from `polepiece.measure.ratio_of` with ``through=True``: channel 1 the current, channel 2 the pickup.
    files : for the record.
    seed : of the draws for the interval of the peak.

    Raises
    ------
    MeasurementError
        When the recording says nothing at 1 kHz.

    Notes
    -----
    Induced voltage = -d(flux)/dt, so an even response gives |V / I| in proportion to f: the curve is
    20 lg(|V / I| / f), less its mean within a sixth of an octave about 1 kHz. Noise of a point and of the reference
    are added as variances; within the reference they even out. Two inputs of one interface may differ by some
    hundredths of a decibel over frequency; that is not in the bounds.
    Faraday's law; the reference is a choice (definition of the curve).
    """
    hertz, size = ratio.frequency, np.abs(ratio.ratio)
    share = ratio.deviation / size  # of the ratio, and of its inverse to first order
    clear = share < LOUD
    about = clear & (hertz > REFERENCE / ABOUT) & (hertz < REFERENCE * ABOUT)
    if not about.any():
        raise MeasurementError(
            "nothing of the sweep is left at 1 kHz on the pickup channel. Hold the exciter over a pole, volume full "
            "up, and raise the playback level."
        )
    level = -20.0 * np.log10(size * hertz)
    in_db = 20.0 / np.log(10.0) * np.minimum(share, 1.0)
    zero, zero_sd = float(level[about].mean()), float(np.sqrt(np.sum(in_db[about] ** 2)) / about.sum())
    half = NINETY * np.sqrt(in_db**2 + zero_sd**2)
    level = level - zero
    estimates, said = _peak(hertz[clear], level[clear], in_db[clear], zero_sd, seed)
    return PickupTransfer(
        frequency=hertz, level_db=level, low_db=level - half, high_db=level + half, estimates=estimates, files=files,
        notes=(*ASSUMED, *ratio.notes, *said),
    )  # fmt: skip


def _peak(
    hertz: FloatArray, level: FloatArray, noise: FloatArray, zero_sd: float, seed: int
) -> tuple[tuple[Estimate, ...], list[str]]:
    """Return frequency and height of the highest peak above 1 kHz with the spread that the noise gives them."""
    above = hertz > REFERENCE
    if np.count_nonzero(above) < 3:
        return (), ["The recording ends before a resonance could be seen."]
    axis, curve, spread = hertz[above], level[above], noise[above]
    random = np.random.default_rng(seed)
    drawn = [curve, *(curve + spread * random.standard_normal(curve.size) for _ in range(DRAWS))]
    found = [resonance(axis, 10.0 ** (one / 20.0)) for one in drawn]
    tops = [(top.frequency, curve[0] + top.height_db) for top in found if top.frequency and top.height_db is not None]
    if found[0].frequency is None or len(tops) < DRAWS // 2 or tops[0][1] < FLAT_DB:
        return (), [f"No peak stands {FLAT_DB:g} dB above the level at 1 kHz: the load damps it, or it lies higher up."]
    hertz_sd, height_sd = np.std(tops, axis=0)
    least = CLOCK * tops[0][0] + METHOD * tops[0][0]
    halves = NINETY * hertz_sd + least, NINETY * float(np.hypot(height_sd, zero_sd))
    names = (("resonance_hz", "Hz"), ("resonance_over_1khz_db", "dB"))
    return tuple(
        Estimate(name=name, value=float(value), low=float(value - half), high=float(value + half), unit=unit)
        for (name, unit), value, half in zip(names, tops[0], halves)
    ), []
