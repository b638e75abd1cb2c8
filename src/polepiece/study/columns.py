"""Columns of a study's table: their names, which say the unit, what they mean, and what kind of value they hold."""

import re
from dataclasses import dataclass
from typing import Literal

from polepiece.bench import BANDS
from polepiece.study.setup import Setup

Kind = Literal["whole", "number", "word"]
ROW_NUMBERS = ("field_mt", "string_pull_n", "partial_shift_cents", "string_balance_db", "h2_db")  # of every string
PEAK = ("resonance_hz", "resonance_db", "resonance_q")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column; ``key`` is that of `State.numbers`, or "" for what is no result."""

    name: str
    kind: Kind
    meaning: str
    key: str = ""


def number_keys(strings: int) -> tuple[str, ...]:
    """Return the dotted keys of the numbers of a state of a guitar with so many strings, in the order of a table."""
    banded = [f"{head}.{band}" for head in ("bands_db", "bands_own_db", "attack_minus_sustain_db") for band in BANDS]
    of_strings = [f"{head}.{k + 1}" for head in ROW_NUMBERS for k in range(strings)]
    return (
        "level_db", *banded, "sensitivity_1khz_db", "wound_minus_plain_db", *PEAK,
        "dc_resistance_ohm", "inductance_120hz_h", "inductance_1khz_h", *of_strings,
    )  # fmt: skip


_UNIT = re.compile(r"(.*)_(db|mt|n|cents)")
_MEANINGS = {
    "level_db": "level of the stated stroke over its first second, K-weighted, dB re 1 V",
    "bands_db": "level of a band, dB re the level",
    "bands_own_db": "level of a band, dB re 1 V",
    "attack_minus_sustain_db": "first 100 ms of a band against 100 ms to 1 s, dB",
    "sensitivity_1khz_db": "small motion towards the poles at 1 kHz, dB re 1 V s/m",
    "wound_minus_plain_db": "wound strings against plain ones, dB",
    "resonance_hz": "peak of the loaded response, Hz; empty where there is none",
    "resonance_db": "its height over the plateau, dB",
    "resonance_q": "its quality",
    "dc_resistance_ohm": "resistance of the pickup at 20 degC, ohm",
    "inductance_120hz_h": "inductance between its leads at 120 Hz, H",
    "inductance_1khz_h": "inductance between its leads at 1 kHz, H",
    "field_mt": "vertical field at a string's axis, mT; strings count from 1, the thin one",
    "string_pull_n": "pull on a string, N; negative is towards the pickup",
    "partial_shift_cents": "detuning of an open string's fundamental by the pull, cents",
    "string_balance_db": "one string against the mean of all, dB",
    "h2_db": "second harmonic re the fundamental at 0.5 mm of motion, dB",
}


def _named(key: str) -> str:
    """Return the column of a dotted key, its unit last: "bands_presence_db", "field_3_mt"."""
    head, dot, tail = key.partition(".")
    if not dot:
        return head
    found = _UNIT.fullmatch(head)
    assert found is not None
    return f"{found[1]}_{tail}_{found[2]}"


def columns_of(setup: Setup) -> tuple[Column, ...]:
    """Return the columns of a study: which candidate, what was varied, why it has no numbers, its numbers."""
    out = [Column(name="candidate", kind="whole", meaning="its place in the design, from 0")]
    for one in setup.axes:
        kind: Kind = "number" if one.is_number else "word"
        out.append(Column(name=one.column, kind=kind, meaning=f"what was varied: {one.text}"))
    if setup.draws:
        out.append(Column(name="draw", kind="whole", meaning="0 nominal; 1 and on: one possible guitar each"))
    out.append(Column(name="refused", kind="word", meaning="why there are no numbers; empty where there are"))
    keys = number_keys(len(setup.guitar.strings))
    return (*out, *(Column(name=_named(k), kind="number", meaning=_MEANINGS[k.partition(".")[0]], key=k) for k in keys))
