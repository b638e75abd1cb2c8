"""Three guitars with switches, from their files to the numbers of a state.

Signs are what a bench knows (common practice, no source); equalities are exact: the same circuit, said otherwise.
"""

from collections.abc import Callable

import pytest

from polepiece.bench import Bench, State, predict
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import Guitar, parse_guitar, position_named
from polepiece.moves import apply, parse_changes
from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.constraints import Constraints
from polepiece.planning.positions import Positions
from tests.unit.bench.test_positions import COARSE

HUMBUCKER = (
    'construction = "humbucker"\nmagnet.grade = "alnico-5"\nmagnet.charge = "outside"\nlead = "four-conductor"\n'
)
SINGLE = 'construction = "rod-single"\nmagnet.grade = "alnico-5"\nmagnet.charge = "outside"\n'
REVERSE = 'wound = "reverse"\nmagnet.flipped = true\n'


def made(controls: str, *pickups: tuple[str, str]) -> Guitar:
    tables = [f'[[pickups]]\nname = "{name}"\nposition = "{name}"\n{text}' for name, text in pickups]
    return parse_guitar(f"[controls]\n{controls}\n" + "\n".join(tables))


def two(more: str = "") -> Guitar:
    template = f'template = "two volumes, two tones, three-way"\n{more}'
    return made(template, ("neck", HUMBUCKER), ("bridge", HUMBUCKER))


def three() -> Guitar:
    pickups = ("neck", SINGLE), ("middle", SINGLE + REVERSE), ("bridge", SINGLE)
    return made('template = "one volume, two tones, five-way"', *pickups)


def one(more: str = "") -> Guitar:
    pulled = 'push_pull = ["bridge: split-screws", "bridge: parallel"]'
    return made(f'template = "one volume, one tone"\n{pulled}\n{more}', ("bridge", HUMBUCKER))


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(resolution=COARSE)


@pytest.fixture(scope="module")
def heard(bench: Bench) -> Callable[..., State]:
    def state(guitar: Guitar, pickup: str, position: str) -> State:
        return bench.heard_in(position_named(guitar, position)).state(guitar, pickup)

    return state


def test_a_volume_turned_down_is_heard_in_the_middle_and_not_where_its_pickup_is_off(heard):
    full, low = two(), two('volumes = [{pickup = "bridge", setting = 1}]')
    assert heard(low, "neck", "neck").level_db == heard(full, "neck", "neck").level_db
    down, apart = (
        heard(two(f'volumes = [{{pickup = "bridge", setting = 1, wired = "{wired}"}}]'), "neck", "both").level_db
        for wired in ("usual", "independent")
    )
    assert down < heard(full, "neck", "both").level_db - 1.0
    assert apart > down + 3.0  # wired the other way round the neck pickup stays


def test_at_nothing_the_middle_is_silent_unless_wired_the_other_way_round(heard):
    with pytest.raises(MeasurementError, match="silent"):
        heard(two('volumes = [{pickup = "bridge", setting = 0}]'), "neck", "both")
    assert heard(two('volumes = [{pickup = "bridge", setting = 0, wired = "independent"}]'), "neck", "both")


def test_a_prediction_is_of_a_position_and_says_which_it_moves(bench):
    guitar = two()
    changes = parse_changes(["bridge tone=0"])
    found = predict(guitar, "neck", changes, position="both", bench=bench, draws=8)
    assert (found.position, found.heard, found.moved) == ("both", ("neck", "bridge"), ("both", "bridge"))
    assert found.difference["bands_own_db.presence"] < -1.0
    low, high = found.interval["bands_own_db.presence"]
    assert low <= found.difference["bands_own_db.presence"] <= high
    off = predict(guitar, "neck", changes, bench=bench, draws=8)
    assert (off.position, off.difference["level_db"]) == ("neck", 0.0)
    with pytest.raises(InputError, match="Its positions are: neck; both; bridge"):
        predict(guitar, "neck", changes, position="middle", bench=bench, draws=8)


