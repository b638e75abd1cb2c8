"""Volts at the amplifier per volt in each coil as a chain of closed forms: the check of the nodal analysis.

The coils are replaced by a source with an impedance (Thevenin), and every part that follows changes the two: an
admittance Y across divides both by 1 + Z Y, an impedance in series adds to Z. It knows pickups in parallel, each with
controls of its own wired the usual way, and master controls behind them.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import ControlCircuit, Load, LoadedResponse, PickupCircuit
from polepiece.errors import InputError


def closed_form(
    frequency: ArrayLike,
    pickups: PickupCircuit | Sequence[PickupCircuit],
    *,
    master: ControlCircuit | None = None,
    load: Load | None = None,
) -> LoadedResponse:
    """Return what `loaded_response` does, of the same arguments.

    Notes
    -----
    Coils: T = (1 + j w Z C)^-1 and Z_t = T Z with C the diagonal of the coils' capacitances. Series with
    senses s: E = s T e, Z_p = s Z_t s. Parallel: 1 / Z_p = s Z_t^-1 s, E = Z_p s Z_t^-1 T e. A shorted coil
    is eliminated. For one pickup without capacitance of its own, H = 1 / (1 + Z Y).

    References
    ----------
    Written out here from Thevenin's theorem and Kirchhoff's laws.
    """
    hertz = np.atleast_1d(np.asarray(frequency, dtype=float))
    on = (pickups,) if isinstance(pickups, PickupCircuit) else tuple(pickups)
    _check(hertz, on)
    s = 2j * np.pi * hertz
    stages = [_through_controls(*_source(s, one), s, one.controls, one.capacitance) for one in on]
    gains, impedance = _joined(stages)
    if master is not None:
        gains, impedance = _through_controls(gains, impedance, s, master)
    plug = load or Load()
    loss = 1.0 / plug.input_resistance if plug.input_resistance else 0.0
    gains = gains / (1.0 + impedance * (loss + s * (plug.cable_capacitance + plug.input_capacitance)))
    ends = np.cumsum([one.coils for one in on])[:-1]
    return LoadedResponse(frequency=hertz, transfers=tuple(np.split(gains, ends)), output_impedance=impedance)


def _check(hertz: FloatArray, on: tuple[PickupCircuit, ...]) -> None:
    if not on:
        raise InputError("no pickup is on; give one at least.")
    if hertz.ndim != 1 or not np.all(np.isfinite(hertz)) or np.any(hertz < 0.0):
        raise InputError("frequency must be a list of finite values, 0 Hz or more.")
    for number, one in enumerate(on):
        if one.impedance.shape[2] != hertz.size:
            raise InputError(
                f"pickups[{number}].impedance has {one.impedance.shape[2]} values; there are {hertz.size} frequencies."
            )


def _source(s: ComplexArray, pickup: PickupCircuit) -> tuple[ComplexArray, ComplexArray]:
    """Gain of each coil's EMF (coils, f) and impedance (f,) of the bare pickup at its leads."""
    z = pickup.impedance
    c = pickup.coil_capacitance or (0.0,) * pickup.coils
    sense = pickup.sense
    if pickup.coils == 1:
        gain = 1.0 / (1.0 + s * c[0] * z[0, 0])
        return (sense[0] * gain)[None, :], gain * z[0, 0]
    # T = (1 + s Z C)^-1 written out for two coils; Zt = T Z
    a, b = 1.0 + s * c[0] * z[0, 0], s * c[1] * z[0, 1]
    d, e = s * c[0] * z[1, 0], 1.0 + s * c[1] * z[1, 1]
    over = 1.0 / (a * e - b * d)
    t = np.array(((e, -b), (-d, a))) * over
    zt = np.array([[t[i, 0] * z[0, k] + t[i, 1] * z[1, k] for k in (0, 1)] for i in (0, 1)])
    if pickup.wiring in ("series", "out-of-phase"):
        product = sense[0] * sense[1]
        impedance = zt[0, 0] + zt[1, 1] + product * (zt[0, 1] + zt[1, 0])
        return sense[0] * t[0] + sense[1] * t[1], impedance
    if pickup.wiring == "parallel":
        first, second = sense
        spread = zt[0, 0] + zt[1, 1] - first * second * (zt[0, 1] + zt[1, 0])
        impedance = (zt[0, 0] * zt[1, 1] - zt[0, 1] * zt[1, 0]) / spread
        # share of the current of each coil: row vector s Zt^-1 over s Zt^-1 s
        shares = (first * zt[1, 1] - second * zt[1, 0], second * zt[0, 0] - first * zt[0, 1])
        return (shares[0] * t[0] + shares[1] * t[1]) / spread, impedance
    live = int(np.flatnonzero(sense)[0])
    off = 1 - live
    if pickup.off_coil == "open":
        return sense[live] * t[live], zt[live, live]
    leak = zt[live, off] / zt[off, off]
    return sense[live] * (t[live] - leak * t[off]), zt[live, live] - leak * zt[off, live]


