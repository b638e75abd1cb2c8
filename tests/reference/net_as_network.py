"""A net of the package as the plain network of these references: other eyes on the same parts."""

from dataclasses import replace

from polepiece.circuit import GROUND, Capacitor, Coils, Net, Resistor
from tests.reference import circuit_elements as plain
from tests.reference.nodal import Network


def as_network(net: Net) -> Network:
    """Return a net as a network; coils are ``name.0``, ``name.1``, their EMF ``name.emf0``, blanks in names are "_"."""
    elements: list[plain.Element] = []
    for part in net.parts:
        name = part.name.replace(" ", "_")
        if isinstance(part, Coils):
            elements += _coils(name, part)
        elif isinstance(part, Capacitor):
            elements.append(plain.Capacitor(name=name, a=part.a, b=part.b, capacitance=float(part.value)))
        elif isinstance(part, Resistor):
            elements.append(plain.Resistor(name=name, a=part.a, b=part.b, resistance=float(part.value)))
        else:
            elements.append(plain.Inductor(name=name, a=part.a, b=part.b, inductance=float(part.value)))
    return Network(elements=tuple(_grounded(one) for one in elements))


def _coils(name: str, part: Coils) -> list[plain.Element]:
    elements: list[plain.Element] = []
    for coil, (a, b) in enumerate(part.ends):
        inner = f"{name} inner {coil}"
        elements.append(plain.Source(name=f"{name}.emf{coil}", a=inner, b=b))
        elements.append(plain.Impedance(name=f"{name}.{coil}", a=inner, b=a, impedance=part.impedance[coil, coil]))
    if len(part.ends) == 2:
        elements.append(plain.Mutual(first=f"{name}.0", second=f"{name}.1", impedance=part.impedance[0, 1]))
    return elements


def _grounded(one: plain.Element) -> plain.Element:
    """Call ground "0"."""
    if isinstance(one, plain.Mutual):
        return one
    return replace(one, a="0" if one.a == GROUND else one.a, b="0" if one.b == GROUND else one.b)
