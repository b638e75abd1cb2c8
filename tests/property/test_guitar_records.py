"""Laws of the guitar file and of changes: what is written reads back; moves undo each other."""

from dataclasses import replace
from decimal import Decimal

import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import GuitarFileError
from polepiece.guitar.assumption import Assumption
from polepiece.guitar.constructions import SLUGS
from polepiece.guitar.file.guitar_file import parse_guitar, write_guitar
from polepiece.guitar.file.layout import GUITAR_KEYS, PICKUP_KEYS, PICKUP_TABLES
from polepiece.guitar.file.units import UNITS, split_quantity, to_bench, to_si
from polepiece.guitar.gaps import string_gaps
from polepiece.guitar.parts import Sheet, Steel
from polepiece.guitar.records import (
    PICKUP_POSITIONS,
    Complaint,
    Controls,
    Guitar,
    Measured,
    String,
)
from polepiece.guitar.windings import inductance_of_coils, wound_turns
from polepiece.moves.changes import apply, parse_changes

TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # refused: they turn what follows round
TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs"], exclude_characters=TURNS), min_size=1, max_size=20
).filter(lambda text: text.strip() and "\r" not in text)


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.none() | strategy


CONTROLS = st.builds(
    Controls,
    volume_pot=number(50e3, 2e6), volume_pot_measured=maybe(number(50e3, 2e6)), volume_setting=number(0, 10),
    tone_pot=maybe(number(50e3, 2e6)), tone_pot_measured=maybe(number(50e3, 2e6)), tone_setting=number(0, 10),
    tone_cap=number(0.5e-9, 220e-9), tone_tap=st.sampled_from(["before", "after"]),
    bleed_cap=maybe(number(50e-12, 5e-9)), bleed_resistor=maybe(number(10e3, 2e6)),
    bleed_wiring=st.sampled_from(["series", "parallel"]), shunt_resistor=maybe(number(10e3, 5e6)),
    cable_capacitance=number(50e-12, 3e-9), input_resistance=number(10e3, 20e6),
    input_capacitance=number(0, 2e-9), selector=st.sampled_from(["neck", "both", "middle+bridge", "all"]),
)  # fmt: skip
STRINGS = st.builds(
    String,
    diameter=number(0.5e-3, 2e-3), core_diameter=number(0.2e-3, 0.5e-3), unit_mass=maybe(number(1e-4, 0.03)),
    pitch=maybe(number(20, 1200)), permeability=maybe(number(1, 5000)), saturation=number(0, 2.5),
    initial_permeability=number(1, 5000), y=maybe(number(-0.06, 0.06)), height=maybe(number(-0.02, 0.06)),
    length=number(0.005, 0.3), wrap=st.sampled_from(["none", "pure-nickel", "bronze"]),
)  # fmt: skip
ASSUMED = st.builds(
    Assumption,
    path=TEXT,
    value=TEXT,
    low=maybe(number(-9, 9)),
    high=maybe(number(-9, 9)),
    basis=TEXT,
    settle=TEXT,
)

DATES = st.dates().map(lambda one: one.isoformat())


@st.composite
def measurements(draw: st.DrawFn, value: float) -> Measured:
    """An entry about a value of the file's only pickup, its interval anywhere round it."""
    return Measured(
        path="pickups[0].resistance_kohm", value=value, low=value * draw(number(0.5, 1)),
        high=value * draw(number(1, 2)), date=draw(DATES), method=draw(st.just("") | TEXT),
        computed=draw(maybe(number(1, 30))), files=draw(st.lists(TEXT, max_size=2).map(tuple)),
    )  # fmt: skip


SHEETS = st.builds(
    Sheet,
    material=st.sampled_from(["nickel-silver", "brass"]),
    z=number(-9e-3, -1.5e-3),
    thickness=number(0.1e-3, 3e-3),
    length=number(0.02, 0.12),
    width=number(5e-3, 0.08),
)
STEELS = (
    st.builds(Steel, name=st.sampled_from(["1010", "1018"]), reversible_permeability=maybe(number(1, 2000)))
    | st.builds(Steel, name=st.none(), permeability=number(1, 20000), resistivity=maybe(number(1e-8, 2e-6)))
    | st.builds(Steel, name=st.none(), saturation=number(0.2, 2.5), langevin_a=number(1, 1e5))
)


