"""What stands behind the cable: its input loads the pickup, and what drives it is the level as computed."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.auditioning import audition
from polepiece.auditioning.playing import SAMPLE_RATE
from polepiece.bench import Bench
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup import GRID
from polepiece.sound import loudness_as_given


def with_input(guitar: Guitar, **given: float) -> Guitar:
    return replace(guitar, controls=replace(guitar.controls, **given))  # type: ignore[arg-type]


def test_capacitance_of_an_input_is_the_same_as_that_of_so_much_more_cable(guitar: Guitar, bench: Bench) -> None:
    cable = guitar.controls.cable_capacitance
    by_input, by_cable, bare = (
        bench.state(one, "neck")
        for one in (
            with_input(guitar, input_capacitance=470e-12),
            with_input(guitar, cable_capacitance=cable + 470e-12),
            guitar,
        )
    )
    assert by_input.resonance_hz == pytest.approx(by_cable.resonance_hz, rel=1e-9)
    assert by_input.level_db == pytest.approx(by_cable.level_db, abs=1e-9)
    assert by_input.resonance_hz is not None and bare.resonance_hz is not None
    assert by_input.resonance_hz < 0.95 * bare.resonance_hz


def test_resistance_of_an_input_damps_the_resonance(guitar: Guitar, bench: Bench) -> None:
    high, low = (bench.state(with_input(guitar, input_resistance=r), "neck") for r in (1e6, 1e5))
    near = int(np.argmin(np.abs(GRID - float(high.resonance_hz or 0.0))))
    base = int(np.argmin(np.abs(GRID - 200.0)))
    assert low.response_db[near] - low.response_db[base] < high.response_db[near] - high.response_db[base] - 1.0


@pytest.mark.parametrize("chain", ["edge", "driven"])
def test_a_swap_that_gives_two_decibels_drives_more_and_is_made_equally_loud_afterwards(
    guitar: Guitar, bench: Bench, chain: str
) -> None:
    """Level falls out behind the saturation, and what is left of it is taken out by the alignment, not before it."""
    low, move = apply(guitar, "neck", parse_changes(["lower=0.6mm"])), parse_changes(["raise=1mm"])
    clean = audition(low, "neck", move, phrase="power-chords", bench=bench)
    driven = audition(low, "neck", move, phrase="power-chords", chain=chain, loudspeaker="none", bench=bench)
    assert clean.alignment.level_difference_db > 1.8  # the voltage
    assert driven.clean_level_difference_db == pytest.approx(clean.alignment.level_difference_db, abs=1e-6)
    assert driven.alignment.level_difference_db < clean.alignment.level_difference_db - 0.3  # squashed
    loud = [loudness_as_given(one, SAMPLE_RATE, "it") for one in (driven.before, driven.after)]
    assert loud[1] - loud[0] == pytest.approx(0.0, abs=0.05)  # and equally loud in the end
    crest = [20.0 * np.log10(np.max(np.abs(one)) / np.std(one)) for one in (driven.before, driven.after)]
    assert crest[1] < crest[0]


def test_a_swap_is_the_same_as_so_many_volts_more(guitar: Guitar, bench: Bench) -> None:
    """Twice the turns' worth of level from the volume: what drives the chain is the computed voltage, not a setting."""
    soft = apply(guitar, "neck", parse_changes(["volume=6"]))
    found = audition(soft, "neck", parse_changes(["volume=10"]), phrase="single-notes-low", chain="edge", bench=bench)
    assert found.clean_level_difference_db > 2.0
    assert found.alignment.level_difference_db < found.clean_level_difference_db - 0.2
