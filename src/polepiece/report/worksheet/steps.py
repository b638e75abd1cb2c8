"""What is done, in order: each step belongs to the jobs that need it and appears on no other sheet.

All of it is common practice without a source.
"""

from collections.abc import Iterator
from dataclasses import replace

from polepiece.guitar import BenchStep
from polepiece.moves import KINDS, Change, Task
from polepiece.report.worksheet.facts import Facts
from polepiece.report.worksheet.readings import SET_STEP
from polepiece.report.worksheet.record import Step
from polepiece.shown_number import signed


def prepare(facts: Facts) -> tuple[Step, ...]:
    """Return what is done before anything is loosened."""
    out = [
        Step(key="recording", text="Record it as it is: open strings, one chord, one lead line; note the input level.")
    ]
    if facts.on_guitar:
        out.append(Step(key="photo", text=_photo(facts)))
    if facts.kinds & {"settings"}:
        out.append(Step(key="knobs", text="Note where every knob and the selector stand."))
    if facts.strings_off:
        what = "Same set and age afterwards, or record a second “before” with the new strings on the old pickup."
        out.append(Step(key="same_strings", text=what, kind="check"))
    if facts.opens or facts.solder or "charge" in facts.keys:
        out.append(Step(key="consent", kind="check", text="Owner's consent is signed (owner's sheet) before any iron."))
    return tuple(out)


def _photo(facts: Facts) -> str:
    if facts.lifts_out:
        return "Photograph it from above, from the side and, once out, from below with its lead."
    return (
        "Photograph the cavity and every joint." if facts.in_cavity else "Photograph it from above and from the side."
    )


def marking(facts: Facts) -> tuple[Step, ...]:
    """Return how the way round of the bar is found and marked before it moves; empty where no bar moves."""
    if not facts.bar_moves:
        return ()
    out = [
        Step(
            key="compass", kind="check",
            text="the compass itself, an arm's length from all magnets: its needle must point to geographic "
            "north (sun, map, building). A strong bar turns a cheap compass round for good.",
        ),
        Step(
            key="compass_rule",
            text="Rule: the needle's NORTH end points to the bar's SOUTH face. Bring the compass near slowly.",
        ),
        Step(key="mark", text=_mark(facts)),
    ]  # fmt: skip
    out.append(Step(key="way_round", text=_way_round(facts), kind="check"))
    out += [replace(_step(facts, one), kind="check") for one in facts.bar_work.checks]
    if facts.new_bar:
        out.append(Step(key="bought", kind="check", text=_bought(facts)))
    return tuple(out)


def _mark(facts: Facts) -> str:
    if facts.pickup.magnet.magnetised_through == "thickness":
        return (
            "Before the old bar moves: mark its upper face N or S with a felt pen, and the end under string 1; "
            "photograph it."
        )
    return (
        "Before the old bar moves: mark N on its north edge with a felt pen, an arrow on the edge that faces the "
        f"{facts.bar_work.bar_faces}, and the end under string 1; photograph it."
    )


def _way_round(facts: Facts) -> str:
    """Return which face goes where, by the record, and how sure that is."""
    magnet = facts.pickup.magnet
    upright = magnet.magnetised_through == "thickness"
    shown = facts.pickup.built.pole_shown(magnet, facts.pickup.poles)
    old, where = (f"{shown} up", "") if upright else (shown, f" to the {facts.bar_work.bar_faces}")
    if facts.assumed("magnet.flipped"):
        old_words = (
            f"The old bar has ____ {'up' if upright else where.strip()} (there is no standard; the file does not say)."
        )
    else:
        old_words = f"By the file the old bar has {old}{where}."
    if "flip" in facts.keys:
        return f"{old_words} It goes back with the other pole there. However you turn it, let the compass tell."
    if "magnet" in facts.keys or "finish" in facts.keys:
        return f"{old_words} The new bar shows the same pole there: let the compass tell before it goes in."
    return old_words


POLES_AT = {"width": "long edges", "thickness": "broad faces", "length": "ends"}  # of a bar, by its magnetisation


def _bought(facts: Facts) -> str:
    through = facts.pickup.magnet.magnetised_through
    want = POLES_AT[through]
    return (
        f"New bar magnetised through its {through}: two of them attract at their {want}. Stored on a keeper or in an "
        "attracting stack, never like pole on like pole, which weakens it."
    )


