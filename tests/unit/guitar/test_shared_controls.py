"""Several knobs pulled at once, a tone pot that several pickups share, and tolerances of a netlist's parts."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.circuit import GROUND, JACK, Net
from polepiece.errors import PolepieceError
from polepiece.guitar import Draw, Guitar, parse_guitar, position_named, positions_of, tone_of, write_guitar
from polepiece.guitar.netlist import stand_in
from polepiece.moves import apply, parse_changes
from polepiece.pickup import position_net, position_responses

TWO = """
name = "two"
[controls]
template = "one-volume-one-tone-three-way"
push_pull = ["neck: split-screws", "bridge: parallel"]
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "humbucker"
"""
THREE = """
name = "three"
[controls]
template = "one-volume-two-tones-five-way"
[[controls.tones]]
pickup = "neck"
shared_with = ["middle"]
setting = 3
[[controls.tones]]
pickup = "bridge"
setting = 8
""" + "".join(
    f'[[pickups]]\nname = "{p}"\nposition = "{p}"\nconstruction = "rod-single"\n' for p in ("neck", "middle", "bridge")
)


def net(guitar: Guitar, position: str, draw: Draw | None = None) -> Net:
    circuits = {one.name: stand_in(one) for one in guitar.pickups}
    return position_net(guitar, position_named(guitar, position), circuits, draw or Draw())


def test_two_knobs_pulled_at_once_are_a_position_of_both() -> None:
    guitar = parse_guitar(TWO)
    names = [one.name for one in positions_of(guitar)]
    assert names == [
        "neck", "both", "bridge", "neck (split-screws)", "both (neck split-screws)", "both (bridge parallel)",
        "bridge (parallel)", "both (neck split-screws, bridge parallel)",
    ]  # fmt: skip
    assert position_named(guitar, names[-1]).wirings == {"neck": "split-screws", "bridge": "parallel"}


def tone_parts(guitar: Guitar, position: str) -> list[str]:
    return [one.name for one in net(guitar, position).parts if "tone cap" in one.name]


def test_a_shared_tone_is_there_once() -> None:
    guitar = parse_guitar(THREE)
    assert tone_of(guitar, "middle") == tone_of(guitar, "neck") and tone_of(guitar, "bridge").setting == 8  # type: ignore[union-attr]
    assert [len(tone_parts(guitar, p)) for p in ("neck", "neck+middle", "middle", "middle+bridge", "bridge")] == [
        1,
        1,
        1,
        2,
        1,
    ]
    again = parse_guitar(write_guitar(guitar))
    assert again.controls.tones == guitar.controls.tones


def test_it_sounds_as_one_pot_across_both() -> None:
    """By hand: one pot and capacitor from the joint of both pickups to ground, as a master tone has them."""
    shared = parse_guitar(THREE)
    owners = 'pickup = "neck"\nshared_with = ["middle"]\n'
    master = parse_guitar(THREE.replace("two-tones", "one-tone").replace(owners, "")
                          .replace('[[controls.tones]]\npickup = "bridge"\nsetting = 8\n', ""))  # fmt: skip
    at = position_named(shared, "neck+middle")
    circuits = {name: stand_in(shared.pickup(name)) for name in at.on}
    hertz = np.array([100.0, 1000.0, 5000.0])
    circuits = {
        name: replace(c, impedance=np.array([[2j * np.pi * hertz * 2.5 + 6e3]])) for name, c in circuits.items()
    }
    (found,), (wanted,) = (position_responses(g, at, [circuits], frequency=hertz) for g in (shared, master))
    for one, other in zip(found.transfers, wanted.transfers):
        np.testing.assert_allclose(one, other, rtol=1e-9)  # two eliminations of the same net
    (bright,) = position_responses(apply(shared, "neck", parse_changes(["tone=10"])), at, [circuits], frequency=hertz)
    assert abs(bright.transfers[0][0, 2]) > 1.5 * abs(found.transfers[0][0, 2])


def test_its_lever_is_reached_from_each_that_shares_it() -> None:
    moved = apply(parse_guitar(THREE), "middle", parse_changes(["tone=7"]))
    assert [(one.pickup, one.setting) for one in moved.controls.tones] == [("bridge", 8), ("neck", 7)]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('["middle"]', '["rear"]', 'names "rear"; this guitar has: neck, middle, bridge.'),
        ('["middle"]', '["bridge"]', "names bridge, which has a tone control already"),
        ('pickup = "neck"\n', "", "needs pickup, the first of those that share it."),
        ('"one-volume-two-tones-five-way"', '"one-volume-one-tone-five-way"', "has 2 tones; the template"),
        (
            '"one-volume-two-tones-five-way"',
            '"three-volumes-three-tones-rotary"',
            "is said where neck has a volume of its own",
        ),
    ],
)
def test_what_cannot_be_shared_is_said(old: str, new: str, said: str) -> None:
    with pytest.raises(PolepieceError, match=said.replace("(", r"\(").replace(".", r"\.")):
        parse_guitar(THREE.replace(old, new))


NETLIST = f"""
name = "net"
[[pickups]]
name = "p"
position = "bridge"
construction = "rod-single"
[controls]
template = "as-listed"
[[controls.positions]]
name = "on"
[[controls.elements]]
name = "the pickup"
kind = "pickup"
pickup = "p"
a = "hot"
b = "{GROUND}"
[[controls.elements]]
name = "in line"
kind = "resistor"
resistance_kohm = 47
a = "hot"
b = "{JACK}"
[[controls.elements]]
name = "across"
kind = "capacitor"
capacitance_nf = 1
a = "{JACK}"
b = "trap"
[[controls.elements]]
name = "choke"
kind = "inductor"
inductance_h = 1.5
a = "trap"
b = "{GROUND}"
"""


def test_parts_of_a_netlist_are_drawn_within_their_tolerance() -> None:
    guitar = parse_guitar(NETLIST)
    wanted = {"in line": (47e3, 0.05), "across": (1e-9, 0.1), "choke": (1.5, 0.1)}
    drawn = [
        {one.name: one.value for one in net(guitar, "on", Draw(number=n, seed=1)).parts if one.name in wanted}  # type: ignore[union-attr]
        for n in range(201)
    ]
    for name, (nominal, share) in wanted.items():
        values = np.array([one[name] for one in drawn])
        assert values[0] == nominal
        inside = np.mean(abs(values[1:] / nominal - 1.0) <= share * 1.06)  # 1/0.9 is 11 % up
        assert 0.82 < inside < 0.97 and len(set(values)) > 190  # 90 %, 200 draws: +-2.1 % a standard deviation
