"""A netlist of the guitar file: what it is as a net, and what is wrong with one."""

import numpy as np
import pytest

from polepiece.bench import coarse_bench
from polepiece.bench.balance import others_of
from polepiece.circuit import PickupCircuit, solve_net
from polepiece.errors import GuitarFileError
from polepiece.guitar import Guitar, cautions, element_net, is_heard, parse_guitar, positions_of, write_guitar
from polepiece.planning.beside import Beside

PICKUP = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "humbucker"\n'
GOOD = {
    "coil": 'kind = "pickup"\na = "hot"\nb = "ground"\npickup = "neck"',
    "volume": 'kind = "pot"\na = "hot"\nwiper = "jack"\nb = "ground"\nresistance_kohm = 500\nsetting = 10',
    "choke": 'kind = "inductor"\na = "hot"\nb = "trap"\ninductance_h = 1.5',
    "trap": 'kind = "capacitor"\na = "trap"\nb = "foot"\ncapacitance_nf = 4.7',
    "notch": 'kind = "switch"\na = "foot"\nb = "ground"\nclosed = ["notched"]',
    "bleeder": 'kind = "resistor"\na = "foot"\nb = "ground"\nresistance_kohm = 10000',
}
HERTZ = np.geomspace(50, 20e3, 30)
JW = 2j * np.pi * HERTZ


def netlist(elements: dict[str, str], positions: str = "", more: str = "") -> Guitar:
    parts = "".join(f'[[controls.elements]]\nname = "{name}"\n{text}\n' for name, text in elements.items())
    named = positions or '[[controls.positions]]\nname = "plain"\n[[controls.positions]]\nname = "notched"\n'
    return parse_guitar("[controls]\n" + parts + named + PICKUP + more)


def one_coil(ohm: float = 7e3, henry: float = 3.0) -> PickupCircuit:
    return PickupCircuit(impedance=(ohm + JW * henry)[None, None])


def test_a_choke_and_capacitor_that_a_switch_puts_to_ground_by_hand() -> None:
    """Kirchhoff: coil and pot's track, with or without a series resonant circuit across them."""
    guitar = netlist(GOOD)
    plain, notched = positions_of(guitar)
    assert plain.on == notched.on == ("neck",)  # found from the contacts
    z, track = 7e3 + JW * 3.0, 500e3
    for position, foot in ((plain, 10e6), (notched, 0.0)):
        found = solve_net(element_net(guitar.controls.elements, position, {"neck": one_coil()}), HERTZ)
        across = 1.0 / track + 1.0 / (JW * 1.5 + 1.0 / (JW * 4.7e-9) + foot)
        np.testing.assert_allclose(found.transfers[0][0], 1.0 / (1.0 + z * across), rtol=1e-9)  # rounding
    assert parse_guitar(write_guitar(guitar)) == guitar


def test_two_coils_of_a_pickup_at_nodes_of_their_own() -> None:
    """In series by hand is the pickup wired in series; a coil that is left out is open."""
    ends = {"slugs": ("hot", "mid"), "screws": ("mid", "ground")}
    split = {
        name: f'kind = "pickup"\npickup = "neck"\ncoil = "{name}"\na = "{a}"\nb = "{b}"'
        for name, (a, b) in ends.items()
    } | {"wire": 'kind = "resistor"\na = "hot"\nb = "jack"\nresistance_kohm = 0'}  # fmt: skip
    z = np.array([[4e3 + JW * 2.0, JW * -0.4], [JW * -0.4, 4e3 + JW * 2.2]])
    coils = PickupCircuit(impedance=z)
    whole = dict(split) | {"slugs": 'kind = "pickup"\npickup = "neck"\na = "hot"\nb = "ground"'}
    del whole["screws"]
    nets = [netlist(one, '[[controls.positions]]\nname = "on"\n') for one in (split, whole)]
    one, other = (solve_net(element_net(g.controls.elements, positions_of(g)[0], {"neck": coils}), HERTZ) for g in nets)
    np.testing.assert_allclose(one.transfers[0], other.transfers[0], rtol=1e-9)
    np.testing.assert_allclose(one.impedance, z[0, 0] + z[1, 1] - 2 * z[0, 1], rtol=1e-9)
    lone = {"slugs": split["slugs"].replace('"mid"', '"ground"'), "wire": split["wire"]}
    g = netlist(lone, '[[controls.positions]]\nname = "on"\n')
    open_ = solve_net(element_net(g.controls.elements, positions_of(g)[0], {"neck": coils}), HERTZ)
    np.testing.assert_allclose(open_.impedance, z[0, 0], rtol=1e-9)


