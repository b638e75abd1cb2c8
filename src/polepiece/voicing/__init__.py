"""One instrument as a record, what changes do to it, and the plan.

Auditions and measurements are looked up on first use: sound and its libraries take as long to import as the rest.
"""

from typing import TYPE_CHECKING, Any

from polepiece.voicing.anatomy import Anatomy, anatomy
from polepiece.voicing.bar_words import charge_words, grade_words
from polepiece.voicing.bench import Bench
from polepiece.voicing.candidates import Candidate, deeds_of
from polepiece.voicing.changes import Change, Deed, apply, parse_change, parse_changes
from polepiece.voicing.charge_lost import charge_lost, comes_back_whole
from polepiece.voicing.complaint_words import WORDS, Word
from polepiece.voicing.complaints import known_words, parse_complaint, parse_complaints
from polepiece.voicing.constraints import Constraints, bar_name, parse_constraints
from polepiece.voicing.fit import BarFit, SizeCheck, bar_fit, parse_bar_size
from polepiece.voicing.gaps import has_screws, safe_gaps, string_gaps
from polepiece.voicing.gate import PHASE, Finding, fault_gate
from polepiece.voicing.grades import (
    GradeAtLevel,
    GradeResult,
    Grades,
    compare_grades,
    grade_slugs,
    replace_pickup,
    with_grade,
)
from polepiece.voicing.guitar import Assumption, Charge, Complaint, Controls, Guitar, Magnet, Measured, Pickup, String
from polepiece.voicing.guitarfile import guitar_schema, parse_guitar, read_guitar, write_guitar
from polepiece.voicing.learning import Narrowed, narrowed
from polepiece.voicing.levers import RODS_NO_SWAP
from polepiece.voicing.meter_readings import Readings, with_readings
from polepiece.voicing.plan import Plan, Row, make_plan, plan_json
from polepiece.voicing.plan_words import hangs_on
from polepiece.voicing.pole_tops import PoleTop, pole_tops
from polepiece.voicing.predict import Prediction, pickup_state, predict
from polepiece.voicing.quantities import QUANTITIES, threshold_of
from polepiece.voicing.readings import (
    FieldReading,
    ImpedanceReading,
    StringReading,
    field,
    impedance,
    strings,
)
from polepiece.voicing.spoken import move_words, plainly
from polepiece.voicing.state import BANDS, State, as_json, difference, nested
from polepiece.voicing.stringing import open_strings, string_places
from polepiece.voicing.together import together
from polepiece.voicing.trade import JudgedCell
from polepiece.voicing.trade_verdicts import trade_body, trade_verdicts

if TYPE_CHECKING:
    from polepiece.voicing.auditioning import Audition, audition
    from polepiece.voicing.charge_found import ChargeFound, find_charge, usual_probe, with_charge
    from polepiece.voicing.coil_surface import engine_model
    from polepiece.voicing.comparing import Compared, Comparison, compare
    from polepiece.voicing.describing import (
        EXCERPT_S,
        LISTENING_DB_SPL,
        Described,
        check_listening_level,
        describe,
        describe_pair,
        loudest_stretch,
    )
    from polepiece.voicing.hearing import Heard, driven, hear, through
    from polepiece.voicing.measured import measured_keys, with_measured
    from polepiece.voicing.proof import Evidence, likely_heard, prove

_COMPARING = ("Compared", "Comparison", "compare")
_DESCRIBING = (
    "EXCERPT_S", "LISTENING_DB_SPL", "Described", "check_listening_level", "describe", "describe_pair",
    "loudest_stretch",
)  # fmt: skip
_AUDITIONING, _HEARING = ("Audition", "audition"), ("Heard", "driven", "hear", "through")
_PROVE = ("Evidence", "likely_heard", "prove")
_CHARGE = ("ChargeFound", "find_charge", "usual_probe", "with_charge")
_MEASURED, _SURFACE = ("measured_keys", "with_measured"), ("engine_model",)

__all__ = [
    "BANDS",
    "EXCERPT_S",
    "LISTENING_DB_SPL",
    "PHASE",
    "QUANTITIES",
    "RODS_NO_SWAP",
    "WORDS",
    "Anatomy",
    "Assumption",
    "Audition",
    "BarFit",
    "Bench",
    "Candidate",
    "Change",
    "Charge",
    "ChargeFound",
    "Compared",
    "Comparison",
    "Complaint",
    "Constraints",
    "Controls",
    "Deed",
    "Described",
    "Evidence",
    "FieldReading",
    "Finding",
    "GradeAtLevel",
    "GradeResult",
    "Grades",
    "Guitar",
    "Heard",
    "ImpedanceReading",
    "JudgedCell",
    "Magnet",
    "Measured",
    "Narrowed",
    "Pickup",
    "Plan",
    "PoleTop",
    "Prediction",
    "Readings",
    "Row",
    "SizeCheck",
    "State",
    "String",
    "StringReading",
    "Word",
    "anatomy",
    "apply",
    "as_json",
    "audition",
    "bar_fit",
    "bar_name",
    "charge_lost",
    "charge_words",
    "check_listening_level",
    "comes_back_whole",
    "compare",
    "compare_grades",
    "deeds_of",
    "describe",
    "describe_pair",
    "difference",
    "driven",
    "engine_model",
    "fault_gate",
    "field",
    "find_charge",
    "grade_slugs",
    "grade_words",
    "guitar_schema",
    "hangs_on",
    "has_screws",
    "hear",
    "impedance",
    "known_words",
    "likely_heard",
    "loudest_stretch",
    "make_plan",
    "measured_keys",
    "move_words",
    "narrowed",
    "nested",
    "open_strings",
    "parse_bar_size",
    "parse_change",
    "parse_changes",
    "parse_complaint",
    "parse_complaints",
    "parse_constraints",
    "parse_guitar",
    "pickup_state",
    "plainly",
    "plan_json",
    "pole_tops",
    "predict",
    "prove",
    "read_guitar",
    "replace_pickup",
    "safe_gaps",
    "string_gaps",
    "string_places",
    "strings",
    "threshold_of",
    "through",
    "together",
    "trade_body",
    "trade_verdicts",
    "usual_probe",
    "with_charge",
    "with_grade",
    "with_measured",
    "with_readings",
    "write_guitar",
]


def __getattr__(name: str) -> Any:
    if name not in _AUDITIONING + _HEARING + _MEASURED + _SURFACE + _COMPARING + _DESCRIBING + _CHARGE + _PROVE:
        raise AttributeError(f"module 'polepiece.voicing' has no attribute {name!r}")
    from polepiece.voicing import (
        auditioning,
        charge_found,
        coil_surface,
        comparing,
        describing,
        hearing,
        measured,
        proof,
    )

    rooms = (
        (measured, _MEASURED),
        (charge_found, _CHARGE),
        (proof, _PROVE),
        (coil_surface, _SURFACE),
        (hearing, _HEARING),
        (auditioning, _AUDITIONING),
        (comparing, _COMPARING),
        (describing, _DESCRIBING),
    )
    globals()[name] = value = getattr(next(room for room, names in rooms if name in names), name)
    return value
