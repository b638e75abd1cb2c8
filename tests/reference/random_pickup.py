"""Pickups by chance for tests of the sound: a string record of some coils and a response for each."""

import numpy as np

from polepiece.sound import PickupResponse, StringResponses
from polepiece.strings import FluxRows, StringSensing


def network(rng):
    """A random coil with cable and load."""
    inductance, resistance = rng.uniform(2.0, 6.0), rng.uniform(4e3, 12e3)
    capacitance, load = rng.uniform(3e-10, 9e-10), rng.uniform(1e-6, 1e-5)
    frequency = np.geomspace(20.0, 24e3, 240)
    s = 2j * np.pi * frequency
    under = (
        1.0 + resistance * load + s * (resistance * capacitance + inductance * load) + s**2 * inductance * capacitance
    )
    return PickupResponse(frequency=frequency, value=rng.uniform(0.3, 1.0) / under)


def pickup(rng, channels, *, groups=1):
    """A random string record with a curved law, and its responses."""
    place = rng.uniform(0.03, 0.17, channels)
    slices = place[:, None] + np.linspace(-8e-3, 8e-3, 17)
    towards = rng.uniform(0.05, 0.2, (channels, 1)) * np.exp(-0.5 * ((slices - place[:, None]) / 4e-3) ** 2) / 17.0
    flux = FluxRows(
        positions=place, curvature=rng.uniform(10.0, 40.0, channels), third=np.full(channels, 1e4),
        sideways=np.full(channels, -8.0), group=np.arange(channels) % groups,
    )  # fmt: skip
    record = StringSensing(
        distance=slices, towards=towards, across=towards * rng.uniform(-0.5, 0.5, (channels, 1)), flux=flux
    )
    linear = tuple(network(rng) for _ in range(channels))
    return record, StringResponses(linear=linear, curved=tuple(network(rng) for _ in range(groups)))
