"""Coil, controls, cable and input: volts at the amplifier per volt in the coils."""

from polepiece.circuit.parts import ControlCircuit, Load, PickupCircuit, track_share
from polepiece.circuit.resonance import Resonance, resonance
from polepiece.circuit.response import LoadedResponse, loaded_response

__all__ = [
    "ControlCircuit",
    "Load",
    "LoadedResponse",
    "PickupCircuit",
    "Resonance",
    "loaded_response",
    "resonance",
    "track_share",
]
