"""Drawn sets of 4 to 9 own strings through what every command does: no exception, and the catalogue's figures."""

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from polepiece.auditioning.hearing import hear
from polepiece.bench import Bench, compare_grades, predict, strings
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar
from polepiece.moves import parse_changes
from polepiece.pickup.engine import COARSE
from polepiece.planning import make_plan, parse_complaints
from polepiece.report import work_sheet
from polepiece.sound import PHRASES
from polepiece.strings import STRING_SETS, StringGauge, string_of
from verification.registry import Row, study

SETS = 200
GUITARS = (8, 9, 9.5, 10, 11, 13, 16, 17, 18, 20, 24, 26, 30, 36, 42, 46, 52, 59, 68, 80)
BASSES = (30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105, 110, 125, 130, 135)
NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
WAYS: dict[str, Callable[[Guitar, Bench, random.Random], Any]] = {
    "predict": lambda g, b, r: predict(g, "neck", parse_changes(["lower=0.3mm"]), draws=8, bench=b),
    "grades": lambda g, b, r: compare_grades(g, "neck", slugs=("alnico-3", "ceramic-8"), draws=8, bench=b),
    "plan": lambda g, b, r: make_plan(g, bench=b, complaints=parse_complaints(["muddy"]), draws=8),
    "strings": lambda g, b, r: strings(g, "neck", bench=b),
    "hear": lambda g, b, r: hear(g, "neck", phrase=r.choice(list(PHRASES)), bench=b),
    "worksheet": lambda g, b, r: work_sheet(g, "neck", parse_changes(["lower=0.3mm"]), bench=b, draws=8),
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


@study("string-sets", "Own strings", "Drawn sets of 4 to 9 own strings through what every command does, coarse mesh")
def string_sets() -> Iterator[Row]:
    """Yield how many sets failed in each way, and how far own strings are from the catalogue's."""
    failed: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    bench = Bench(resolution=COARSE)
    for number in range(SETS):
        guitar = parse_guitar(drawn_file(number))
        for way, run in WAYS.items():
            try:
                run(guitar, bench, random.Random(number))
            except InputError:
                refused[way] += 1
            except Exception:  # anything else is what is looked for here
                failed[way] += 1
    for way in WAYS:
        found = f"{failed[way]} exceptions, {refused[way]} refused"
        yield Row(
            case=f"{SETS} sets", quantity=way, found=found, reference="none", error=float(failed[way]), tolerance=0.0
        )
    pickup = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "bar-single"\n'
    for name, one in STRING_SETS.items():
        own = "".join(f"[[strings]]\ngauge = {round(s.diameter / 2.54e-5, 3)}\n" for s in one.strings)
        first, second = (
            np.array(strings(parse_guitar(text), "neck", bench=bench).sensitivity)
            for text in (pickup + own, f'string_set = "{name}"\n' + pickup)
        )
        worst = float(np.max(np.abs(first / second - 1.0)))
        yield Row(
            case=name,
            quantity="sensitivity, own against catalogue",
            found=f"{100 * worst:.2f} % apart",
            reference="0 %",
            error=worst,
            tolerance=0.02,
        )