def _through_controls(
    gains: ComplexArray,
    impedance: ComplexArray,
    s: ComplexArray,
    controls: ControlCircuit,
    capacitance: float = 0.0,
) -> tuple[ComplexArray, ComplexArray]:
    """Source after the controls; ``capacitance`` and the shunt resistor lie across its input."""
    tone = tone_admittance(s, controls)
    first = s * capacitance + (1.0 / controls.shunt_resistor if controls.shunt_resistor else 0.0)
    loss = 1.0 / (1.0 + impedance * (first + tone if controls.tone_tap == "before" else first))
    gains, impedance = gains * loss, impedance * loss
    parts = controls.volume_parts
    if parts is not None:
        above, below = parts
        impedance = impedance + above / (1.0 + above * bleed_admittance(s, controls))
        share = below / (below + impedance)
        gains, impedance = gains * share, impedance * share
    if controls.tone_tap == "after":
        loss = 1.0 / (1.0 + impedance * tone)
        gains, impedance = gains * loss, impedance * loss
    return gains, impedance


def tone_admittance(s: ComplexArray, controls: ControlCircuit) -> ComplexArray:
    """Admittance of the tone control at ``s`` = jw, siemens; zeros without one. Kirchhoff: R and C in series."""
    if controls.tone_capacitor is None or controls.tone_resistance is None:
        return np.zeros_like(s)
    return s * controls.tone_capacitor / (1.0 + s * controls.tone_capacitor * controls.tone_resistance)


def bleed_admittance(s: ComplexArray, controls: ControlCircuit) -> ComplexArray:
    """Admittance of the treble bleed at ``s`` = jw, siemens; zeros without one.

    Kirchhoff: R and C in series, or side by side.
    """
    conductance = 1.0 / controls.bleed_resistor if controls.bleed_resistor else 0.0
    if controls.bleed_capacitor is None:
        return np.full_like(s, conductance)
    if controls.bleed_wiring == "series" and controls.bleed_resistor:
        return s * controls.bleed_capacitor / (1.0 + s * controls.bleed_capacitor * controls.bleed_resistor)
    return s * controls.bleed_capacitor + conductance


def _joined(stages: list[tuple[ComplexArray, ComplexArray]]) -> tuple[ComplexArray, ComplexArray]:
    """Sources side by side: gains (all coils, f), impedance (f,). No 1 / Z in it: a volume may be at 0."""
    if len(stages) == 1:
        return stages[0]
    others = [
        np.prod([z for number, (_, z) in enumerate(stages) if number != here], axis=0) for here in range(len(stages))
    ]
    total = np.sum(others, axis=0)
    grounded = total == 0.0  # two volumes at 0: both hold the joint at ground, their gains are 0, and no other counts
    if any(np.any(np.abs(gains[:, grounded & (z == 0.0)]) > 0.0) for gains, z in stages):
        raise InputError("two pickups without any impedance lie side by side; give their coils a resistance.")
    share = [np.divide(other, total, out=np.zeros_like(total), where=~grounded) for other in others]
    gains = np.concatenate([gain * part for (gain, _), part in zip(stages, share, strict=True)])
    return gains, stages[0][1] * share[0]
