"""Controls of a guitar as a circuit: old files exactly as they were, several controls by hand.

An old file has one volume and one tone behind pickups side by side: the chain of closed forms says what that is.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.circuit import ControlCircuit, PickupCircuit
from polepiece.guitar import (
    NOMINAL,
    Draw,
    Guitar,
    draws,
    has_free_switch,
    parse_guitar,
    position_named,
    position_with,
    positions_of,
    read_guitar,
)
from polepiece.pickup import circuit_load, control_circuit, position_responses
from tests.reference.circuit_elements import coil_impedance
from tests.reference.closed_form import closed_form
from tests.unit.bench.test_positions import THREE
from tests.unit.bench.test_together import TWO
from tests.unit.guitar.test_guitarfile import SHORTEST

ROOT = Path(__file__).parents[3]
HERTZ = np.geomspace(20, 20e3, 60)
JW = 2j * np.pi * HERTZ
AGREES = 1e-9  # of the largest: two orders of the same sums in double precision
OLD = [*(ROOT / "examples").glob("*.guitar.toml"), ROOT / "src/polepiece/cli/demo.guitar.toml"]
EXTRA = (
    'tone_tap = "after"\nvolume_setting = 6\ntone_setting = 3\nbleed_cap_pf = 330\nbleed_resistor_kohm = 150\n'
    'bleed_wiring = "series"\nshunt_kohm = 470\nvolume_pot_measured_kohm = 460\n'
)
PAIR = TWO.partition('"two"\n')[2]
PICKUPS = THREE.partition("\n")[2]


def guitars() -> Iterator[Guitar]:
    yield from (one for one in map(read_guitar, OLD) if has_free_switch(one))
    one = SHORTEST.format(position="bridge", construction="humbucker")
    texts = (TWO, THREE, one, f"[controls]\n{EXTRA}{PICKUPS}", f"[controls]\n{EXTRA}{PAIR}")
    yield from (parse_guitar(text) for text in texts)


def coils(guitar: Guitar, scale: float = 1.0) -> dict[str, PickupCircuit]:
    """Pickups of lumped coils: what hangs on them is asked about, not what they are."""
    found = {}
    for place, one in enumerate(guitar.pickups):
        k = scale * (1.0 + 0.2 * place)
        two = len(one.coils) == 2
        z = coil_impedance(HERTZ, [4e3 * k, 4.2e3 * k] if two else 6e3 * k,
                           [[2.0 * k, -0.4 * k], [-0.4 * k, 2.3 * k]] if two else 2.6 * k)  # fmt: skip
        found[one.name] = PickupCircuit(
            impedance=z, wiring=one.wiring, reverse=one.wound == "reverse", capacitance=9e-11 * k
        )
    return found


def as_it_was(guitar: Guitar, draw: Draw) -> ControlCircuit:
    """The controls of an old file, field by field."""
    c = guitar.controls
    tone = None if c.tone_pot is None else c.tone_pot_measured or c.tone_pot * draw.factor("tone pot", 0.8, 1.2)
    return ControlCircuit(
        volume_pot=c.volume_pot_measured or c.volume_pot * draw.factor("volume pot", 0.8, 1.2),
        volume_setting=c.volume_setting, tone_pot=tone, tone_setting=c.tone_setting,
        tone_capacitor=None if tone is None else c.tone_cap, tone_tap=c.tone_tap, bleed_capacitor=c.bleed_cap,
        bleed_resistor=c.bleed_resistor, bleed_wiring=c.bleed_wiring, shunt_resistor=c.shunt_resistor,
    )  # fmt: skip


def test_old_files_are_the_circuit_that_they_were() -> None:
    sample = [NOMINAL, *draws(8, 3)]
    count = 0
    for guitar in guitars():
        for position in positions_of(guitar):
            each = [{name: coils(guitar, 1.0 + 0.05 * n)[name] for name in position.on} for n in range(len(sample))]
            found = position_responses(guitar, position, each, sample, HERTZ)
            for one, circuits, draw in zip(found, each, sample):
                wanted = closed_form(
                    HERTZ, list(circuits.values()), master=as_it_was(guitar, draw), load=circuit_load(guitar, draw)
                )
                for here, there in zip(one.transfers, wanted.transfers, strict=True):
                    assert np.max(np.abs(here - there)) <= AGREES * np.max(np.abs(there))
                count += 1
    assert count > 100


def two(controls: str) -> Guitar:
    return parse_guitar(f'[controls]\ntemplate = "{controls}\n{PAIR}')


def heard(guitar: Guitar, position: str, *names: str) -> list[np.ndarray]:
    at = position_named(guitar, position)
    circuits = {name: coils(guitar)[name] for name in names or at.on}
    (found,) = position_responses(guitar, at, [circuits], frequency=HERTZ)
    return [one.copy() for one in found.transfers]


def test_a_pickup_that_is_switched_off_loads_nothing_and_its_own_controls_do_nothing() -> None:
    guitar = two('two volumes, two tones, three-way"')
    turned = two('two volumes, two tones, three-way"\nvolumes = [{pickup = "bridge", setting = 0.2}]')
    np.testing.assert_array_equal(heard(guitar, "neck")[0], heard(turned, "neck")[0])
    for full, down in zip(heard(guitar, "both"), heard(turned, "both")):
        assert np.all(np.abs(down[:30]) < 0.5 * np.abs(full[:30]))  # below 700 Hz; its track leaves 1 kohm


def test_a_volume_the_other_way_round_leaves_the_other_pickup_alone() -> None:
    down = '{pickup = "bridge", setting = 2, wired = "%s"}'
    full = heard(two('two volumes, two tones, three-way"'), "both")[0]
    usual, apart = (
        heard(two(f'two volumes, two tones, three-way"\nvolumes = [{down % how}]'), "both")[0]
        for how in ("usual", "independent")
    )
    low = slice(0, 20)  # up to 200 Hz: a divider of resistances
    assert np.all(np.abs(usual[0, low]) < 0.75 * np.abs(apart[0, low]))  # 22 kohm to ground, or 478 kohm in line
    assert np.all(np.abs(apart[0, low]) > 1.5 * np.abs(full[0, low]))  # it gains what the other one gives up


def test_the_order_in_which_pickups_are_asked_about_does_not_matter() -> None:
    guitar = two('one volume, one tone, four-way"')
    for position in ("both", "both in series"):
        one, other = heard(guitar, position, "neck", "bridge"), heard(guitar, position, "bridge", "neck")
        np.testing.assert_array_equal(one[0], other[1])


def test_series_doubles_what_parallel_halves_at_low_notes() -> None:
    """Kirchhoff at 20 Hz: two in series give their sum, side by side their mean, each about halved."""
    guitar = two('one volume, one tone, four-way"')
    series, parallel = heard(guitar, "both in series"), heard(guitar, "both")
    assert abs(series[0][0, 0]) == pytest.approx(1.0, abs=0.1)  # less the pots' load
    assert abs(parallel[0][0, 0] + parallel[1][0, 0]) == pytest.approx(1.0, abs=0.1)


def test_out_of_phase_turns_the_second_pickup() -> None:
    listed = (
        'as-listed"\npositions = [{name = "in", on = ["neck", "bridge"]}, '
        '{name = "out", on = ["neck", "bridge"], how = "out-of-phase"}]\nvolumes = [{}]'
    )
    first, second = heard(two(listed), "in"), heard(two(listed), "out")
    np.testing.assert_allclose(second[0], first[0], rtol=1e-12)
    np.testing.assert_allclose(second[1], -first[1], rtol=1e-12)


def test_a_pulled_knob_splits_its_pickup() -> None:
    guitar = two('one volume"\npush_pull = ["bridge: split-screws"]')
    own = replace(coils(guitar)["bridge"], wiring="split-screws")
    bare = replace(as_it_was(guitar, NOMINAL), tone_pot=None, tone_capacitor=None)
    expected = closed_form(HERTZ, own, master=bare, load=circuit_load(guitar))
    np.testing.assert_allclose(heard(guitar, "bridge (split-screws)")[0], expected.transfer, rtol=1e-9)


def test_a_tone_of_one_pickup_is_there_where_that_pickup_is_on() -> None:
    five = f'[controls]\ntemplate = "one volume, two tones, five-way"\ntone_setting = 0\n{PICKUPS}'
    guitar = parse_guitar(five)
    full = parse_guitar(five.replace("tone_setting = 0", "tone_setting = 10"))
    for position, muffled in (("neck", True), ("middle", True), ("bridge", False)):
        top = [abs(heard(one, position)[0][0, 45]) for one in (guitar, full)]  # about 4 kHz
        assert bool(top[0] < 0.5 * top[1]) is muffled
        assert bool(top[0] == top[1]) is not muffled
    assert control_circuit(guitar, "middle").tone_setting == 0.0
    assert control_circuit(guitar, None).tone_pot is None


def test_an_added_part_in_line_and_across_by_hand() -> None:
    """Kirchhoff, one coil: 1 nF in line, 220 kohm across what is behind it."""
    guitar = parse_guitar(
        '[controls]\ntemplate = "one volume"\nparts = [{place = "in-line", pickup = "p", capacitor_nf = 1}, '
        '{place = "across", pickup = "p", resistor_kohm = 220}]\n[[pickups]]\nname = "p"\nposition = "bridge"\n'
        'construction = "rod-single"\n'
    )
    z = 6e3 + JW * 2.6
    bare = {"p": PickupCircuit(impedance=z[None, None])}
    (found,) = position_responses(guitar, position_with(guitar, ["p"]), [bare], frequency=HERTZ)
    load = circuit_load(guitar)
    across = 1 / 220e3 + 1 / 500e3 + 1 / load.input_resistance + JW * (load.cable_capacitance + load.input_capacitance)
    np.testing.assert_allclose(found.transfer[0], 1.0 / (1.0 + (z + 1 / (JW * 1e-9)) * across), rtol=1e-9)


def test_draws_of_several_pots_are_their_own() -> None:
    guitar = two('two volumes, two tones, three-way"')
    each = [
        [control_circuit(guitar, name, draw).volume_pot for draw in draws(16, 1)] for name in ("neck", "bridge")
    ]  # fmt: skip
    assert np.std(each[0]) > 0.0
    assert abs(np.corrcoef(each)[0, 1]) < 0.7  # 16 draws of two things that have nothing to do with one another
