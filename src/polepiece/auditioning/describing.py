"""What a change does to the numbers that describe a sound: loudness, sharpness, centre of the spectrum, attack.

They describe; none of them says what a listener will hear. Loudness is told at the true level, the rest equally loud.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.comparing import Comparison
from polepiece.errors import InputError, MeasurementError
from polepiece.sound import (
    REFERENCE_PRESSURE,
    RESPONSE_BANDS,
    NotInstalledError,
    Perceived,
    attack_to_sustain_db,
    band_words,
    banded,
    loudness_and_sharpness,
    spectral_centroid,
    strongest_stroke,
)

T = TypeVar("T")

LISTENING_DB_SPL = 75.0  # at the ear, of the first state; assumption
LOWEST_DB_SPL, HIGHEST_DB_SPL = 40.0, 100.0
EXCERPT_S = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Described:
    """One number before and after; None where it was not computed, and then ``note`` says why.

    ``threshold`` is the difference that is just noticed by its source, in the unit of ``difference``; None: no
    published one is known.
    """

    key: str
    name: str
    unit: str
    before: float | None
    after: float | None
    difference: float | None
    difference_unit: str
    threshold: float | None
    threshold_source: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    name: str
    unit: str
    difference_unit: str
    threshold: float | None
    source: str


KINDS = {
    "loudness_sone": _Kind(
        name="loudness, true level (ISO 532-1)", unit="sone", difference_unit="%", threshold=100.0 * (2.0**0.1 - 1.0),
        source="one phon of the next line, by ISO 532-1",
    ),
    "loudness_level_phon": _Kind(
        name="loudness level, true level (ISO 532-1)", unit="phon", difference_unit="phon", threshold=1.0,
        source="0.5 to 1 dB of level, most sounds (course text of the Open University, read second-hand)",
    ),
    "sharpness_acum": _Kind(
        name="sharpness, equally loud (DIN 45692)", unit="acum", difference_unit="acum", threshold=0.04,
        source="Pedrielli, Carletti and Casazza 2008, noise of machines (memory)",
    ),
    "centroid_hz": _Kind(
        name="centre of the spectrum", unit="Hz", difference_unit="%", threshold=5.0,
        source="about 5 % as quoted after Grey 1977 (read second-hand, no primary source seen)",
    ),
    "low_attack_db": _Kind(
        name=f"attack against sustain, {band_words('lows')}", unit="dB", difference_unit="dB", threshold=None,
        source="no published threshold is known",
    ),
}  # fmt: skip


def check_listening_level(db_spl: float) -> None:
    """Raise InputError for a level outside 40 to 100 dB SPL."""
    if not LOWEST_DB_SPL <= db_spl <= HIGHEST_DB_SPL:
        raise InputError(
            f"listening level is {db_spl:g} dB SPL; allowed are {LOWEST_DB_SPL:g} to {HIGHEST_DB_SPL:g}. Is it in dBFS?"
        )


def describe(
    comparison: Comparison, state: int, *, listening_db_spl: float = LISTENING_DB_SPL, seconds: float = EXCERPT_S
) -> tuple[Described, ...]:
    """Describe a state beside the first, over the loudest stretch of the first.

    Parameters
    ----------
    comparison : Comparison
    state : index of the other state, 1 or more.
    listening_db_spl : level at the ear of the first state over the stretch, 40 to 100 dB SPL. No amplifier is known:
        it is assumed, and sones and acums depend on it.
    seconds : of the stretch, 0.5 to 60; all of it when the sound is shorter.

    Returns
    -------
    rows : five, in the order of KINDS. Two channels are described as their mean.

    Raises
    ------
    InputError
        For a level, length or state outside what is allowed.
    """
    check_listening_level(listening_db_spl)
    if not 0.5 <= seconds <= 60.0:
        raise InputError(f"the stretch is {seconds:g} s; allowed are 0.5 to 60 s.")
    if not 1 <= state < len(comparison.states):
        raise InputError(f"state is {state}; this comparison has 1 to {len(comparison.states) - 1} beside the first.")
    rate = float(comparison.sample_rate)
    before, after = (
        np.asarray(comparison.excerpt(k, seconds, true_level=True).mean(axis=1), dtype=np.float64) for k in (0, state)
    )
    return describe_pair(
        before, after, rate, difference_db=comparison.difference_db(state), listening_db_spl=listening_db_spl
    )


def describe_pair(
    before: FloatArray,
    after: FloatArray,
    sample_rate: float,
    *,
    difference_db: float,
    listening_db_spl: float = LISTENING_DB_SPL,
) -> tuple[Described, ...]:
    """Describe one sound beside another, both at their true level.

    Parameters
    ----------
    before, after : ndarray, shape (t,)
        The same stretch of both.
    sample_rate : Hz.
    difference_db : true loudness of the second against the first, LU; sharpness is told of both equally loud.
    listening_db_spl : level at the ear of the first, see `describe`.

    Returns
    -------
    rows : five, in the order of KINDS.
    """
    check_listening_level(listening_db_spl)
    equal = 10.0 ** (-difference_db / 20.0)
    ear, why = _tried(lambda: _at_the_ear(listening_db_spl, sample_rate, before, after, equal * after))
    centre, no_centre = _tried(lambda: [spectral_centroid(one, sample_rate) for one in (before, after)])
    attack, no_attack = _tried(lambda: _attacks(before, after, sample_rate))
    return (
        _row("loudness_sone", None if ear is None else (ear[0].sone, ear[1].sone), why),
        _row("loudness_level_phon", None if ear is None else (ear[0].phon, ear[1].phon), why),
        _row("sharpness_acum", None if ear is None else (ear[0].acum, ear[2].acum), why),
        _row("centroid_hz", centre, no_centre),
        _row("low_attack_db", attack, no_attack),
    )


def loudest_stretch(samples: FloatArray, sample_rate: float, seconds: float = EXCERPT_S) -> slice:
    """Return where the strongest stretch of a sound (t,) lies; all of it when it is shorter."""
    count = round(seconds * sample_rate)
    if count >= len(samples):
        return slice(0, len(samples))
    summed = np.concatenate([[0.0], np.cumsum(samples**2)])
    first = int(np.argmax(summed[count:] - summed[:-count]))
    return slice(first, first + count)


def _tried(work: Callable[[], T]) -> tuple[T | None, str]:
    """Return what came, or None and why not."""
    try:
        return work(), ""
    except (NotInstalledError, MeasurementError) as error:
        return None, f"not computed: {error}"


def _row(key: str, pair: Sequence[float] | None, note: str) -> Described:
    kind, before, after, difference = KINDS[key], None, None, None
    if pair is not None and np.all(np.isfinite(pair)) and (kind.difference_unit != "%" or pair[0] > 0.0):
        before, after = pair
        difference = 100.0 * (after / before - 1.0) if kind.difference_unit == "%" else after - before
    elif pair is not None:
        note = "not computed: at this listening level a sound is under 0.1 sone"
    return Described(
        key=key, name=kind.name, unit=kind.unit, before=before, after=after, difference=difference,
        difference_unit=kind.difference_unit, threshold=kind.threshold, threshold_source=kind.source, note=note,
    )  # fmt: skip


def _at_the_ear(db_spl: float, rate: float, first: FloatArray, *others: FloatArray) -> list[Perceived]:
    """Return loudness and sharpness of each sound, the first of them at a level."""
    level = float(np.sqrt(np.mean(first**2)))
    if level == 0.0:
        raise MeasurementError("the mean of the two channels is silent; is one of them the other upside down?")
    pascal = REFERENCE_PRESSURE * 10.0 ** (db_spl / 20.0) / level
    return [loudness_and_sharpness(pascal * one, rate) for one in (first, *others)]


def _attacks(before: FloatArray, after: FloatArray, rate: float) -> tuple[float, float]:
    lows = [banded(one, rate, RESPONSE_BANDS["lows"]) for one in (before, after)]
    onset = strongest_stroke(lows[0], rate)
    first, second = (attack_to_sustain_db(one, rate, onset=onset) for one in lows)
    return first, second
