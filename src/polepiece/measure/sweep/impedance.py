"""Impedance of a pickup from ratios of voltages: interface and cable taken out by an open and a second recording."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray, frozen
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.sweep.ratio import RatioSpectrum, same_frequencies
from polepiece.measure.uncertainty import NINETY

GAIN_TOLERANCE = 0.1  # two knobs set alike by eye: within 0.8 dB; common practice, no source
LEVEL = 0.1  # by how much a bridged recording's ratio may vary over frequency, a share: two inputs of one make
DATA_SHEET = 0.3  # limits of an input capacitance read off data sheets, a share; common practice, no source
OPEN_LEAST = 0.98  # of the bridged ratio: nothing connected never divides by less than a bridged resistor
USUAL = (1e3, 30e3)  # ohm of direct current; outside is said
OPEN = 1e6  # ohm; more, of either sign, is an open end
TOLERANCE = 0.01  # resistor, as printed on its body


@dataclass(frozen=True, slots=True, kw_only=True)
class InterfaceInput:
    """What hangs across the pickup while it is measured.

    The capacitance of an input and a cable that nobody measured lies anywhere from 50 to 350 pF (common practice, no
    source); that of data sheets for both is good for `DATA_SHEET`.
    """

    resistance: float = 1e6  # ohm
    capacitance: float = 200e-12  # F, input and cable together
    resistance_tolerance: float = 0.1  # limits, share
    capacitance_tolerance: float = 0.75

    def __post_init__(self) -> None:
        if not 1e3 <= self.resistance <= 1e9:
            raise InputError(f"input resistance is {self.resistance} ohm; 1e3 to 1e9 are taken. 1 Mohm is 1e6 here.")
        if not 0.0 <= self.capacitance <= 1e-8:
            raise InputError(f"input capacitance is {self.capacitance} F; up to 10 nF is taken. 150 pF is 150e-12.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ImpedanceSpectrum:
    """Impedance between the pickup's leads.

    Attributes
    ----------
    frequency : (f,) Hz.
    impedance : (f,) ohm.
    deviation : (f,) ohm; standard deviation of the real and of the imaginary part, from noise and repetition.
    scale_tolerance : limits of the common factor (resistor, unequal inputs), a share; the whole curve moves with it.
    capacitance_tolerance : limits of a capacitance that may have been taken out wrongly, F.
    conductance_tolerance : the same for a conductance, S.
    method : how the interface was taken out.
    notes : sentences worth reading.
    """

    frequency: FloatArray
    impedance: ComplexArray
    deviation: FloatArray
    scale_tolerance: float
    capacitance_tolerance: float = 0.0
    conductance_tolerance: float = 0.0
    method: str = ""
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        z = np.array(self.impedance, dtype=complex)
        if z.ndim != 1 or z.shape != np.shape(self.frequency) or z.shape != np.shape(self.deviation):
            raise InputError("frequency, impedance and deviation must be lists of one length.")
        z.flags.writeable = False
        object.__setattr__(self, "impedance", z)
        object.__setattr__(self, "frequency", frozen(self.frequency))
        object.__setattr__(self, "deviation", frozen(self.deviation))

    @property
    def magnitude_interval(self) -> tuple[FloatArray, FloatArray]:
        """90 % bounds of |Z| (f,), ohm: noise and the common factor, limits counted as even chances.

        A limit counts as an even chance, 1/sqrt(3) of it a deviation (JCGM 100:2008, from memory).
        """
        size = np.abs(self.impedance)
        stray = np.hypot(self.conductance_tolerance, 2.0 * np.pi * self.frequency * self.capacitance_tolerance)
        common = np.hypot(size * self.scale_tolerance, size**2 * stray) / np.sqrt(3.0)
        half = NINETY * np.hypot(self.deviation, common)
        return np.maximum(size - half, 0.0), size + half


def impedance_of(
    pickup: RatioSpectrum,
    *,
    series_resistor: float,
    tolerance: float = TOLERANCE,
    opened: RatioSpectrum | None = None,
    bridged: RatioSpectrum | None = None,
    known: RatioSpectrum | None = None,
    known_resistor: float | None = None,
    interface: InterfaceInput | None = None,
) -> ImpedanceSpectrum:
    """Return the impedance across the second channel.

    Parameters
    ----------
    pickup : ratio source / pickup with the pickup connected.
    series_resistor : ohm, between source and pickup.
    tolerance : limits of the resistor that sets the scale, a share (a measured one: its meter's).
    opened : the same with nothing connected in place of the pickup.
    bridged : the same with the series resistor bridged by a clip: both inputs on the source.
    known, known_resistor : the same with a known resistor in place of the pickup, and its ohms.
    interface : needed without ``opened``.

    Raises
    ------
    InputError
        When the calibrations do not suffice or do not belong together.
    MeasurementError
        When the result is no pickup: nothing connected, a short, or a negative resistance nearly everywhere.

    Notes
    -----
    With g the ratio of the inputs' gains, Y the pickup's admittance and Yi that of the input and cable, the ratio is
    q = (1 + Rs (Y + Yi)) / g. Hence Y = (q - q_open) / (q_bridged Rs), or Y = (q - q_open) / (q_known - q_open) / Rk;
    neither needs g nor Yi, the second not even Rs.
    Voltage divider by Ohm's and Kirchhoff's laws: derived here.
    """
    _resistor("series_resistor", series_resistor)
    if not 0.0 <= tolerance <= 0.2:
        raise InputError(f"tolerance is {tolerance}; 0 to 0.2 is taken. 1 % is 0.01 here.")
    q, dq = pickup.ratio, pickup.deviation
    hertz = pickup.frequency
    notes = list(pickup.notes)
    capacitance = conductance = 0.0
    for name, other in (("open", opened), ("bridged", bridged), ("known", known)):
        if other is not None:
            same_frequencies(pickup, other, ("the pickup's recording", f"the {name} one"))
            notes += [f"{name}: {note}" for note in other.notes]
    if (known is None) != (known_resistor is None):
        raise InputError("a known resistor needs both its recording and its ohms.")
    for name, other in (("open", opened), ("known", known), ("bridged", bridged)):
        if other is not None and np.array_equal(other.ratio, q):
            raise InputError(f"the {name} recording and the pickup's are the same file; give the one for each state.")
    if opened is not None and bridged is not None:
        _calibrated(opened, bridged)
    if opened is not None and known is not None and known_resistor is not None:
        _resistor("known_resistor", known_resistor)
        method, scale = "open and known", known.ratio - opened.ratio
        y = (q - opened.ratio) / (scale * known_resistor)
        leave = 1.0 - y * known_resistor  # d(q - q_open) and d(scale) share q_open
        dy = np.sqrt(
            dq**2 + np.abs(leave) ** 2 * opened.deviation**2 + np.abs(y * known_resistor) ** 2 * known.deviation**2
        ) / np.abs(scale * known_resistor)
        factor = tolerance
    elif opened is not None and bridged is not None:
        method = "open and bridged"
        y = (q - opened.ratio) / (bridged.ratio * series_resistor)
        dy = np.sqrt(
            (dq**2 + opened.deviation**2) / np.abs(bridged.ratio * series_resistor) ** 2
            + np.abs(y) ** 2 * (bridged.deviation / np.abs(bridged.ratio)) ** 2
        )
        factor = tolerance
    elif opened is None and bridged is None and known is None:
        if interface is None:
            raise InputError(
                "without calibration the input's resistance and capacitance are needed (see the interface's data), or "
                "record two more: nothing connected, and the resistor bridged by a clip."
            )
        method = "given input"
        own = 1.0 / interface.resistance + 2j * np.pi * hertz * interface.capacitance
        y, dy = (q - 1.0) / series_resistor - own, dq / series_resistor
        factor = tolerance + GAIN_TOLERANCE
        notes.append(
            f"Without calibration both inputs are taken as equally sensitive within {100 * GAIN_TOLERANCE:g} % and the "
            "input as given; record nothing connected and the resistor bridged to have neither to believe."
        )
        capacitance = interface.capacitance * interface.capacitance_tolerance
        conductance = interface.resistance_tolerance / interface.resistance + GAIN_TOLERANCE / series_resistor
    else:
        raise InputError(
            "these calibrations do not suffice: give nothing-connected together with resistor-bridged or with "
            "known-resistor."
        )
    _is_a_pickup(hertz, y, notes)
    z = 1.0 / y
    return ImpedanceSpectrum(
        frequency=hertz, impedance=z, deviation=np.abs(z) ** 2 * dy, scale_tolerance=factor,
        capacitance_tolerance=capacitance, conductance_tolerance=conductance, method=method, notes=tuple(notes),
    )  # fmt: skip


def _resistor(name: str, value: float) -> None:
    if not 100.0 <= value <= 1e7:
        raise InputError(f"{name} is {value:g} ohm; 100 to 1e7 are taken, 47e3 to 220e3 serve best. 100 kohm is 100e3.")


def _calibrated(opened: RatioSpectrum, bridged: RatioSpectrum) -> None:
    """Refuse two calibrations that are no such pair."""
    size = np.abs(bridged.ratio)
    level = float(np.median(size))
    if float(np.quantile(np.abs(size / level - 1.0), 0.9)) > LEVEL:
        raise MeasurementError(
            f"the two inputs differ by {20.0 * np.log10(size.max() / size.min()):.1f} dB over frequency with the "
            "resistor bridged; bridged they carry the same. Was the clip off, is the pickup still connected, or are "
            "the open and the bridged recording exchanged?"
        )
    low = opened.frequency < 10.0 * opened.frequency[0]
    least = float(np.median(np.abs(opened.ratio[low]))) / level
    if least < OPEN_LEAST:
        raise MeasurementError(
            f"with nothing connected the second input gets {-20.0 * np.log10(least):.1f} dB more of the source than "
            "with the resistor bridged, which cannot be. Were the gain knobs or input settings touched between the "
            "open and the bridged recording, or are the two exchanged?"
        )


def _ohms(value: float) -> str:
    """Return a resistance in words: what is beyond ten megohm is as good as open."""
    if not np.isfinite(value) or abs(value) > 1e7:
        return "more than 10 Mohm"
    return f"{value / 1e3:.3g} kohm" if abs(value) >= 100.0 else f"{value:.3g} ohm"


def _is_a_pickup(hertz: FloatArray, y: ComplexArray, notes: "list[str]") -> None:
    """Refuse what is no pickup; say in ``notes`` when it is an unusual one."""
    under = hertz < max(200.0, 1.5 * float(hertz[0]))
    with np.errstate(divide="ignore", invalid="ignore"):
        each = (1.0 / y[under]).real
    low = float(np.median(np.where(np.isfinite(each), each, np.inf)))
    if -OPEN < low < 0.0:
        raise MeasurementError(
            f"what was measured has {_ohms(low)} below 200 Hz, less than nothing: the calibrations do not belong to "
            "this recording. Are pickup, open and bridged recordings exchanged, were the gain knobs touched in between?"
        )
    if not abs(low) < 1e5:
        raise MeasurementError(
            f"what was measured has {_ohms(low)} below 200 Hz, no pickup: 1 to 30 kohm is usual. Is the pickup "
            "connected (open reads very large), are open and pickup recordings not exchanged, and is there one take "
            "only in each file?"
        )
    if low < 100.0:
        raise MeasurementError(
            f"what was measured has {_ohms(low)} below 200 Hz: a short across the pickup, or the bridged recording."
        )
    if not USUAL[0] <= low <= USUAL[1]:
        notes.append(
            f"{_ohms(low)} below 200 Hz is unusual for a pickup (1 to 30 kohm). Is the series resistor what was given? "
            "10k for 100k makes everything ten times smaller. A multimeter's reading (--dcr) tells."
        )
    if float(np.mean(y.real < 0.0)) > 0.3:
        raise MeasurementError(
            "the resistance comes out negative over much of the range: the calibration does not belong to this "
            "recording. Were the gain knobs touched between recordings?"
        )
