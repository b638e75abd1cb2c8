"""90 % interval of the second harmonic: from the curvature of each draw's sensitivity over the height.

The draws of `intervals` know sensitivity and pull. The second harmonic asks for how the sensitivity changes as a
string moves, so each draw is sensed twice, a little nearer and a little further, and set against the nominal
guitar sensed in the same way.
"""

from collections.abc import Sequence

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench import measures
from polepiece.bench.bench import Bench
from polepiece.bench.regap import lowered
from polepiece.bench.state import H2_AMPLITUDE
from polepiece.guitar import Draw, Guitar, draws, ninety
from polepiece.pickup import turns

STEP = 0.1e-3  # m either way: third-order terms add under 0.1 % there, and rounding nothing


def drawn_h2_db(guitar: Guitar, pickup: str, sample: Sequence[Draw], *, bench: Bench) -> FloatArray:
    """Return the second harmonic of every string in every draw, dB re the fundamental.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    sample : sequence of Draw
    bench : Bench

    Returns
    -------
    ndarray, shape (k, d)

    Notes
    -----
    With s(h) the sensitivity of a draw at the height h, c2 = -ds/dh and c1 = s. The curvature found in this way is
    2-4 % under that of the full chain, which follows the poles' reply as the string moves; it is alike in all draws
    and goes out in the ratio to the nominal guitar.
    """
    the_pickup = guitar.pickup(pickup)
    magnetised = bench.magnetised(guitar, the_pickup)
    turned = np.array(turns(the_pickup)) * bench.switched(guitar, the_pickup).senses[0]
    near, far = (
        np.einsum(
            "kcd,c->kd",
            bench.drawn_strings(moved, moved.pickup(the_pickup.name), magnetised, sample)[0],
            turned,
        )
        for moved in (lowered(guitar, the_pickup, -STEP), lowered(guitar, the_pickup, +STEP))
    )
    found = measures.h2_db(0.5 * (near + far), (near - far) / (2.0 * STEP), H2_AMPLITUDE)
    nominal = np.array(bench.state(guitar, the_pickup.name).h2_db)[:, None]
    return np.asarray(nominal + found[:, 1:] - found[:, :1])


def h2_interval(
    before: Guitar, after: Guitar, pickup: str, *, bench: Bench, count: int = 64
) -> dict[str, tuple[float, float]]:
    """Return the 90 % interval of after minus before of each string's second harmonic, by dotted key."""
    sample = draws(count, bench.seed)
    moved = drawn_h2_db(after, pickup, sample, bench=bench) - drawn_h2_db(before, pickup, sample, bench=bench)
    stated = np.subtract(bench.state(after, pickup).h2_db, bench.state(before, pickup).h2_db)
    return {f"h2_db.{k + 1}": pair for k, pair in enumerate(ninety(moved.T, stated))}
