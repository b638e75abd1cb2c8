"""Coils, controls, cable and input: volts at the amplifier per volt in the coils."""

from polepiece.circuit.net import (
    GROUND,
    JACK,
    Capacitor,
    Coils,
    Inductor,
    Net,
    Part,
    Resistor,
    joint,
    pot,
    stacked,
    topology_of,
)
from polepiece.circuit.nodal import NodalResponse, solve_net
from polepiece.circuit.parts import ControlCircuit, Load, PickupCircuit, track_share
from polepiece.circuit.resonance import resonance
from polepiece.circuit.response import LoadedResponse, loaded_response, net_responses
from polepiece.circuit.topology import heard_pickups, what_matters
from polepiece.circuit.two_terminal import TwoTerminal, subcircuit, two_terminal
from polepiece.circuit.wired import Joined, net_of, pickup_parts
