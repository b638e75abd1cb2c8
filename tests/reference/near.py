"""Whether long arrays are near one another: `pytest.approx` takes 3 us an element, a second for a take of sound."""

import numpy as np
from numpy.typing import ArrayLike


def assert_near(found: ArrayLike, wanted: ArrayLike, most: float) -> None:
    """Fail unless both have one shape and every element lies within ``most`` of the wanted one; NaN is near nothing."""
    one, other = np.asarray(found), np.asarray(wanted)
    assert one.shape == other.shape
    np.testing.assert_allclose(one, other, rtol=0.0, atol=most, equal_nan=False)
