"""The one verdict of a proof: fits what was measured the prediction, and does it fit another bar better?"""

import numpy as np
import pytest

from polepiece.app.pages.prove import NOTHING_YET, verdict_of
from polepiece.app.prove import proofs, verdict
from polepiece.app.prove.verdict import HEAD, _normal, _odds, thirds_words, verdict_words
from polepiece.bench import Bench, predict
from polepiece.evidence import Evidence
from polepiece.guitar import Guitar, read_guitar
from polepiece.measure import Claim, Entry, Estimate, Ledger
from polepiece.moves import parse_changes
from tests.app.conftest import DEMO

CHANGE = ("magnet=alnico-5",)
KEYS = ("level_db", "bands_db.lows", "bands_db.highs")


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(exact_screws=False)


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


def estimate(name: str, value: float, half: float = 0.2) -> Estimate:
    return Estimate(name=name, value=value, low=value - half, high=value + half, unit="dB")


def test_what_was_predicted_fits_and_what_was_not_does_not(
    guitar: Guitar, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verdict, "grade_slugs", lambda: ("alnico-2", "ceramic-8"))  # two do
    found = predict(guitar, "neck", parse_changes(list(CHANGE)), draws=16, bench=bench)
    as_said = Evidence(plucks=[estimate(key, found.difference[key]) for key in KEYS])
    words = verdict_words(guitar, "neck", CHANGE, as_said, found, bench, draws=16)
    assert words.startswith(f"{HEAD}it fits the prediction")
    assert "It cannot tell Alnico 5 from Alnico 2" in words  # some tenths of a decibel apart in this pickup
    strong = predict(guitar, "neck", parse_changes(["magnet=ceramic-8"]), draws=16, bench=bench)
    louder = Evidence(plucks=[estimate(key, strong.difference[key]) for key in KEYS])
    words = verdict_words(guitar, "neck", ("magnet=ceramic-8",), louder, strong, bench, draws=16)
    assert "It fits Ceramic 8 better than any other bar; next is Alnico 2: odds" in words
    same = Evidence(plucks=[estimate(key, 0.0) for key in KEYS])  # the old bar is in it still
    words = verdict_words(guitar, "neck", ("magnet=ceramic-8",), same, strong, bench, draws=16)
    assert "Alnico 2 would fit better than Ceramic 8: odds" in words
    far = Evidence(plucks=[estimate(key, found.difference[key] + 6.0) for key in KEYS])  # thirty half intervals
    assert "does not fit the prediction" in verdict_words(guitar, "neck", CHANGE, far, found, bench, draws=16)
    none = verdict_words(guitar, "neck", CHANGE, Evidence(), found, bench, draws=16)
    assert none.startswith(f"{HEAD}none yet")


def test_lines_that_move_together_are_not_counted_twice() -> None:
    """Two copies of one deviation of two deviations: as far off as one of them alone, 4.6 % (normal distribution)."""
    alone = _normal(np.array([2.0]), np.array([[1.0]]))
    twice = _normal(np.array([2.0, 2.0]), np.array([[1.0, 0.999], [0.999, 1.0]]))
    assert alone.share == pytest.approx(0.0455, abs=1e-4)
    assert twice.share > 0.1  # chi-square 4 of two degrees of freedom: 13.5 %
    assert _normal(np.array([2.0, 2.0]), np.eye(2)).share == pytest.approx(np.exp(-4.0), rel=1e-6)


def test_odds_are_not_said_further_than_they_are_known() -> None:
    assert _odds(0.0) == "1.0 to 1"
    assert _odds(np.log(25.0)) == "25 to 1"
    assert _odds(30.0) == "more than 100 to 1"


def test_third_octaves_are_judged_against_the_response() -> None:
    frequency = np.geomspace(50.0, 10e3, 400)
    change = np.full(400, 1.0)
    plucks = [estimate("third_octave_db.250", 1.1), estimate("third_octave_db.1000", 2.0), estimate("level_db", 0.0)]
    assert "in the measured 90 % interval of 1 of 2" in thirds_words(plucks, frequency, change)
    assert thirds_words([], frequency, change) == ""


def test_what_a_reading_was_taken_as_is_said_once_with_side_and_temperature() -> None:
    entries = {
        "baseline.dc_resistance": "7.82", "baseline.temperature": "28", "after.dc_resistance": "7.82",
        "after.inductance_120hz_h": "4,6",
    }  # fmt: skip
    said = proofs.readings_taken(entries)
    assert said == (
        "before, 7.82 kΩ at 28 °C: 7.58 kΩ at 20 °C; after, 7.82 kΩ at 28 °C, as noted for the other: 7.58 kΩ at "
        "20 °C; after, 4.60 H at 120 Hz"
    )
    proof = proofs.Proof(proofs.SheetKey(guitar_id=1, state="s", pickup="neck", changes=CHANGE))
    assert f"Taken as: {said}." in proofs.evidence_of(proof, entries).notes
    assert "no temperature noted, so at 20 °C" in proofs.readings_taken({"baseline.dc_resistance": "7.8"})


def test_a_typed_inductance_reaches_the_ledger() -> None:
    (read,) = proofs.inductances_in({"after.inductance_120hz_h": "4.6"}, "after")
    assert (read.name, read.value) == ("inductance_120hz_h", 4.6)
    assert read.high - read.value == pytest.approx(0.9 * 0.02 * 4.6, rel=0.01)  # 90 % of the limits of an LCR meter


def test_the_verdict_stands_for_the_ledger() -> None:
    line = Entry(
        key="level_db", words="level", unit="dB", computed=Claim(value=1.0, low=0.5, high=1.5),
        measured=Claim(value=1.1, low=0.9, high=1.3),
    )  # fmt: skip
    old = Ledger(guitar="g", pickup="neck", change=CHANGE, date="2026-11-30", entries=(line,), provenance={}, notes=())
    assert verdict_of(None) == NOTHING_YET
    assert verdict_of(old) == "Of its lines: 1 × agrees."


def test_levels_typed_beside_what_was_predicted_reach_the_ledger() -> None:
    entries = {
        "effects.level_db": "−1,3", "effects.string_balance_db.7": "-2.9 dB", "effects.resonance_hz": "12",
        "effects.bands_db.lows": "a little",
    }  # fmt: skip
    proof = proofs.Proof(proofs.SheetKey(guitar_id=1, state="s", pickup="neck", changes=CHANGE))
    evidence = proofs.evidence_of(proof, entries)
    assert {one.name: (one.value, one.low) for one in evidence.typed} == {
        "level_db": (-1.3, -2.3), "string_balance_db.7": (-2.9, -3.9),
    }  # fmt: skip
    assert "one pick stroke" in evidence.notes[-1]
    assert proofs.evidence_of(proof, {}).notes == ()
