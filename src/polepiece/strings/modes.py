"""Partials of a stiff string: frequency and decay of each, in two planes.

Time goes as exp(+j omega t); mode n moves as exp((-sigma_n + j omega_n) t) sin(n pi x / L); x counts
from the bridge.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.strings.sets import SpeakingString

Floats = NDArray[np.float64]


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
    end_conductance_vertical, end_conductance_horizontal : real part of the mobility of both ends together,
        s/kg, taken as flat. Measured: bridge up to 0.00176, neck typically 0.018 at its peaks and up to 0.102
        (the same paper, read second-hand). 2e-3 and 1e-3 are assumptions.
    """

    dislocation_q: float = 5500.0
    winding_loss: float = 1.3e-4
    bending_loss: float = 4.5e-3
    air_density: float = 1.204
    air_viscosity: float = 1.81e-5
    end_conductance_vertical: float = 2.0e-3
    end_conductance_horizontal: float = 1.0e-3

    def __post_init__(self) -> None:
        if not self.dislocation_q > 0.0:
            raise InputError(f"dislocation_q is {self.dislocation_q:g}; it must be positive (steel: thousands).")
        for name in ("winding_loss", "bending_loss", "air_density", "air_viscosity"):
            if not getattr(self, name) >= 0.0:
                raise InputError(f"{name} is {getattr(self, name):g}; a loss is never negative.")
        if not min(self.end_conductance_vertical, self.end_conductance_horizontal) >= 0.0:
            raise InputError("an end conductance is negative; a guitar does not feed its strings.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringModes:
    """Partials of one string; plane 0 is vertical (z), plane 1 horizontal (y).

    Attributes
    ----------
    number : shape (n,), 1 for the fundamental.
    frequency : shape (2, n), Hz.
    decay : shape (2, n), sigma in 1/s: amplitude exp(-sigma t).
    length : speaking length, m.
    """

    number: Floats
    frequency: Floats
    decay: Floats
    length: float

    def __post_init__(self) -> None:
        for name in ("number", "frequency", "decay"):
            getattr(self, name).flags.writeable = False

    def decay_time(self) -> Floats:
        """T60 in s, shape (2, n): ln(1000)/sigma."""
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(1000.0) / self.decay)


def stiff_partials(number: ArrayLike, *, fundamental: float, inharmonicity: float) -> Floats:
    """Partial frequencies f_n = n f0 sqrt(1 + B n^2), Hz (Fletcher 1964; pinned ends)."""
    n = np.asarray(number, dtype=float)
    return np.asarray(n * fundamental * np.sqrt(1.0 + inharmonicity * n**2))


def partial_loss(
    string: SpeakingString, number: ArrayLike, *, loss: LossModel | None = None, end_conductance: float = 0.0
) -> Floats:
    """Decay rate sigma_n (1/s) of the partials of a string.

    Parameters
    ----------
    string : the string in tune.
    number : shape (n,), partial numbers.
    loss : constants of the model.
    end_conductance : real mobility of both ends together, s/kg, in the plane asked for.

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
    ends = 2.0 * string.pitch * string.wave_impedance * end_conductance
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
) -> StringModes:
    """Return the partials of a string up to ``top_frequency`` (Hz) in both planes.

    The pull of the magnets (``force_gradient``, N/m, at ``gradient_position``, m from the bridge) acts in the
    vertical plane only: it splits the planes, which is heard as a slow beat. See :func:`magnetic_detuning`.

    Raises
    ------
    InputError
        When not even the fundamental lies under ``top_frequency``, or a gradient comes without its place.
    """
    loss = loss or LossModel()
    count = int(np.ceil(top_frequency / string.pitch)) + 1
    number = np.arange(1.0, count + 1.0)
    frequency = stiff_partials(number, fundamental=string.pitch, inharmonicity=string.inharmonicity)
    number = number[frequency <= top_frequency]
    if number.size == 0:
        raise InputError(f"the string's fundamental {string.pitch:g} Hz lies above the limit {top_frequency:g} Hz.")
    frequency = frequency[: number.size]
    vertical = frequency.copy()
    if np.any(np.asarray(force_gradient) != 0.0):
        if gradient_position is None:
            raise InputError("a force gradient needs gradient_position, its distance from the bridge in m.")
        vertical = vertical * magnetic_detuning(
            string, number, force_gradient=force_gradient, position=gradient_position
        )
    decay = [
        partial_loss(string, number, loss=loss, end_conductance=conductance)
        for conductance in (loss.end_conductance_vertical, loss.end_conductance_horizontal)
    ]
    return StringModes(
        number=number, frequency=np.stack([vertical, frequency]), decay=np.stack(decay), length=string.length
    )
