"""A coil from what is known of it: every quantity from the others, what cannot be, and by which slip."""

import math

import numpy as np
import pytest

from polepiece.bench import coarse_bench
from polepiece.errors import InputError
from polepiece.guitar import drawn_turns, draws, ninety, parse_guitar, wound_turns
from polepiece.pickup import pickup_resistance
from polepiece.winding import Bobbin, Knowns, PerTurn, electrical, per_turn, solve, stock_bobbin
from polepiece.winding.inference import SteelEffect

KNOWN_STEEL = SteelEffect(deviate=np.linspace(-2.5, 2.5, 41), effect=np.zeros(41))
FOUR = PerTurn(inductance=4.0, steel=KNOWN_STEEL, seen=lambda turns, frequency: 1.0)


def test_turns_of_a_resistance_are_those_that_everything_else_computes_with() -> None:
    guitar = parse_guitar(
        '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\nresistance_kohm = 8.0\n'
        "coil.wire_awg = 43\n[pickups.magnet]\ngrade = 'alnico-5'\n"
    )
    pickup = guitar.pickups[0]
    (found,) = solve(Bobbin(guitar=guitar, pickup=pickup), Knowns(resistance=8000.0, gauge=43))
    assert found.turns.value == pytest.approx(wound_turns(pickup)[0], rel=1e-8)  # ln turns has a flat prior of sd 1e3
    assert found.resistance.read and not found.turns.read


def test_the_interval_of_turns_is_the_wires_and_the_sizes() -> None:
    """With sizes by a caliper what is left is the wire: the draws of the same file say the same within their number."""
    sizes = ("inner_half_x", "inner_half_y", "outer_half_x", "outer_half_y", "bottom", "top")
    lengths = (3.2, 29.0, 7.6, 33.4, 4.5, 11.0)
    lines = "".join(f"coil.{name}_mm = {value}\n" for name, value in zip(sizes, lengths))
    guitar = parse_guitar(
        '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\nresistance_kohm = 8.0\n'
        f"coil.wire_awg = 42\n{lines}[pickups.magnet]\ngrade = 'alnico-5'\n"
    )
    pickup = guitar.pickups[0]
    (found,) = solve(Bobbin(guitar=guitar, pickup=pickup), Knowns(resistance=8000.0, gauge=42))
    each = [[drawn_turns(guitar, pickup, draw) * wound_turns(pickup)[0]] for draw in draws(400, 1)]
    (other,) = ninety(each)
    # 400 draws place an end within 1 %; caliper and tension widen the half width of 8 % by 0.4 % (root of squares)
    assert found.turns.low == pytest.approx(other[0], rel=0.02)
    assert found.turns.high == pytest.approx(other[1], rel=0.02)


@pytest.mark.parametrize(
    "pair", [("resistance", "gauge"), ("fill", "gauge"), ("inductance", "gauge"), ("turns", "gauge")]
)
def test_every_pair_leads_back_to_the_same_coil(pair: tuple[str, str]) -> None:
    bobbin = stock_bobbin("humbucker")
    (start,) = solve(bobbin, Knowns(turns=4800.0, gauge=42), FOUR)
    known = {"gauge": 42, pair[0]: getattr(start, pair[0]).value}
    (back,) = solve(bobbin, Knowns(**known), FOUR)  # type: ignore[arg-type]
    for name in ("turns", "resistance", "fill", "inductance"):
        assert getattr(back, name).value == pytest.approx(getattr(start, name).value, rel=1e-7), name  # flat prior


def test_resistance_and_turns_tell_the_gauge() -> None:
    bobbin = stock_bobbin("rod-single")
    for gauge in (41, 42, 43, 44):
        (made,) = solve(bobbin, Knowns(turns=7000.0, gauge=gauge))
        found = solve(bobbin, Knowns(turns=7000.0, resistance=made.resistance.value))
        assert found[0].gauge == gauge
        assert found[0].probability > 0.9


def test_a_third_known_narrows_what_two_leave_open() -> None:
    bobbin = stock_bobbin("humbucker")
    (two,) = solve(bobbin, Knowns(resistance=8000.0, gauge=42), FOUR)
    (three,) = solve(bobbin, Knowns(resistance=8000.0, gauge=42, inductance=4.0), FOUR)
    assert three.turns.high - three.turns.low < 0.5 * (two.turns.high - two.turns.low)


