"""One instrument as a record: what it is made of, its file, what is assumed and what is known of it."""

from polepiece.guitar.assumed_words import assumed_words, spread_words
from polepiece.guitar.assumption import Assumption
from polepiece.guitar.bar_words import charge_words, grade_words
from polepiece.guitar.checks import check, unchecked
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import CONSTRUCTIONS, BarWork, BenchStep, Construction, construction_of
from polepiece.guitar.constructions.fit_words import Dimension
from polepiece.guitar.constructions.shapes import pole_ys
from polepiece.guitar.controls_of import OWN, controls_of, owner_of, with_controls
from polepiece.guitar.file.answers import (
    MOST_ENTERED,
    STRINGS,
    Entered,
    Slot,
    answers_of,
    entered,
    pickup_answers,
    with_value,
)
from polepiece.guitar.file.guitar_file import guitar_schema, parse_guitar, read_guitar, write_guitar
from polepiece.guitar.file.layout import key_of, key_path, parameter_of
from polepiece.guitar.file.path_words import (
    in_words,
    line_at,
    path_near,
    sentence_in_words,
    what_is,
    whose_is,
    without_keys,
)
from polepiece.guitar.file.questions import (
    OF_CONTROLS,
    OF_GUITAR,
    OF_PICKUP,
    QUESTIONS,
    SIZES,
    Question,
    circuit_words,
    question_at,
    sizes_of,
    trade_class,
    wiring_words,
)
from polepiece.guitar.file.said_positions import HELP as POSITIONS_HELP
from polepiece.guitar.file.strings import string_set, string_set_name
from polepiece.guitar.file.trade_words import unit_printed, without_taper
from polepiece.guitar.file.units import show, split_quantity, unit_of
from polepiece.guitar.file.unusual import cautions
from polepiece.guitar.file.values import Faults, grade_of, read_value
from polepiece.guitar.gaps import (
    OVER_COVER,
    cover_face,
    drawn_pole_tops,
    has_own_poles,
    over_cover,
    pole_words,
    row_gaps,
    safe_gaps,
    string_gaps,
    underside_at,
)
from polepiece.guitar.gauges import assumed_gauges, gauge_factors, read_again
from polepiece.guitar.known import (
    INDUCTANCE,
    RESISTANCE,
    as_measured,
    as_typed,
    drawn_turns,
    field_ratio,
    reading_of,
    remembered,
    with_entries,
)
from polepiece.guitar.net_element import NetElement
from polepiece.guitar.netlist import element_net, stand_in
from polepiece.guitar.own_controls import AddedPart, Tone, Volume
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import SHEET_METALS, Charge, Magnet, Poles, Sheet, Steel
from polepiece.guitar.records import PICKUP_POSITIONS, Complaint, Controls, Guitar, Measured, Pickup, String
from polepiece.guitar.spread import (
    CLIP,
    NOMINAL,
    SIGMAS,
    Draw,
    GivenDraw,
    check_draws,
    deviate_at,
    draws,
    ninety,
    ninety_ends,
)
from polepiece.guitar.switch_position import SwitchPosition, coils_of
from polepiece.guitar.switching import (
    PLACES,
    as_place,
    goes_together,
    has_free_switch,
    heard_position,
    is_heard,
    position_named,
    position_with,
    positions_of,
    template_fault,
    tone_of,
    tones_of,
    usual_position,
    volume_of,
    volumes_of,
)
from polepiece.guitar.windings import (
    ALL_GAUGES,
    LEAST_FILL,
    MOST_FILL,
    USUAL_GAUGES,
    drawn_resistances,
    fill,
    mean_turn,
    window_area,
    wound_turns,
)
