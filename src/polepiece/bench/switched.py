"""The pickups that are on, solved, and what they make of the strings together.

The same sensing records and responses serve the numbers of a state and its rendering.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.bench.stroke import Pull, Taken, taken
from polepiece.circuit import LoadedResponse, PickupCircuit
from polepiece.errors import InputError
from polepiece.guitar import Guitar, Pickup, SwitchPosition, position_named, position_with, usual_position
from polepiece.pickup import Magnetised, coil_senses, row_positions
from polepiece.strings import FluxRows, Sensed, SpeakingString, StringSensing, Swing

Heard = SwitchPosition | tuple[str, ...] | None
"""A position of the switches, names of pickups side by side, or None: a pickup where it is usually heard."""


def pickups_on(guitar: Guitar, position: str) -> tuple[str, ...]:
    """Return the names of the pickups that are on in a position: one of the guitar's, or names joined by "+".

    Raises
    ------
    InputError
        When the guitar has no such position.
    """
    return position_named(guitar, position).on


def position_of(guitar: Guitar, pickup: str, position: str | None) -> SwitchPosition | None:
    """Return the position that is named, ``pickup`` on in it; None: the pickup is heard where it usually is.

    Raises
    ------
    InputError
        When the guitar has no such position, or the pickup is not on in it.
    """
    if position is None:
        return None
    found = position_named(guitar, position)
    is_on(found, guitar.pickup(pickup).name)
    return found


def position_heard(guitar: Guitar, pickup: str, heard: Heard) -> SwitchPosition:
    """Return the position of ``guitar`` that is meant.

    Raises
    ------
    InputError
        When ``pickup`` is not on in it.
    """
    if heard is None:
        return usual_position(guitar, pickup)
    found = heard if isinstance(heard, SwitchPosition) else position_with(guitar, heard)
    is_on(found, pickup)
    return found


def heard_before_and_after(
    before: Guitar, after: Guitar, pickup: str, position: str | None
) -> tuple[SwitchPosition, SwitchPosition]:
    """Return the positions before and after a change: as asked, and after a turn of the selector as it says.

    Raises
    ------
    InputError
        When ``pickup`` is not on in them.
    """
    here = usual_position(before, pickup) if position is None else position_named(before, position)
    turned = before.controls.selector != after.controls.selector
    there = position_named(after, after.controls.selector) if turned else here
    is_on(here, pickup)
    is_on(there, pickup)
    return here, there


def is_on(position: SwitchPosition, pickup: str) -> None:
    """Refuse a pickup that is not heard in the position."""
    if pickup not in position.on:
        raise InputError(
            f"{pickup} is not on in the position {position.name}: nothing done to it is heard there. "
            "Name a position in which it is on."
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupOn:
    """One pickup that is on: solved, with what its strings are to it."""

    pickup: Pickup
    magnetised: Magnetised
    sensed: Sensed
    turns: FloatArray  # (c,), as a measured inductance has them
    eddy: ComplexArray  # (k, c, f) on GRID: sensitivity over its static value
    distance: FloatArray  # (x,) of each slice of the strings from the bridge, m
    circuit: PickupCircuit  # without controls
    swing: Callable[[], Swing] | None = None  # what its strings link beyond the cubic law; None: no more than that

    @property
    def coils(self) -> int:
        """Number of coils."""
        return len(self.turns)

    @property
    def emf(self) -> ComplexArray:
        """EMF per velocity of each string towards the poles (k, c, f) on GRID, V s/m, coils the same way round."""
        return np.asarray((self.sensed.sensitivity * self.turns)[:, :, None] * self.eddy)


@dataclass(frozen=True, kw_only=True, eq=False)
class Switched:
    """A position of the switch: pickups that are on, and the circuit behind them.

    Attributes
    ----------
    position : that is heard.
    pickups : those that are on; the first is the one that is asked about.
    response : transfers of all their coils to the amplifier on GRID.
    """

    position: SwitchPosition
    pickups: tuple[PickupOn, ...]
    response: LoadedResponse

    @cached_property
    def transfer(self) -> ComplexArray:
        """Transfer of every coil (c, f), V/V, all pickups."""
        return np.concatenate(self.response.transfers)

    @cached_property
    def eddy(self) -> ComplexArray:
        """Eddy-current factor of every string and coil (k, c, f), all pickups."""
        return np.concatenate([one.eddy for one in self.pickups], axis=1)

    @cached_property
    def senses(self) -> list[FloatArray]:
        """How each coil of each pickup joins the output: +1, -1, 0."""
        return [coil_senses(one) for one in self.response.transfers]

    @property
    def in_phase(self) -> bool | None:
        """Whether slow motion of a string adds up over the pickups; None for one."""
        if len(self.pickups) == 1:
            return None
        totals = [
            float((one.sensed.sensitivity @ (one.turns * sense)).sum()) for one, sense in zip(self.pickups, self.senses)
        ]
        return len({np.sign(one) for one in totals}) == 1

    def channel_responses(self, string: int) -> ComplexArray:
        """Response of every coil to the EMF of one string, eddy currents included (c, f)."""
        return np.asarray(self.transfer * self.eddy[string])

    def curved_responses(self, string: int) -> list[ComplexArray]:
        """Response of each pickup (f,) to the curved flux of one string, all its coils taken together."""
        out = []
        for one, transfer, sense in zip(self.pickups, self.response.transfers, self.senses):
            total = one.sensed.sensitivity @ (one.turns * sense)
            whole = np.einsum("kcf,cf->kf", one.emf, transfer)
            if abs(total[string]) > 1e-3 * np.max(np.abs(total)):
                out.append(np.asarray(whole[string] / total[string]))
            else:  # coils that cancel for this string: the mean of all
                out.append(np.asarray(total @ whole / max(float(total @ total), 1e-300)))
        return out

    def sensing(self, string: int, *, curved: bool = False) -> StringSensing:
        """Return what all coils take of one string, on demand with the curved part of the linkage."""
        distance, towards, across = (one[string] for one in self._profiles)
        return StringSensing(
            distance=distance, towards=towards, across=across, flux=self._flux(string) if curved else None
        )

    @cached_property
    def _profiles(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Of every string and coil (k, c, x): distance from the bridge, and what is sensed towards and across."""
        towards, across, places = [], [], []
        for one in self.pickups:
            sensed = one.sensed
            whole = sensed.profile.sum(axis=-1)
            scale = one.turns * sensed.sensitivity / np.where(whole == 0.0, 1.0, whole)
            towards.append(scale[..., None] * sensed.profile)
            across.append(one.turns[:, None] * sensed.profile_across)
            places.append(np.broadcast_to(one.distance, sensed.profile.shape))
        return _side_by_side(places, edge=True), _side_by_side(towards), _side_by_side(across)

    def drifts(self) -> FloatArray:
        """Return what a metre of each string's place across its pole adds to its sensing across (k, c, x), V s/m2."""
        each = []
        for one in self.pickups:
            profile = np.abs(one.sensed.profile)
            share = profile / np.maximum(profile.sum(axis=-1), 1e-300)[..., None]
            each.append((one.turns * one.sensed.sideways)[..., None] * share)
        return _side_by_side(each)

    def _flux(self, string: int) -> FluxRows:
        parts: dict[str, list[FloatArray]] = {}
        for group, (one, sense) in enumerate(zip(self.pickups, self.senses)):
            model, sensed, n = one.magnetised.model, one.sensed, one.turns * sense
            places = np.array(row_positions(one.pickup, model.anatomy.rows))
            share = row_shares(model.anatomy.rows, model.table.x, sensed, n, string)
            rows = {
                "positions": places, "group": np.full(len(places), group),
                "aperture": apertures(model.anatomy.rows, model.table.x, sensed, n, string),
                "curvature": share * float(sensed.second[string] @ n), "third": share * float(sensed.third[string] @ n),
                "sideways": share * float(sensed.sideways[string] @ n),
                "sideways_slope": share * float(sensed.sideways_slope[string] @ n),
            }  # fmt: skip
            if one.swing is not None:
                wide = one.swing()
                rows |= {
                    "beyond": share[:, None] * (n @ wide.towards[string]),
                    "sideways_beyond": share[:, None] * (n @ wide.across[string]),
                    "reach": np.tile(wide.reach[string], (len(places), 1)),
                }
            for name, value in rows.items():
                parts.setdefault(name, []).append(value)
        return FluxRows(**{name: np.concatenate(value) for name, value in parts.items()})  # type: ignore[arg-type]

    def pull(self, string: int) -> Pull:
        """Return the pull of the magnets that are on upon one string."""
        return Pull(
            gradient=tuple(float(one.sensed.stiffness[string]) for one in self.pickups),
            place=tuple(one.pickup.distance_from_bridge for one in self.pickups),
        )

    def strokes(self, strings: Sequence[SpeakingString]) -> list[Taken]:
        """Return what all coils take of the stated stroke on every string."""
        every = range(len(strings))
        return taken(strings, [self.sensing(k) for k in every], self.drifts(), [self.pull(k) for k in every])


