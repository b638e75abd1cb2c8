"""Volts at the amplifier per volt in each coil, by nodal analysis of the whole circuit."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit.net import Net, stacked
from polepiece.circuit.nodal import solve_net
from polepiece.circuit.parts import ControlCircuit, Load, PickupCircuit
from polepiece.circuit.wired import Joined, net_of
from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadedResponse:
    """Transfer from every coil to the amplifier's input, and the impedance behind the jack."""

    frequency: FloatArray  # (f,), Hz
    transfers: tuple[ComplexArray, ...]  # one a pickup, (coils, f), V per V of EMF, coils the same way round
    output_impedance: ComplexArray  # (f,), ohm, looking back into the jack; cable and input not counted

    @property
    def transfer(self) -> ComplexArray:
        """Transfer of the only pickup, shape (coils, f)."""
        if len(self.transfers) != 1:
            raise InputError(f"{len(self.transfers)} pickups are on; choose one of .transfers.")
        return self.transfers[0]


def loaded_response(
    frequency: ArrayLike,
    pickups: PickupCircuit | Sequence[PickupCircuit],
    *,
    master: ControlCircuit | None = None,
    load: Load | None = None,
    joined: Joined = "parallel",
) -> LoadedResponse:
    """Transfer from the EMF of every coil to the amplifier's input, with the impedance behind the jack.

    Linear and quasi-static: wavelengths are far longer than the wiring. Pickups that are on together are joined side by
    side, each behind its own controls, or stand in series; the master controls follow. So a volume of one pickup at 0
    silences all that are on in parallel, unless it is wired the other way round.

    Parameters
    ----------
    frequency : array_like, shape (f,)
        Hz, 0 or more; the frequencies of the pickups' impedances.
    pickups : PickupCircuit or sequence of them
        The pickups that are on.
    master : ControlCircuit, optional
        Controls after the pickups are joined.
    load : Load, optional
        Cable and input; nothing when left out.
    joined : {"parallel", "series"}
        How several pickups stand together.

    Returns
    -------
    LoadedResponse
        Transfers in V per V and output impedance in ohm, for exp(+jwt).

    Raises
    ------
    InputError
        When no pickup is on, or an impedance does not fit the frequencies.

    References
    ----------
    Modified nodal analysis (`solve_net`); the load by Thevenin's theorem. docs/theory/circuit.md.
    """
    on = (pickups,) if isinstance(pickups, PickupCircuit) else tuple(pickups)
    if not on:
        raise InputError("no pickup is on; give one at least.")
    (found,) = net_responses(frequency, [net_of(on, master=master, joined=joined)], [load or Load()])
    return found


def net_responses(frequency: ArrayLike, nets: Sequence[Net], loads: Sequence[Load]) -> list[LoadedResponse]:
    """Return the response of every net with its load, solved together; the nets are of one topology.

    Parameters
    ----------
    frequency : array_like, shape (f,)
    nets, loads : sequences of equal length
        One a draw, say.

    Raises
    ------
    InputError
        As `loaded_response`.
    """
    hertz = np.atleast_1d(np.asarray(frequency, dtype=float))
    if hertz.ndim != 1 or not np.all(np.isfinite(hertz)) or np.any(hertz < 0.0):
        raise InputError("frequency must be a list of finite values, 0 Hz or more.")
    for number, one in enumerate(nets[0].coils):
        if one.impedance.shape[-1] != hertz.size:
            raise InputError(
                f"pickups[{number}].impedance has {one.impedance.shape[-1]} values; there are {hertz.size} frequencies."
            )
    found = solve_net(stacked(nets), hertz)
    s = 2j * np.pi * hertz
    behind = np.broadcast_to(found.impedance, (len(nets), hertz.size))
    plugged = 1.0 / (1.0 + behind * np.array([_admittance(one, s) for one in loads]))  # Thevenin
    transfers = [
        np.broadcast_to(one.reshape(len(one), -1, hertz.size), (len(one), len(nets), hertz.size)) * plugged
        for one in found.transfers
    ]
    return [
        LoadedResponse(
            frequency=hertz, transfers=tuple(one[:, draw] for one in transfers), output_impedance=behind[draw]
        )
        for draw in range(len(nets))
    ]  # fmt: skip


def _admittance(load: Load, s: ComplexArray) -> ComplexArray:
    """Return that of cable and input (f,), siemens. Kirchhoff."""
    loss = 1.0 / load.input_resistance if load.input_resistance else 0.0
    return np.asarray(loss + s * (load.cable_capacitance + load.input_capacitance))
