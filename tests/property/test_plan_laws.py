"""Laws of the plan for any complaint, bar levels and heights: signs match the reason, limits hold, nothing harmful."""

import re

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from polepiece.bench.quantities import QUANTITIES
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import parse_complaints
from polepiece.planning.constraints import parse_constraints
from polepiece.planning.plan import Plan, Row, make_plan
from tests.unit.planning.double_bench import GUITAR, LEVEL, DoubleBench, guitar

SAID = re.compile(r"(?:^|[:,] )((?:[^:,()]|\([^)]*\))+?) (\d+\.\d) (dB|%|cents) (up|down)")
WORDS_OF = {quantity.words: key for key, quantity in QUANTITIES.items()}
FLAGS = (
    "keep-output",
    "reversible only",
    "do not open",
    "no solder",
    "keep-strings",
    "budget=none",
    "owned=alnico-3,alnico-8",
)

tone_words = st.sampled_from([word.name for word in WORDS if word.aims])
levels = st.fixed_dictionaries({grade: st.floats(-4, 4) for grade in LEVEL})
tops = st.fixed_dictionaries({grade: st.floats(-3, 3) for grade in LEVEL})
heights = st.tuples(st.floats(1.6, 4.0), st.floats(1.6, 4.0))


class Made:
    """One made plan; its repr is short, so that a failing example can be read."""

    def __init__(self, text: str, words: list[str], flags: list[str], bench: DoubleBench) -> None:
        self.flags, self.words, self.bench = tuple(flags), words, bench
        whole = guitar(text)
        self.plan: Plan = make_plan(whole, bench, parse_complaints(words, whole), parse_constraints(flags), draws=8)
        self.rows = [row for row in (*self.plan.rows, *self.plan.rest) if row.change]

    def __repr__(self) -> str:
        return f"{self.words} {self.flags} {self.bench.level} {self.bench.top}"


@st.composite
def plans(draw) -> Made:
    bass, treble = draw(heights)
    text = GUITAR.replace("gap_bass_mm = 2.8", f"gap_bass_mm = {bass:.2f}")
    text = text.replace("treble_mm = 2.4", f"treble_mm = {treble:.2f}")
    flags = draw(st.lists(st.sampled_from(FLAGS), max_size=3, unique=True))
    words = draw(st.lists(tone_words, min_size=1, max_size=2, unique=True))
    strengths = [draw(st.integers(1, 3)) for _ in words]
    bench = DoubleBench(level=draw(levels), top=draw(tops))
    return Made(text, [f"neck: {word}, {n}" for word, n in zip(words, strengths)], flags, bench)


def judged_by(row: Row) -> dict[str, float]:
    effect = row.effect_at_old_level if row.use == "re-set" else row.effect
    assert effect is not None
    return effect


def said(text: str) -> dict[str, float]:
    """Return every quantity that a sentence names with its signed number."""
    out = {}
    for words, number, _, way in SAID.findall(text):
        key = next(key for phrase, key in WORDS_OF.items() if words.strip() == phrase)
        out[key] = float(number) * (1 if way == "up" else -1)
    return out


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(plans())
def test_laws_of_any_plan(made):
    for row in made.rows:
        signs_of_the_reason_are_those_of_the_numbers(row)
        constraint_is_kept(row, made.flags)
        assert row.score > 0.0, "nothing harmful is a row"
    if any(row.free and row.reversible and row.likely_heard != "no" for row in made.rows):
        assert made.plan.rows[0].free, "rank 1 is free where something free is heard"
        assert made.plan.rows[0].reversible
    last = made.plan.rows[-1]
    assert len(made.plan.rows) <= 7
    assert last.change == ()
    assert all(value == 0.0 for value in last.effect.values())


def signs_of_the_reason_are_those_of_the_numbers(row: Row) -> None:
    effect = judged_by(row)
    named = said(row.why)
    for key, value in named.items():
        number = QUANTITIES[key].number
        if number in effect:
            assert abs(effect[number] - value) <= 0.0501, (row.change, key, row.why)  # one decimal is printed
    wanted, _, rest = row.why.partition("Not wanted: ")
    unwanted = rest.partition(". ")[0] if rest else ""
    assert set(said(wanted)) <= {*row.better, row.decides}
    assert set(said(unwanted)) <= set(row.worse)
    assert not set(row.better) & set(row.worse)
    printed = [key for key in (*row.better, *row.worse) if QUANTITIES[key].number in effect]
    assert all(key in named for key in printed if abs(effect[QUANTITIES[key].number]) >= 0.05), row.why


def constraint_is_kept(row: Row, flags: tuple[str, ...]) -> None:
    starts = tuple(text.partition("=")[0] for text in row.change)
    if "keep-output" in flags:
        assert judged_by(row)["level_db"] >= -1.0
    if "reversible only" in flags:
        assert row.reversible
    if "do not open" in flags:
        assert not {"magnet", "finish", "cover", "flip"} & set(starts)
    if "no solder" in flags:
        assert not {"volume_pot", "tone_pot", "tone_cap", "bleed", "wiring", "tone_tap", "cover"} & set(starts)
    if "keep-strings" in flags:
        assert not {"strings", "string_wrap"} & set(starts)
    if "budget=none" in flags:
        assert row.cost == "none"
    if "owned=alnico-3,alnico-8" in flags:
        bars = [text.partition("=")[2] for text in row.change if text.startswith("magnet=")]
        assert all(bar in ("alnico-3", "alnico-8") for bar in bars)
