"""Guitars drawn at random over constructions, strings and circuits, as one would write them, and all asked of each.

``python -m tests.examples.drawn_guitars FIRST COUNT`` goes through many; what is drawn is decided by its number. The
ranges are those of the trade (common practice, no source); no instrument stands behind any of it.
"""

import json
import math
import random
import sys
import time
import traceback
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, get_args

from polepiece.bench import Bench, coarse_bench, predict
from polepiece.errors import PolepieceError
from polepiece.guitar import CONSTRUCTIONS, Construction, Guitar, cautions, parse_guitar, positions_of, write_guitar
from polepiece.guitar.controls import Template
from polepiece.materials import pickup_bars
from polepiece.moves import apply, parse_changes
from polepiece.planning import complaints_of, make_plan, parse_constraints, plan_json, read_complaints
from polepiece.report import work_sheet, worksheet_html

SETS = {
    4: ("45 65 80 100", "40 55 75 95"), 5: ("45 65 80 100 130",), 6: ("9-42", "10-46", "11-49", "12 16 24w 32 42 54"),
    7: ("10-59", "10 13 17 26 36 46 56"), 8: ("9 11 16 24 32 42 54 65", "10 13 17 26 36 46 59 74"),
}  # fmt: skip
SCALES = {4: (762, 864), 5: (864, 889), 6: (610, 648, 686), 7: (648, 673), 8: (686, 711)}  # mm
COMPLAINTS = ("muddy", "piercing", "dull", "boomy", "thin", "harsh", "too quiet", "loose", "uneven", "nasal")
CHANGES = ("lower=0.3mm", "raise=0.2mm", "tone_cap=10nF", "cable=300pF", "magnet=alnico-3", "screws=up 1/2 turn")
NETLIST = """elements = [
  {{ name = "coil", kind = "pickup", a = "hot", b = "ground", pickup = "{first}" }},
  {{ name = "volume", kind = "pot", a = "hot", wiper = "jack", b = "ground", resistance_kohm = {volume} }},
  {{ name = "tone", kind = "pot", a = "hot", wiper = "hot", b = "foot", resistance_kohm = 500 }},
  {{ name = "tone cap", kind = "capacitor", a = "foot", b = "ground", capacitance_nf = {cap} }},
  {{ name = "choke", kind = "inductor", a = "jack", b = "trap", inductance_h = 1.2 }},
  {{ name = "notch", kind = "switch", a = "trap", b = "end", closed = ["notched"] }},
  {{ name = "loss", kind = "resistor", a = "end", b = "ground", resistance_kohm = {loss} }},
  {{ name = "bleeder", kind = "resistor", a = "trap", b = "ground", resistance_kohm = 4700 }},
]
positions = [{{ name = "plain" }}, {{ name = "notched" }}]
"""


def drawn_pickup(draw: random.Random, name: str, place: str, one: Construction) -> str:
    """Return the table of one pickup."""
    bass = draw.choice((2.2, 2.6, 3.0, 3.5)) + (0.8 if one.magnet_is_the_pole else 0.0)
    lines = [f'name = "{name}"', f'position = "{place}"', f'construction = "{one.slug}"']
    if draw.random() < 0.8:
        lines += [f"gap_bass_mm = {bass}", f"gap_treble_mm = {round(bass - draw.choice((0.0, 0.3, 0.5)), 2)}"]
    if draw.random() < 0.6:
        lines.append(f"resistance_kohm = {draw.choice((6.0, 7.2, 8.4, 10.5))}")
    if draw.random() < 0.3 and len(one.wirings) > 1:
        lines.append(f'wiring = "{draw.choice(one.wirings)}"')
    if draw.random() < 0.2:
        lines.append('wound = "reverse"')
    if one.takes_metal_cover and draw.random() < 0.25:
        lines.append(f'cover = "{draw.choice(("nickel-silver", "brass"))}"')
    grade = draw.choice(pickup_bars.LIKELY)
    charge = draw.choice(("outside", "in-place", "unknown", 0.8))
    magnet = [f'magnet.grade = "{grade}"'] + [f"magnet.charge = {json.dumps(charge)}"] * (draw.random() < 0.5)
    if draw.random() < 0.2:
        magnet.append("magnet.flipped = true")
    return "\n".join(["[[pickups]]", *lines, *magnet])


def drawn_controls(draw: random.Random, named: dict[str, Construction]) -> Iterator[str]:
    """Yield tables of controls, the least usual first; the first that fits is taken."""
    first = next(iter(named))
    if draw.random() < 0.2:
        yield NETLIST.format(first=first, volume=draw.choice((250, 500)), cap=draw.choice((10, 22, 47)),
                             loss=draw.choice((1, 10, 100)))  # fmt: skip
    many = {
        name: [way for way in one.wirings if way != "series"] for name, one in named.items() if len(one.wirings) > 1
    }
    pulled = [f"{name}: {draw.choice([*ways, 'phase'])}" for name, ways in many.items() if draw.random() < 0.6]
    values = [
        f'volume_pot = "{draw.choice(("250k", "500k", "1M"))}"',
        f'tone_cap = "{draw.choice((".022", "47n", "10n"))}"',
    ]
    values += [f"cable_pf = {draw.choice((200, 500, 900))}"] * (draw.random() < 0.5)
    if pulled:
        values.append(f"push_pull = {json.dumps(pulled)}")
    templates = [one for one in get_args(Template) if one != "as-listed"]
    draw.shuffle(templates)
    for one in templates:
        yield "\n".join([f'template = "{one}"', *values])
    yield "\n".join(values)


