"""Words of the trade, held on sound: closed forms first, then strokes as they are rendered."""

import numpy as np
import pytest

from polepiece.auditioning import CHAINS, trade_words, words_of
from polepiece.auditioning.trade_words import FIRST_S, NEXT_S, spread_db, tight_db
from polepiece.bench import Bench
from polepiece.errors import MeasurementError
from polepiece.guitar import read_guitar
from polepiece.moves import parse_changes
from tests.unit.conftest import DEMO

RATE = 48_000


def decaying(rate_s: float, hertz: float = 110.0) -> np.ndarray:
    """A tone whose power falls as exp(-t / rate_s)."""
    time = np.arange(RATE) / RATE
    return np.exp(-0.5 * time / rate_s) * np.sin(2.0 * np.pi * hertz * time)


@pytest.mark.parametrize("rate_s", [0.1, 0.3])
def test_tight_is_the_power_of_the_first_60_ms_against_the_next_400(rate_s: float) -> None:
    """Closed form of the two means; 0.6 dB for the filter, which needs 10 ms to swell (its group delay)."""
    first = rate_s * (1.0 - np.exp(-FIRST_S / rate_s)) / FIRST_S
    second = rate_s * (np.exp(-FIRST_S / rate_s) - np.exp(-(FIRST_S + NEXT_S) / rate_s)) / NEXT_S
    expected = 10.0 * np.log10(first / second)
    assert tight_db(decaying(rate_s), RATE, 0.0) == pytest.approx(expected, abs=0.6)


def test_a_note_that_dies_sooner_is_tighter() -> None:
    assert tight_db(decaying(0.1), RATE, 0.0) > tight_db(decaying(0.3), RATE, 0.0) + 3.0  # 5 dB in closed form


def test_lows_alone_are_judged() -> None:
    """A click of treble in front leaves the lows as they are, within what the filter lets through at 3 kHz."""
    click = np.zeros(RATE)
    click[: RATE // 100] = np.sin(2.0 * np.pi * 3000.0 * np.arange(RATE // 100) / RATE)
    assert tight_db(decaying(0.3) + click, RATE, 0.0) == pytest.approx(tight_db(decaying(0.3), RATE, 0.0), abs=0.2)


def test_a_stroke_that_ends_too_soon_has_no_number() -> None:
    with pytest.raises(MeasurementError, match="460 ms"):
        tight_db(decaying(0.3)[: RATE // 4], RATE, 0.0)


def test_what_saturates_spreads_less() -> None:
    hard, soft = decaying(0.3), 0.25 * decaying(0.3)
    assert spread_db(hard, soft, RATE) == pytest.approx(12.04, abs=0.05)  # 20 log10 4
    assert spread_db(np.tanh(8.0 * hard), np.tanh(8.0 * soft), RATE) < 9.0


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(exact_screws=False)


def found(bench: Bench, *changes: str) -> dict[tuple[str, str], float]:
    said = trade_words(read_guitar(DEMO), "bridge", parse_changes(changes), bench=bench)
    return {(one.chain, one.key): one.difference for one in said}


def test_a_pickup_that_is_lowered_opens_up_behind_a_drive_only(bench: Bench) -> None:
    moved = found(bench, "lower=1mm")
    assert moved["driven", "spread_db"] > 0.5  # half of what is called a difference
    assert abs(moved["clean", "spread_db"]) < 0.1  # a straight chain: nothing but the curved flux law
    assert moved["driven", "tight_db"] > moved["clean", "tight_db"]


def test_a_tone_control_turned_down_is_warmer_through_every_chain(bench: Bench) -> None:
    said = trade_words(read_guitar(DEMO), "bridge", parse_changes(["tone=3"]), bench=bench)
    centres = [one for one in said if one.key == "centre_percent"]
    assert [one.chain for one in centres] == list(CHAINS)
    assert all(one.word == "warmer" for one in centres)
    assert "clean: warmer" in words_of(said)


def test_no_change_has_no_word(bench: Bench) -> None:
    assert all(value == 0.0 for value in found(bench, "tone=10").values())
