"""Levels of any number of states for switching between them: equally loud, or as loud as they really are."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.errors import InputError
from polepiece.sound.loudness import AUDITION_LUFS, PEAK_LIMIT_DBFS


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """What to give each state of a comparison; states in the order in which they came.

    Attributes
    ----------
    aligned_gain_db : gains after which all states are equally loud.
    true_gain_db : one gain for all, with which the reference is as loud as when aligned.
    difference_db : true loudness of each state minus that of the reference, LU.
    lowered_db : how far everything was lowered under the wanted loudness so that nothing clips; 0 = not.
    """

    aligned_gain_db: tuple[float, ...]
    true_gain_db: float
    difference_db: tuple[float, ...]
    lowered_db: float


def level_states(
    loudness_lufs: Sequence[float],
    peak_dbfs: Sequence[float],
    *,
    reference: int = 0,
    target_lufs: float = AUDITION_LUFS,
    peak_limit_dbfs: float = PEAK_LIMIT_DBFS,
) -> Levels:
    """Find the gains for a comparison of several states.

    Parameters
    ----------
    loudness_lufs, peak_dbfs : of each state as it was made (`loudness_as_given`, `peak_dbfs`).
    reference : index of the state that stays where it is when the true level is shown.
    target_lufs : wanted loudness of the aligned states.
    peak_limit_dbfs : highest peak between samples, aligned or at the true level.

    Raises
    ------
    InputError
        For no state, unequal counts, a number that is not finite, or a reference that is not among them.

    Notes
    -----
    The same rule as `polepiece.sound.align`, for more than two: with two states the gains are the same.
    Definition of a level difference; loudness: ITU-R BS.1770.
    """
    loudness, peak = np.asarray(loudness_lufs, dtype=float), np.asarray(peak_dbfs, dtype=float)
    if loudness.ndim != 1 or loudness.shape != peak.shape or not loudness.size:
        raise InputError(f"{loudness.size} loudness figures and {peak.size} peaks; one of each for every state.")
    if not (np.all(np.isfinite(loudness)) and np.all(np.isfinite(peak))):
        raise InputError("a loudness or a peak is not a finite number; a silent state cannot be compared.")
    if not 0 <= reference < loudness.size:
        raise InputError(f"reference is state {reference}; there are {loudness.size}, counted from 0.")
    aligned = target_lufs - loudness
    true = target_lufs - float(loudness[reference])
    highest = float(max(np.max(peak + aligned), np.max(peak + true)))
    lowered = max(0.0, highest - peak_limit_dbfs)
    return Levels(
        aligned_gain_db=tuple(float(one) for one in aligned - lowered),
        true_gain_db=true - lowered,
        difference_db=tuple(float(one) for one in loudness - loudness[reference]),
        lowered_db=lowered,
    )
