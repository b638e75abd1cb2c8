"""A small furnished room behind the loudspeaker, by image sources: what a listener a metre and a half away hears.

A box of six walls, each with the absorption of one handbook material by octaves; an image source for every way round
(Allen and Berkley, J. Acoust. Soc. Am. 65 (1979) 943; memory):

    h_b(t) = sum over images of (r_direct / r) prod over walls sqrt(1 - alpha_b)^hits delta(t - (r - r_direct)/c)

in each octave b; the octaves are put together with weights whose sum is one, so that the direct sound stays as it is.
Scattering, furniture, the loudspeaker's directivity and what it is near are left out. Size and places are ours
(assumption): no room in particular.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError

Floats = NDArray[np.float64]

SPEED = 343.2  # m/s at 20 degC (handbook, memory)
OCTAVES = (125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0)  # Hz; outside, the outermost ones hold
FINE = 4  # images fall on quarters of a sample
FADE_S = 0.08
ABSORPTION = {  # by OCTAVES, sound at random incidence: tables of two handbooks that agree, read second-hand
    "heavy carpet on concrete": (0.02, 0.06, 0.14, 0.37, 0.60, 0.65),
    "plaster on lath": (0.14, 0.10, 0.06, 0.05, 0.04, 0.03),
    "heavy curtain, half drawn": (0.14, 0.35, 0.55, 0.72, 0.70, 0.65),
    "wood on joists": (0.15, 0.11, 0.10, 0.07, 0.06, 0.07),
    "window glass": (0.35, 0.25, 0.18, 0.12, 0.07, 0.04),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A box of a room.

    Attributes
    ----------
    size : along x, y, z, m.
    source, listener : inside it, m.
    walls : materials of `ABSORPTION` at x = 0 and the far end, y likewise, floor and ceiling.
    seconds : of the response that is kept.
    """

    name: str
    size: tuple[float, float, float]
    source: tuple[float, float, float]
    listener: tuple[float, float, float]
    walls: tuple[str, str, str, str, str, str]
    seconds: float = 0.4

    def __post_init__(self) -> None:
        for place in (self.source, self.listener):
            if not all(0.1 <= one <= long - 0.1 for one, long in zip(place, self.size)):
                raise InputError(f"{self.name}: {place} m is not inside a room of {self.size} m. Is it in cm?")
        if not all(1.5 <= one <= 12.0 for one in self.size) or not 0.05 <= self.seconds <= 1.0:
            raise InputError(f"{self.name}: {self.size} m, {self.seconds} s; allowed are 1.5 to 12 m and 0.05 to 1 s.")
        unknown = [one for one in self.walls if one not in ABSORPTION]
        if unknown:
            raise InputError(f"{self.name}: no absorption of {unknown[0]!r}; there is {', '.join(ABSORPTION)}.")

    @property
    def absorption(self) -> Floats:
        """Absorption coefficients (6 walls, octaves); the table of the module."""
        return np.array([ABSORPTION[one] for one in self.walls])

    def reverberation(self) -> Floats:
        """Reverberation time by octaves, s.

        Eyring 1930 (memory): 55.3 V / (-c S ln(1 - mean absorption)).
        """
        x, y, z = self.size
        area = np.array([y * z, y * z, x * z, x * z, x * y, x * y])
        mean = area @ self.absorption / area.sum()
        return np.asarray(-55.3 * x * y * z / (SPEED * area.sum() * np.log(1.0 - mean)))


SMALL_ROOM = Room(
    name="small room", size=(4.2, 3.4, 2.5), source=(0.7, 1.4, 0.5), listener=(2.0, 1.8, 1.2),
    walls=(
        "plaster on lath", "heavy curtain, half drawn", "plaster on lath", "heavy curtain, half drawn",
        "heavy carpet on concrete", "plaster on lath",
    ),
)  # fmt: skip


def _images(room: Room, axis: int, reach: float) -> tuple[Floats, Floats]:
    """Distances (i,) of the images along one axis from the listener, m, and what the two walls left of each (i, b)."""
    long, here, there = room.size[axis], room.source[axis], room.listener[axis]
    left = np.sqrt(1.0 - room.absorption[2 * axis : 2 * axis + 2])
    most = int(reach / (2.0 * long)) + 2
    m = np.arange(-most, most + 1)
    away, kept = [], []
    for p in (0, 1):
        away.append((1 - 2 * p) * here + 2.0 * m * long - there)
        kept.append(left[0] ** np.abs(m - p)[:, None] * left[1] ** np.abs(m)[:, None])
    return np.concatenate(away), np.concatenate(kept)


def echoes(room: Room, sample_rate: float) -> Floats:
    """Return the images' impulses by octaves (b, n), on quarters of a sample, the direct one at 0 with 1.

    The equation of the module (Allen and Berkley 1979, memory).
    """
    direct = float(np.linalg.norm(np.subtract(room.source, room.listener)))
    reach = direct + SPEED * room.seconds
    (x, kx), (y, ky), (z, kz) = (_images(room, axis, reach) for axis in range(3))
    count = int(np.ceil(room.seconds * sample_rate * FINE)) + 1
    out = np.zeros((len(OCTAVES), count))
    flat = y[:, None] ** 2 + z[None, :] ** 2
    for one, kept in zip(x, kx):
        i, j = np.nonzero(flat < reach**2 - one**2)
        r = np.sqrt(flat[i, j] + one**2)
        place = np.rint((r - direct) / SPEED * sample_rate * FINE).astype(int)
        for b in range(len(OCTAVES)):
            size = direct / r * kept[b] * ky[i, b] * kz[j, b]
            out[b] += np.bincount(place, size, minlength=count)[:count]
    return out


def octave_weights(frequency: Floats) -> Floats:
    """Return the share of each octave (b, f) at ``frequency`` (f,), Hz: raised cosines over an octave, sum 1.

    Definition; a choice: any set of weights with that sum leaves the direct sound as it is.
    """
    place = np.log2(np.maximum(frequency, 1.0) / OCTAVES[0])
    place = np.clip(place, 0.0, len(OCTAVES) - 1.0)
    off = np.abs(place[None, :] - np.arange(len(OCTAVES))[:, None])
    return np.where(off < 1.0, 0.5 + 0.5 * np.cos(np.pi * off), 0.0)


@lru_cache(maxsize=4)
def room_response(room: Room, sample_rate: int) -> Floats:
    """Return the room's impulse response (t,) from the direct sound, which is 1, on.

    Derived here from the module's images. The octaves' weights have no phase: what a reflection rings ahead of the
    direct sound is cut (under 1 % of it).
    """
    fine = echoes(room, sample_rate)
    size = 1 << int(2 * fine.shape[1] - 1).bit_length()
    spectrum = np.fft.rfft(fine, size)[:, : size // (2 * FINE) + 1]
    weight = octave_weights(np.asarray(np.fft.rfftfreq(size // FINE, 1.0 / sample_rate), dtype=float))
    taps = np.fft.irfft((spectrum * weight).sum(axis=0), size // FINE)[: round(room.seconds * sample_rate)]
    fade = np.clip((taps.size - np.arange(taps.size)) / (FADE_S * sample_rate), 0.0, 1.0)
    out = np.asarray(taps * (0.5 - 0.5 * np.cos(np.pi * fade)))
    out.flags.writeable = False
    return out
