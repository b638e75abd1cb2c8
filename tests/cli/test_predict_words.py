"""What the tables of ``predict`` say beside their numbers."""

from types import SimpleNamespace

import pytest

from polepiece.cli.predict import _old_level, _row_words, _wired_as_usual
from polepiece.guitar import parse_guitar

TWO = """
[controls]
template = "two-volumes-two-tones-three-way"
push_pull = ["bridge: split-screws"]
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "humbucker"
"""


@pytest.mark.parametrize(
    ("position", "says"),
    [("bridge", ""), ("bridge (split-screws)", ", wired as usual and not as in bridge (split-screws)")],
)
def test_both_on_names_its_wiring_where_another_one_is_heard(position, says):
    found = SimpleNamespace(pickup="bridge", position=position)

    assert _wired_as_usual(parse_guitar(TWO), found) == says


def test_rows_of_one_pickup_say_so_beside_rows_of_both():
    both, alone = SimpleNamespace(pickup="neck", heard=("neck", "bridge")), SimpleNamespace(heard=("neck",))

    assert _row_words(both, "dc_resistance_ohm", "DC resistance") == "DC resistance of neck"
    assert _row_words(both, "inductance_1khz_h", "inductance, 1 kHz") == "inductance of neck, 1 kHz"
    assert _row_words(both, "resonance_hz", "resonance") == "resonance"
    assert _row_words(alone, "dc_resistance_ohm", "DC resistance") == "DC resistance"


def test_no_move_is_named_where_none_comes_nearer_to_the_old_level():
    move = {"direction": "raise", "distance_mm": 0.0, "to": "2.0 mm treble, 2.4 mm bass", "reaches_old_level": False}

    assert "none comes nearer" in _old_level(move)
    assert "raise" not in _old_level(move)
    assert "raise the pickup 0.5 mm" in _old_level(move | {"distance_mm": 0.5, "reaches_old_level": True})
