"""Sounds of a blind trial, written so that nothing but the sound tells one from another.

Every presentation is a file of its own: the gain is in the samples, fresh dither makes the bytes differ each time,
all files of a trial have as many samples, and a chunk of random length and content pads the file.
"""

import struct
from collections.abc import Sequence

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.sound.levels import level_states
from polepiece.sound.loudness import loudness_as_given, peak_dbfs
from polepiece.sound.written_wav import to_bytes

WITHIN_DB = 0.1  # of equal loudness, ITU-R BS.1770, over what is played
PAD = 4096  # most bytes of the padding chunk
STEP = 2.0**-23  # of 24-bit samples


def presented(samples: FloatArray, sample_rate: int, *, gain_db: float, rng: np.random.Generator) -> bytes:
    """Return a sound as a WAV file for one presentation (dither and padding: definition).

    Parameters
    ----------
    samples : shape (t,) or (t, 2), full scale 1.0.
    sample_rate : Hz.
    gain_db : put into the samples.
    rng : of dither (triangular, one step of 24 bits either way) and padding; not the trial's own seed.

    Returns
    -------
    bytes
        RIFF WAVE, PCM of 24 bits, with a ``JUNK`` chunk before the samples.

    Raises
    ------
    InputError
        When the gain lifts a peak above full scale.
    """
    sound = np.asarray(samples, dtype=float) * 10.0 ** (gain_db / 20.0)
    dither = (rng.random(sound.shape) - rng.random(sound.shape)) * STEP
    whole = to_bytes(sound + dither, sample_rate, container="WAV", subtype="PCM_24")
    pad = rng.bytes(2 * int(rng.integers(1, PAD // 2)))
    at = whole.index(b"data")
    filled = whole[:at] + b"JUNK" + struct.pack("<I", len(pad)) + pad + whole[at:]
    return filled[:4] + struct.pack("<I", len(filled) - 8) + filled[8:]


def equal_loudness_gains(sounds: Sequence[FloatArray], sample_rate: int) -> tuple[float, ...]:
    """Return the gains that make sounds equally loud (ITU-R BS.1770) over all their length, and check that they do.

    Raises
    ------
    InputError
        When a sound is silent or too short to have a loudness, or their loudness differs by more than WITHIN_DB
        afterwards.
    """
    gains = trial_gains(sounds, sample_rate, matched=True)
    found = [loudness_as_given(one * 10.0 ** (gain / 20.0), sample_rate, "aligned") for one, gain in zip(sounds, gains)]
    if max(found) - min(found) > WITHIN_DB:
        raise InputError(f"the sounds differ by {max(found) - min(found):.2f} dB in loudness after aligning.")
    return gains


def trial_gains(sounds: Sequence[FloatArray], sample_rate: int, *, matched: bool) -> tuple[float, ...]:
    """Return a gain for every sound: each its own (``matched``: equally loud) or one for all (at their true level)."""
    loudness = [loudness_as_given(one, sample_rate, "sound") for one in sounds]
    found = level_states(loudness, [peak_dbfs(one, sample_rate) for one in sounds])
    return found.aligned_gain_db if matched else (found.true_gain_db,) * len(sounds)
