"""Coil, controls, cable and input: volts at the amplifier per volt in the coils."""

from polepiece.circuit.assembly import network_of
from polepiece.circuit.network import Network, port_impedance, solve, transfers
from polepiece.circuit.parts import (
    Capacitor,
    ControlCircuit,
    Impedance,
    Inductor,
    Load,
    Mutual,
    PickupCircuit,
    Resistor,
    Source,
    coil_impedance,
    track_share,
)
from polepiece.circuit.resonance import Resonance, resonance
from polepiece.circuit.response import LoadedResponse, loaded_response

__all__ = [
    "Capacitor",
    "ControlCircuit",
    "Impedance",
    "Inductor",
    "Load",
    "LoadedResponse",
    "Mutual",
    "Network",
    "PickupCircuit",
    "Resistor",
    "Resonance",
    "Source",
    "coil_impedance",
    "loaded_response",
    "network_of",
    "port_impedance",
    "resonance",
    "solve",
    "track_share",
    "transfers",
]
