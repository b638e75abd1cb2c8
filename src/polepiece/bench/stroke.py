"""The stated stroke on every open string: what each coil that is on takes of its partials, and the energies of it all.

One `Taken` a string holds all that the circuit does not touch; V = sum over coils of response times taken. The
renderer has the same sensing records, and so the same voltages (`polepiece.sound.stroke_lines`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.pickup import GRID, Reading
from polepiece.sound import ATTACK_S, RESPONSE_BANDS, SUSTAIN_S, Motion, k_weighting_power
from polepiece.strings import OpenStrings, Pluck, SpeakingString, StringSensing, modal_amplitudes

PLUCK = Pluck(position=0.13, width=2e-3, displacement=1.5e-3, angle=0.6)  # the stated stroke: 130 mm from the bridge
LEVEL_S = SUSTAIN_S  # s from the release over which the level is taken
WINDOWS = ((0.0, ATTACK_S), (ATTACK_S, LEVEL_S))  # each begins where the one before ends
TOP = 20e3  # Hz, highest partial
WEIGHT = k_weighting_power(GRID).astype(complex)  # of the pre-filter of ITU-R BS.1770
BAND_EDGES = np.array([edge for low, high in RESPONSE_BANDS.values() for edge in (low, high * (1.0 + 1e-12))])  # Hz


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pull:
    """Pull of the magnets of the pickups that are on upon one string: gradients (N/m) at places (m from the bridge)."""

    gradient: tuple[float, ...]
    place: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taken:
    """What c coils take of one string's stroke, before their responses; j = 2 motions of n partials.

    ``towards`` and ``across`` (c, 2, n) are volts by motion towards the pole and across the strings; ``drift`` is what
    a metre of the string's place across its pole adds to ``across``. ``grams`` (2 windows, 2, 2, n) are the integrals
    of exp((s_i + s_j*) t)/2, ``weight`` (n,) the K-weighting's power, ``bands`` the partials of each band.
    """

    sensing: StringSensing
    reading: Reading
    towards: ComplexArray
    across: ComplexArray
    drift: ComplexArray
    grams: ComplexArray
    weight: FloatArray
    bands: dict[str, slice]

    def voltage(
        self, response: ComplexArray, *, towards: "FloatArray | float" = 1.0, across: "FloatArray | float" = 1.0,
        offset: "FloatArray | float" = 0.0,
    ) -> ComplexArray:  # fmt: skip
        """Return the partials at the amplifier (..., 2, n), V, at the moment of release.

        Parameters
        ----------
        response : ndarray, shape (..., c, f)
            Of every coil on GRID, eddy currents included, V/V.
        towards, across : ndarray, shape (..., c)
            Factors on what each coil takes of motion towards the poles and across them.
        offset : ndarray, shape (..., c)
            How much further (m) than stated the string lies across its pole, to +y.
        """
        at_lines = self.reading.at(response)
        up, side, beside = (np.asarray(one)[..., None, None] for one in (towards, across, offset))
        each = up * self.towards + side * (self.across + beside * self.drift)
        return np.asarray((at_lines * each).sum(axis=-3))

    def energies(self, voltage: ComplexArray) -> FloatArray:
        """Return K-weighted energy (2 windows, ..., n) of each partial, V^2 s: `Lines.energy` times the weighting."""
        pairs = voltage[..., :, None, :] * voltage[..., None, :, :].conj()
        grams = self.grams.reshape(2, *(1,) * (voltage.ndim - 2), *self.grams.shape[1:])
        return np.asarray(np.maximum((pairs * grams).real.sum(axis=(-3, -2)), 0.0) * self.weight)


@lru_cache(maxsize=32)
def _open_strings(strings: tuple[SpeakingString, ...], place: tuple[float, ...]) -> tuple[OpenStrings, FloatArray]:
    """Return the partials of all strings in one row, and where the stroke lets them go from (2 planes, n), m."""
    found = OpenStrings.of(strings, place, top_frequency=TOP)
    rest = [
        modal_amplitudes(found.numbers(k), length=one.length, pluck=PLUCK) for k, one in enumerate(strings)
    ]  # fmt: skip
    return found, np.concatenate(rest, axis=1)


def taken(
    strings: Sequence[SpeakingString], sensings: Sequence[StringSensing], drifts: FloatArray, pulls: Sequence[Pull]
) -> list[Taken]:
    """Return what the coils of ``sensings`` take of the stated stroke on each of ``strings``.

    ``drifts`` (k, c, x) is what a metre of a string's place across its pole adds to its sensing across, V s/m2. All
    partials of all strings are worked out in one row.
    """
    found, rest = _open_strings(tuple(strings), pulls[0].place)
    partials = found.pulled(np.array([one.gradient for one in pulls]))
    motion = Motion.of(partials)
    moved = motion.let_go(rest) * motion.exponent  # (2 planes, 2, n), m/s
    late = [np.exp(motion.exponent * stop) for _, stop in WINDOWS]
    early = [np.ones_like(late[0]), *late[:-1]]
    pair = motion.exponent[:, None] + motion.exponent[None].conj()
    grams = np.stack([0.5 * (_squared(b) - _squared(a)) / pair for a, b in zip(early, late)])
    reading = Reading.of(partials.frequency)
    weight = reading.at(WEIGHT)[0].real
    out = []
    for k, (string, sensing) in enumerate(zip(strings, sensings)):
        part = found.parts[k]
        profiles = np.stack([np.asarray(sensing.towards), np.asarray(sensing.across), drifts[k]])
        shape = sensing.shapes_of(profiles, partials.number[part], string.length)[:, :, None]
        edge = np.searchsorted(partials.frequency[0, part], BAND_EDGES).reshape(-1, 2).tolist()
        out.append(Taken(
            sensing=sensing,
            reading=reading.part(part),
            towards=shape[0] * moved[0, :, part],
            across=shape[1] * moved[1, :, part],
            drift=shape[2] * moved[1, :, part],
            grams=grams[..., part],
            weight=weight[part],
            bands={name: slice(low, high) for name, (low, high) in zip(RESPONSE_BANDS, edge)},
        ))  # fmt: skip
    return out


def _squared(wave: ComplexArray) -> ComplexArray:
    """Return every pair (2, 2, n) of two motions (2, n): one times the other's conjugate."""
    return np.asarray(wave[:, None] * wave[None].conj())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Energies:
    """K-weighted mean squares (V^2) of the stated stroke, over `LEVEL_S`: of every string, and by band and window.

    Leading axes are those of the voltages (draws, or none).
    """

    strings: FloatArray  # (..., k)
    bands: dict[str, FloatArray]  # (..., windows), mean over the strings

    @classmethod
    def of(cls, strings: Sequence[Taken], voltages: Sequence[ComplexArray]) -> "Energies":
        """Sum the partials of every string."""
        each = [one.energies(v) / LEVEL_S for one, v in zip(strings, voltages)]
        bands = {}
        for name in RESPONSE_BANDS:
            parts = [e[..., one.bands[name]].sum(axis=-1) for one, e in zip(strings, each)]
            bands[name] = np.moveaxis(np.mean(parts, axis=0), 0, -1)
        return cls(strings=np.stack([e.sum(axis=(0, -1)) for e in each], axis=-1), bands=bands)

    def numbers(self, wound: "np.ndarray") -> dict[str, FloatArray]:
        """Return level, bands, balance, wound against plain and attack against sustain by dotted key, dB."""
        level = decibel(self.strings.mean(axis=-1))
        out = {"level_db": level}
        for name, energy in self.bands.items():
            out[f"bands_db.{name}"] = decibel(energy.sum(axis=-1)) - level
        if wound.any() and not wound.all():
            out["wound_minus_plain_db"] = decibel(self.strings[..., wound].mean(axis=-1)) - decibel(
                self.strings[..., ~wound].mean(axis=-1)
            )
        for name, energy in self.bands.items():
            if np.all(energy > 0.0):
                out[f"attack_minus_sustain_db.{name}"] = decibel(energy[..., 0]) - decibel(energy[..., 1])
        for k in range(self.strings.shape[-1]):
            out[f"string_balance_db.{k + 1}"] = decibel(self.strings[..., k]) - level
        return out


