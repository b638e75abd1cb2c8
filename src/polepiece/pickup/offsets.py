"""How far strings miss the places where they are taken to run, sideways: a stated spread.

A string without a stated ``y`` is taken to run over its pole. It does not: the pickup (or the bridge) is off the
centre line, and poles and strings are spaced by different rules. No survey of guitars is published. The numbers are
assumptions, each half of a 90 % range: spacings of poles and of strings are sold in steps of about a millimetre over
the outer strings, a pickup is centred by eye, and slots are cut to two or three tenths.
"""

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.guitar import SIGMAS, Draw, Guitar, Pickup
from polepiece.pickup.stringing import string_places

CENTRING = 0.5e-3  # m, all strings alike; assumption
SPACING = 0.5e-3  # m at the outermost string, in proportion to y; assumption
OWN = 0.2e-3  # m, each string by itself: slots of nut and saddle; assumption
READ = 0.25e-3  # m, a ``y`` that was read off a rule in half millimetres, each string by itself; assumption


def _shares(guitar: Guitar, pickup: Pickup) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Half 90 % ranges (k,), m, of what is common, of what goes with y, and of each string's own."""
    y, _ = string_places(guitar, pickup)
    assumed = np.array([s.y is None for s in guitar.strings])
    outermost = max(float(np.abs(y).max()), 1e-9)
    return assumed * CENTRING, assumed * SPACING * y / outermost, np.where(assumed, OWN, READ)


def string_offsets(guitar: Guitar, pickup: Pickup, draw: Draw) -> FloatArray:
    """Return how far each string (k,) lies from its y in one draw, towards +y, m; zeros in the nominal guitar.

    The errors stay in the guitar: they have the same deviates before and after a change.

    Sizes: assumptions, see the module.
    """
    common, spaced, own = _shares(guitar, pickup)
    each = np.array([draw.deviate(f"string {k + 1} beside its place") for k in range(len(own))])
    moved = (
        common * draw.deviate(f"{pickup.name} centring") + spaced * draw.deviate(f"{pickup.name} spacing") + own * each
    )
    return np.asarray(moved / SIGMAS)
