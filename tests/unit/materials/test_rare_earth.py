"""Bars of rare earth by their own constants: what the refusal of their name tells to write is read, and linear."""

import pytest

from polepiece.bench import Bench
from polepiece.errors import GuitarFileError
from polepiece.guitar import Guitar, parse_guitar
from polepiece.materials import NEODYMIUM, SAMARIUM_COBALT, RareEarth
from polepiece.pickup.engine import COARSE

HEAD = """
[[pickups]]
name = "p"
position = "neck"
construction = "twin-blade"
blades.blade_permeability = 800
[pickups.magnet]
charge = "in-place"
"""


def with_bar(lines: str) -> Guitar:
    return parse_guitar(HEAD + lines.replace(", ", "\n") + "\n")


@pytest.mark.parametrize(("word", "stuff"), [("NdFeB", NEODYMIUM), ("samarium-cobalt", SAMARIUM_COBALT)])
def test_what_the_refusal_says_can_be_written(word: str, stuff: RareEarth) -> None:
    with pytest.raises(GuitarFileError) as caught:
        with_bar(f'grade = "{word}"')
    said = str(caught.value)
    assert stuff.keys in said
    constants = with_bar(said.partition(f"{stuff.name}: ")[2].rstrip(".")).pickup("p").magnet.constants
    assert constants is not None
    assert constants.coercivity == pytest.approx(stuff.coercivity)
    assert constants.resistivity == pytest.approx(stuff.resistivity)


def test_straight_curves_of_one_slope_differ_by_their_remanence_alone() -> None:
    """With linear steel the field is as Br: 1.19 T against 0.40 T, both of HcB = Br / (1.05 mu0).

    Of two equal rows either may be the stronger: its sign is left out.
    """
    keys = "remanence_t = {}, coercivity_ka_per_m = {}, energy_product_kj_per_m3 = {}, recoil_permeability = 1.05"
    strong = with_bar(keys.format(1.19, 901.87, 268.3))
    weak = with_bar(keys.format(0.40, 303.15, 30.315))
    bench = Bench(resolution=COARSE)
    one, other = (bench.state(guitar, "p").field_mt for guitar in (strong, weak))
    assert [abs(a / b) for a, b in zip(one, other)] == pytest.approx(
        [1.19 / 0.40] * 6, rel=2e-3
    )  # constants of five digits
