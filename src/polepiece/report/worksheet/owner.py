"""The one page that goes home with the guitar: what was, what was done, the way back, and what was agreed."""

from polepiece.bench import QUANTITIES, threshold_of
from polepiece.guitar import Complaint, grade_words
from polepiece.moves import Task, move_words
from polepiece.pickup import comes_back_whole
from polepiece.report.worksheet.bars import bar_slug
from polepiece.report.worksheet.facts import Facts
from polepiece.report.worksheet.record import Blank, Effect, OwnerSheet, Step
from polepiece.report.worksheet.steps import outcome
from polepiece.shown_number import signed

STRENGTH = {1: "slight", 2: "clear", 3: "strong"}
SHOWN = ("level", "lows", "mids", "highs", "presence", "wound", "resonance", "peak")
LOW_END = "low_level"
RATES = ("diagnosis", "labour", "parts and strings", "trials included", "if it is no improvement", "total")


def effects_of(facts: Facts) -> tuple[Effect, ...]:
    """Return what the change does by the numbers, level first, each with its 90 % interval."""
    found, out = facts.found, []
    for name in (*SHOWN, *_low_end_moved(facts), *_strings_moved(facts)):
        quantity = QUANTITIES[name]
        key = quantity.number or quantity.same or "resonance_hz"
        if key not in found.difference:
            continue
        unit = "Hz" if key == "resonance_hz" else quantity.unit
        same = found.difference_at_old_level
        again = same.get(key) if same is not None and facts.resets else None
        out.append(
            Effect(
                key=key, words=quantity.words, unit=unit, change=found.difference[key],
                interval=found.interval.get(key), change_at_old_level=again, digits=0 if unit == "Hz" else 1,
            )
        )  # fmt: skip
    return tuple(out)


def _low_end_moved(facts: Facts) -> tuple[str, ...]:
    """Return the low end that drives an amplifier where it moves: plans against a flabby low string promise it."""
    by = facts.found.difference.get(QUANTITIES[LOW_END].same or "", 0.0)
    return (LOW_END,) if abs(by) >= 0.5 * threshold_of(LOW_END, facts.found.before) else ()


def _strings_moved(facts: Facts) -> tuple[str, ...]:
    """Return the quantities of the strings that move against the others by at least half of what is just heard."""
    names = [f"string{number}" for number in range(1, len(facts.guitar.strings) + 1)]
    moved = {one: facts.found.difference.get(QUANTITIES[one].number or "", 0.0) for one in names if one in QUANTITIES}
    return tuple(one for one, by in moved.items() if abs(by) >= 0.5 * threshold_of(one, facts.found.before))


def owner_sheet(facts: Facts) -> OwnerSheet:
    """Return the owner's page of a job."""
    return OwnerSheet(
        told=tuple(_told(one) for one in facts.guitar.complaints if _concerns(one, facts)),
        done=tuple(f"{move_words(one.text)} ({outcome(task)})" for one, task in zip(facts.changes, facts.tasks)),
        before_after=_before_after(facts),
        heard=_heard(facts),
        returned=_returned(facts),
        way_back=tuple(dict.fromkeys(_way_back(task) for task in facts.tasks)),
        consents=_consents(facts),
        rates=RATES,
    )


def _way_back(task: Task) -> str:
    return f"{task.kind}: no way back" if task.way_back == "none" else task.way_back


def _told(one: Complaint) -> str:
    return f"{one.pickup or 'guitar'}: {one.word} ({STRENGTH.get(one.strength, one.strength)})"


def _concerns(one: Complaint, facts: Facts) -> bool:
    return one.pickup in (None, facts.pickup.name, facts.pickup.position)


def _before_after(facts: Facts) -> tuple[tuple[Blank, Blank], ...]:
    before, after = facts.pickup, facts.pickup_after
    pairs = []
    for side in ("bass", "treble") if facts.height_matters else ():
        was, then = (1e3 * float(getattr(one, f"gap_{side}")) for one in (before, after))
        then += 1e3 * facts.reset
        pairs.append(
            tuple(
                Blank(key=f"gap_{side}", label=f"gap {side}, pressed at the last fret", unit="mm", expected=v, digits=1)
                for v in (was, then)
            )
        )
    if facts.coil_touched or facts.solder:
        ohm = [one.dc_resistance_ohm / 1e3 for one in facts.states]
        pairs.append(tuple(Blank(key="dc", label="DC resistance", unit="kΩ", expected=v, digits=2) for v in ohm))
    if facts.new_bar:
        bars = [grade_words(bar_slug(one.magnet.grade, one.magnet.finish)) for one in (before, after)]
        pairs.append(tuple(Blank(key="bar", label="bar", words=v) for v in bars))
    pairs.append(tuple(Blank(key="strings", label="strings, age", words=v) for v in _strings(facts)))
    return tuple(pairs)  # type: ignore[arg-type]


