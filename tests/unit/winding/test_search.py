"""Windings searched from a target: what was wound is found again, and what cannot be aimed at is refused."""

import math
from pathlib import Path

import numpy as np
import pytest

from polepiece.bench import Bench, coarse_bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, read_guitar
from polepiece.measure import grid_of
from polepiece.pickup import GRID
from polepiece.winding import Bobbin, Knowns, Target, electrical, per_turn, search, solve, target_curve

ROD = (
    'name = "g"\nstring_set = "10-46"\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "{kind}"\n'
    'resistance_kohm = 6.2\n[pickups.magnet]\ngrade = "alnico-5"\ncharge = "outside"\n'
)


@pytest.fixture(scope="module")
def bench() -> Bench:
    return coarse_bench()


@pytest.fixture(scope="module", params=["rod-single", "small-twin-blade"])
def guitar(request: pytest.FixtureRequest) -> Guitar:
    return parse_guitar(ROD.format(kind=request.param))


def aimed(guitar: Guitar, bench: Bench, turns: float, gauge: int) -> tuple[Guitar, np.ndarray]:
    """Return the guitar with a winding, and its curve at every fifth place of the grid."""
    wound, pickup = Bobbin(guitar=guitar, pickup=guitar.pickups[0]).wound(turns, gauge, "single")
    return wound, np.asarray(bench.state(wound, pickup.name).response_db)[90:380:5]


def test_the_turns_behind_a_curve_are_found_again(guitar: Guitar, bench: Bench) -> None:
    rng = np.random.default_rng(5)
    reference = guitar.pickups[0].coils[0].turns
    turns = float(rng.uniform(0.7, 1.0) * reference)
    _, curve = aimed(guitar, bench, turns, 43)
    zero = rng.uniform(-20.0, 20.0)  # dB; a curve may have any
    target = Target(frequency=GRID[90:380:5], curve_db=curve + zero)
    best, *rest = search(guitar, "p", target, grades=(), gauges=(43, 44), draws_=8, bench=bench)
    assert (best.gauge, best.grade) == (43, "alnico-5")
    assert best.turns == pytest.approx(turns, rel=2e-3)  # turns are sought to one
    assert best.misfit < 0.02  # dB; so much are two turns
    assert best.misfit_interval[0] <= best.misfit <= best.misfit_interval[1]
    assert all(one.misfit >= best.misfit for one in rest)


def test_a_resonance_and_a_level_are_met_by_turns_and_gap(bench: Bench) -> None:
    guitar = parse_guitar(ROD.format(kind="small-twin-blade"))
    before = bench.state(guitar, "p")
    assert before.resonance_hz is not None
    target = Target(resonance=1.1 * before.resonance_hz, level_db=-1.5)
    best = search(guitar, "p", target, grades=("alnico-2",), gauges=(42, 43), shown=2, draws_=8, bench=bench)[0]
    assert best.state.resonance_hz == pytest.approx(1.1 * before.resonance_hz, rel=2e-3)  # a turn is 0.02 % of it
    assert best.state.level_db == pytest.approx(before.level_db - 1.5, abs=0.01)  # gaps are set to 0.005 dB
    assert best.lowered != 0.0
    low, high = best.interval["resonance_hz"]
    assert low < best.state.resonance_hz < high


def test_bars_are_not_offered_where_magnets_stay(bench: Bench) -> None:
    guitar = parse_guitar(ROD.format(kind="rod-single"))
    found = search(guitar, "p", Target(resonance=4000.0), grades=("alnico-2", "alnico-3"), draws_=8, bench=bench)
    assert {one.grade for one in found} == {"alnico-5"}


def test_a_search_without_room_is_refused(bench: Bench) -> None:
    guitar = parse_guitar(ROD.format(kind="rod-single"))
    with pytest.raises(InputError, match="has room"):
        search(guitar, "p", Target(resonance=4000.0), gauges=(), draws_=8, bench=bench)


def test_a_misfit_is_a_mean_square_over_octaves_without_the_level() -> None:
    frequency = np.array([500.0, 1000.0, 2000.0, 4000.0])
    target = Target(frequency=frequency, curve_db=np.zeros(4))
    slope = 2.0 * np.log2(GRID / 1000.0)  # 2 dB an octave: -2, 0, 2, 4 at the points, mean 1, deviations 3 1 1 3
    weights = np.array([1.0, 1.0, 1.0, 1.0]) / 4.0  # the same octave beside each point
    expected = math.sqrt(float(weights @ np.array([9.0, 1.0, 1.0, 9.0])))
    # the response is read between places of the grid that are 1/100 of an octave apart
    assert target.misfit(slope, None, None, (4.0, 1.0)) == pytest.approx(expected, rel=1e-3)
    aim = Target(resonance=3000.0, height_db=4.0)
    assert aim.misfit(slope, 3000.0 * 1.04, 4.0, (4.0, 1.0)) == pytest.approx(
        math.sqrt(0.5)
    )  # one just heard, and none
    assert aim.misfit(slope, None, None, (4.0, 1.0)) == math.inf


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, "a curve or a resonance"), ({"resonance": 3.2}, "3.2 kHz"),
        ({"resonance": 3000.0, "height_db": 40.0}, "0 to 25"),
        ({"height_db": 4.0, "frequency": GRID, "curve_db": GRID}, "belongs to its resonance"),
        ({"resonance": 3000.0, "level_db": 30.0}, "-12 to 12"),
    ],
)  # fmt: skip
def test_what_cannot_be_aimed_at_is_refused(asked: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Target(**asked)  # type: ignore[arg-type]


def test_a_curve_is_read_as_curves_are_written(tmp_path: Path) -> None:
    text = "frequency_hz,as it is (dB re 1 V s/m),after (dB re 1 V s/m)\n" + "".join(
        f"{f},{-0.001 * f},{k}\n" for k, f in enumerate((4000, 1000, 2000, 500, 10))
    )
    grid = grid_of(text.encode(), "aim.csv")
    frequency, level = target_curve(grid, "after")
    assert frequency.tolist() == [500.0, 1000.0, 2000.0, 4000.0]  # rising, and 10 Hz is none of a guitar's
    assert level.tolist() == [3.0, 1.0, 2.0, 0.0]
    with pytest.raises(InputError, match="2 columns in dB"):
        target_curve(grid)
    for text, words in (
        ("f [kHz],dB\n1,0\n2,x\n3,1\n", "row 3"), ("a,b\n1,2\n2,3\n", "no column of frequencies"),
        ("freq,dB\n1,2\n2,3\n3,4\n4,1\n", "in kHz"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            target_curve(grid_of(text.encode(), "aim.csv"))


def test_pickups_that_are_never_on_alone_are_wound_as_they_are_heard(bench: Bench) -> None:
    guitar = read_guitar(Path(__file__).parents[3] / "examples" / "bass.guitar.toml")
    before = bench.state(guitar, "bridge")
    assert before.resonance_hz is not None
    bobbin = Bobbin(guitar=guitar, pickup=guitar.pickup("bridge"))
    per = per_turn(bobbin, bench)
    made = electrical(bobbin, solve(bobbin, Knowns(resistance=7400.0, gauge=42), per)[0], bench, draws=8)
    assert made.loaded is not None
    assert made.loaded.value == pytest.approx(before.resonance_hz, rel=5e-3)  # 7.4 kohm is what the file has
