"""Strings that swing widely over a solved pickup."""

from polepiece.guitar import Guitar, Pickup
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.magnetised import Magnetised
from polepiece.pickup.stringing import string_places, string_rods
from polepiece.strings import Sensed, Swing


def string_swing(guitar: Guitar, pickup: Pickup, magnetised: Magnetised, sensed: Sensed) -> Swing:
    """Return what every string links beyond its cubic law, per turn of each coil (`polepiece.strings.swing`).

    Where screws of unlike heights are only screened, ``sensed`` is not of this geometry: all strings are taken over
    screws that stand as most do.
    """
    y, height = string_places(guitar, pickup)
    found = (magnetised.pickup_table, magnetised.coil_table, magnetised.slopes)
    of_it = sensed if magnetised.model.anatomy == anatomy(pickup) else None
    return engine.swinging_strings(magnetised.model, string_rods(guitar), y, height, found, of_it)
