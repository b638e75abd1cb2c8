"""Coil, controls, cable and input: volts at the amplifier per volt in the coils."""

from polepiece.circuit.parts import ControlCircuit, Load, PickupCircuit
from polepiece.circuit.resonance import resonance
from polepiece.circuit.response import LoadedResponse, loaded_response
