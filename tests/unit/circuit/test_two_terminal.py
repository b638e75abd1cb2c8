"""Nets of plain parts for an impedance: back from random nets, passive, and as ngspice solves them.

Tolerance of a subcircuit 1e-3 of |Z| and rad, a tenth of what a good meter tells. A net of single cells is the hardest:
a relaxation half way between two of the fit's corners is met within 0.07 % of its size; eddy currents are spread.
"""

import subprocess
from pathlib import Path

import numpy as np
import pytest

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import TwoTerminal, subcircuit, two_terminal
from polepiece.errors import InputError
from tests.reference.spice import FOUND

HERTZ = np.geomspace(20.0, 20e3, 120)


def drawn_net(random: np.random.Generator) -> TwoTerminal:
    size, corners = random.uniform(0.8, 9.0), 10.0 ** random.uniform(1.0, 5.0, size=4)
    shares = random.dirichlet(np.ones(5)) * size
    return TwoTerminal(
        resistance=random.uniform(2e3, 15e3), inductance=float(shares[0]),
        cells=tuple((float(2 * np.pi * f * h), float(h)) for f, h in zip(corners, shares[1:])),
        capacitance=float(10.0 ** random.uniform(-11.0, -9.2)), size_error=0.0, phase_error=0.0,
    )  # fmt: skip


def simulated(text: str, folder: Path) -> tuple[FloatArray, ComplexArray]:
    """Return frequencies (50 Hz to 20 kHz) and the impedance of a subcircuit's two pins as ngspice has it."""
    name = next(line.split()[1] for line in text.splitlines() if line.startswith(".subckt"))
    (folder / "net.cir").write_text(text, encoding="utf-8")
    rows = []
    lines = ["a pickup", ".include net.cir", "i1 0 1 dc 0 ac 1", f"x1 1 0 {name}", ".options noopac", ".control"]
    lines += ["set filetype=ascii", "set numdgt=12", "ac dec 25 50 20k"]
    lines += ["wrdata out.txt v(1)", ".endc", ".end"]
    (folder / "run.cir").write_text("\n".join(lines) + "\n", encoding="ascii")
    done = subprocess.run(
        [str(FOUND), "-b", "run.cir"], cwd=folder, capture_output=True, text=True, check=False, timeout=60
    )
    assert (folder / "out.txt").exists(), done.stdout + done.stderr
    for line in (folder / "out.txt").read_text().splitlines():
        rows.append([float(one) for one in line.split()])
    table = np.array(rows)
    assert len(table) > 60 and table[0, 0] == 50.0
    return table[:, 0], np.asarray(table[:, 1] + 1j * table[:, 2])


def test_random_nets_come_back_and_stay_passive() -> None:
    random = np.random.default_rng(8)
    for _ in range(12):
        net = drawn_net(random)
        found = two_terminal(HERTZ, net.impedance(HERTZ), net.resistance)
        assert max(found.size_error, found.phase_error) < 1e-3
        assert found.inductance >= 0.0 and all(r > 0.0 and h > 0.0 for r, h in found.cells)  # whatever simulates it
        between = np.geomspace(20.0, 20e3, 311)  # where it was not fitted
        ratio = found.impedance(between) / net.impedance(between)
        assert np.max(np.abs(ratio - 1.0)) < 1e-3


def test_a_coil_without_eddy_currents_keeps_its_sharp_resonance() -> None:
    """Q of 37: a capacitance that is off by 0.1 % would be seen as 4 % at the peak."""
    net = TwoTerminal(resistance=7.7e3, inductance=5.29, cells=(), capacitance=66e-12, size_error=0.0, phase_error=0.0)
    found = two_terminal(HERTZ, net.impedance(HERTZ), net.resistance)
    assert max(found.size_error, found.phase_error) < 1e-4


@pytest.mark.skipif(FOUND is None, reason="ngspice is not installed (Debian: apt-get install ngspice)")
def test_ngspice_has_the_same_impedance(tmp_path: Path) -> None:
    """1e-6: ngspice solves in double precision, values are written with nine digits."""
    net = drawn_net(np.random.default_rng(4))
    hertz, z = simulated(subcircuit(net, "my 1st pickup!", ("a remark\nin two lines",)), tmp_path)
    assert np.max(np.abs(z / net.impedance(hertz) - 1.0)) < 1e-6


def test_names_and_remarks_cannot_break_the_netlist() -> None:
    text = subcircuit(drawn_net(np.random.default_rng(1)), "9 x\n.end", ("a\n.end",))
    lines = text.splitlines()
    assert lines[0] == "* a .end" and lines[1].startswith(".subckt p_9_x__end hot ground")
    assert lines[-1] == ".ends p_9_x__end"


def test_too_few_frequencies_are_refused() -> None:
    with pytest.raises(InputError, match="20 frequencies"):
        two_terminal(HERTZ[:5], np.ones(5, dtype=complex), 8e3)
