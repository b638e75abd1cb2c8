"""What is varied, as it is typed: steps, ranges, words, and the slips that are refused."""

from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar import read_guitar
from polepiece.moves import LEVERS
from polepiece.study import Axis, parse_axis

DEMO = read_guitar(Path(__file__).parents[3] / "examples" / "demo.guitar.toml")


def read(text: str) -> Axis:
    return parse_axis(text, DEMO, 1)


@pytest.mark.parametrize(
    ("text", "column", "values", "first_change"),
    [
        ("lower=0..1.5mm:4", "lower_mm", (0.0, 0.5, 1.0, 1.5), ""),
        ("lower=0,2mm/0,4mm", "lower_mm", (0.2, 0.4), "lower=0.2mm"),
        ("volume_pot=250k..500k:3", "volume_pot_kohm", (250.0, 375.0, 500.0), "volume_pot=250k"),
        ("tone_cap=10nF/22nF", "tone_cap_nf", (10.0, 22.0), "tone_cap=10nF"),
        ("volume_pot=250k/1M", "volume_pot", ("250k", "1M"), "volume_pot=250k"),
        ("magnet=alnico-2/alnico-5/as-is", "magnet", ("alnico-2", "alnico-5", "as-is"), "magnet=alnico-2"),
        ("strings=9-42/10-46", "strings", ("9-42", "10-46"), "strings=9-42"),
        ("screws=up 0..1 turn:3", "screws_up_turn", (0.0, 0.5, 1.0), ""),
        ("tilt=treble up 0.3mm/bass up 0.3mm", "tilt", ("treble up 0.3mm", "bass up 0.3mm"), "tilt=treble up 0.3mm"),
        ("charge=0.7/0.9", "charge", (0.7, 0.9), "charge=0.7"),
        ("volume=8..10:3", "volume", (8.0, 9.0, 10.0), "volume=8"),
    ],
)
def test_levers(text: str, column: str, values: tuple[object, ...], first_change: str) -> None:
    axis = read(text)
    assert (axis.column, axis.values) == (column, values)
    assert axis.texts[0] == first_change
    assert not axis.continuous


@pytest.mark.parametrize(
    ("text", "key", "column"),
    [
        ("coil.turns=4800..5200:3", "pickups[1].coil.turns", "pickups_1_coil_turns"),
        ("magnet.bar_length=60/62", "pickups[1].magnet.bar_length", "pickups_1_magnet_bar_length_mm"),
        ("gap_bass_mm=2..3:3", "pickups[1].gap_bass_mm", "pickups_1_gap_bass_mm"),
        ("pickups[0].gap_bass_mm=2..3:3", "pickups[0].gap_bass_mm", "pickups_0_gap_bass_mm"),
        ("controls.cable_pf=300..900:3", "controls.cable_pf", "controls_cable_pf"),
        ("scale_length_mm=628/648", "scale_length_mm", "scale_length_mm"),
    ],
)
def test_keys_of_the_file(text: str, key: str, column: str) -> None:
    axis = read(text)
    assert axis.is_path
    assert (axis.key, axis.column) == (key, column)
    assert axis.is_number


def test_a_range_without_steps_is_anything_between() -> None:
    axis = read("cable=200..900pF")
    assert axis.continuous
    assert (axis.value_at(0.0), axis.value_at(0.5)) == (200.0, 550.0)
    assert axis.lever_text(axis.value_at(0.5)) == "cable=550pF"
    steps = read("cable=200..900pF:8")
    assert [steps.value_at((k + 0.5) / 8) for k in range(8)] == list(steps.values)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("lower", "is not KEY=VALUES"),
        ("lower=1..0.5mm:3", "must rise"),
        ("lower=0..1.5:4", "no length unit"),
        ("cable=300pF..1nF", "one unit"),
        ("lower=0..1mm:1", "2 to"),
        ("height=0..1mm:3", "no lever and no key"),
        ("volume_pott=250k/500k", r"did you mean volume_pot\?"),
        ("coil.turn=4000/5000", r"did you mean coil\.turns\?"),
        ("controls.cable_pff=300/400", r"did you mean controls\.cable_pf\?"),
        ("bridge.gap_bass_mm=2..3:2", r"go by number there: pickups\[1\]\.gap_bass_mm"),
        ("nothing.gap_bass_mm=2..3:2", "no lever and no key"),
        ("pickups[7].coil.turns=4000/5000", r"no pickups\[7\] in this guitar; pickups\[0\] is neck"),
        ("magnet=alnico-2/alnico-99", "alnico-99"),
        ("magnet=alnico-2/alnico-2", "twice"),
        ("gap_bass_in=0.1..0.2:3", "write it in mm"),
        ("coil.turns=4k..5k:3", "unit in its name"),
        ("bridge lower=0.5mm/1mm", "a pickup stands before"),
    ],
)
def test_slips_are_named(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read(text)


def test_every_lever_can_be_varied() -> None:
    """By the example that each lever has of itself, and as it is."""
    for lever in LEVERS.values():
        axis = read(f"{lever.example}/as-is")
        assert axis.texts == (lever.example, "")
