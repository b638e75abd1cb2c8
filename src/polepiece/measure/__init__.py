"""What an instrument said, with its uncertainty: sweeps, impedance, meters, a fitted model, plucks before and after."""

from polepiece.measure.estimate import Estimate
from polepiece.measure.files import (
    FileFact,
    Taken,
    beside,
    description_of,
    estimates_of,
    read_record,
    read_signal,
    read_taken,
    table_bytes,
    taken_from,
)
from polepiece.measure.ledger.agreement import (
    NOTHING,
    Claim,
    Entry,
    Ledger,
    Of,
    Word,
    coverage,
    normalised_error,
    readable_ledgers,
)
from polepiece.measure.ledger.calibration import (
    Calibration,
    Share,
    added,
    calibration,
    calibration_chart,
    multiples,
)
from polepiece.measure.listening.blind import ANSWERS, SLOTS, BlindTrial, Kind, Side, Sounds, TrialPlan
from polepiece.measure.listening.preference import PreferencePlan, Preferences, PreferenceTrial
from polepiece.measure.listening.rule import right_rate
from polepiece.measure.listening.threshold import Quantity, ThresholdPlan, ThresholdTrial
from polepiece.measure.listening.words import (
    LISTENING_CAUTION,
    Trial,
    answers_csv,
    result_of,
    trial_answers,
    trial_question,
    trial_reader,
    trial_slots,
)
from polepiece.measure.meters.electrical import (
    DirectReading,
    MeterReading,
    deviation_of,
    direct_resistance,
    fit_meter,
    metered_pickup,
)
from polepiece.measure.meters.gauss import (
    GaussMeter,
    PoleReading,
    Probe,
    disc_average,
    parse_gauss_reading,
    parse_gauss_readings,
)
from polepiece.measure.plucks.compare import compare_plucks
from polepiece.measure.plucks.interval import mean_change
from polepiece.measure.plucks.onsets import find_onsets
from polepiece.measure.plucks.pitch import note_name, partials_of, pitch_of
from polepiece.measure.plucks.predicted import as_predicted
from polepiece.measure.plucks.record import WORDS as PLUCK_WORDS
from polepiece.measure.plucks.record import PluckComparison, PluckRecord
from polepiece.measure.plucks.takes import STANDARD, PluckTake, plucks_of
from polepiece.measure.sweep.coil_model import CoilFit, CoilModel
from polepiece.measure.sweep.deconvolution import deconvolve, inverse_filter, responses_of
from polepiece.measure.sweep.excitation import CAUTION, SweepSignal, excitation, one_sweep, sweep_for
from polepiece.measure.sweep.fit import fit_coil
from polepiece.measure.sweep.impedance import DATA_SHEET, ImpedanceSpectrum, InterfaceInput, impedance_of
from polepiece.measure.sweep.lumped import LUMPED, Parameter, lumped_impedance, lumped_inductance, with_capacitance
from polepiece.measure.sweep.ratio import RatioSpectrum, ratio_of
from polepiece.measure.sweep.record import MeasuredPickup, measured_pickup
from polepiece.measure.sweep.relaxation import static_inductance
from polepiece.measure.sweep.transfer import PickupTransfer, transfer_of
from polepiece.measure.tables.coils import MeasuredCoil, batch_notes, coil_heads, measured_coils
from polepiece.measure.tables.columns import plain_head
from polepiece.measure.tables.grid import Grid, grid_of
from polepiece.measure.tables.readings import (
    ReadTable,
    meter_readings,
    one_value,
    pole_readings,
    read_table,
    said_columns,
)
from polepiece.measure.uncertainty import NINETY, half_width
