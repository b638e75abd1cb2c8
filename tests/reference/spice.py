"""Writes a network as a netlist for Debian's ngspice, runs it, and reads the voltages back."""

import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from tests.reference.circuit_elements import Capacitor, Impedance, Inductor, Mutual, Resistor, Source, coil_impedance
from tests.reference.nodal import Network

FOUND = shutil.which("ngspice")


@dataclass(frozen=True, kw_only=True)
class Ladder:
    """A coil that a netlist can hold: R and L in series with cells of R beside L (eddy losses)."""

    resistance: float
    inductance: float
    cells: tuple[tuple[float, float], ...] = ()  # (ohm, henry)

    def impedance(self, frequency: FloatArray) -> ComplexArray:
        """R + jwL + sum of jwL_k R_k / (R_k + jwL_k)."""
        jw = 2j * np.pi * frequency
        cells = sum((jw * h * r / (r + jw * h) for r, h in self.cells), np.zeros_like(jw))
        return np.asarray(coil_impedance(frequency, self.resistance, self.inductance)[0, 0] + cells)


def netlist(network: Network, ladders: Mapping[str, Ladder], mutuals: Mapping[tuple[str, str], float]) -> list[str]:
    """Lines of the netlist. ``ladders`` and ``mutuals`` (H) stand in for impedances given as numbers.

    A factor of coupling below zero is written as one winding turned over; 0 ohm as a source of 0 V.
    """
    node = {name: str(number) for number, name in enumerate(("0", *network.nodes))}
    label = {one.name: f"x{number}" for number, one in enumerate(network.elements) if not isinstance(one, Mutual)}
    henries = {one.name: one.inductance for one in network.elements if isinstance(one, Inductor)}
    henries |= {name: ladder.inductance for name, ladder in ladders.items()}
    coupled = {(one.first, one.second): one.inductance for one in network.elements if isinstance(one, Mutual)}
    coupled = {pair: mutuals.get(pair, value) for pair, value in coupled.items()}
    turned = {second for (_, second), value in coupled.items() if value is not None and value < 0.0}
    lines = []
    for one in network.elements:
        if isinstance(one, Mutual):
            value = coupled[one.first, one.second]
            assert value is not None
            factor = abs(value) / np.sqrt(henries[one.first] * henries[one.second])
            lines.append(f"k{one.first}{one.second} l{label[one.first]} l{label[one.second]} {factor:.17g}")
            continue
        a, b, x = node[one.a], node[one.b], label[one.name]
        if isinstance(one, Resistor):
            lines.append(f"r{x} {a} {b} {one.resistance:.17g}" if one.resistance else f"v{x} {a} {b} dc 0 ac 0")
        elif isinstance(one, Capacitor):
            lines.append(f"c{x} {a} {b} {one.capacitance:.17g}")
        elif isinstance(one, Source):
            volts = complex(one.volts)
            lines.append(f"v{x} {a} {b} dc 0 ac {abs(volts):.17g} {np.degrees(np.angle(volts)):.17g}")
        else:
            ladder = (
                ladders[one.name] if isinstance(one, Impedance) else Ladder(resistance=0, inductance=one.inductance)
            )
            lines += _coil(x, a, b, ladder, turned=one.name in turned)
    return lines


def _coil(x: str, a: str, b: str, ladder: Ladder, *, turned: bool) -> list[str]:
    chain = [f"{x}m{step}" for step in range(len(ladder.cells) + 1)]
    lines, here = [], a
    if ladder.resistance:
        lines.append(f"r{x} {a} {chain[0]} {ladder.resistance:.17g}")
        here = chain[0]
    after = [*chain[1:], b]
    ends = (after[0], here) if turned else (here, after[0])
    lines.append(f"l{x} {ends[0]} {ends[1]} {ladder.inductance:.17g}")
    for number, (ohms, henries) in enumerate(ladder.cells):
        lines.append(f"r{x}c{number} {after[number]} {after[number + 1]} {ohms:.17g}")
        lines.append(f"l{x}c{number} {after[number]} {after[number + 1]} {henries:.17g}")
    return lines


def run(lines: list[str], nodes: tuple[str, ...], folder: Path) -> tuple[FloatArray, dict[str, ComplexArray]]:
    """Frequencies of ngspice's sweep (10 Hz to 20 kHz, 5 a decade) and the volts of every node."""
    source, raw = folder / "circuit.cir", folder / "circuit.raw"
    text = [
        "circuit",
        *lines,
        ".options noopac",  # no working point: at 0 Hz a capacitor may part a node
        ".control",
        "set filetype=ascii",  # the text file carries 15 digits
        "ac dec 5 10 20k",
        f"write {raw} all",
        ".endc",
        ".end",
    ]
    source.write_text("\n".join(text) + "\n", encoding="ascii")
    raw.unlink(missing_ok=True)
    done = subprocess.run([str(FOUND), "-b", str(source)], capture_output=True, text=True, check=False, timeout=60)
    assert raw.exists(), done.stdout + done.stderr
    return _read(raw.read_text(encoding="ascii"), nodes)


def _read(text: str, nodes: tuple[str, ...]) -> tuple[FloatArray, dict[str, ComplexArray]]:
    head, values = text.split("Values:\n")
    names = [line.split()[1] for line in head.split("Variables:\n")[1].strip().split("\n")]
    pairs = [entry.split("\t")[-1] for entry in values.split("\n") if "," in entry]
    table = np.array([complex(*map(float, pair.split(","))) for pair in pairs]).reshape(-1, len(names))
    frequency = table[:, names.index("frequency")].real  # its imaginary part is rubbish
    return frequency, {node: table[:, names.index(f"v({number})")] for number, node in enumerate(nodes, start=1)}
