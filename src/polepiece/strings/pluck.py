"""How a string is set off: the shape it is let go from, and how much a hand varies."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Pluck:
    """One stroke, SI units.

    Attributes
    ----------
    position : distance from the bridge, m.
    width : width over which the plectrum (or finger) rounds the corner, m. Common practice, no source.
    displacement : how far the string is pulled aside at the moment of release, m (a normal stroke is 1-2 mm).
    angle : direction of the release, rad from the vertical (0: straight up; pi/2: along the body).
    release : time in which the plectrum lets go, s: 0 for an edge without give; a hard plectrum some 0.05 ms, a soft
        one or a fingertip 0.2 to 0.5 ms. No published figure was found; assumption for listening.
    scaled : ``position`` is that on a string of `USUAL_SCALE`: a finger goes where the frets are, not so many mm from
        the bridge. Whoever knows the string says where that is on it (`polepiece.sound.performance`).
    """

    position: float = 0.11
    width: float = 3e-3
    displacement: float = 1.2e-3
    angle: float = math.radians(50.0)
    release: float = 0.0
    scaled: bool = False

    def __post_init__(self) -> None:
        if not 2e-3 <= self.position <= 1.0:
            raise InputError(
                f"pluck position is {self.position:g} m from the bridge; allowed are 0.002 to 1 m. Is it in mm?"
            )
        if not 0.0 <= self.width <= 0.05:
            raise InputError(f"plectrum width is {self.width:g} m; allowed are 0 to 0.05 m. Is it in mm?")
        if not 0.0 <= self.displacement <= 0.01:
            raise InputError(f"displacement is {self.displacement:g} m; allowed are 0 to 0.01 m. Is it in mm?")
        if not -2.0 * math.pi <= self.angle <= 2.0 * math.pi:
            raise InputError(f"pluck angle is {self.angle:g} rad; allowed are -2 pi to 2 pi. Is it in degrees?")
        if not 0.0 <= self.release <= 5e-3:
            raise InputError(f"release time is {self.release:g} s; allowed are 0 to 0.005 s. Is it in ms?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Standard deviations of a hand from stroke to stroke.

    No published figure was found for guitar strokes; these are assumptions for listening, not for proof.
    """

    position: float = 4e-3  # m
    angle: float = math.radians(8.0)
    level_db: float = 0.8
    onset: float = 4e-3  # s
    within_stroke: float = 0.3  # of the above, from string to string inside one strum


def modal_amplitudes(
    number: ArrayLike, *, length: float, pluck: Pluck, frequency: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Amplitude of each mode, in m, when a string is let go from rest.

    Parameters
    ----------
    number : shape (n,), mode numbers.
    length : speaking length, m.
    pluck : the stroke.
    frequency : shape (n,), Hz, of the modes; needed for what the release time takes off the high ones.

    Returns
    -------
    amplitude : shape (2, n); row 0 vertical, row 1 horizontal; the shape is sum amplitude sin(n pi x/L).

    Raises
    ------
    InputError
        When the pluck does not lie inside the speaking length, or a release time comes without frequencies.

    Notes
    -----
    Triangle of height h at the fraction p, rounded by a plectrum of width w (the triangle averaged over w):
    A_n = 2 h sin(n pi p)/(n^2 pi^2 p (1-p)) * sinc(n w/(2 L)), sinc(x) = sin(pi x)/(pi x). A force that falls
    to nothing evenly over the time tau leaves mode n sinc(f_n tau) of that, centred on the middle of the fall;
    what happens inside tau is left out, as are the noise of the plectrum and the corner that bending stiffness
    rounds (narrower than any plectrum).
    Derived here: Fourier series of that triangle.
    """
    n = np.asarray(number, dtype=float)
    fraction = pluck.position / length
    if not 0.0 < fraction < 1.0:
        raise InputError(
            f"pluck at {pluck.position:g} m from the bridge lies outside the speaking length {length:g} m; "
            "a fretted string is shorter than the scale."
        )
    shape = 2.0 * np.sin(n * np.pi * fraction) / (n**2 * np.pi**2 * fraction * (1.0 - fraction))
    shape = pluck.displacement * shape * np.sinc(n * pluck.width / (2.0 * length))
    if pluck.release > 0.0:
        if frequency is None:
            raise InputError("a release time needs the frequencies of the modes.")
        shape = shape * np.sinc(np.asarray(frequency, dtype=float) * pluck.release)
    return np.stack([math.cos(pluck.angle) * shape, math.sin(pluck.angle) * shape])


def varied(pluck: Pluck, deviates: NDArray[np.float64], spread: Spread) -> tuple[Pluck, float]:
    """Return a stroke moved by standard deviates (4,) of position, angle, level, onset; and the onset's shift, s.

    The stroke never comes nearer to the bridge than 5 mm nor is it pulled further than 10 mm.

    The spreads are assumptions (`Spread`).
    """
    moved = replace(
        pluck,
        position=max(5e-3, pluck.position + float(deviates[0]) * spread.position),
        angle=pluck.angle + float(deviates[1]) * spread.angle,
        displacement=min(0.01, pluck.displacement * 10.0 ** (float(deviates[2]) * spread.level_db / 20.0)),
    )
    return moved, float(deviates[3]) * spread.onset


def hand_deviates(generator: np.random.Generator) -> NDArray[np.float64]:
    """Draw the standard deviates (4,) of one stroke, cut at 2.5."""
    return np.clip(generator.standard_normal(4), -2.5, 2.5)
