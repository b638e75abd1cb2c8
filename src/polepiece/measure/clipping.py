"""Whether a recording clips."""

import numpy as np

from polepiece.arrays import FloatArray

CLIPPED = 0.9995  # of full scale; three samples in a row there are a flat top


def clips(samples: FloatArray) -> bool:
    """Say whether three samples (t,) in a row stand at full scale (1.0)."""
    size = np.abs(samples)
    top = float(size.max(initial=0.0))
    if top < CLIPPED:
        return False
    flat = size >= CLIPPED * top
    return bool(np.any(flat[:-2] & flat[1:-1] & flat[2:]))