@st.composite
def guitars(draw: st.DrawFn) -> Guitar:
    """A guitar whose parts stay where the defaults put them, with everything else anywhere in its range."""
    construction = draw(st.sampled_from(SLUGS))
    position = draw(st.sampled_from(PICKUP_POSITIONS))
    lines = f'name = "p"\nposition = "{position}"\nconstruction = "{construction}"\nmagnet.grade = "alnico-4"\n'
    start = parse_guitar(f"[[pickups]]\n{lines}")
    pickup = start.pickups[0]
    magnet = replace(
        pickup.magnet,
        grade=draw(st.sampled_from(["alnico-2", "ceramic-8", "alnico-5-unoriented", "unknown"])),
        charge=draw(st.sampled_from(["in-place", "outside", "unknown"]) | number(0.01, 1)),
        flipped=draw(st.booleans()),
        pure_recoil=draw(st.booleans()),
        measured_gauss=draw(st.lists(maybe(number(-2000, -20) | number(20, 2000)), max_size=6).map(tuple)),
    )
    coils = tuple(replace(one, turns=draw(number(500, 4000)), resistance=draw(maybe(number(500, 3e3))))
                  for one in pickup.coils)  # fmt: skip
    pickup = replace(
        pickup,
        name=draw(TEXT),
        base_plate=draw(maybe(SHEETS)),
        poles=replace(pickup.poles, slug_steel=draw(STEELS) if construction == "humbucker" else Steel()),
        magnet=magnet,
        coils=coils,
        gap_bass=draw(number(0.3e-3, 8e-3)),
        gap_treble=draw(number(0.3e-3, 8e-3)),
        wound=draw(st.sampled_from(["normal", "reverse"])),
        resistance=draw(maybe(number(1e3, 3e3))),
        inductance_frequency=draw(number(50, 2000)),
        capacitance=draw(maybe(number(5e-12, 1e-9))),
        temperature=draw(number(-10, 50)),
        coil_resistances=draw(st.lists(number(0, 3e3), max_size=2).map(tuple)),
        coil_to_plate_open=draw(maybe(st.booleans())),
        potted=draw(maybe(st.booleans())),
        distance_from_bridge=draw(number(0.015, 0.25)),
    )
    air = inductance_of_coils(pickup)
    likely = draw(maybe(number(1, 5)))
    if likely is not None and 0.5 <= likely * air <= 20.0 and 0.0 not in wound_turns(pickup):
        pickup = replace(pickup, inductance=likely * air)
    entries = () if pickup.resistance is None else draw(st.lists(measurements(pickup.resistance / 1e3), max_size=1))
    return replace(
        start,
        measured=tuple(entries),
        name=draw(TEXT),
        note=draw(st.just("") | TEXT),
        invented=draw(st.booleans()),
        pickups=(pickup,),
        strings=tuple(draw(st.lists(STRINGS, min_size=1, max_size=3))),
        scale_length=draw(number(0.5, 0.9)),
        string_age=draw(st.just("unknown") | TEXT),
        symptoms=tuple(draw(st.lists(TEXT, max_size=2))),
        controls=draw(CONTROLS),
        complaints=tuple(draw(st.lists(st.builds(Complaint, word=TEXT, pickup=st.just(pickup.name),
                                                 strength=st.integers(1, 3)), max_size=2))),
        assumed=tuple(draw(st.lists(ASSUMED, max_size=2, unique_by=lambda one: one.path))),
    )  # fmt: skip


@given(guitars())
def test_what_is_written_reads_back_to_the_last_bit(guitar):
    assert parse_guitar(write_guitar(guitar)) == guitar


DECIMAL_UNITS = [
    unit for units in UNITS.values() for unit in units if unit.factor.normalize().as_tuple().digits == (1,)
]


@given(number(1e-13, 1e7), st.sampled_from(DECIMAL_UNITS))
def test_powers_of_ten_convert_without_loss(value, unit):
    assert to_si(Decimal(to_bench(value, unit)), unit) == value


