"""Whether a recording clips."""

import numpy as np

from polepiece.arrays import FloatArray

CLIPPED = 0.9995  # of full scale; three samples in a row there are a flat top
LOUD = 0.1  # of full scale: in quieter recordings the steps of 16 bits are flat tops of their own
FLAT = 1e-4  # share of the top within which a sample stands at it
MOST_AT_TOP = 0.03  # of the samples over half of the top; a sine has 0.7 %, one that is cut 0.05 dB under its top 4 %
FEW = 48  # samples at the top that may be chance


def clips(samples: FloatArray) -> bool:
    """Say whether samples (t,) stand at full scale (1.0) three in a row, or the wave has flat tops below it.

    Flat tops come from what clips ahead of the converter, and from files that were made quieter after they had clipped:
    far more samples than a sine has stand at the largest value of their side.
    """
    size = np.abs(samples)
    top = float(size.max(initial=0.0))
    if top >= CLIPPED:
        flat = size >= CLIPPED * top
        return bool(np.any(flat[:-2] & flat[1:-1] & flat[2:]))
    return any(_flat(side) for side in (samples, -samples))


def _flat(samples: FloatArray) -> bool:
    """Say whether the positive side has a flat top."""
    top = float(samples.max(initial=0.0))
    if top < LOUD:
        return False
    at_top = int(np.count_nonzero(samples >= (1.0 - FLAT) * top))
    return at_top > max(FEW, MOST_AT_TOP * int(np.count_nonzero(samples > 0.5 * top)))
