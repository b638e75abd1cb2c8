"""The normalised error by hand and by chance, the words of a ledger, coverage, the round trip."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from polepiece.errors import InputError, MeasurementError
from polepiece.measure import NINETY, NOTHING, Claim, Entry, Estimate, Ledger, coverage, normalised_error


def claim(value: float, half: float = 1.0) -> Claim:
    return Claim(value=value, low=value - half, high=value + half)


def entry(computed: Claim | None, measured: Claim | None, of: str = "difference", key: str = "level_db") -> Entry:
    return Entry(key=key, words="level", unit="dB", of=of, computed=computed, measured=measured)  # type: ignore[arg-type]


def ledger(*entries: Entry) -> Ledger:
    return Ledger(
        guitar="invented", pickup="neck", change=("magnet=alnico-3",), date="2026-11-27", entries=entries,
        provenance={"version": "0", "seed": 0}, notes=("a note",),
    )  # fmt: skip


def test_normalised_error_as_worked_by_hand() -> None:
    """ISO/IEC 17043 (from memory): E_n = (x - X) / sqrt(U_lab^2 + U_ref^2), U with k = 2.

    A laboratory has 10.05 with U = 0.04, the reference is 10.00 with U = 0.03: 0.05 / 0.05 = 1, just agreeing.
    """
    lab, reference = claim(10.05, 0.04 * NINETY / 2.0), claim(10.0, 0.03 * NINETY / 2.0)
    assert normalised_error(lab, reference) == pytest.approx(1.0, rel=1e-12)
    assert normalised_error(lab, reference) == normalised_error(reference, lab)


def test_claims_that_are_what_they_say_agree_in_95_of_100() -> None:
    """k = 2 of a normal distribution holds 95.45 % (any table); 1.96 would hold 95.0, the 90 % widths alone 90."""
    random = np.random.default_rng(5)
    a, b = 2.0 * random.standard_normal(40_000), 0.5 * random.standard_normal(40_000)
    found = [normalised_error(claim(x, 2.0 * NINETY), claim(y, 0.5 * NINETY)) <= 1.0 for x, y in zip(a, b)]
    assert np.mean(found) == pytest.approx(0.9545, abs=3.0 * math.sqrt(0.9545 * 0.0455 / 40_000))


def test_the_half_that_faces_the_other_value_counts() -> None:
    lopsided = Claim(value=0.0, low=-10.0, high=1.0)
    assert normalised_error(lopsided, claim(3.0, 0.0)) > 1.0 > normalised_error(lopsided, claim(-3.0, 0.0))


def test_exact_claims() -> None:
    assert normalised_error(claim(2.0, 0.0), claim(2.0, 0.0)) == 0.0
    assert normalised_error(claim(2.0, 0.0), claim(3.0, 0.0)) == math.inf
    assert entry(claim(2.0, 0.0), claim(3.0, 0.0)).word == "disagrees"


@pytest.mark.parametrize(
    ("computed", "measured", "word"),
    [
        (claim(-2.0), claim(-2.5), "agrees"),
        (claim(-2.0), claim(3.0), "disagrees"),
        (claim(-2.0), claim(-0.4), NOTHING),  # agrees with -2 and with nothing
        (claim(-9.0), claim(-0.4), "disagrees"),  # nothing was measured, and far from what was computed
        (claim(0.0, 0.0), claim(0.1), "agrees"),  # nothing should move and nothing was seen to
        (claim(-2.0), None, "not measured"),
        (None, claim(1.0), "not computed"),
        (None, None, "not measured"),
    ],
)
def test_words(computed: Claim | None, measured: Claim | None, word: str) -> None:
    assert entry(computed, measured).word == word


def test_a_state_that_is_near_zero_is_no_difference() -> None:
    assert entry(claim(0.2), claim(0.1), of="before").word == "agrees"


def test_inside_is_asked_of_the_measured_value() -> None:
    assert entry(claim(0.0), claim(0.9, 5.0)).inside is True
    assert entry(claim(0.0), claim(1.1, 5.0)).inside is False
    assert entry(claim(0.0), None).inside is None


def test_independent_claims_are_subtracted_in_squares() -> None:
    found = claim(5.0, 3.0).less(claim(2.0, 4.0))
    assert (found.value, found.low, found.high) == (3.0, -2.0, 8.0)


def test_a_ledger_goes_through_json_and_back() -> None:
    said = Claim.of(Estimate(name="level_db", value=1.0, low=0.5, high=2.0, unit="dB"), "a file")
    before = entry(None, claim(2.0, 0.0), of="before")
    exact = entry(claim(2.0, 0.0), claim(3.0, 0.0), key="x")
    one = ledger(entry(claim(1.0), said), before, exact)
    body = json.loads(json.dumps(one.to_dict(), allow_nan=False))
    assert Ledger.from_dict(body) == one
    assert body["entries"][0]["judged"] == {"word": "agrees", "inside": True, "normalised_error": 0.0}
    assert body["entries"][2]["judged"]["normalised_error"] is None  # infinite, which JSON has not
    assert one["level_db@before"].measured == claim(2.0, 0.0)
    with pytest.raises(InputError, match="no line 'q'"):
        one["q"]


def test_damaged_records_say_what_is_missing() -> None:
    body = ledger(entry(claim(1.0), None)).to_dict()
    with pytest.raises(MeasurementError, match="lacks 'entries'"):
        Ledger.from_dict({k: v for k, v in body.items() if k != "entries"})
    with pytest.raises(MeasurementError, match="is read"):
        Ledger.from_dict({**body, "schema": "other/1"})
    with pytest.raises(MeasurementError, match="damaged"):
        Ledger.from_dict({**body, "entries": [{**body["entries"][0], "computed": {"value": "x", "low": 0, "high": 1}}]})
    with pytest.raises(InputError, match="write 2026-11-25"):
        replace(ledger(), date="27.11.2026")
    with pytest.raises(InputError, match="interval"):
        Claim(value=0.0, low=math.nan, high=1.0)


def test_coverage_counts_what_has_both_and_moves() -> None:
    """18 of 20: the exact 95 % interval is 68.3 to 98.8 % (tables of Clopper and Pearson, from memory)."""
    lines = [entry(claim(0.0), claim(0.5))] * 18 + [entry(claim(0.0), claim(1.5))] * 2
    lines += [entry(None, claim(0.0)), entry(claim(0.0), None), entry(claim(0.0, 0.0), claim(0.0))]
    found = coverage([ledger(*lines[:10]), ledger(*lines[10:])])
    assert (found.inside, found.of, found.share) == (18, 20, 0.9)
    assert (found.low, found.high) == (pytest.approx(0.683, abs=5e-4), pytest.approx(0.988, abs=5e-4))
    assert "no sign" in found.words
    narrow = coverage([ledger(*[entry(claim(0.0), claim(1.5))] * 9, entry(claim(0.0), claim(0.0)))])
    assert "too narrow" in narrow.words
    with pytest.raises(InputError, match="nothing to count"):
        coverage([ledger(entry(None, claim(0.0)))])
    assert coverage([ledger(*lines)], of="difference", key="level").of == 20