def _strings(facts: Facts) -> tuple[str, str]:
    then = facts.after.strings_called if "strings" in facts.kinds else "the same"
    return facts.guitar.strings_called, then


def _heard(facts: Facts) -> tuple[str, ...]:
    """Return the prediction in plain sentences; what nobody can hear is said to be that."""
    found, out = facts.found, []
    level, span = found.difference["level_db"], found.interval.get("level_db")
    out.append(f"Loudness: {_moved(level, span)} {_where(facts)}{_range(span)}.")
    same = found.difference_at_old_level if facts.resets else None
    shown = found.difference if same is None else same
    parts = []
    for band in ("lows", "mids", "highs", "presence"):
        move = shown[f"bands_db.{band}"]
        if abs(move) >= threshold_of(band, found.before):
            parts.append(f"{band} {signed(move)} dB")
    matched = "" if same is None else " with the height re-set to the old loudness"
    if parts:
        out.append(f"Tone{matched}: {', '.join(parts)} against the rest.")
    else:
        out.append(f"Tone{matched}: every band moves by less than 1 dB, less than one pick stroke to the next.")
    for one in _low_end_moved(facts):
        by_itself = found.difference[QUANTITIES[one].same or ""]
        out.append(f"Low end that reaches the amplifier, as it drives it: {signed(by_itself)} dB.")
    if moved := _strings_moved(facts):
        by = {one: found.difference[QUANTITIES[one].number or ""] for one in moved}
        said = ", ".join(f"{QUANTITIES[one].short} {signed(by[one])} dB" for one in moved)
        out.append(f"Strings against one another: {said}.")
    out.append("Predicted, not promised: feel and taste are not computed. Listen before and after at equal loudness.")
    return tuple(out)


def _where(facts: Facts) -> str:
    if facts.kinds & {"height", "screws"}:
        return "at the new height"
    return "at the same height" if facts.on_guitar else "with it"


def _moved(value: float, span: "tuple[float, float] | None") -> str:
    if abs(value) < 0.05:
        return "as before"
    return f"{signed(value)} dB ({'louder' if value > 0 else 'quieter'})"


def _range(span: "tuple[float, float] | None") -> str:
    return "" if span is None else f", 90 % between {signed(span[0])} and {signed(span[1])}"


def _returned(facts: Facts) -> tuple[Step, ...]:
    out = []
    if facts.new_bar:
        count = facts.pickup.built.bars
        bars = f"Original bars ({count})" if count > 1 else "Original bar"
        side = facts.bar_work.bar_faces
        text = f"{bars} returned, bagged, marked: which pickup, north edge, side to the {side}"
        out.append(Step(key="bar", text=text))
    if facts.kinds & {"pots", "capacitor", "bleed"}:
        out.append(Step(key="parts", text="Old electrical parts returned, bagged and labelled"))
    if "cover" in facts.keys and facts.covered:
        out.append(Step(key="cover", text="Original cover and its screws returned"))
    out.append(Step(key="recordings", text="Recordings before and after handed over"))
    if facts.on_guitar:
        out.append(Step(key="photos", text="Photographs before and after handed over"))
    return tuple(out)


def _consents(facts: Facts) -> tuple[Step, ...]:
    """Return what the owner has to agree to before the iron is hot; nothing that this job does not need."""
    out = []
    if facts.solder:
        out.append(Step(key="unsolder", text="Joints may be unsoldered and soldered again."))
    if facts.opens and facts.pickup.potted is not False:
        out.append(Step(key="rewax", text="The pickup may be waxed again if it squeals."))
    if "charge" in facts.keys:
        out.append(
            Step(
                key="recharge",
                text="The magnet may be recharged or weakened; its present aged state cannot be brought back.",
            )
        )  # fmt: skip
    if facts.bar_moves and not comes_back_whole(facts.pickup):
        was = "was" if facts.pickup.magnet.charge == "in-place" else "may have been"
        out.append(
            Step(
                key="weaker",
                text=f"The old bar {was} charged inside the pickup; put back, it is weaker unless recharged there.",
            )
        )  # fmt: skip
    return tuple(out)
