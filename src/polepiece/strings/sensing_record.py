"""What the motion of one string is turned into: real coefficients, no magnetics."""

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError

Floats = NDArray[np.float64]

TOWARDS, ACROSS = 6, 3  # terms of the flux law beyond its cubic: from w^4 and from u^2 w^2 on


def _frozen(value: ArrayLike, name: str, shape: tuple[int, ...], kind: type = float) -> NDArray[np.float64]:
    array: NDArray[np.float64] = np.array(np.broadcast_to(np.asarray(value, dtype=kind), shape))
    if not np.all(np.isfinite(array)):
        raise InputError(f"{name} holds a value that is not finite.")
    array.flags.writeable = False
    return array


def _distances(value: ArrayLike, name: str, axes: int) -> Floats:
    array = np.array(value, dtype=float)
    if array.ndim != axes or array.size == 0:
        raise InputError(f"{name} has shape {array.shape}; distances from the bridge on {axes} axes are needed.")
    if not np.all((array > -0.1) & (array < 1.5)):
        raise InputError(f"{name}: places {array.min():g} to {array.max():g} m from the bridge. Are they in mm?")
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FluxRows:
    """The curved part of the flux linkage, by pole row, V s.

    c2 w^2/2 + c3 w^3/6 + sum_p e_p w^p + (d2/2 + d3 w/2 + sum_p f_p w^p) u^2, with w the displacement towards the pole
    at the row and u the one across the strings; p from 4 and from 2 on (`polepiece.strings.swing`).

    Attributes
    ----------
    positions : shape (r,), distance of each row from the bridge end of the string, m.
    group : shape (r,), which pickup each row belongs to, from 0: the curved flux of each goes its own way.
    curvature, third : shape (r,), c2 in V s/m2 and c3 in V s/m3.
    sideways, sideways_slope : shape (r,), d2 in V s/m2 and d3 in V s/m3.
    beyond, sideways_beyond : shapes (r, 6) and (r, 3), e_4 .. e_9 and f_2 .. f_4, V s/m^p and V s/m^(2 + p).
    reach : shape (r, 2), lowest and highest w at which the law holds, m; beyond them it goes on
        with the slope and the curvature that it has there.
    aperture : shape (r,), standard deviation of the row's profile along the string, m.
    """

    positions: Floats
    curvature: Floats
    third: Floats
    sideways: Floats | float = 0.0
    sideways_slope: Floats | float = 0.0
    beyond: Floats | float = 0.0
    sideways_beyond: Floats | float = 0.0
    reach: Floats | tuple[float, float] = (-0.02, 0.02)
    aperture: Floats | float = 5e-3
    group: NDArray[np.int_] | int = 0

    def __post_init__(self) -> None:
        positions = _distances(self.positions, "positions", 1)
        object.__setattr__(self, "positions", positions)
        for name in ("curvature", "third", "sideways", "sideways_slope", "aperture"):
            object.__setattr__(self, name, _frozen(getattr(self, name), name, positions.shape))
        for name, count in (("beyond", TOWARDS), ("sideways_beyond", ACROSS), ("reach", 2)):
            object.__setattr__(self, name, _frozen(getattr(self, name), name, (positions.size, count)))
        if not np.all((np.asarray(self.aperture) >= 0.0) & (np.asarray(self.aperture) <= 0.05)):
            raise InputError(f"aperture is {self.aperture} m; allowed are 0 to 0.05 m. Is it in mm?")
        object.__setattr__(self, "group", _frozen(self.group, "group", positions.shape, int))

    @property
    def straight(self) -> bool:
        """True when there is no curvature: the pickup adds no harmonics."""
        return not (np.any(self.curvature) or np.any(self.third) or np.any(self.beyond) or self.bends_sideways)

    @property
    def bends_sideways(self) -> bool:
        """True when motion across the strings adds harmonics."""
        return bool(np.any(self.sideways) or np.any(self.sideways_slope) or np.any(self.sideways_beyond))

    def terms(self) -> tuple[Floats, Floats]:
        """Return all coefficients: of w^2 to w^9 (r, 8), and of u^2 w^0 to u^2 w^4 (r, 5).

        Definition of the coefficients of a series.
        """
        towards = np.stack([np.asarray(self.curvature) / 2.0, np.asarray(self.third) / 6.0], axis=1)
        across = 0.5 * np.stack([np.asarray(self.sideways), np.asarray(self.sideways_slope)], axis=1)
        return (
            np.concatenate([towards, np.asarray(self.beyond)], axis=1),
            np.concatenate([across, np.asarray(self.sideways_beyond)], axis=1),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringSensing:
    """What the coils that are on take up of one string.

    A channel is one coil. Slice x of its profile lies ``distance[c, x]`` from the bridge; its velocity towards the
    pole times ``towards[c, x]``, and its velocity across the strings (+y) times ``across[c, x]``, add to the EMF.

    Attributes
    ----------
    distance : shape (c, x), m.
    towards, across : shape (c, x), V s/m, turns in; the sense of the winding is in the channel's response.
    flux : the curved part; None: there is none.
    """

    distance: Floats
    towards: Floats
    across: Floats | float = 0.0
    flux: FluxRows | None = field(default=None)

    def __post_init__(self) -> None:
        distance = _distances(self.distance, "distance", 2)
        object.__setattr__(self, "distance", distance)
        for name in ("towards", "across"):
            object.__setattr__(self, name, _frozen(getattr(self, name), name, distance.shape))

    @property
    def channels(self) -> int:
        """Number of coils."""
        return int(self.distance.shape[0])

    @property
    def groups(self) -> int:
        """Number of pickups whose curved flux is taken apart; 0 without one."""
        return 0 if self.flux is None else 1 + int(np.max(self.flux.group))

    @property
    def linear(self) -> bool:
        """True when the linkage has no curvature."""
        return self.flux is None or self.flux.straight

    def mode_shapes(self, number: ArrayLike, length: float) -> tuple[Floats, Floats]:
        """Return what each channel takes of modes sin(n pi x/L): towards and across, each (c, n), V s/m.

        ``number`` (n,), ``length`` L in m; what lies beyond the speaking length takes nothing.
        """
        towards, across = self.shapes_of(np.stack([np.asarray(self.towards), np.asarray(self.across)]), number, length)
        return towards, across

    def shapes_of(self, profiles: Floats, number: ArrayLike, length: float) -> Floats:
        """Return the sum over slices of any ``profiles`` (..., c, x) times the modes' shapes there: (..., c, n)."""
        count = np.asarray(number, dtype=float).tobytes()
        each = [
            profiles[..., c, :] @ _mode_table(place.tobytes(), count, length) for c, place in enumerate(self.distance)
        ]
        return np.stack(each, axis=-2)


@lru_cache(maxsize=64)  # some 200 kB each
def _mode_table(distance: bytes, number: bytes, length: float) -> Floats:
    """Return sin(n pi x/L) (x, n) at distances from the bridge; zero beyond the speaking length."""
    place, count = np.frombuffer(distance), np.frombuffer(number)
    inside = (place > 0.0) & (place < length)
    return np.where(inside[:, None], np.sin(place[:, None] * count * (np.pi / length)), 0.0)
