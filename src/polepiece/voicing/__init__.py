"""One instrument as a record, what changes do to it, and the plan."""

from polepiece.voicing.audition import Audition, audition
from polepiece.voicing.bench import Bench
from polepiece.voicing.changes import Change, Deed, apply, parse_change, parse_changes
from polepiece.voicing.grades import GradeResult, Grades, compare_grades
from polepiece.voicing.guitar import Assumption, Complaint, Controls, Guitar, Magnet, Pickup, String
from polepiece.voicing.guitarfile import guitar_schema, parse_guitar, read_guitar, write_guitar
from polepiece.voicing.predict import Prediction, pickup_state, predict
from polepiece.voicing.readings import (
    FieldReading,
    ImpedanceReading,
    StringReading,
    field,
    impedance,
    strings,
)
from polepiece.voicing.state import BANDS, State, as_json, difference, nested
from polepiece.voicing.together import Together, together

__all__ = [
    "BANDS",
    "Assumption",
    "Audition",
    "Bench",
    "Change",
    "Complaint",
    "Controls",
    "Deed",
    "FieldReading",
    "GradeResult",
    "Grades",
    "Guitar",
    "ImpedanceReading",
    "Magnet",
    "Pickup",
    "Prediction",
    "State",
    "String",
    "StringReading",
    "Together",
    "apply",
    "as_json",
    "audition",
    "compare_grades",
    "difference",
    "field",
    "guitar_schema",
    "impedance",
    "nested",
    "parse_change",
    "parse_changes",
    "parse_guitar",
    "pickup_state",
    "predict",
    "read_guitar",
    "strings",
    "together",
    "write_guitar",
]
