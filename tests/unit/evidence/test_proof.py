"""The ledger of a swap: a simulated guitar is measured before and after; what agrees and what does not."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench, Prediction, pole_tops, predict
from polepiece.bench.pole_tops import PROBE
from polepiece.bench.unloaded import drawn_unloaded_resonance
from polepiece.errors import InputError
from polepiece.evidence import Evidence, heard_claim, prove, usual_probe, with_measured
from polepiece.evidence.proof import _heard_word
from polepiece.guitar import Guitar
from polepiece.guitar.spread import Draw
from polepiece.materials import copper_factor
from polepiece.measure import (
    BlindTrial,
    Claim,
    Estimate,
    FileFact,
    Ledger,
    MeasuredPickup,
    TrialPlan,
    as_predicted,
    coverage,
    direct_resistance,
    parse_gauss_readings,
)
from polepiece.moves import apply, parse_changes
from polepiece.pickup.electrics import pickup_resistance
from tests.unit.measure.test_blind import played_through

SWAP = parse_changes(["magnet=ceramic-8"])
TRUTH = Draw(number=9, seed=99)  # one guitar of those that the file allows


def sweep(guitar: Guitar, bench: Bench, name: str, *, width: float = 0.002, celsius: float = 20.0) -> MeasuredPickup:
    """What a good sweep says of one drawn guitar."""
    numbers = bench.drawn(guitar, "neck", [TRUTH])[0]
    (peak,) = drawn_unloaded_resonance(guitar, "neck", [TRUTH], bench=bench)
    values = {
        "resistance": (numbers["dc_resistance_ohm"] * copper_factor(celsius), "ohm"),
        "inductance_120_hz": (numbers["inductance_120hz_h"], "H"), "resonance": (float(peak), "Hz"),
        "inductance_1000_hz": (numbers["inductance_1khz_h"], "H"), "capacitance": (110e-12, "F"),
    }  # fmt: skip
    return MeasuredPickup(
        date="2026-11-27", temperature=celsius, method="open and bridged", series_resistor=1e5, tolerance=0.01,
        files=(FileFact(role="pickup", name=f"{name}.wav", sha256=name[0] * 64),), frequency=np.array([100.0]),
        impedance=np.array([8e3 + 3e3j]), low=np.array([8e3]), high=np.array([9e3]),
        estimates=tuple(Estimate(name=k, value=v, low=v * (1 - width), high=v * (1 + width), unit=u)
                        for k, (v, u) in values.items()),
    )  # fmt: skip


def plucks(guitar: Guitar, bench: Bench, *, half: float = 0.3, add: float = 0.0) -> list[Estimate]:
    """The true differences as plucks would have them, with one that nobody predicts."""
    a, b = (bench.drawn(one, "neck", [TRUTH])[0] for one in (guitar, apply(guitar, "neck", SWAP)))
    names = (
        "level_db", "sensitivity_1khz_db", "bands_db.presence", "bands_own_db.presence", "wound_minus_plain_db",
        "string_balance_db.3",
    )  # fmt: skip
    found = {name: b[name] - a[name] + add for name in names} | {"decay_time_percent": 3.0}
    return [Estimate(name=k, value=v, low=v - half, high=v + half, unit="dB") for k, v in found.items()]


@pytest.fixture(scope="module")
def found(guitar: Guitar, bench: Bench) -> Prediction:
    return predict(guitar, "neck", SWAP, draws=64, bench=bench)


def trial(right: int, *, matched: bool = True) -> BlindTrial:
    plan = TrialPlan(trials=16, level_matched=matched)
    return played_through(BlindTrial(plan=plan, seed=1, date="2026-11-27"), right=right)


def proven(guitar: Guitar, bench: Bench, found: Prediction, evidence: Evidence) -> Ledger:
    return prove(guitar, "neck", SWAP, evidence, date="2026-11-27", prediction=found, bench=bench)


@pytest.fixture(scope="module")
def whole(guitar: Guitar, bench: Bench, found: Prediction) -> Ledger:
    """Everything measured, of a guitar that is one of those computed."""
    tops = pole_tops(guitar, "neck", draws=8, bench=bench)
    readings = parse_gauss_readings([f"{k + 1}={1e3 * tops[k].flux_density:.3f}mT" for k in range(6)])
    after = apply(guitar, "neck", SWAP)
    evidence = Evidence(
        impedance_before=sweep(guitar, bench, "before", celsius=16.0), plucks=plucks(guitar, bench),
        impedance_after=sweep(after, bench, "after", celsius=24.0), trial=trial(15, matched=False),
        gauss_before=readings, probe=usual_probe(PROBE, 0.0),
    )  # fmt: skip
    return proven(guitar, bench, found, evidence)


def test_a_true_guitar_agrees(whole: Ledger) -> None:
    words = {f"{one.key}@{one.of}": one.word for one in whole.entries if one.measured is not None}
    assert words["level_db@difference"] == "not distinguishable from nothing"  # computed -0.1 dB, measured +- 0.3
    assert words["bands_db.presence@difference"] == "agrees"
    assert words["inductance_120hz_h@before"] == words["inductance_120hz_h@difference"] == "agrees"
    assert words["unloaded_resonance_hz@after"] == "agrees"
    assert words["pole_field_mt@before"] == "agrees"
    assert "disagrees" not in words.values()
    assert whole["heard"].word == "agrees"
    assert whole["bands_db.lows"].word == "not measured"
    counted = coverage([whole])
    assert counted.inside >= counted.of - 2  # 90 % intervals, about 14 lines


def test_resistance_is_compared_at_twenty_degrees(whole: Ledger) -> None:
    """Swept at 16 and at 24 degC, 3.1 % apart as read; the winding is the same, and no damage is cried."""
    entry = whole["dc_resistance_ohm"]
    assert entry.measured is not None
    assert entry.measured.value == pytest.approx(0.0, abs=1e-6)
    assert entry.computed == Claim(value=0.0, low=0.0, high=0.0, source="the pickup computed")
    assert entry.word == "agrees"
    assert not any("STOP" in one for one in whole.notes)


def test_what_nobody_computes_is_said(whole: Ledger) -> None:
    assert any("no computed counterpart: decay time" in one for one in whole.notes)
    assert whole["string_balance_db.3"].measured is not None
    assert whole.provenance["files"] == {"before: before.wav": "b" * 64, "after: after.wav": "a" * 64}
    assert str(whole.provenance["constants"]).startswith("sha256:")


def test_a_band_has_one_line_and_sensitivity_its_own(whole: Ledger) -> None:
    """Bands by themselves are level and band against it once more: measured, they still get no line."""
    assert not any(one.key.startswith("bands_own_db") for one in whole.entries)
    assert not any("bands own" in one for one in whole.notes)
    assert whole["sensitivity_1khz_db"].measured is not None
    assert whole["sensitivity_1khz_db"].words == "sensitivity at 1 kHz"


def test_the_ledger_of_a_swap_goes_through_json(whole: Ledger) -> None:
    assert Ledger.from_dict(whole.to_dict()) == whole


def test_a_wrong_bar_disagrees(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    """The bar that went in gives 6 dB more than ferrite would."""
    ledger = proven(guitar, bench, found, Evidence(plucks=plucks(guitar, bench, add=6.0)))
    assert ledger["level_db"].word == "disagrees"
    assert ledger["level_db"].inside is False
    assert ledger["heard"].word == "no trial yet"  # nobody listened: that is not the same as not heard


def test_plucks_in_the_ledger_hold_what_a_state_leaves_out_of_a_loud_stroke(
    guitar: Guitar, bench: Bench, found: Prediction
) -> None:
    """0.5 dB in sensitivity; a quantity that no state has is not in the ledger at all."""
    said = plucks(guitar, bench, half=0.05)
    measured = proven(guitar, bench, found, Evidence(plucks=said))["sensitivity_1khz_db"].measured
    own = next(one for one in said if one.name == "sensitivity_1khz_db")
    assert measured is not None
    assert measured.high == as_predicted(own).high > own.high + 0.3


def test_plucks_that_scatter_show_nothing(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    ledger = proven(guitar, bench, found, Evidence(plucks=plucks(guitar, bench, half=20.0)))
    assert ledger["level_db"].word == "not distinguishable from nothing"


def test_what_the_file_knows_from_the_same_sweep_is_not_proven_by_it(guitar: Guitar, bench: Bench) -> None:
    before = sweep(guitar, bench, "before")
    learnt = with_measured(guitar, "neck", before, bench=bench)
    after = sweep(apply(guitar, "neck", SWAP), bench, "after")
    evidence = Evidence(impedance_before=before, impedance_after=after)
    ledger = prove(learnt, "neck", SWAP, evidence, date="2026-11-27", bench=bench)
    entry = ledger["inductance_120hz_h@before"]
    assert (entry.computed, entry.word) == (None, "not computed")
    assert "this very measurement" in entry.note
    assert ledger["inductance_120hz_h@after"].word == "agrees"  # this one is a prediction
    assert ledger["inductance_120hz_h"].word == "agrees"
    wide = prove(guitar, "neck", SWAP, evidence, date="2026-11-27", bench=bench)
    spans = [one["inductance_120hz_h@after"].computed for one in (ledger, wide)]
    assert all(one is not None for one in spans)
    narrow, broad = (one.high - one.low for one in spans if one is not None)
    assert narrow < 0.5 * broad


def test_a_damaged_winding_stops(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    base = pickup_resistance(guitar.pickup("neck"))
    evidence = Evidence(dcr_before=direct_resistance(base), dcr_after=direct_resistance(0.95 * base))
    ledger = proven(guitar, bench, found, evidence)
    assert any("STOP" in one and "-5.0 %" in one for one in ledger.notes)
    assert ledger["dc_resistance_ohm"].word == "disagrees"


def test_an_untold_estimate_is_no_measurement(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    record = sweep(guitar, bench, "before")
    vague = replace(record, estimates=tuple(replace(one, told=False) for one in record.estimates))
    ledger = proven(guitar, bench, found, Evidence(impedance_before=vague))
    assert all(one.measured is None for one in ledger.entries)


@pytest.mark.parametrize(
    ("low", "high", "heard", "most", "word"),
    [
        (2.0, 4.0, True, 1.0, "agrees"),
        (0.0, 0.5, True, 1.0, "disagrees"),
        (0.0, 0.5, False, 0.7, "agrees"),
        (0.5, 2.0, False, 0.7, "not distinguishable from nothing"),
        (2.0, 4.0, False, 0.7, "disagrees"),
        (2.0, 4.0, False, 0.8, "not distinguishable from nothing"),  # too few right to pass, too many to rule it out
    ],
)
def test_words_of_the_ear(low: float, high: float, heard: bool, most: float, word: str) -> None:
    assert _heard_word(Claim(value=0.5 * (low + high), low=low, high=high), heard=heard, most=most) == word


def test_level_counts_where_it_is_heard(guitar: Guitar, bench: Bench) -> None:
    lower = predict(guitar, "neck", parse_changes(["lower=1mm"]), draws=16, bench=bench)
    open_, matched = (heard_claim(lower, level_matched=one) for one in (False, True))
    assert open_.value == pytest.approx(abs(lower.difference["level_db"]))  # its threshold is 1 dB
    assert matched.value < 1.0  # what a greater distance does to the bands is not heard by itself
    assert open_.value > 1.0
    assert open_.low < open_.value < open_.high


def test_a_trial_on_its_way_is_not_read(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    started = BlindTrial(plan=TrialPlan(), seed=1, date="2026-11-27").answered("A")
    with pytest.raises(InputError, match="after the last"):
        proven(guitar, bench, found, Evidence(trial=started))


def test_another_prediction_is_refused(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    with pytest.raises(InputError, match="not of what is to be proven"):
        prove(guitar, "neck", (), Evidence(), date="2026-11-27", prediction=found, bench=bench)


def test_one_recording_on_both_sides_and_sides_exchanged_in_time_are_said(
    guitar: Guitar, bench: Bench, found: Prediction
) -> None:
    one, other = (sweep(guitar, bench, name) for name in ("before", "after"))
    same = proven(guitar, bench, found, Evidence(impedance_before=one, impedance_after=one))
    assert any("of the same recording" in note for note in same.notes)
    older = replace(other, date="2020-01-01")
    late = proven(guitar, bench, found, Evidence(impedance_before=one, impedance_after=older))
    assert any("are they exchanged?" in note for note in late.notes)
    right = proven(guitar, bench, found, Evidence(impedance_before=one, impedance_after=other))
    assert not any("recording" in note or "exchanged" in note for note in right.notes)


def test_a_level_typed_by_hand_counts_until_plucks_say_it(guitar: Guitar, bench: Bench, found: Prediction) -> None:
    typed = (Estimate(name="level_db", value=0.5, low=-0.5, high=1.5, unit="dB"),)
    (line,) = (one for one in proven(guitar, bench, found, Evidence(typed=typed)).entries if one.key == "level_db")
    assert line.measured is not None and (line.measured.value, line.measured.source) == (0.5, "typed")
    both = Evidence(typed=typed, plucks=plucks(guitar, bench))
    (line,) = (one for one in proven(guitar, bench, found, both).entries if one.key == "level_db")
    assert line.measured is not None and line.measured.source == "plucks"