def opening(facts: Facts) -> tuple[Step, ...]:
    """Return how the pickup comes out and is opened."""
    out: list[Step] = []
    if facts.strings_off:
        off = "Slacken all strings evenly, take them off or capo them aside; block a floating bridge; cover the finish."
        out.append(Step(key="strings_off", text=off))
    if facts.lifts_out:
        out.append(
            Step(
                key="lift_out", text="Count the turns of the height screws on the way out; lift the pickup without "
                "pulling its lead."
            )
        )  # fmt: skip
    if facts.opens and facts.covered:
        out += [
            Step(
                key="uncover", text="Cover: clear the two solder spots on the base plate, big tip, short dwell (or cut "
                "the joint). Wax grips it: warm it, do not pry."
            ),
        ]  # fmt: skip
    return tuple(out)


def _step(facts: Facts, one: BenchStep) -> Step:
    """Return a step of a construction as it is said of this pickup."""
    return Step(key=one.key, text=one.uncovered if one.uncovered and not facts.covered else one.text)


def work(facts: Facts) -> tuple[Step, ...]:
    """Return the tasks themselves, one step or two for each change; first the way to the bar where it moves."""
    out = [_step(facts, one) for one in facts.bar_work.steps_to_the_bar] if facts.bar_moves else []
    tasks = list(zip(facts.changes, facts.tasks))
    for change, task in tasks:
        if not KINDS[task.kind].strings_on:
            out += _task(facts, change, task)
    out += _closing(facts)
    for change, task in tasks:
        if KINDS[task.kind].strings_on:
            out += _task(facts, change, task)
    return tuple(out)


def outcome(task: Task) -> str:
    """Return where things are afterwards, without the record's own convention of which way round a bar lies."""
    return task.to.replace(", turned end for end", "")


def _words(facts: Facts, change: Change, task: Task) -> str:
    if task.kind == "charge":
        return _charge(change)
    if task.kind == "cover":
        return _cover(change)
    if task.kind == "height":
        return _height(facts, task)
    if task.kind == "screws":
        return _screws(facts, task)
    if task.kind == "magnet":
        return facts.bar_work.new_bar_in.format(to=outcome(task))
    return KINDS[task.kind].step.format(to=outcome(task))


def _task(facts: Facts, change: Change, task: Task) -> Iterator[Step]:
    kind, name = task.kind, facts.pickup.name
    yield Step(key=f"do_{change.key}", text=_words(facts, change, task))
    if kind == "wiring" and facts.pickup.lead == "two-conductor" and facts.opens:
        yield Step(
            key="new_lead", text=f"{name} has a two-conductor lead: fit a four-conductor lead first, coil ends found "
            "with the meter, every splice sleeved and tied down."
        )  # fmt: skip
    if kind == "height":
        yield Step(key="measure_gap", kind="check", text="Measure the gap, not the turns; both outer strings.")


def _charge(change: Change) -> str:
    if change.value == "in-place":
        return (
            "Recharge it assembled, between the poles of a magnetiser made for it; a fridge or speaker magnet is far "
            "too weak. Bar clamped, hands clear."
        )
    if change.value == "outside":
        return (
            "Bar charged outside the pickup in a fixture, then put in: it works at a lower point than charged in place."
        )
    return (
        f"Weaken the charge to {change.value:.0%} in small steps; read the gauss after each. It cannot be put back "
        "without a magnetiser."
    )


def _cover(change: Change) -> str:
    if change.value == "off":
        return (
            "Cover stays off: clean the solder from the base plate, tape the coils, keep cover and screws in the bag."
        )
    metal = "nickel silver" if change.value in ("on", "nickel-silver") else str(change.value)
    sticks = "a fridge magnet sticks to it" if metal == "steel" else "a fridge magnet must not stick"
    return (
        f"Fit a {metal} cover ({sticks}): test the fit dry, no force over the coils, then two "
        "short solder spots on the base plate."
    )


def _height(facts: Facts, task: Task) -> str:
    return (
        f"Height screws: {task.direction} to {task.to}. A turn is {facts.pickup.built.height_turn} mm on most; "
        "clockwise usually raises: turn a little and look."
    )


def _screws(facts: Facts, task: Task) -> str:
    pitch = 1e3 * facts.pickup.poles.screw_pitch
    assumed = facts.assumed("poles.screw_pitch")
    told = "assumed: 0.635 is 40 threads an inch, an M3 moves 0.5; go by the gap" if assumed else "as the file has it"
    way = "anticlockwise = up, nearer to its string" if task.direction == "up" else "clockwise = down, further from it"
    return (
        f"Pole screws {task.direction} ({way}); a turn is {pitch:.4g} mm ({told}). String 1 is the "
        f"thin one. To: {task.to}."
    )


