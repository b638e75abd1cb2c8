"""Partials of a stiff string: frequency and decay of each, in two planes that its ends couple.

Time goes as exp(+j omega t); mode n moves as exp((-sigma_n + j omega_n) t) sin(n pi x / L); x counts
from the bridge.
"""

from dataclasses import dataclass, fields
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.strings.losses import LossModel
from polepiece.strings.muting import PalmMute
from polepiece.strings.sets import SpeakingString

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Partials:
    """Partials of one string, or of several in one row: two of each number. Plane 0 is vertical (z), 1 horizontal (y).

    Attributes
    ----------
    number : shape (n,), 1 for the fundamental.
    frequency : shape (2, n), Hz; of the motion that is mostly vertical, and of the one that is mostly horizontal.
    decay : shape (2, n), sigma in 1/s: amplitude exp(-sigma t).
    turn : shape (n,), complex angle by which the ends turn the two motions out of the planes, rad; zeros where
        they do not. The vertical motion is cos(turn) a_0 - sin(turn) a_1, the horizontal sin(turn) a_0 +
        cos(turn) a_1.
    """

    number: Floats
    frequency: Floats
    decay: Floats
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringModes(Partials):
    """Partials of one string of speaking length ``length``, m."""

    length: float


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
    gradient, place = np.broadcast_arrays(
        np.atleast_1d(np.asarray(force_gradient, dtype=float)),
        np.atleast_1d(np.asarray(position, dtype=float)),
    )
    if np.any((place < 0.0) | (place > string.length)):
        raise InputError(f"a pull sits outside the speaking length 0 to {string.length:g} m; is it in mm?")
    return _softened(softening(string, np.asarray(number, dtype=float), place), gradient)


def softening(string: SpeakingString, number: Floats, place: Floats) -> Floats:
    """Return what a force gradient of 1 N/m at each place (p,) takes of (omega/omega_free)^2 of each partial (n, p).

    Nothing from beyond the speaking length. The equation of `magnetic_detuning`, derived there.
    """
    weight = np.where(place <= string.length, np.sin(number[:, None] * np.pi * place / string.length) ** 2, 0.0)
    return np.asarray(weight * (2.0 * string.length / (np.pi**2 * string.tension)) / number[:, None] ** 2)


def _softened(share: Floats, gradient: Floats) -> Floats:
    """Return the factor on the frequency of n partials: ``share`` (n, p) of `softening`, gradients (p,) or (n, p)."""
    relative = (share * gradient).sum(axis=-1)
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
    frequency, decay, turn = _coupled(free, vertical, hand)
    return StringModes(number=free.number, frequency=frequency, decay=decay, turn=turn, length=string.length)


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


def _coupled(free: _Free, vertical: Floats, hand: "Floats | float" = 0.0) -> tuple[Floats, Floats, Complexes]:
    """Return frequency (2, n), decay (2, n) and turn (n,) of each pair of planes, pulled to ``vertical`` (n,), Hz.

    ``hand`` is the loss to a hand on the string, 1/s. The equations of `string_modes`.
    """
    up, side = (
        np.asarray(2j * np.pi * f - hand - loss, dtype=complex)
        for f, loss in ((vertical, free.up), (free.frequency, free.side))
    )
    coupling = free.coupling
    if not np.any(coupling):
        turn = np.zeros(up.shape, dtype=complex)
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
    return pole.imag / (2.0 * np.pi), -pole.real, turn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenStrings:
    """The partials of k strings in one row of n: pickups that are moved change their pull alone.

    Attributes
    ----------
    parts : of each string, where its partials are.
    share : shape (n, p), of `softening`, of pulls at p places.
    """

    free: _Free
    parts: tuple[slice, ...]
    share: Floats

    @classmethod
    def of(
        cls, strings: tuple[SpeakingString, ...], place: tuple[float, ...], *, top_frequency: float
    ) -> "OpenStrings":
        """Return the partials of ``strings`` up to ``top_frequency`` (Hz), pulled at ``place`` (p,), m from the bridge.

        What lies beyond a string's speaking length does not pull it.
        """
        each = [_free(one, top_frequency, LossModel()) for one in strings]
        ends = np.cumsum([0, *(one.number.size for one in each)]).tolist()
        share = [softening(one, free.number, np.asarray(place)) for one, free in zip(strings, each)]
        row = {f.name: np.concatenate([getattr(one, f.name) for one in each]) for f in fields(_Free)}
        return cls(
            free=_Free(**row),
            parts=tuple(slice(a, b) for a, b in pairwise(ends)),
            share=np.concatenate(share),
        )

    def numbers(self, string: int) -> Floats:
        """Return the numbers (m,) of one string's partials."""
        return self.free.number[self.parts[string]]

    def pulled(self, gradient: Floats) -> Partials:
        """Return all partials under pulls of ``gradient`` (k, p), N/m: what `string_modes` gives of each string."""
        each = np.repeat(gradient, [one.stop - one.start for one in self.parts], axis=0)
        frequency, decay, turn = _coupled(self.free, self.free.frequency * _softened(self.share, each))
        return Partials(number=self.free.number, frequency=frequency, decay=decay, turn=turn)
