"""Partials of a stiff string: frequency and decay of each, in two planes that its ends couple.

Time goes as exp(+j omega t); mode n moves as exp((-sigma_n + j omega_n) t) sin(n pi x / L); x counts
from the bridge.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.strings.muting import PalmMute
from polepiece.strings.sets import SpeakingString

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

HEEL = 0.375  # speaking length over scale where neck and body meet, about the 17th fret: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckResonance:
    """One bending resonance of the neck, as the nut feels it across the fingerboard.

    Attributes
    ----------
    frequency : Hz.
    conductance : real mobility at the nut at resonance, s/kg.
    quality : Q of the resonance.
    """

    frequency: float
    conductance: float
    quality: float

    def __post_init__(self) -> None:
        if not (self.frequency > 0.0 and self.conductance >= 0.0 and self.quality > 0.0):
            raise InputError(
                f"neck resonance of {self.frequency:g} Hz, {self.conductance:g} s/kg, Q {self.quality:g}: frequency "
                "and Q must be positive, the conductance not negative."
            )

    def at(self, frequency: ArrayLike, stop: float = 1.0) -> Floats:
        """Return the conductance (s/kg) at ``frequency`` (Hz) and at speaking length over scale ``stop``.

        Notes
        -----
        G0 c^2 / (1 + Q^2 (f/f0 - f0/f)^2); c falls from 1 at the nut to 0 at the heel as a clamped beam's first
        mode does, here its tangent (s - 0.375)/0.625 squared: an assumption.
        """
        f = np.asarray(frequency, dtype=float)
        shape = max(0.0, (stop - HEEL) / (1.0 - HEEL)) ** 2
        detuned = self.quality * (f / self.frequency - self.frequency / f)
        return np.asarray(self.conductance * shape**2 / (1.0 + detuned**2))


NECK = (NeckResonance(frequency=185.0, conductance=0.05, quality=40.0),)


@dataclass(frozen=True, slots=True, kw_only=True)
class LossModel:
    """Constants of the loss per partial; each with its source and status.

    Attributes
    ----------
    dislocation_q : Q of the metal, constant over frequency. 5500: Pate, Le Carrou and Fabre, JASA 135 (2014),
        plain 0.43 mm string, partials under 1 kHz (read second-hand). Used for every string.
    winding_loss : loss angle of the tension of a wound string, friction between turns (form: the same paper,
        after Valette, read second-hand). 1.3e-4 is an assumption; 0.6e-4 to 4.5e-4 is the spread.
    bending_loss : loss factor eta of the bending stiffness. 4.5e-3 is from memory of the modal-string
        literature on a 0.43 mm steel wire; assumption, spread 2e-3 to 1e-2.
    air_density, air_viscosity : kg/m3 and Pa s at 20 degC (handbook, memory).
    end_conductance_vertical, end_conductance_horizontal : flat part of the real mobility of both ends together,
        s/kg, along the two axes of the ends. Measured: bridge up to 0.00176 (the same paper, read second-hand).
        1.6e-3 and 0.8e-3 are assumptions under it, spread 0.5e-3 to 3e-3.
    end_tilt : angle of those axes against the vertical, rad. It couples the planes: where a bridge or fret yields
        more in one direction than in the other, the string's plane turns. 0.2 is an assumption, spread 0 to 0.6.
    neck : bending resonances of the neck, across the fingerboard only. Measured at selected frets 0.018, at most
        0.102 s/kg (the same paper, read second-hand); a dead spot at the 4th fret of the D string (185 Hz) on one
        solid body (Fleischer, ASA/EAA/DAGA 1999, read). The default puts 0.010 s/kg there and 0.05 at the nut; Q 40
        is an assumption, spread 15 to 80. Every guitar has its own: give an empty tuple for a neck without any.
    """

    dislocation_q: float = 5500.0
    winding_loss: float = 1.3e-4
    bending_loss: float = 4.5e-3
    air_density: float = 1.204
    air_viscosity: float = 1.81e-5
    end_conductance_vertical: float = 1.6e-3
    end_conductance_horizontal: float = 0.8e-3
    end_tilt: float = 0.2
    neck: tuple[NeckResonance, ...] = NECK

    def __post_init__(self) -> None:
        if not self.dislocation_q > 0.0:
            raise InputError(f"dislocation_q is {self.dislocation_q:g}; it must be positive (steel: thousands).")
        for name in ("winding_loss", "bending_loss", "air_density", "air_viscosity"):
            if not getattr(self, name) >= 0.0:
                raise InputError(f"{name} is {getattr(self, name):g}; a loss is never negative.")
        if not min(self.end_conductance_vertical, self.end_conductance_horizontal) >= 0.0:
            raise InputError("an end conductance is negative; a guitar does not feed its strings.")
        if not -math.pi <= self.end_tilt <= math.pi:
            raise InputError(f"end_tilt is {self.end_tilt:g} rad; allowed are -pi to pi. Is it in degrees?")

    def ends(self, frequency: ArrayLike, stop: float = 1.0) -> tuple[Floats, Floats, Floats]:
        """Return the end conductance over frequency (Hz), s/kg: vertical, horizontal and across the two.

        ``stop`` is the speaking length over the scale. The three are a symmetric matrix without negative
        eigenvalue, so that no motion gains energy.
        """
        c, s = math.cos(self.end_tilt), math.sin(self.end_tilt)
        up, side = self.end_conductance_vertical, self.end_conductance_horizontal
        f = np.asarray(frequency, dtype=float)
        neck = np.asarray(sum((one.at(f, stop) for one in self.neck), start=np.zeros_like(f)))
        flat = np.ones_like(f)
        return (c * c * up + s * s * side) * flat + neck, (s * s * up + c * c * side) * flat, c * s * (up - side) * flat


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringModes:
    """Partials of one string: two of each number. Plane 0 is vertical (z), plane 1 horizontal (y).

    Attributes
    ----------
    number : shape (n,), 1 for the fundamental.
    frequency : shape (2, n), Hz; of the motion that is mostly vertical, and of the one that is mostly horizontal.
    decay : shape (2, n), sigma in 1/s: amplitude exp(-sigma t).
    length : speaking length, m.
    turn : shape (n,), complex angle by which the ends turn the two motions out of the planes, rad; zeros where
        they do not. The vertical motion is cos(turn) a_0 - sin(turn) a_1, the horizontal sin(turn) a_0 +
        cos(turn) a_1.
    """

    number: Floats
    frequency: Floats
    decay: Floats
    length: float
    turn: Complexes | None = None

    def __post_init__(self) -> None:
        if self.turn is None:
            object.__setattr__(self, "turn", np.zeros(self.number.shape, dtype=complex))
        for name in ("number", "frequency", "decay", "turn"):
            getattr(self, name).flags.writeable = False

    @property
    def turned(self) -> Complexes:
        """The complex angle of the coupling, shape (n,), rad."""
        return np.zeros(self.number.shape, dtype=complex) if self.turn is None else self.turn


def stiff_partials(number: ArrayLike, *, fundamental: float, inharmonicity: float) -> Floats:
    """Partial frequencies f_n = n f0 sqrt(1 + B n^2), Hz (Fletcher 1964; pinned ends)."""
    n = np.asarray(number, dtype=float)
    return np.asarray(n * fundamental * np.sqrt(1.0 + inharmonicity * n**2))


def partial_loss(
    string: SpeakingString, number: ArrayLike, *, loss: LossModel | None = None, end_conductance: ArrayLike = 0.0
) -> Floats:
    """Decay rate sigma_n (1/s) of the partials of a string.

    Parameters
    ----------
    string : the string in tune.
    number : shape (n,), partial numbers.
    loss : constants of the model.
    end_conductance : real mobility of both ends together, s/kg, in the plane asked for; one, or one a partial.

    Notes
    -----
    Metal, winding and bending (Pate et al. 2014, after Valette):
    sigma = pi f_n [1/Q + (d_W + eta B n^2)/(1 + B n^2)], d_W = 0 for a plain string.
    Air (Stokes): sigma = [2 pi eta_a + 2 pi d sqrt(pi eta_a rho_a f_n)]/(2 mu).
    Ends: sigma = 2 f0 Zc G. The pickup adds none (the same paper measured none).
    """
    loss = loss or LossModel()
    n = np.asarray(number, dtype=float)
    frequency = stiff_partials(n, fundamental=string.pitch, inharmonicity=string.inharmonicity)
    stiffness = string.inharmonicity * n**2
    winding = loss.winding_loss if string.wound else 0.0
    solid = (
        np.pi * frequency * (1.0 / loss.dislocation_q + (winding + loss.bending_loss * stiffness) / (1.0 + stiffness))
    )
    drag = 2.0 * np.pi * loss.air_viscosity + 2.0 * np.pi * string.diameter * np.sqrt(
        np.pi * loss.air_viscosity * loss.air_density * frequency
    )
    ends = 2.0 * string.pitch * string.wave_impedance * np.asarray(end_conductance, dtype=float)
    return np.asarray(solid + drag / (2.0 * string.unit_mass) + ends)


def magnetic_detuning(
    string: SpeakingString, number: ArrayLike, *, force_gradient: ArrayLike, position: ArrayLike
) -> Floats:
    """Factor on the frequency of each partial caused by the pull of the magnets, vertical plane.

    Parameters
    ----------
    string : the string in tune.
    number : shape (n,), partial numbers.
    force_gradient : dF_z/dz in N/m at each place, F_z the pull along +z (away from the pickup). A pull that
        weakens as the string rises has dF_z/dz > 0: a negative spring, so the tone goes flat.
    position : distance of each place from the bridge, m.

    Returns
    -------
    factor : shape (n,), 1 where there is no pull.

    Raises
    ------
    InputError
        When the negative spring exceeds the string's own stiffness (the string would be caught).

    Notes
    -----
    Point spring -g at x, first order in the mode: omega_n^2 -> omega_n^2 - sum 2 g sin^2(n pi x/L)/(mu L),
    i.e. df/f = -g L sin^2(n pi x/L)/(n^2 pi^2 T) for small shifts, stiffness neglected.
    Derived here: Rayleigh's quotient with the mode left as it is; point by point in docs/theory/strings-and-sound.md.
    """
    n = np.asarray(number, dtype=float)
    gradient, place = np.broadcast_arrays(
        np.atleast_1d(np.asarray(force_gradient, dtype=float)),
        np.atleast_1d(np.asarray(position, dtype=float)),
    )
    if np.any((place < 0.0) | (place > string.length)):
        raise InputError(f"a pull sits outside the speaking length 0 to {string.length:g} m; is it in mm?")
    weight = np.sin(n[:, None] * np.pi * place / string.length) ** 2
    relative = weight @ gradient * 2.0 * string.length / (n**2 * np.pi**2 * string.tension)
    if np.any(relative >= 1.0):
        raise InputError(
            f"force gradient {float(np.max(gradient)):g} N/m exceeds the string's own stiffness: "
            "the magnet would catch the string. Is it in N/mm?"
        )
    return np.asarray(np.sqrt(1.0 - relative))


def string_modes(
    string: SpeakingString,
    *,
    top_frequency: float = 20e3,
    loss: LossModel | None = None,
    force_gradient: ArrayLike = 0.0,
    gradient_position: ArrayLike | None = None,
    mute: PalmMute | None = None,
) -> StringModes:
    """Return the partials of a string up to ``top_frequency`` (Hz), two of each.

    The pull of the magnets (``force_gradient``, N/m, at ``gradient_position``, m from the bridge) acts in the
    vertical plane only: it splits the planes, which is heard as a slow beat. See :func:`magnetic_detuning`. A
    ``mute`` is the edge of a hand on the strings.

    Raises
    ------
    InputError
        When not even the fundamental lies under ``top_frequency``, or a gradient comes without its place.

    Notes
    -----
    Each partial is a pair a (vertical), b (horizontal) with s_a = -sigma_a + j omega_a, s_b alike, coupled by the
    ends: da/dt = s_a a - k b, db/dt = s_b b - k a, k = 2 f0 Zc G_ab. A complex rotation by phi,
    tan 2 phi = -2 k/(s_a - s_b), makes them independent (first order in the ends' mobility, as all of this is).
    Derived in docs/theory/strings-and-sound.md, "Partials".
    """
    free = _free(string, top_frequency, loss or LossModel())
    vertical = free.frequency
    if np.any(np.asarray(force_gradient) != 0.0):
        if gradient_position is None:
            raise InputError("a force gradient needs gradient_position, its distance from the bridge in m.")
        vertical = vertical * magnetic_detuning(
            string, free.number, force_gradient=force_gradient, position=gradient_position
        )
    hand = 0.0 if mute is None else mute.loss(free.number, length=string.length, unit_mass=string.unit_mass)
    up, side = (
        np.asarray(2j * np.pi * f - hand - loss, dtype=complex)
        for f, loss in ((vertical, free.up), (free.frequency, free.side))
    )
    return _coupled(free.number, up, side, free.coupling, string.length)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Free:
    """The partials of a string that no magnet pulls."""

    number: Floats
    frequency: Floats  # Hz
    up: Floats  # decay rates of both planes, 1/s
    side: Floats
    coupling: Floats  # of the planes, 1/s


@lru_cache(maxsize=512)  # some 10 kB each; a pickup that is moved changes the pull alone
def _free(string: SpeakingString, top_frequency: float, loss: LossModel) -> _Free:
    count = int(np.ceil(top_frequency / string.pitch)) + 1
    number = np.arange(1.0, count + 1.0)
    frequency = stiff_partials(number, fundamental=string.pitch, inharmonicity=string.inharmonicity)
    number = number[frequency <= top_frequency]
    if number.size == 0:
        raise InputError(f"the string's fundamental {string.pitch:g} Hz lies above the limit {top_frequency:g} Hz.")
    frequency = frequency[: number.size]
    up, side, across = loss.ends(frequency, string.stop)
    each = [partial_loss(string, number, loss=loss, end_conductance=g) for g in (up, side)]
    coupling = 2.0 * string.pitch * string.wave_impedance * across
    for one in (number, frequency, *each, coupling):
        one.flags.writeable = False
    return _Free(number=number, frequency=frequency, up=each[0], side=each[1], coupling=coupling)


def _coupled(number: Floats, up: Complexes, side: Complexes, coupling: Floats, length: float) -> StringModes:
    """Solve each pair of planes: poles ``up`` and ``side``, 1/s, coupled by ``coupling`` (n,), 1/s."""
    if not np.any(coupling):
        turn = np.zeros(number.shape, dtype=complex)
    else:
        apart = up - side
        # two equal poles with no eigenvectors of their own (2 k = +-j apart) do not occur exactly: keep off by 1e-6
        defect = np.abs(apart**2 + 4.0 * coupling**2) < 1e-12 * np.abs(coupling) ** 2
        apart = np.where(defect, apart + 1e-6 * coupling, apart)
        ratio = np.where(apart == 0.0, 1.0, -2.0 * coupling / np.where(apart == 0.0, 1.0, apart))
        turn = np.where(apart == 0.0, 0.25 * np.pi, 0.5 * np.arctan(ratio))
    c, s = np.cos(turn), np.sin(turn)
    pole = np.stack(
        [c * c * up + s * s * side - 2.0 * c * s * coupling, s * s * up + c * c * side + 2.0 * c * s * coupling]
    )
    return StringModes(number=number, frequency=pole.imag / (2.0 * np.pi), decay=-pole.real, length=length, turn=turn)