@pytest.mark.parametrize(
    ("name", "text", "match"),
    [
        ("trap", 'kind = "capacitor"\na = "trp"\nb = "foot"\ncapacitance_nf = 4.7',
         r'(?s)node "trap" has one connection, to choke; .*Is "trp" meant'),
        ("choke", 'kind = "inductor"\na = "hot"\nb = "trap"',
         r"elements\[2\].inductance_h is missing; an inductor needs it"),
        ("choke", 'kind = "inductor"\na = "hot"\nb = "trap"\ninductance_h = -1',
         r"inductance_h is -1 H; they lie between 0"),
        ("volume", 'kind = "pot"\na = "hot"\nb = "ground"\nresistance_kohm = 500', r"elements\[1\].wiper is missing"),
        ("coil", 'kind = "pickup"\na = "hot"\nb = "ground"\npickup = "nek"', r'elements\[0\].pickup is "nek"; .*neck'),
        ("notch", 'kind = "switch"\na = "foot"\nb = "ground"\nclosed = ["notch"]',
         r'elements\[4\].closed is "notch"; the positions are: plain; notched'),
        ("bleeder", 'kind = "resistor"\na = "foot"\nb = "foot"\nresistance_kohm = 1', "both ends at one node"),
        ("coil", 'kind = "pickup"\na = "out"\nb = "earth"\npickup = "neck"', 'node "out" has one connection'),
        ("coil", 'kind = "pickup"\na = "hot"\nb = "ground"', r"elements\[0\].pickup is missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_where_it_stands(name: str, text: str, match: str) -> None:
    with pytest.raises(GuitarFileError, match=match):
        netlist(GOOD | {name: text})


def test_a_net_that_floats_is_refused() -> None:
    wires = {
        "coil": 'kind = "pickup"\na = "hot"\nb = "cold"\npickup = "neck"',
        "wire": 'kind = "resistor"\na = "hot"\nb = "jack"\nresistance_kohm = 0',
        "cap": 'kind = "capacitor"\na = "cold"\nb = "jack"\ncapacitance_nf = 1',
        "stub": 'kind = "switch"\na = "cold"\nb = "ground"\nclosed = ["notched"]',
    }
    with pytest.raises(GuitarFileError, match=r'positions\[0\] \("plain"\): nothing leads from the jack to ground'):
        netlist(wires)


def test_a_position_that_names_other_pickups_than_its_contacts_is_refused() -> None:
    with pytest.raises(GuitarFileError, match=r"(?s)needs positions.*controls"):
        netlist(GOOD | {"notch": 'kind = "switch"\na = "foot"\nb = "ground"\nclosed = ["x"]'}, "\n")
    second = PICKUP.replace("neck", "bridge")
    text = "[controls]\n" + "".join(f'[[controls.elements]]\nname = "{n}"\n{t}\n' for n, t in GOOD.items())
    wrong = text + '[[controls.positions]]\nname = "notched"\non = ["bridge"]\n' + PICKUP + second
    with pytest.raises(GuitarFileError, match="names bridge, but in the netlist neck reach the jack"):
        parse_guitar(wrong)


def test_a_netlist_without_positions_is_told_so_once_and_of_no_template() -> None:
    text = "[controls]\n" + "".join(f'[[controls.elements]]\nname = "{n}"\n{t}\n' for n, t in GOOD.items())
    with pytest.raises(GuitarFileError) as caught:
        parse_guitar(text + PICKUP)
    assert str(caught.value).count("needs positions") == 1
    assert "template" not in str(caught.value)


KNOB = {
    "coil": GOOD["coil"],
    "volume": GOOD["volume"],
    "bright": 'kind = "capacitor"\na = "hot"\nb = "up"\ncapacitance_nf = 10',
    "raised": 'kind = "switch"\na = "up"\nb = "ground"\nclosed = ["neck: parallel"]',
    "dark": 'kind = "capacitor"\na = "hot"\nb = "down"\ncapacitance_nf = 47',
    "pushed in": 'kind = "switch"\na = "down"\nb = "ground"\nclosed = ["not neck: parallel"]',
    "always": 'kind = "switch"\na = "hot"\nb = "tail"\nclosed = ["plain"]',
    "tail": 'kind = "resistor"\na = "tail"\nb = "ground"\nresistance_kohm = 100',
}


def with_knob(**more: str) -> Guitar:
    parts = "".join(f'[[controls.elements]]\nname = "{name}"\n{text}\n' for name, text in (KNOB | more).items())
    named = '[[controls.positions]]\nname = "plain"\n'
    return parse_guitar(f'[controls]\npush_pull = ["neck: parallel"]\n{parts}{named}{PICKUP}')


def test_contacts_follow_a_pulled_knob() -> None:
    """Kirchhoff by hand: 47 nF across the coil pushed in, 10 nF pulled, and 100 kohm in both."""
    guitar = with_knob()
    plain, pulled = positions_of(guitar)
    assert (pulled.name, pulled.on, pulled.wirings) == ("plain (parallel)", ("neck",), {})
    z, track = 7e3 + JW * 3.0, 500e3
    for position, farad in ((plain, 47e-9), (pulled, 10e-9)):
        found = solve_net(element_net(guitar.controls.elements, position, {"neck": one_coil()}), HERTZ)
        across = 1.0 / track + 1.0 / 100e3 + JW * farad
        np.testing.assert_allclose(found.transfers[0][0], 1.0 / (1.0 + z * across), rtol=1e-9)  # rounding
    assert parse_guitar(write_guitar(guitar)) == guitar


def test_a_contact_may_name_a_position_with_its_pulled_knobs() -> None:
    raised = KNOB["raised"].replace("neck: parallel", "plain (parallel)")
    guitar = with_knob(raised=raised)
    (before, _), (after, _) = (
        [element_net(one.controls.elements, at, {"neck": one_coil()}) for at in positions_of(one)][::-1]
        for one in (with_knob(), guitar)
    )
    found = [solve_net(one, HERTZ).transfers[0][0] for one in (before, after)]
    np.testing.assert_allclose(*found, rtol=1e-12)  # the same net
    with pytest.raises(GuitarFileError, match=r'closed is "plain \(split-slugs\)"'):
        with_knob(raised=raised.replace("parallel", "split-slugs"))


def test_a_pulled_knob_that_silences_is_no_position_and_one_that_is_not_there_is_refused() -> None:
    short = 'kind = "switch"\na = "jack"\nb = "ground"\nclosed = ["neck: parallel"]'
    assert [one.name for one in positions_of(with_knob(kill=short))] == ["plain"]
    with pytest.raises(GuitarFileError, match=r"the knobs: neck: parallel"):
        with_knob(kill=short.replace("parallel", "phase"))


def test_a_pickup_that_a_netlist_leaves_out_is_asked_about_and_disturbs_nobody() -> None:
    guitar = netlist(GOOD)
    two = netlist(GOOD, more=PICKUP.replace('"neck"', '"bridge"'))
    assert [is_heard(two, one.name) for one in two.pickups] == [True, False]
    (asked,) = [one for one in cautions(two) if one.startswith("pickups[1] is on in no position")]
    assert asked.endswith("Is it left out?")
    assert not [one for one in cautions(guitar) if "no position" in one]
    assert others_of(two, "neck") == []
    three = parse_guitar("".join(PICKUP.replace('"neck"', f'"{name}"') for name in ("neck", "middle", "bridge")))
    assert others_of(three, "neck") == ["middle", "bridge"]
    beside = Beside(coarse_bench(), three, "neck", (one for one in ("neck", "bridge")))
    assert beside.names == ["middle"]  # the others have complaints of their own