def _closing(facts: Facts) -> list[Step]:
    """Return how it goes back together."""
    out: list[Step] = []
    if facts.bar_moves:
        out.append(Step(key="snug", text=facts.bar_work.snug))
    if facts.bar_moves and facts.covered and facts.pickup_after.cover is not None:
        out.append(
            Step(
                key="recover", text="Before the cover: meter and squeal test at gain. Then cover on, two short solder "
                "spots, meter again."
            )
        )  # fmt: skip
    if facts.opens:
        squeal = "If it squeals: press cover, bar and springs one by one; re-wax only with consent."
        out.append(Step(key="squeal", text=squeal, kind="check"))
    if facts.lifts_out:
        out.append(Step(key="refit", text="Height screws back by the counted turns, then to the measured gaps."))
    if facts.strings_off and "strings" not in facts.kinds:
        out.append(Step(key="restring", text="The same strings back, tuned and stretched, before anything is judged."))
    return out


def stops(facts: Facts) -> tuple[Step, ...]:
    """Return when to lay the tools down."""
    out: list[tuple[str, str]] = []
    now, then = (one.dc_resistance_ohm for one in facts.states)
    coil = "DC resistance" if abs(then - now) < 1e-3 * now else "A coil's own DC resistance"
    if facts.coil_touched or facts.solder:
        out.append(
            (
                "dc",
                f"{coil} changed by more than 2 % at the same temperature, or wanders while the lead is moved.",
            )
        )
    if facts.coil_touched and (facts.pickup.base_plate is not None or facts.covered):
        out.append(("isolation", "Coil to base plate or cover is not open any more."))
    if facts.kinds & {"screws", "height"} or facts.lifts_out:
        what = "A screw or the bar needs force." if facts.bar_moves else "A screw needs force."
        out.append(("force", what))
    if facts.bar_moves:
        out.append(("chips", "The bar chips or cracks: no part of it may stay in the pickup; note it, another bar."))
    if facts.opens and (facts.covered or "cover" in facts.kinds):
        out.append(("cover", "The cover moves the coil or a bobbin comes up with it."))
    if facts.opens or facts.solder or "charge" in facts.keys:
        out.append(("consent", "The part is old or valuable and there is no written consent."))
    if not facts.opens and facts.kinds & {"screws", "height"}:
        out.append(("touches", "A string pressed at the last fret touches a pole, or the pitch warbles up the neck."))
    return tuple(Step(key=key, text=text, kind="stop") for key, text in out)


def check_out(facts: Facts) -> tuple[Step, ...]:
    """Return what is listened to at the end."""
    out = [Step(key="quiet", kind="check", text="Playback and amplifier level low first, then up.")]
    if facts.magnetic:
        out.append(Step(key="reset", text=_reset(facts)))
    if facts.pickup.built.can_split and (facts.opens or "wiring" in facts.kinds):
        out.append(Step(key="split", kind="check", text="If there is a split: tap each row in both switch positions."))
    if facts.on_guitar:
        out.append(Step(key="blind", text="Play before and after level-matched, without knowing which is which."))
    return tuple(out)


def _reset(facts: Facts) -> str:
    if facts.kinds & {"height", "screws"}:
        level = facts.found.difference["level_db"]
        return (
            f"At the planned height it is by the numbers {signed(level)} dB against before: turn the amplifier "
            "by that before judging, or you judge loudness."
        )
    moved = facts.reset
    if abs(moved) < SET_STEP:
        return "Judge it at the old height, with the old string balance; by the numbers it is as loud as before."
    pickup = facts.pickup_after
    bass, treble = (1e3 * (gap + moved) for gap in (pickup.gap_bass, pickup.gap_treble))
    short = abs((facts.found.difference_at_old_level or {}).get("level_db", 0.0)) >= 0.1
    far = "; the old loudness is not quite reached there" if short else ""
    return (
        f"Play it at the old height first. Then re-set to the old loudness: {'lower' if moved > 0 else 'raise'} by "
        f"about {abs(moved) * 1e3:.1f} mm, to {bass:.1f} mm bass, {treble:.1f} mm treble{far}. Otherwise "
        "you judge loudness."
    )


def caution_keys(facts: Facts) -> tuple[str, ...]:
    """Return the notes of `cautions` that concern this job."""
    keys = []
    if facts.on_guitar:
        keys.append("amplifier")
    if facts.strings_off:
        keys.append("strings")
    if facts.magnetic:
        keys.append("magnets")
    if facts.solder:
        keys.append("solder")
    if facts.opens and (facts.pickup.potted is not False):
        keys.append("wax")
    return tuple(keys)
