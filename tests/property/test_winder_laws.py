"""Laws of a winder's sums, over every construction, gauge and build at random: what was wound is found again."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import InputError
from polepiece.guitar import MOST_FILL, USUAL_GAUGES, wound_turns
from polepiece.guitar.constructions import SLUGS
from polepiece.materials import catalogue
from polepiece.winding import Bobbin, Knowns, PerTurn, solve, stock_bobbin
from polepiece.winding.inference import SteelEffect

Z = np.linspace(-2.5, 2.5, 41)
BOBBINS = {slug: stock_bobbin(slug) for slug in SLUGS}
PER = PerTurn(
    inductance=4.0, steel=SteelEffect(deviate=Z, effect=np.interp(Z, [-2.5, 0.0, 2.5], [-0.4, 0.0, 0.05])),
    seen=lambda turns, frequency: 1.0 + 1e-5 * (frequency - 120.0),
)  # fmt: skip
SHARE = st.floats(0.0, 1.0)
SLUG, GAUGE = st.sampled_from(SLUGS), st.sampled_from(USUAL_GAUGES)
BUILD = st.sampled_from(["single", "heavy"])


def turns_between(bobbin: Bobbin, gauge: int, build: str, share: float) -> float:
    """Turns that fill from a quarter of the window to all that wire can, and whose pickup an ohmmeter can read."""
    reference = bobbin.reference
    full = bobbin.fill(reference, gauge, build)  # type: ignore[arg-type]
    low, high = 0.25 * reference / full, MOST_FILL * reference / full
    ohms = bobbin.resistance(1.0, gauge, build)  # type: ignore[arg-type]
    low, high = max(low, 1.1e3 / ohms, 150.0), min(high, 26e3 / ohms, 17e3)  # a tenth is left for the wire
    return low + share * max(high - low, 0.0)


@given(SLUG, GAUGE, BUILD, SHARE, st.sampled_from(["resistance", "fill", "inductance", "turns"]))
def test_round_trips(slug: str, gauge: int, build: str, share: float, known: str) -> None:
    bobbin = BOBBINS[slug]
    turns = turns_between(bobbin, gauge, build, share)
    start = solve(bobbin, Knowns(turns=turns, gauge=gauge, build=build), PER)[0]  # type: ignore[arg-type]
    assert start.inductance is not None
    if known == "inductance" and not 0.5 <= start.inductance.value <= 20.0:
        return
    again = {known: getattr(start, known).value, "gauge": gauge, "build": build}
    back = solve(bobbin, Knowns(**again), PER)[0]
    for name in ("turns", "resistance", "fill", "inductance"):
        assert getattr(back, name).value == pytest.approx(getattr(start, name).value, rel=1e-6)  # flat prior


@given(SLUG, GAUGE, BUILD, SHARE)
def test_a_wound_guitar_has_the_turns_that_were_asked_for(slug: str, gauge: int, build: str, share: float) -> None:
    bobbin = BOBBINS[slug]
    turns = turns_between(bobbin, gauge, build, share)
    _, counted = bobbin.wound(turns, gauge, build)  # type: ignore[arg-type]
    assert wound_turns(counted)[0] == pytest.approx(turns, rel=1e-12)
    ohms = bobbin.resistance(turns, gauge, build)  # type: ignore[arg-type]
    _, read = bobbin.wound(turns, gauge, build, ohms)  # type: ignore[arg-type]
    assert wound_turns(read)[0] == pytest.approx(turns, rel=1e-12)


@given(SLUG, GAUGE, SHARE, st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.booleans())
def test_a_true_coil_inside_its_standard_is_never_refused_and_lies_in_the_interval(
    slug: str, gauge: int, share: float, wire: float, meter: float, told: bool
) -> None:
    """Wire at a limit of its standard, meter at a limit of its own, any two of R and turns, with or without gauge.

    Limits of wire (8 %) and meter (1 %) together pass the 90 % interval of the same: it is widened by 1.25 here, since
    limits add and standard deviations do not, (8 + 1) / sqrt(64 + 1) = 1.12, beside an interval of 400 draws (6 %).
    """
    bobbin = BOBBINS[slug]
    turns = turns_between(bobbin, gauge, "single", share)
    low, high = catalogue.wire(gauge).resistance_spread
    nominal = catalogue.wire(gauge).resistance_per_metre()
    ohms = bobbin.resistance(turns, gauge, "single") * (high if wire > 0 else low) ** abs(wire) / nominal ** abs(wire)
    read = ohms * (1.0 + 0.01 * meter)
    found = solve(bobbin, Knowns(resistance=read, gauge=gauge))[0]
    for end, sign in ((found.turns.low, 1.0), (found.turns.high, -1.0)):
        assert sign * math.log(turns / found.turns.value) >= sign * 1.25 * math.log(end / found.turns.value)
    known = Knowns(resistance=read, turns=turns, gauge=gauge if told else None)
    assert gauge in {one.gauge for one in solve(bobbin, known)}


@given(SLUG, GAUGE, st.floats(0.3, 0.8), st.sampled_from([0.5, 2.0, 3.0, 10.0]))
def test_a_resistance_that_the_turns_contradict_is_refused(slug: str, gauge: int, share: float, factor: float) -> None:
    bobbin = BOBBINS[slug]
    turns = turns_between(bobbin, gauge, "single", share)
    ohms = bobbin.resistance(turns, gauge, "single") * factor
    if not 1e3 <= ohms <= 30e3:
        return
    with pytest.raises(InputError) as refused:
        solve(bobbin, Knowns(resistance=ohms, turns=turns, gauge=gauge))
    assert "contradict" in str(refused.value) and str(refused.value).endswith(("?", "."))


@given(SLUG, st.sampled_from([40, 41, 42, 43, 44, 45, 46]), BUILD, st.floats(1.02, 3.0))
def test_more_than_wire_can_fill_is_refused(slug: str, gauge: int, build: str, factor: float) -> None:
    bobbin = BOBBINS[slug]
    thinnest = bobbin.fill(1.0, gauge, build, thinnest=True)  # type: ignore[arg-type]
    turns = factor * MOST_FILL / thinnest
    if not 100.0 <= turns <= 20000.0:
        return
    with pytest.raises(InputError, match="fill"):
        solve(bobbin, Knowns(turns=turns, gauge=gauge, build=build))  # type: ignore[arg-type]