def test_a_plan_looks_into_the_other_positions_that_a_row_moves(bench):
    guitar = two()
    positions = Positions(bench, None, guitar, "neck")
    lowered = apply(guitar, "neck", parse_changes(["lower=1mm"]))
    found = {at.setting: at for at in positions.after(lowered)}
    assert {"both", "split-screws"} <= set(found)
    assert found["both"].difference["level_db"] < -0.3
    assert positions.moved(lowered) == ("neck", "both")
    assert "both" not in {
        at.setting for at in positions.after(apply(guitar, "bridge", parse_changes(["selector=both"])))
    }


def test_hum_cancels_between_the_middle_and_either_outer_pickup(heard):
    guitar = three()
    for position, pickup, cancels in (
        ("neck", "neck", False), ("neck+middle", "neck", True), ("middle", "middle", False),
        ("middle+bridge", "middle", True), ("bridge", "bridge", False),
    ):  # fmt: skip
        state = heard(guitar, pickup, position)
        assert state.hum_cancelling is cancels, position
        assert state.in_phase is not False
    with pytest.raises(InputError, match="none of this guitar's switch"):
        heard(guitar, "neck", "neck+bridge")


def test_pulled_knobs_split_and_join_the_coils_in_parallel(heard):
    guitar = one()
    series, split, parallel = (
        heard(guitar, "bridge", name) for name in ("bridge", "bridge (split-screws)", "bridge (parallel)")
    )
    assert split.level_db < series.level_db - 2.0
    assert parallel.level_db < series.level_db - 2.0
    assert min(split.resonance_hz, parallel.resonance_hz) > 1.2 * series.resonance_hz
    assert (series.hum_cancelling, split.hum_cancelling, parallel.hum_cancelling) == (True, False, True)
    assert parallel.dc_resistance_ohm == pytest.approx(series.dc_resistance_ohm / 4.0, rel=1e-6)  # two equal coils
    assert split.dc_resistance_ohm == pytest.approx(series.dc_resistance_ohm / 2.0, rel=1e-6)


def test_a_treble_bleed_keeps_the_top_when_the_volume_is_down(heard):
    bare, bled = (
        heard(one(f"volume_setting = 5\n{more}"), "bridge", "bridge").bands_db["presence"]
        for more in ("", "bleed_cap_pf = 680")
    )
    assert bled > bare + 1.0


NET = """
elements = [
    { name = "coil", kind = "pickup", a = "hot", b = "ground", pickup = "bridge" },
    { name = "volume", kind = "pot", a = "hot", wiper = "jack", b = "ground", resistance_kohm = 500, setting = 7 },
    { name = "tone", kind = "pot", a = "lug", wiper = "lug", b = "hot", resistance_kohm = 500, setting = 4 },
    { name = "tone cap", kind = "capacitor", a = "lug", b = "ground", capacitance_nf = 22 },
]
positions = [{ name = "on" }]
"""


def test_a_netlist_of_a_usual_circuit_is_that_circuit(bench, heard):
    plain = made("volume_setting = 7\ntone_setting = 4", ("bridge", HUMBUCKER))
    listed = made(NET, ("bridge", HUMBUCKER))
    was, now = heard(plain, "bridge", "bridge"), heard(listed, "bridge", "on")
    assert now.numbers() == pytest.approx(was.numbers(), rel=1e-9, abs=1e-9)  # rounding: another order of elimination
    turned = [apply(g, "bridge", parse_changes(["volume=4", "tone_cap=10nF"])) for g in (plain, listed)]
    levels = [heard(g, "bridge", at).bands_db["presence"] for g, at in zip(turned, ("bridge", "on"))]
    assert levels[0] == pytest.approx(levels[1], abs=1e-9)
    assert bench.span(listed, "bridge", draws=8)["level_db"]


def test_a_plan_for_the_middle_position_tries_what_the_other_pickup_has_of_its_own():
    guitar = two('volumes = [{pickup = "bridge", setting = 7}]')
    found = enumerate_candidates(guitar, "neck", Constraints(), beside=["bridge"])
    texts = {one.texts for one in found.candidates}
    assert {("bridge volume=9",), ("bridge tone=5",), ("volume=9",)} <= texts
    alone = enumerate_candidates(guitar, "neck", Constraints())
    assert not any(text.startswith("bridge") for one in alone.candidates for text in one.texts)
