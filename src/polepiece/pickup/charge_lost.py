"""What a bar charged in its pickup loses when it is taken out: computed, not a rule by the name of its family.

A bar that was charged in place stands on its major curve; in air it works at a lower point, and put back it comes up
its recoil line only. Where even the point in air lies on the straight part of the curve (ferrite through its width, a
long rod) nothing is lost.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from polepiece.guitar import Charge, Magnet, Pickup, Steel
from polepiece.magnetics import MagnetLaw
from polepiece.materials import pickup_bars
from polepiece.pickup import engine
from polepiece.pickup.anatomy import Anatomy, anatomy, magnet_law, magnet_material, steel_part, steel_records
from polepiece.pickup.model import StringLayout

WHOLE = 0.01  # share of the field: a tenth of a decibel, and less than a gauss meter or a new bar is told apart by
ALONG = 50e-3  # m of string over which the field is compared


def charge_lost(pickup: Pickup) -> float:
    """Return the share of the field at the strings that is lost when the bar leaves the pickup; 0 to 1.

    0 for a bar that has been in air already. Where charge or grade is not known, the most that may be lost.
    """
    if pickup.magnet.charge not in ("in-place", "unknown"):
        return 0.0
    poles = replace(pickup.poles, screw_raise=tuple(0.0 for _ in pickup.poles.screw_raise))
    bar = replace(pickup.magnet, charge="outside", flipped=False, measured_gauss=())
    shape = anatomy(replace(pickup, magnet=bar, poles=poles))
    grades = pickup_bars.LIKELY if bar.grade == "unknown" and bar.constants is None else (bar.grade,)
    steels = tuple(steel_records(pickup).items())
    return max(_lost(shape, replace(bar, grade=grade), steels) for grade in grades)


def comes_back_whole(pickup: Pickup) -> bool:
    """Tell whether the bar that is in may be taken out and put back with nothing lost."""
    return charge_lost(pickup) < WHOLE


@lru_cache(maxsize=256)
def _lost(shape: Anatomy, bar: Magnet, records: tuple[tuple[str, Steel], ...]) -> float:
    ys = tuple(sorted({round(abs(y), 9) for y in shape.pole_y}))
    layout = StringLayout(y=ys, length=ALONG, low=shape.top + engine.LOWEST, high=shape.top + engine.HIGHEST)
    steels = {name: steel_part(steel) for name, steel in records}

    def field(charge: Charge) -> float:
        law: MagnetLaw = magnet_law(replace(bar, charge=charge), magnet_material(bar))
        return float(np.linalg.norm(engine.static_table(shape, layout, engine.COARSE, law, steels)))

    in_place = field("in-place")
    return max(1.0 - field("outside") / in_place, 0.0) if in_place > 0.0 else 0.0
