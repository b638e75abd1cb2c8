"""States of a guitar in numbers, each with its interval, and the differences between them."""

from polepiece.bench.bench import Bench
from polepiece.bench.ear import Ear, ear_in_use, ear_of, heard_by
from polepiece.bench.grades import (
    GradeAtLevel,
    GradeResult,
    Grades,
    compare_grades,
    grade_slugs,
    replace_pickup,
    with_grade,
)
from polepiece.bench.h2_spread import h2_interval
from polepiece.bench.hanging_on import (
    HangsOn,
    Share,
    UncertainPickup,
    coarse_bench,
    hangs_on,
    known_hangs_on,
    measure_first_words,
)
from polepiece.bench.heard import HARDLY, HEARD_WORDS, OF_ANY, Heard, difference_words, heard_scale, loudest, span_words
from polepiece.bench.many import numbers_of_many, solved_alike
from polepiece.bench.near import NearBench, half_a_turn_up, most_common
from polepiece.bench.pole_tops import (
    PROBE,
    PROBE_HIGH,
    PROBE_LOW,
    PolePlace,
    PoleTop,
    drawn_factors,
    pole_places,
    pole_tops,
)
from polepiece.bench.predict import Prediction, pickup_state, predict
from polepiece.bench.quantities import (
    BAND_SOURCE,
    IN_A_MIX,
    NUMBER_WORDS,
    QUANTITIES,
    STROKES,
    differences,
    number_unit,
    number_words,
    threshold_of,
    threshold_source,
)
from polepiece.bench.readings import FieldReading, ImpedanceReading, StringReading, field, impedance, strings
from polepiece.bench.state import BANDS, State, as_json, difference, nested
from polepiece.bench.switched import heard_before_and_after, pickups_on, position_heard, position_of
from polepiece.bench.together import together
from polepiece.bench.unloaded import drawn_unloaded_resonance
