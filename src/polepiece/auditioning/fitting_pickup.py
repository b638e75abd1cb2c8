"""Whether a recording can be of the pickup it is said to be of: its spectrum against those of phrases played on it.

Nobody knows what was played, how hard and where; so a recording is unlike only where an octave of it, against what it
has from 250 Hz to 1 kHz, lies outside all that four unlike phrases have there, and by more than `SLACK_DB`. That finds
a piezo, a microphone, a tone control forgotten at 0 or a pickup of quite another kind, and no near kin.
"""

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.playing import predicted
from polepiece.bench import Bench
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import Guitar
from polepiece.sound import THIRDS, Condition, phrase

PLAYED = ("open-chord", "single-notes-low", "single-notes-high", "muted-riff")
SLACK_DB = 6.0  # rendered recordings of 20 drawn pickups, any phrase: at most 3.8 dB outside on their own pickup
OCTAVES = ((1120.0, 2240.0), (2240.0, 4470.0), (4470.0, 8910.0))  # Hz
BELOW = 1120.0
LEAST_OVER_HISS_DB = 3.0


def octave_levels(third_octaves: FloatArray) -> FloatArray:
    """Return the mean of third octaves (mean squares in `THIRDS`) in `OCTAVES` against that below them, dB.

    Definition.
    """
    base = third_octaves[THIRDS < BELOW].mean()
    means = [third_octaves[(low < THIRDS) & (high > THIRDS)].mean() for low, high in OCTAVES]
    return np.asarray(10.0 * np.log10(np.maximum(means, 1e-30) / max(float(base), 1e-30)))


def unlike_words(condition: Condition, guitar: Guitar, pickup: str, *, bench: Bench) -> str:
    """Return a sentence where a recording does not fit ``pickup`` of ``guitar`` as it is; empty: it may be of it."""
    if condition.spectrum is None or not condition.spectrum.windows:
        return ""
    try:
        expected = np.array([_expected(guitar, pickup, name, bench) for name in PLAYED])
    except (InputError, MeasurementError):  # a bass that fits none of them, a silent state: nothing to hold it to
        return ""
    found = octave_levels(condition.spectrum.third_octaves)
    low, high = expected.min(axis=0), expected.max(axis=0)
    off = np.where(found > high, found - high, np.where(found < low, found - low, 0.0))
    hiss = condition.spectrum.hiss / 6.0  # of six third octaves from 2 to 8 kHz
    for k, (_, edge) in enumerate(OCTAVES):  # what hides in the hiss is not known to be missing
        band = (OCTAVES[k][0] < THIRDS) & (edge > THIRDS)
        quiet = condition.spectrum.third_octaves[band].mean() < hiss * 10.0 ** (LEAST_OVER_HISS_DB / 10.0)
        off[k] = max(off[k], 0.0) if quiet else off[k]
    worst = int(np.argmax(np.abs(off)))
    if abs(off[worst]) <= SLACK_DB:
        return ""
    edges = "–".join(f"{edge / 1000.0:.1f}" for edge in OCTAVES[worst])
    return (
        f"Unlike this pickup: from {edges} kHz it has {abs(off[worst]):.0f} dB "
        f"{'more' if off[worst] > 0.0 else 'less'} than any of four phrases played on {pickup} as the file has it "
        f"(limit {SLACK_DB:.0f} dB). Was it this pickup alone, straight into the interface, with these controls?"
    )


def _expected(guitar: Guitar, pickup: str, name: str, bench: Bench) -> FloatArray:
    said = predicted(guitar, pickup, phrase(name), spread=None, bench=bench)
    at = [int(np.argmin(np.abs(said.middle - one))) for one in THIRDS]
    return octave_levels(10.0 ** (said.third_octave_db[at] / 10.0))
