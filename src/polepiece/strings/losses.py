"""What a string loses its motion to: constants of metal, winding, air and ends, each with its source and status."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError

Floats = NDArray[np.float64]

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