def test_steel_that_is_not_known_leaves_turns_open_that_an_inductance_would_tell() -> None:
    bobbin = stock_bobbin("humbucker")
    z = np.linspace(-2.5, 2.5, 41)
    lopsided = SteelEffect(deviate=z, effect=np.interp(z, [-2.5, 0.0, 2.5], [-0.5, 0.0, 0.05]))
    unknown = PerTurn(inductance=4.0, steel=lopsided, seen=lambda turns, frequency: 1.0)
    (sure,) = solve(bobbin, Knowns(inductance=4.0, gauge=42), FOUR)
    (unsure,) = solve(bobbin, Knowns(inductance=4.0, gauge=42), unknown)
    assert unsure.turns.value == pytest.approx(sure.turns.value, rel=1e-6)
    up, down = unsure.turns.high / unsure.turns.value, unsure.turns.value / unsure.turns.low
    assert math.log(up) > 3.0 * math.log(down)  # less permeability needs more turns, more of it hardly fewer


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({"resistance": 4000.0, "turns": 5000.0, "gauge": 42}, "Is the resistance that of one coil?"),
        ({"resistance": 8000.0, "turns": 10000.0, "gauge": 42}, "those of both coils"),
        ({"resistance": 8000.0, "turns": 3900.0, "gauge": 42}, "AWG 43"),
        ({"turns": 9000.0, "gauge": 42}, "84%"),
        ({"resistance": 8000.0, "turns": 500.0, "gauge": 42}, "a digit of the turns missing"),
        ({"fill": 1.2, "gauge": 42}, "even with the thinnest insulation"),
        ({"resistance": 8000.0, "inductance": 16.0, "gauge": 42}, "contradict"),
    ],
)
def test_what_cannot_be_is_refused_with_the_likely_slip(known: dict[str, float], words: str) -> None:
    with pytest.raises(InputError) as refused:
        solve(stock_bobbin("humbucker"), Knowns(**known), FOUR)  # type: ignore[arg-type]
    assert words in str(refused.value), str(refused.value)


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({"gauge": 42}, "two things"), ({"resistance": 8.0, "gauge": 42}, "kohm"),
        ({"turns": 5.0, "gauge": 42}, "turns"),
        ({"fill": 92.0, "gauge": 42}, "92% or 0.92"), ({"inductance": 4500.0, "gauge": 42}, "4500mH"),
        ({"turns": 5000.0, "gauge": 63}, "a diameter"), ({"resistance": math.nan, "gauge": 42}, "resistance"),
    ],
)  # fmt: skip
def test_a_value_that_no_coil_has_is_refused(known: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Knowns(**known)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def rods() -> tuple[Bobbin, PerTurn, object]:
    bobbin, bench = stock_bobbin("rod-single"), coarse_bench()
    return bobbin, per_turn(bobbin, bench), bench


def test_a_winding_in_its_pickup_is_the_benchs(rods: tuple[Bobbin, PerTurn, object]) -> None:
    bobbin, per, bench = rods
    (found,) = solve(bobbin, Knowns(resistance=6000.0, gauge=42), per)
    made = electrical(bobbin, found, bench)  # type: ignore[arg-type]
    state = bench.state(made.guitar, made.pickup.name)  # type: ignore[attr-defined]
    assert made.loaded is not None and found.inductance is not None
    assert made.loaded.value == pytest.approx(
        state.resonance_hz, rel=5e-3
    )  # the bench's has the eddy currents' factor too
    assert found.inductance.value == pytest.approx(state.inductance_120hz_h, rel=1e-7)  # flat prior
    assert pickup_resistance(made.pickup) == pytest.approx(6000.0, rel=1e-12)
    assert made.loaded.low < made.loaded.value < made.loaded.high


def test_a_meter_at_another_frequency_is_taken_to_120_hz(rods: tuple[Bobbin, PerTurn, object]) -> None:
    """The winding's capacitance lifts what a meter shows at 1 kHz: (f / resonance)^2, eddy currents take a little."""
    bobbin, per, _ = rods
    low = solve(bobbin, Knowns(inductance=2.4, gauge=42, frequency=120.0), per)[0]
    high = solve(bobbin, Knowns(inductance=2.4 * per.seen(low.turns.value, 1000.0), gauge=42, frequency=1000.0), per)[0]
    assert per.seen(low.turns.value, 1000.0) != pytest.approx(1.0, abs=1e-3)
    assert high.turns.value == pytest.approx(low.turns.value, rel=1e-3)  # one round more of the turns that set C
