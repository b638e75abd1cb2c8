"""Parts of the circuit between coils and amplifier: plain records in SI, checked when they are made."""

import math
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil import Wiring
from polepiece.errors import InputError

Taper = Literal["audio", "linear"]
Tap = Literal["before", "after"]
BleedWiring = Literal["series", "parallel"]
VolumeWiring = Literal["usual", "independent"]

# Share of an audio-taper control's track at mid rotation. Source: trade practice, read
# (https://www.electronicspoint.com/forums/threads/log-lin-pot-a-b-suffixes-prefixes.95279/); tracks with
# 10 % and 20 % exist as well (memory), so a measured control may bring its own figure.
AUDIO_MID_SHARE = 0.15


def _not_negative(where: str, value: float | None, unit: str, slip: str = "") -> None:
    if value is not None and not value >= 0.0:
        raise InputError(f"{where} is {value} {unit}; it must be 0 or more (absent: None). {slip}".rstrip())


def _one_of(where: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise InputError(f"{where} is {value!r}; it must be one of {', '.join(allowed)}.")


def track_share(setting: float, taper: Taper = "audio", *, mid_share: float = AUDIO_MID_SHARE) -> float:
    """Share of a control's track between its low end and its wiper.

    Parameters
    ----------
    setting : float
        Knob position, 0 to 10.
    taper : {"audio", "linear"}
        Law of the track.
    mid_share : float
        Share at setting 5 of an audio taper, between 0 and 1.

    Returns
    -------
    float
        Share, 0 at setting 0 and 1 at setting 10.

    Raises
    ------
    InputError
        When the setting is outside 0 to 10, or the taper is unknown.

    Notes
    -----
    Linear: s = x. Audio: s = (a**x - 1) / (a - 1), a = ((1 - m) / m)**2, x = setting / 10: the exponential
    through 0, m at mid rotation, and 1. The mid share has a source; that the law between is a smooth
    exponential is an assumption (real tracks are made of two or three straight pieces).

    Examples
    --------
    >>> round(track_share(5.0), 6), track_share(10.0), track_share(5.0, "linear")
    (0.15, 1.0, 0.5)
    """
    _one_of("taper", taper, ("audio", "linear"))
    if not 0.0 <= setting <= 10.0:
        raise InputError(f"a control is set to {setting}; the knob runs from 0 to 10. Not a share or per cent.")
    x = setting / 10.0
    if taper == "linear" or mid_share == 0.5:
        return x
    if not 0.0 < mid_share < 1.0:
        raise InputError(f"mid_share is {mid_share}; it must lie between 0 and 1 (0.15, not 15).")
    base = ((1.0 - mid_share) / mid_share) ** 2
    return float((base**x - 1.0) / (base - 1.0))


def _frozen(values: ArrayLike, dimensions: int, where: str) -> ComplexArray:
    array = np.array(values, dtype=np.complex128)
    if array.ndim != dimensions:
        raise InputError(f"{where} has shape {array.shape}; {dimensions} axes are needed, frequency last.")
    if not np.all(np.isfinite(array)):
        raise InputError(f"{where} holds a value that is not finite.")
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlCircuit:
    """Volume and tone control with what hangs on them; ``None`` is "not there". The default is no controls.

    Order from the pickup: shunt resistor, tone (tap "before"), volume with its treble bleed from the top of
    the track to the wiper, tone (tap "after"). The tone control is the part of its track between the tap
    and the wiper, in series with the capacitor to ground: at setting 0 the capacitor alone. What is in line comes
    before all of them. An "independent" volume has the pickup at its wiper and the output at the end of its track: it
    then does not draw down another pickup beside it.
    """

    volume_pot: float | None = None  # ohm, whole track, as measured where it was
    volume_setting: float = 10.0
    volume_taper: Taper = "audio"
    tone_pot: float | None = None  # ohm
    tone_setting: float = 10.0
    tone_taper: Taper = "audio"
    tone_capacitor: float | None = None  # F
    tone_tap: Tap = "before"
    bleed_capacitor: float | None = None  # F
    bleed_resistor: float | None = None  # ohm
    bleed_wiring: BleedWiring = "parallel"
    shunt_resistor: float | None = None  # ohm, across the pickup
    shunt_capacitor: float | None = None  # F, across the pickup
    line_resistor: float | None = None  # ohm, between the pickup and all of these
    line_capacitor: float | None = None  # F, there as well; beside the resistor where there are both
    volume_wiring: VolumeWiring = "usual"  # the pickup at the end of the track; "independent": at its wiper
    mid_share: float = AUDIO_MID_SHARE

    def __post_init__(self) -> None:
        for name in ("volume_pot", "tone_pot"):
            value = getattr(self, name)
            if value is not None and not 1e3 <= value <= 1e8:
                raise InputError(
                    f"{name} is {value} ohm; controls lie between 1e3 and 1e8 ohm. 500 kohm is 500e3 here."
                )
        for name in ("tone_capacitor", "bleed_capacitor", "shunt_capacitor", "line_capacitor"):
            value = getattr(self, name)
            _not_negative(name, value, "F")
            if value is not None and value > 1e-3:
                raise InputError(f"{name} is {value} F; that is no capacitor of a guitar. 22 nF is 22e-9 here.")
        for name in ("bleed_resistor", "shunt_resistor", "line_resistor"):
            value = getattr(self, name)
            if value is not None and not value > 0.0:
                raise InputError(f"{name} is {value} ohm; it must be positive (absent: None).")
        if self.bleed_resistor is not None and math.isinf(self.bleed_resistor):
            raise InputError("bleed_resistor is infinite; leave it out (None) to have the capacitor alone.")
        _one_of("tone_tap", self.tone_tap, ("before", "after"))
        _one_of("bleed_wiring", self.bleed_wiring, ("series", "parallel"))
        _one_of("volume_wiring", self.volume_wiring, ("usual", "independent"))
        if (self.tone_pot is None) != (self.tone_capacitor is None):
            raise InputError("a tone control needs both tone_pot and tone_capacitor; give both or neither.")
        track_share(self.volume_setting, self.volume_taper, mid_share=self.mid_share)
        track_share(self.tone_setting, self.tone_taper, mid_share=self.mid_share)

    @property
    def volume_parts(self) -> tuple[float, float] | None:
        """Ohms above and below the wiper of the volume control, or None without one.

        Definition of the share; the taper is an assumption (`track_share`).
        """
        if self.volume_pot is None:
            return None
        share = track_share(self.volume_setting, self.volume_taper, mid_share=self.mid_share)
        return self.volume_pot * (1.0 - share), self.volume_pot * share

    @property
    def tone_resistance(self) -> float | None:
        """Ohms in series with the tone capacitor, or None without a tone control."""
        if self.tone_pot is None:
            return None
        return self.tone_pot * track_share(self.tone_setting, self.tone_taper, mid_share=self.mid_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What is plugged in: cable, then the amplifier's input. The default is nothing."""

    cable_capacitance: float = 0.0  # F, the whole cable
    input_resistance: float | None = None  # ohm; None draws no current
    input_capacitance: float = 0.0  # F

    def __post_init__(self) -> None:
        _not_negative("cable_capacitance", self.cable_capacitance, "F")
        _not_negative("input_capacitance", self.input_capacitance, "F")
        if max(self.cable_capacitance, self.input_capacitance) > 1e-6:
            raise InputError(
                f"a cable or input of {max(self.cable_capacitance, self.input_capacitance)} F is too large. "
                "500 pF is 500e-12 here."
            )
        if self.input_resistance is not None and not self.input_resistance > 0.0:
            raise InputError(f"input_resistance is {self.input_resistance} ohm; it must be positive (1 Mohm is 1e6).")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupCircuit:
    """One pickup as the circuit sees it: its coils, how they are joined, and controls of its own.

    ``impedance`` is the matrix of its coils, all wound the same way round about +z, hum-bucking pairs in the
    order (slug coil, screw coil); so the mutual term of such a pair is negative. Voltages (EMF) of the coils
    count in the same direction. The wiring turns the second coil over:

    ============== =====================================================================
    series         slug minus screw: L1 + L2 - 2 M, the usual hum-bucking pair
    parallel       the same two, side by side
    split-screws   the screw coil alone stays on; the slug coil is off
    split-slugs    the slug coil alone stays on; the screw coil is off
    out-of-phase   slug plus screw in series: L1 + L2 + 2 M; strings cancel, hum adds
    parallel-out-of-phase   side by side with the screw coil turned over
    ============== =====================================================================

    A pickup with one coil is wired "series". ``reverse`` swaps the two leads of the whole pickup.
    ``off_coil``: a split switch that grounds the joint (the usual one) shorts the coil that is off.
    """

    impedance: ComplexArray  # (n, n, f), ohm, n = 1 or 2
    wiring: Wiring = "series"
    coil_capacitance: tuple[float, ...] = ()  # F, across each coil; empty: none
    capacitance: float = 0.0  # F, across the pickup's two leads (lead, or a whole-pickup measurement)
    reverse: bool = False
    off_coil: Literal["shorted", "open"] = "shorted"
    controls: ControlCircuit = field(default_factory=ControlCircuit)

    def __post_init__(self) -> None:
        impedance = _frozen(self.impedance, 3, "the impedance of the coils")
        coils = impedance.shape[0]
        if impedance.shape[1] != coils or coils not in (1, 2):
            raise InputError(f"the impedance has shape {impedance.shape}; (1, 1, f) or (2, 2, f) is needed.")
        if coils == 2:
            uneven = np.max(np.abs(impedance[0, 1] - impedance[1, 0]), initial=0.0)
            # 1e-6: rounding of a solver that finds both terms; anything larger is not reciprocal
            if uneven > 1e-6 * np.max(np.abs(impedance), initial=0.0):
                raise InputError("the impedance of the coils is not symmetric; the mutual term must be one value.")
        if np.any(impedance.real[np.arange(coils), np.arange(coils)] < 0.0):
            raise InputError("a coil has a negative resistance; time goes as exp(+jwt), so Z = R + jwL with R >= 0.")
        _one_of("wiring", self.wiring, get_args(Wiring))
        _one_of("off_coil", self.off_coil, ("shorted", "open"))
        if self.wiring not in ("series", "out-of-phase") and np.any(np.abs(impedance[range(coils), range(coils)]) == 0):
            raise InputError(f"a coil has no impedance at all, so {self.wiring!r} has no answer; give its resistance.")
        if coils == 1 and self.wiring != "series":
            raise InputError(f"a pickup with one coil cannot be wired {self.wiring!r}; write 'series'.")
        if len(self.coil_capacitance) not in (0, coils):
            raise InputError(f"coil_capacitance has {len(self.coil_capacitance)} values for {coils} coils.")
        for value in (*self.coil_capacitance, self.capacitance):
            _not_negative("a winding capacitance", value, "F")
            if value > 1e-7:
                raise InputError(f"a winding capacitance of {value} F is far too large. 120 pF is 120e-12 here.")
        object.__setattr__(self, "impedance", impedance)

    @property
    def coils(self) -> int:
        """Number of coils."""
        return int(self.impedance.shape[0])

    @property
    def sense(self) -> FloatArray:
        """Sign with which each coil joins the output, shape (n,): +1, -1, or 0 where it is off."""
        signs = {
            "series": (1.0, -1.0),
            "parallel": (1.0, -1.0),
            "split-screws": (0.0, -1.0),
            "split-slugs": (1.0, 0.0),
            "out-of-phase": (1.0, 1.0),
            "parallel-out-of-phase": (1.0, 1.0),
        }
        return np.array(signs[self.wiring][: self.coils]) * (-1.0 if self.reverse else 1.0)