def decibel(power: FloatArray) -> FloatArray:
    """Return 10 log10 of a power ratio; nothing is -3000 dB."""
    return np.asarray(10.0 * np.log10(np.asarray(power) + 1e-300))


@lru_cache(maxsize=64)
def _waves(distance: bytes, pitch: float, inharmonicity: float, length: float) -> ComplexArray:
    """Return exp(j kappa x) (x, f) of the travelling wave at each frequency of GRID, at distances from the bridge."""
    if inharmonicity > 0.0:
        squared = (np.sqrt(1.0 + 4.0 * inharmonicity * (GRID / pitch) ** 2) - 1.0) / (2.0 * inharmonicity)
        number = np.sqrt(squared)
    else:
        number = GRID / pitch
    return np.asarray(np.exp(1j * np.frombuffer(distance)[:, None] * number * (np.pi / length)))


def response_power(string: SpeakingString, sensing: StringSensing, response: ComplexArray) -> FloatArray:
    """Return volts at the amplifier per velocity of the stroke, squared, on GRID (f,).

    The mean over where the nodes of the motion fall: |P+|^2/2 + |P-|^2/2 with P+- the sum over coils of response times
    the profile's transform at the travelling wave of that frequency. One pickup has no comb of its place in this curve,
    for the stroke at its place has it; two pickups have that of the distance between them.
    """
    side = sensing.towards * np.cos(PLUCK.angle) + sensing.across * np.sin(PLUCK.angle)
    forth, back = 0.0, 0.0
    for c in range(sensing.channels):
        wave = _waves(sensing.distance[c].tobytes(), string.pitch, string.inharmonicity, string.length)
        along = side[c] @ wave
        forth = forth + response[c] * along
        back = back + response[c] * along.conj()
    return np.asarray(0.5 * (np.abs(forth) ** 2 + np.abs(back) ** 2))
