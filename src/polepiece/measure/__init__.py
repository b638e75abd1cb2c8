"""What an instrument said, with its uncertainty: sweeps, impedance, meters, and a model fitted to them."""

from polepiece.measure.agreement import (
    NOTHING,
    Claim,
    Coverage,
    Entry,
    Ledger,
    Of,
    Word,
    coverage,
    normalised_error,
)
from polepiece.measure.blind import ANSWERS, SLOTS, BlindTrial, Outcome, TrialPlan
from polepiece.measure.deconvolution import Responses, deconvolve, inverse_filter, responses_of
from polepiece.measure.fit import LUMPED_MODEL, CoilFit, CoilModel, Estimate, fit_coil
from polepiece.measure.gauss import (
    GaussMeter,
    PoleReading,
    Probe,
    disc_average,
    parse_gauss_reading,
    parse_gauss_readings,
)
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
from polepiece.measure.ratio import RatioSpectrum, ratio_of
from polepiece.measure.read import (
    FileFact,
    Taken,
    beside,
    description_of,
    estimates_of,
    read_record,
    read_signal,
    read_taken,
)
from polepiece.measure.record import MeasuredPickup, measured_pickup
from polepiece.measure.sweep import CAUTION, SweepSignal, excitation, one_sweep, sweep_for
from polepiece.measure.uncertainty import NINETY, half_width

__all__ = [
    "ANSWERS",
    "CAUTION",
    "LUMPED",
    "LUMPED_MODEL",
    "NINETY",
    "NOTHING",
    "SLOTS",
    "BlindTrial",
    "Claim",
    "CoilFit",
    "CoilModel",
    "Coverage",
    "DirectReading",
    "Entry",
    "Estimate",
    "FileFact",
    "GaussMeter",
    "ImpedanceSpectrum",
    "InterfaceInput",
    "Ledger",
    "MeasuredPickup",
    "MeterReading",
    "Of",
    "Outcome",
    "Parameter",
    "PoleReading",
    "Probe",
    "RatioSpectrum",
    "Responses",
    "SweepSignal",
    "Taken",
    "TrialPlan",
    "Word",
    "beside",
    "copper_factor",
    "coverage",
    "deconvolve",
    "description_of",
    "deviation_of",
    "direct_resistance",
    "disc_average",
    "estimates_of",
    "excitation",
    "fit_coil",
    "fit_meter",
    "half_width",
    "impedance_of",
    "inverse_filter",
    "lumped_impedance",
    "lumped_inductance",
    "measured_pickup",
    "normalised_error",
    "one_sweep",
    "parse_gauss_reading",
    "parse_gauss_readings",
    "ratio_of",
    "read_record",
    "read_signal",
    "read_taken",
    "responses_of",
    "sweep_for",
    "with_capacitance",
]