def _side_by_side(each: list[FloatArray], *, edge: bool = False) -> FloatArray:
    """Return the coils of all pickups (k, c, x) in one; shorter rows end in zeros, or in their last value."""
    if len(each) == 1:
        return each[0]
    width, mode = max(one.shape[-1] for one in each), "edge" if edge else "constant"
    return np.concatenate(
        [np.pad(one, ((0, 0), (0, 0), (0, width - one.shape[-1])), mode=mode) for one in each], axis=1  # type: ignore[call-overload]
    )  # fmt: skip


def row_shares(rows: tuple[float, ...], x: FloatArray, sensed: Sensed, n: FloatArray, string: int) -> FloatArray:
    """Return the share of each pole row in a string's sensitivity (rows,), adding up to one."""
    if len(rows) == 1:
        return np.ones(1)
    profile = sensed.profile[string].T @ n
    near = np.argmin(np.abs(x[:, None] - np.array(rows)[None]), axis=1)
    parts = np.array([profile[near == r].sum() for r in range(len(rows))])
    return np.asarray(parts / parts.sum())


def apertures(rows: tuple[float, ...], x: FloatArray, sensed: Sensed, n: FloatArray, string: int) -> FloatArray:
    """Return the standard deviation of the sensing profile about each of its rows (rows,), m."""
    weight = np.abs(sensed.profile[string].T @ n)
    near = np.argmin(np.abs(x[:, None] - np.array(rows)[None]), axis=1)
    out = []
    for row, place in enumerate(rows):
        own = weight[near == row]
        out.append(np.sqrt((own * (x[near == row] - place) ** 2).sum() / max(float(own.sum()), 1e-300)))
    return np.asarray(out)
