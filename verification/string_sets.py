"""Drawn sets of 4 to 9 own strings through what every command does: no exception, and the catalogue's figures."""

import math
import random
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.auditioning.hearing import hear
from polepiece.bench import Bench, compare_grades, predict, strings
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, write_guitar
from polepiece.moves import parse_changes
from polepiece.pickup.engine import COARSE
from polepiece.planning import make_plan, parse_complaints
from polepiece.report import work_sheet
from polepiece.sound import PHRASES
from polepiece.strings import STRING_SETS, StringGauge, string_of
from verification.registry import Row, study, two_processes

SETS = 200
GUITARS = (8, 9, 9.5, 10, 11, 13, 16, 17, 18, 20, 24, 26, 30, 36, 42, 46, 52, 59, 68, 80)
BASSES = (30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105, 110, 125, 130, 135)
NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
DRAWS = 8
EVERY = {"grades": 2, "plan": 8}  # of the sets; the other ways take all of them


def _records(guitar: Guitar) -> None:
    """Write and read again."""
    assert parse_guitar(write_guitar(guitar)) == guitar


WAYS: dict[str, Callable[[Guitar, Bench, random.Random], Any]] = {
    "records": lambda g, b, r: _records(g),
    "predict": lambda g, b, r: predict(g, "neck", parse_changes(["lower=0.3mm"]), draws=DRAWS, bench=b),
    "grades": lambda g, b, r: compare_grades(g, "neck", slugs=("alnico-3", "ceramic-8"), draws=DRAWS, bench=b),
    "plan": lambda g, b, r: make_plan(g, bench=b, complaints=parse_complaints(["muddy"]), draws=DRAWS),
    "strings": lambda g, b, r: strings(g, "neck", bench=b),
    "hear": lambda g, b, r: hear(g, "neck", phrase=r.choice(list(PHRASES)), bench=b),
    "worksheet": lambda g, b, r: work_sheet(g, "neck", parse_changes(["lower=0.3mm"]), bench=b, draws=DRAWS),
}


def drawn_file(number: int) -> str:
    """Return the text of guitar file ``number``: strings, how they are spelled, pickup, poles and radius are drawn."""
    draw = random.Random(number)
    count = draw.randint(4, 9)
    bass = count <= 6 and draw.random() < 0.4
    gauges = sorted(draw.sample(BASSES if bass else GUITARS, count))
    scale = 864 if bass else draw.choice((610, 648, 686))
    notes = [_note(draw, string_of(one * 2.54e-5), 1e-3 * scale, bass) for one in gauges]
    out = [f"scale_length_mm = {scale}", "tuning = [" + ", ".join(f'"{one}"' for one in notes) + "]"]
    if draw.random() < 0.5:
        out.append(f"fingerboard_radius_in = {draw.choice(('7.25', '12', chr(34) + '9,5' + chr(34)))}")
    construction = draw.choice(("humbucker", "rod-single", "bar-single", "two-bar-single"))
    out += ["[[pickups]]", 'name = "neck"', 'position = "neck"', f'construction = "{construction}"']
    out += ["[pickups.poles]", f"count = {draw.choice((count, 6))}"]
    for one in gauges:
        spelled = draw.choice((f"{one:g}", f"{one / 1000:.4f}", f'"{one:g}"'))
        out += ["[[strings]]", f"gauge = {spelled}"]
    return "\n".join(out) + "\n"


def _note(draw: random.Random, string: StringGauge, scale: float, bass: bool) -> str:
    """Return the note nearest to a drawn tension: 45 to 110 N on a guitar, 120 to 230 N on a bass, under 2 GPa."""
    most = 2e9 * 0.25 * math.pi * string.core_diameter**2
    pull = min(draw.uniform(120, 230) if bass else draw.uniform(45, 110), most)
    pitch = max(math.sqrt(pull / string.unit_mass) / (2 * scale), 21.0)
    number = round(12 * math.log2(pitch / 440.0)) + 57  # semitones above C0
    return f"{NAMES[number % 12]}{number // 12}"


@lru_cache(maxsize=1)
def _bench() -> Bench:
    return Bench(resolution=COARSE)


def tried(number: int) -> dict[str, str]:
    """Take set ``number`` every way that it is due; return by way what went wrong, empty where nothing did."""
    guitar, out = parse_guitar(drawn_file(number)), {}
    for way, run in WAYS.items():
        if number % EVERY.get(way, 1):
            continue
        try:
            run(guitar, _bench(), random.Random(number))
            out[way] = ""
        except InputError as error:
            out[way] = f"refused: {error}"
        except Exception as error:  # anything else is what is looked for here
            out[way] = f"exception: {error!r}"
    return out


def catalogue_row(name: str) -> Row:
    """Compare own strings of the gauges of the string set ``name`` with the set itself."""
    pickup = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "bar-single"\n'
    own = "".join(f"[[strings]]\ngauge = {round(s.diameter / 2.54e-5, 3)}\n" for s in STRING_SETS[name].strings)
    first, second = (
        np.array(strings(parse_guitar(text), "neck", bench=_bench()).sensitivity)
        for text in (pickup + own, f'string_set = "{name}"\n' + pickup)
    )
    worst = float(np.max(np.abs(first / second - 1.0)))
    return Row(
        case=name, quantity="sensitivity, own against catalogue", found=f"{100 * worst:.2f} % apart",
        reference="0 %", error=worst, tolerance=0.02,
    )  # fmt: skip


@study(
    "string-sets",
    "Own strings",
    f"{SETS} drawn sets of 4 to 9 own strings (gauges, spelling, tuning, scale, construction, poles, radius) through "
    f"what every command does; grades with every {EVERY['grades']}nd, a plan with every {EVERY['plan']}th of them, for "
    f"a plan takes longest. The mesh is coarse and the draws are {DRAWS}: what is looked for is an exception, "
    "the error is the share of sets that end in one. Refused, in words, is no exception; the drawn sets are all "
    "possible, so each refusal is counted. Then the catalogue's sets, said as own strings: the sensitivity of each "
    "string against the catalogue's on the same coarse mesh.",
)
def string_sets() -> Iterator[Row]:
    """Yield how many sets failed in each way, and how far own strings are from the catalogue's."""
    with two_processes() as pool:
        made = list(pool.map(tried, range(SETS), chunksize=5))
        rows = list(pool.map(catalogue_row, STRING_SETS))
    for way in WAYS:
        mine = {number: one[way] for number, one in enumerate(made) if way in one}
        failed = [number for number, words in mine.items() if words.startswith("exception")]
        refused = [number for number, words in mine.items() if words.startswith("refused")]
        first = "".join(f"; set {number}: {mine[number][:80]}" for number in [*failed, *refused][:1])
        yield Row(
            case=f"{len(mine)} sets", quantity=way,
            found=f"{len(failed)} exceptions, {len(refused)} refused{first}".replace("|", "/").replace("\n", " "),
            reference="none", error=len(failed) / len(mine), tolerance=0.0,
        )  # fmt: skip
    yield from rows
