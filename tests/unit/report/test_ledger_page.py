"""How a ledger reads: bench units, signs of differences only, nothing that looks like a contradiction."""

from polepiece.measure import Claim, Entry, Ledger
from polepiece.report import LedgerRow, ledger_page, ledger_rows


def row_of(entry: Entry) -> LedgerRow:
    ledger = Ledger(
        guitar="invented",
        pickup="neck",
        change=("magnet=alnico-3",),
        date="2026-11-28",
        entries=(entry,),
        provenance={},
    )
    return ledger_rows(ledger)[0]


def claim(value: float, half: float) -> Claim:
    return Claim(value=value, low=value - half, high=value + half)


def test_a_difference_has_a_sign_and_a_zero_has_none() -> None:
    row = row_of(
        Entry(key="level_db", words="level", unit="dB", computed=claim(-0.52, 0.45), measured=claim(0.001, 0.02))
    )
    assert (row.computed, row.computed_span) == ("−0.5 dB", "−1.0 to −0.1")  # U+2212, the minus of typesetting
    assert (row.measured, row.measured_span) == ("0.0 dB", "within ±0.05")


def test_a_resistance_is_told_as_a_meter_shows_it() -> None:
    row = row_of(Entry(key="dc", words="DC resistance", unit="ohm", of="before", measured=claim(7900.0, 60.0)))
    assert (row.measured, row.measured_span) == ("7.90 kΩ", "7.84 to 7.96")  # 1 kΩ = 1000 ohm


def test_what_disagrees_by_less_than_the_digits_shown_says_so() -> None:
    """Two values that look alike and are called unlike would be taken for a fault of the page."""
    entry = Entry(key="bands_db.lows", words="lows", unit="dB", computed=claim(0.02, 0.001), measured=claim(0.0, 0.001))
    row = row_of(entry)
    assert (row.computed, row.measured, row.word) == ("0.0 dB", "0.0 dB", "disagrees")
    assert row.note == "by less than the digits shown"
    assert row_of(Entry(key="x", words="x", unit="dB", computed=claim(0.5, 0.01), measured=claim(0.0, 0.01))).note == ""


def test_a_page_to_share_says_that_nobody_listened_and_what_was_done_by_hand() -> None:
    entry = Entry(key="heard", words="the change as a whole", unit="thresholds", computed=claim(2.3, 0.5))
    html = ledger_page(
        Ledger(
            guitar="invented", pickup="middle", change=("tilt=bass up 0.5mm",), date="2026-11-28", entries=(entry,),
            provenance={"version": "0", "constants": "0", "seed": 0, "files": {}},
        )
    )  # fmt: skip
    assert "no trial yet" in html and "not heard" not in html
    assert "2.3 × what is just heard" in html and "threshold" not in html
    assert "treble side down 0.5 mm, bass side up 0.5 mm" in html and "tilt=" not in html
