"""A steel rod's passage through a keeper: one conductor round the rod, flux entering it over the thickness.

Inside the keeper the rod (radius a) is a line of flux along z, the keeper round it a ring out to the radius b that
is an equipotential. Per length the line has the reluctance z of the rod and of the ring's current, and gives off
flux across the ring with the permeance y (of mu0, here as everywhere in the network):

    z = 1 / (mu_rod pi a^2) + j w mu0 ln(b/a) / (2 pi rho),        y = 2 pi mu_keeper / ln(b/a)

The first is the skin effect in the rod, the second a shorted ring: current density E/rho, E = -j w flux / (2 pi r).
Both together have in the keeper the propagation constant sqrt(j w mu mu0 / rho) of its skin effect. Between the
faces the line is the two-port 1/(Z sinh g h) with the shunts tanh(g h/2)/Z, Z = sqrt(z/y), g = sqrt(z y) (Heaviside's
line). With the rod's halves of slices above (U) and below (D), and the keeper's upper and lower face (T, B), its two
inner ends are eliminated: permeances between U, D, T and B are left. That between T and B, from one face of the
keeper through the rod to the other, is left out:
the keeper itself lies beside it, with eighty times the permeance (reference humbucker). b is that of a line between
two walls where a keeper's long sides are: b = (2 w / pi) sin(pi d / w), w its width, d the distance to one side
(images, as of a
charged wire between earthed planes; Smythe, Static and Dynamic Electricity, 1950, ch. 4, memory).
"""

import math

import numpy as np

PAIRS = (("U", "T"), ("U", "B"), ("U", "D"), ("D", "T"), ("D", "B"))  # order of the five edges
LEAST_RING = 0.05  # ln(b / a) where a rod fills its keeper


def ring_logarithm(x: float, radius: float, x_min: float, x_max: float) -> float:
    """Return ln(b / a) of a rod at ``x`` in a keeper between ``x_min`` and ``x_max``."""
    width = x_max - x_min
    outer = 2.0 * width / math.pi * math.sin(math.pi * min(max((x - x_min) / width, 0.0), 1.0))
    return max(math.log(max(outer / radius, 1.0)), LEAST_RING)


def ring_reach(x: float, x_min: float, x_max: float) -> float:
    """Return how much of the keeper's length beside a hole is in the ring already, m.

    The potential of a source of flux in a keeper of width w, -ln(2 cosh(pi y/w) - 2 cos(pi (x -+ d)/w)) / 4 pi summed
    over both images, is far away that of a plain bar which starts (w/pi) ln(4 sin^2(pi d/w)) from where it equals
    that of the ring's outer edge.
    """
    width = x_max - x_min
    inner = 4.0 * math.sin(math.pi * min(max((x - x_min) / width, 0.0), 1.0)) ** 2
    return width / math.pi * math.log(max(inner, 1.0))


def passage_permeances(
    line: np.ndarray, ring: np.ndarray, thickness: np.ndarray, above: np.ndarray, below: np.ndarray
) -> np.ndarray:
    """Return the five permeances (..., 5), m, of a passage; real or complex.

    ``line`` is z (1/m2), ``ring`` is y (no unit), ``above`` and ``below`` the permeances of the rod's half slices
    outside (m; zero: the rod ends there).
    """
    g = np.sqrt(line * ring)
    z = np.sqrt(line / ring)
    gh = g * thickness
    decay = np.exp(-gh)  # 1 / sinh without overflow
    through = 2.0 * decay / (1.0 - decay**2) / z
    shunt = (1.0 - decay) / (1.0 + decay) / z
    top, low = above + shunt + through, below + shunt + through
    determinant = top * low - through**2
    # potentials of the inner ends (top, low) per potential of U, D, T, B, then the currents between the outer ones
    ends = {"U": (above, 0.0 * above), "D": (0.0 * below, below), "T": (shunt, 0.0 * shunt), "B": (0.0 * shunt, shunt)}
    out = []
    for a, b in PAIRS:
        (ta, la), (tb, lb) = ends[a], ends[b]
        out.append((ta * (low * tb + through * lb) + la * (through * tb + top * lb)) / determinant)
    return np.stack(np.broadcast_arrays(*out), axis=-1)