def drawn_guitar(number: int) -> Guitar:
    """Return the guitar of this number; its first pickup goes through the constructions in turn."""
    draw = random.Random(number)
    strings = 4 + number % 5
    places = draw.sample(("neck", "middle", "bridge"), draw.choice((1, 2, 2, 3)))
    built = [CONSTRUCTIONS[number % len(CONSTRUCTIONS)], *draw.choices(CONSTRUCTIONS, k=len(places) - 1)]
    named = dict(zip(places, built))
    pickups = "\n".join(drawn_pickup(draw, name, name, one) for name, one in named.items())
    head = f'name = "Drawn {number} (invented)"\ninvented = true\nscale_length_mm = {draw.choice(SCALES[strings])}\n'
    chosen = draw.choice(SETS[strings])
    known = "-" in chosen
    head += f'string_set = "{chosen}"\n' if known else ""
    own = "" if known else "\n".join(f'[[strings]]\ngauge = "{one}"' for one in chosen.split())
    faults = []
    for controls in drawn_controls(draw, named):
        try:
            return parse_guitar(f"{head}[controls]\n{controls}\n{pickups}\n{own}\n")
        except PolepieceError as error:
            faults.append(str(error))
    raise AssertionError(f"no circuit fits {number}:\n{head}{pickups}{own}\n" + "\n".join(faults))


def not_finite(value: Any, path: str = "") -> list[str]:
    """Return where a JSON value holds a number that is none, or an empty row."""
    if isinstance(value, dict):
        return [found for key, one in value.items() for found in not_finite(one, f"{path}.{key}")]
    if isinstance(value, list | tuple):
        return [found for key, one in enumerate(value) for found in not_finite(one, f"{path}[{key}]")]
    return [path] if isinstance(value, float) and not math.isfinite(value) else []


def asked_everything(number: int, guitar: Guitar | None = None, bench: Bench | None = None) -> dict[str, Any]:
    """Return what a drawn guitar was and what came of check, predict, plan and work sheet; raise where one fails."""
    guitar = guitar or drawn_guitar(number)
    draw, bench = random.Random(-number), bench or coarse_bench()
    assert parse_guitar(write_guitar(guitar)) == guitar
    odd = list(cautions(guitar))
    pickup = guitar.pickups[0]
    position = draw.choice([None, *(one.name for one in positions_of(guitar) if pickup.name in one.on)])
    wanted = [one for one in CHANGES if _made(guitar, pickup.name, one)]
    change = draw.choice(wanted)
    found = predict(guitar, pickup.name, parse_changes([change]), position=position, draws=8, bench=bench)
    faults = not_finite({"difference": dict(found.difference), "interval": dict(found.interval)})
    sounds = draw.choice(COMPLAINTS)
    said = read_complaints([f"{pickup.name}: {sounds}"], guitar)
    told = [one for reading in said for one in complaints_of(reading)]
    limits = parse_constraints(["keep the screws"] if pickup.built.has_screws else [], guitar)
    plan = make_plan(guitar, bench, told, limits, draws=8, position=position)
    body = json.loads(json.dumps(plan_json(plan, everything=True)))
    faults += not_finite(body)
    assert plan.verdict == "repair-first" or plan.rows, "a plan without a row"
    for row in (*plan.rows, *plan.rest):
        assert row.why and (row.done or not row.change), row
        assert not row.change or row.effect or not row.score, row
    sheet = work_sheet(guitar, pickup.name, parse_changes([change]), bench=bench, position=position)
    page = worksheet_html(sheet, paper="a4", part="both", filled={})
    faults += [f"work sheet: {word}" for word in (">nan", "nan ", "None<", ">None", "inf ") if word in page]
    assert not faults, faults
    return {
        "strings": len(guitar.strings), "built": [one.construction for one in guitar.pickups],
        "circuit": guitar.controls.template if not guitar.controls.elements else "netlist",
        "pulled": list(guitar.controls.push_pull), "position": position, "change": change, "complaint": sounds,
        "rows": len(plan.rows), "rest": len(plan.rest), "odd": odd,
    }  # fmt: skip


def _made(guitar: Guitar, pickup: str, change: str) -> bool:
    try:
        return replace(apply(guitar, pickup, parse_changes([change])), assumed=guitar.assumed) != guitar
    except PolepieceError:
        return False


def main(first: int, count: int) -> int:
    """Go through many, a line each; return how many ended in an error."""
    failed = 0
    for here in range(first, first + count):
        begun = time.process_time()
        try:
            said = json.dumps(asked_everything(here))
        except Exception:
            said, failed = f"FAILED\n{traceback.format_exc(limit=-4)}", failed + 1
        sys.stdout.write(f"{here} {said} {time.process_time() - begun:.1f} s\n")
        sys.stdout.flush()
    return failed


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2])) > 0)
