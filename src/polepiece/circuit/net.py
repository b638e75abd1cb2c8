"""A net: elements between named nodes, their values numbers or one a draw, ready for the nodal analysis.

A node is a name; ``GROUND`` is the reference, ``JACK`` the output. A switch that is closed is a resistor of 0 ohm, an
open one is left out; a pot is two resistors at its wiper.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import InputError

GROUND, JACK = "ground", "jack"
Value = float | FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Element:
    """One part with two ends; ``value`` is a number, or an array (d, 1) with one a draw."""

    name: str
    a: str
    b: str
    value: Value

    def __post_init__(self) -> None:
        fits = self.value >= 0.0
        if not (fits if isinstance(fits, bool) else np.all(fits)):
            kind = type(self).__name__.lower()
            raise InputError(f"{kind} {self.name} is {self.value}; it must be 0 or more.")


class Resistor(Element):
    """Ohm; 0 joins its ends, infinite parts them."""

    __slots__ = ()


class Capacitor(Element):
    """Farad; 0 parts its ends."""

    __slots__ = ()


class Inductor(Element):
    """Henry, without loss: put a resistor in line with a real one."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coils:
    """The coils of one pickup with all they induce in one another: a c-port.

    An EMF raises the first node of its coil's pair above the second. ``impedance`` (c, c, f), or (c, c, d, f) with one
    a draw, ohm, is that of the coils as counted in ``ends``; its mutual terms are symmetric.
    """

    name: str
    ends: tuple[tuple[str, str], ...]
    impedance: ComplexArray


Part = Resistor | Capacitor | Inductor | Coils


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Net:
    """Elements between named nodes."""

    parts: tuple[Part, ...]

    @property
    def coils(self) -> tuple[Coils, ...]:
        """The pickups, in order."""
        return tuple(one for one in self.parts if isinstance(one, Coils))


def pot(name: str, *, top: str, wiper: str, bottom: str, above: Value, below: Value) -> list[Part]:
    """Return a pot as the two parts of its track, ohm above and below the wiper."""
    return [
        Resistor(name=f"{name}, above", a=top, b=wiper, value=above),
        Resistor(name=f"{name}, below", a=wiper, b=bottom, value=below),
    ]


def joint(a: str, b: str) -> Resistor:
    """Return a closed contact."""
    return Resistor(name=f"{a} to {b}", a=a, b=b, value=0.0)


def _kind(value: Value) -> int:
    return 1 if value == 0.0 else 2 if np.isinf(value) else 0


def topology_of(net: Net) -> tuple[object, ...]:
    """Return what nets that `stacked` takes have in common: parts, where they are, and whether each joins or parts."""
    return tuple(
        (one.name, one.ends) if isinstance(one, Coils) else (type(one), one.name, one.a, one.b, _kind(one.value))
        for one in net.parts
    )


def stacked(nets: Sequence[Net]) -> Net:
    """Return nets of the same parts as one whose values have an axis of draws: (d, 1), and (c, c, d, f) for coils.

    Raises
    ------
    InputError
        When they differ in more than their values.
    """
    if len(nets) == 1:
        return nets[0]
    together: list[Part] = []
    for same in zip(*(net.parts for net in nets), strict=True):
        first = same[0]
        if isinstance(first, Coils):
            z = np.stack([one.impedance for one in same if isinstance(one, Coils)], axis=2)
            together.append(Coils(name=first.name, ends=first.ends, impedance=z))
            continue
        each = [one.value for one in same if not isinstance(one, Coils)]
        if len({(type(one), one.name) for one in same}) > 1:
            raise InputError(f"nets with {first.name} and {same[-1].name} at one place are not of one topology.")
        value = each[0] if all(one == each[0] for one in each) else np.array(each, dtype=float)[:, None]
        if not isinstance(value, float | int) and len({_kind(one) for one in each}) > 1:
            raise InputError(f"{first.name} is a part in some nets, and joined or parted in others.")
        together.append(type(first)(name=first.name, a=first.a, b=first.b, value=value))
    return Net(parts=tuple(together))