@given(
    st.integers(1, 400),
    st.sampled_from(["raise", "lower", "raise_bass", "lower_bass", "raise_treble", "lower_treble"]),
)
def test_a_move_and_its_opposite_cancel(hundredths, key):
    """In steps of 0.01 mm; 1e-11 m is far under what any screw can do and over the rounding of a float."""
    start = parse_guitar('[[pickups]]\nname="p"\nposition="neck"\nconstruction="humbucker"\n'
                         "gap_bass_mm = 4\ngap_treble_mm = 4\n")  # fmt: skip
    opposite = key.replace("raise", "LOWER").replace("lower", "raise").replace("LOWER", "lower")
    distance = min(hundredths, 240) / 100
    moved = apply(start, "p", parse_changes([f"{key}={distance}mm"]))
    back = apply(moved, "p", parse_changes([f"{opposite}={distance}mm"]))
    gaps = zip(string_gaps(start.pickups[0]), string_gaps(moved.pickups[0]), string_gaps(back.pickups[0]))
    for was, there, again in gaps:
        assert abs(again - was) < 1e-11
        assert (there >= was) if key.startswith("lower") else (there <= was)


@given(st.integers(1, 240), st.sampled_from(["treble up", "treble down", "bass up", "bass down"]))
def test_a_tilt_is_its_two_halves_and_its_reverse_takes_it_back(hundredths, way):
    start = parse_guitar('[[pickups]]\nname="p"\nposition="neck"\nconstruction="humbucker"\n'
                         "gap_bass_mm = 4\ngap_treble_mm = 4\n")  # fmt: skip
    distance = f"{hundredths / 100}mm"
    moved = apply(start, "p", parse_changes([f"tilt={way} {distance}"]))
    treble = "raise" if way in ("treble up", "bass down") else "lower"
    bass = "lower" if treble == "raise" else "raise"
    halves = apply(start, "p", parse_changes([f"{treble}_treble={distance}", f"{bass}_bass={distance}"]))
    assert moved.pickups == halves.pickups
    reverse = way.replace("up", "DOWN").replace("down", "up").replace("DOWN", "down")
    back = apply(moved, "p", parse_changes([f"tilt={reverse} {distance}"]))
    assert all(abs(a - b) < 1e-11 for a, b in zip(string_gaps(back.pickups[0]), string_gaps(start.pickups[0])))


@given(st.floats(0.001, 1e6), st.sampled_from(["", " mm", "k", " nF", "%"]))
def test_a_decimal_comma_is_a_decimal_point(value, unit):
    text = f"{value:.4f}"
    assert split_quantity(text.replace(".", ",") + unit) == split_quantity(text + unit)


ANYTHING = st.recursive(
    st.integers() | st.floats() | st.booleans() | TEXT | st.sampled_from(["unknown", "none", "7,8", "1/0", "5 mm"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
TOP = [key.name for key in GUITAR_KEYS] + ["controls", "strings", "complaints", "assumed", "measured"]
INNER = [key.name for key in PICKUP_KEYS] + [*PICKUP_TABLES, "coil", "coils", "base_plate", "cover"]
DEEP = {name: [key.name for key in keys] for name, (keys, _) in PICKUP_TABLES.items()}


@given(st.data())
def test_a_bad_file_is_a_guitar_file_error_and_nothing_else(data):
    pickup = {"name": "p", "position": "neck", "construction": data.draw(st.sampled_from(SLUGS))}
    pickup |= data.draw(st.dictionaries(st.sampled_from(INNER), ANYTHING, max_size=3))
    for name in data.draw(st.lists(st.sampled_from(sorted(DEEP)), max_size=2)):
        pickup[name] = data.draw(st.dictionaries(st.sampled_from(DEEP[name]), ANYTHING, max_size=3))
    document = data.draw(st.dictionaries(st.sampled_from(TOP), ANYTHING, max_size=3)) | {"pickups": [pickup]}
    try:
        guitar = parse_guitar(tomli_w.dumps(document))
    except GuitarFileError as error:
        assert error.faults and all("\n" not in fault for fault in error.faults)
    else:
        assert parse_guitar(write_guitar(guitar)) == guitar
