"""Which response each coil and each pickup of each string goes through; equal responses are one filter."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError
from polepiece.sound.transfer import PickupResponse
from polepiece.strings import StringSensing

Places = NDArray[np.int_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringResponses:
    """Responses of one string to the amplifier's input.

    Attributes
    ----------
    linear : one a channel of the string's `StringSensing`, from the EMF that its slices give; sense of the winding in.
    curved : one a group of its `FluxRows`, from the EMF of the curved flux; may be empty where there is none.
    """

    linear: tuple[PickupResponse, ...]
    curved: tuple[PickupResponse, ...] = ()


Responses = PickupResponse | Sequence[PickupResponse | StringResponses]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Routing:
    """The different responses of a set of strings, and the way of each channel and group through them.

    Attributes
    ----------
    linear, curved : the different responses.
    channels, groups : per string, index of the response of each channel and of each group, shapes (c,) and (g,).
    """

    linear: tuple[PickupResponse, ...]
    curved: tuple[PickupResponse, ...]
    channels: tuple[Places, ...]
    groups: tuple[Places, ...]

    @classmethod
    def of(cls, responses: Responses, sensings: Sequence[StringSensing]) -> "Routing":
        """Sort out ``responses``: one for all, or one record a string, thin first.

        Raises
        ------
        InputError
            When the counts of strings, channels or groups do not fit.
        """
        each = string_responses(responses, sensings)
        linear, channels = _different([one.linear for one in each])
        curved, groups = _different([one.curved for one in each])
        return cls(linear=linear, curved=curved, channels=channels, groups=groups)

    @classmethod
    def bare(cls, sensings: Sequence[StringSensing]) -> "Routing":
        """Return the ways when all is added up in front of any response."""
        return cls(
            linear=(), curved=(), channels=tuple(np.zeros(one.channels, dtype=int) for one in sensings),
            groups=tuple(np.zeros(one.groups, dtype=int) for one in sensings),
        )  # fmt: skip


def string_responses(responses: Responses, sensings: Sequence[StringSensing]) -> list[StringResponses]:
    """Return the responses of every string, one a channel and one a group.

    Raises
    ------
    InputError
        When the counts of strings, channels or groups do not fit.
    """
    given = [responses] if isinstance(responses, PickupResponse) else list(responses)
    if len(given) not in (1, len(sensings)):
        raise InputError(f"{len(given)} responses for {len(sensings)} strings; give one, or one a string, thin first.")
    each = given * len(sensings) if len(given) == 1 else given
    return [_fitted(one, sensing, number + 1) for number, (one, sensing) in enumerate(zip(each, sensings, strict=True))]


def _fitted(given: PickupResponse | StringResponses, sensing: StringSensing, string: int) -> StringResponses:
    if isinstance(given, PickupResponse):
        return StringResponses(linear=(given,) * sensing.channels, curved=(given,) * sensing.groups)
    if len(given.linear) != sensing.channels:
        raise InputError(
            f"string {string}: {len(given.linear)} linear responses for {sensing.channels} channels; one a coil."
        )
    if len(given.curved) != sensing.groups and not sensing.linear:
        raise InputError(
            f"string {string}: {len(given.curved)} responses for the curved flux of {sensing.groups} pickups; one each."
        )
    return given if len(given.curved) == sensing.groups else StringResponses(linear=given.linear)


def _different(
    given: Sequence[Sequence[PickupResponse]],
) -> tuple[tuple[PickupResponse, ...], tuple[Places, ...]]:
    found: dict[tuple[bytes, bytes], int] = {}
    kept: list[PickupResponse] = []
    places = []
    for several in given:
        at = []
        for one in several:
            key = (one.frequency.tobytes(), one.value.tobytes())
            if key not in found:
                found[key] = len(kept)
                kept.append(one)
            at.append(found[key])
        places.append(np.array(at, dtype=int))
    return tuple(kept), tuple(places)
