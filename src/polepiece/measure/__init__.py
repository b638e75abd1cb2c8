"""What an instrument said, with its uncertainty: sweeps, impedance, meters, a fitted model, plucks before and after."""

from polepiece.measure.bootstrap import MeanChange, mean_change
from polepiece.measure.deconvolution import Responses, deconvolve, inverse_filter, responses_of
from polepiece.measure.fit import LUMPED_MODEL, CoilFit, CoilModel, Estimate, fit_coil
from polepiece.measure.impedance import ImpedanceSpectrum, InterfaceInput, impedance_of
from polepiece.measure.lumped import LUMPED, Parameter, lumped_impedance, lumped_inductance, with_capacitance
from polepiece.measure.meters import (
    DirectReading,
    MeterReading,
    copper_factor,
    deviation_of,
    direct_resistance,
    fit_meter,
)
from polepiece.measure.onsets import find_onsets
from polepiece.measure.pitch import Partial, note_name, partials_of, pitch_of
from polepiece.measure.pluck import STANDARD, HeardPluck, PluckTake, plucks_of
from polepiece.measure.pluck_record import PluckComparison, PluckFact, Spectrum, StringChange
from polepiece.measure.plucks import compare_plucks
from polepiece.measure.ratio import RatioSpectrum, ratio_of
from polepiece.measure.read import FileFact, Taken, beside, description_of, read_signal, read_taken
from polepiece.measure.record import MeasuredPickup, measured_pickup
from polepiece.measure.sweep import CAUTION, SweepSignal, excitation, one_sweep, sweep_for
from polepiece.measure.transfer import PickupTransfer, transfer_of
from polepiece.measure.uncertainty import NINETY, half_width

__all__ = [
    "CAUTION",
    "LUMPED",
    "LUMPED_MODEL",
    "NINETY",
    "STANDARD",
    "CoilFit",
    "CoilModel",
    "DirectReading",
    "Estimate",
    "FileFact",
    "HeardPluck",
    "ImpedanceSpectrum",
    "InterfaceInput",
    "MeanChange",
    "MeasuredPickup",
    "MeterReading",
    "Parameter",
    "Partial",
    "PickupTransfer",
    "PluckComparison",
    "PluckFact",
    "PluckTake",
    "RatioSpectrum",
    "Responses",
    "Spectrum",
    "StringChange",
    "SweepSignal",
    "Taken",
    "beside",
    "compare_plucks",
    "copper_factor",
    "deconvolve",
    "description_of",
    "deviation_of",
    "direct_resistance",
    "excitation",
    "find_onsets",
    "fit_coil",
    "fit_meter",
    "half_width",
    "impedance_of",
    "inverse_filter",
    "lumped_impedance",
    "lumped_inductance",
    "mean_change",
    "measured_pickup",
    "note_name",
    "one_sweep",
    "partials_of",
    "pitch_of",
    "plucks_of",
    "ratio_of",
    "read_signal",
    "read_taken",
    "responses_of",
    "sweep_for",
    "transfer_of",
    "with_capacitance",
]
