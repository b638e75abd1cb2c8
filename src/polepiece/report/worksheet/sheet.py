"""The work sheet of a chosen change: what to measure, how to do it, when to stop, and a page for the owner."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from polepiece import __version__
from polepiece.bench import Bench, position_of
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError
from polepiece.guitar import Assumption, Guitar, assumed_words, positions_of
from polepiece.materials import constants_hash
from polepiece.moves import Change, positions_words
from polepiece.planning import Candidate, hangs_on
from polepiece.report.cautions import DEFER, notes_for
from polepiece.report.worksheet import readings, steps
from polepiece.report.worksheet.bars import fit_of, trials
from polepiece.report.worksheet.facts import Facts, facts_of
from polepiece.report.worksheet.owner import effects_of, owner_sheet
from polepiece.report.worksheet.record import Section, WorkSheet

LONGEST = 80  # characters of a name or number: it has to fit in the head of a page
RISKS = ("low", "medium", "high")


def work_sheet(
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    bench: Bench | None = None,
    bars: Iterable[str] = (),
    bar_size: tuple[float, float, float] | None = None,
    position: str | None = None,
    customer: str | None = None,
    job: str | None = None,
    date: str | None = None,
    draws: int = DRAWS,
) -> WorkSheet:
    """Return the work sheet of ``changes`` on ``pickup``.

    Parameters
    ----------
    guitar : Guitar
        As it is before the job.
    pickup : str
        Name, or position where it is the only one there.
    changes : sequence of Change
        What is to be done; steps, readings and cautions are those of these changes and no others.
    bench : Bench, optional
        Shares solutions between calls; its seed is that of the intervals.
    bars : iterable of str
        Grades at hand to try in the same opening; the bar of the change is always among them.
    bar_size : (length, width, thickness), m, optional
        Of the new bar, measured. None: the usual long bar, with its scatter.
    position : str, optional
        Of the switches, in which the change is heard: effects, levels and heights that are re-set are those there.
        Default: the pickup as it is usually heard. What meters read is of the pickup by itself.
    customer, job, date : str, optional
        Printed at the head; otherwise there is a line to write on.
    draws : int
        Of the 90 % intervals.

    Raises
    ------
    InputError
        When a change cannot be made on this pickup (rods have no bar to swap), there is nothing to do, a fault has
        to be repaired first, the pickup is not on in ``position``, or ``bars`` or ``bar_size`` are given for a job in
        which no bar goes in.

    Notes
    -----
    Readings are those of `Bench.state`, `Bench.span` and `pole_tops`; effects those of `predict`. Steps, ranges
    and cautions are common practice without a source. All figures hold for a bar of the old one's size.
    """
    bench = bench or Bench()
    facts = facts_of(guitar, pickup, tuple(changes), draws=draws, bench=bench, position=position)
    there = bench.heard_in(position_of(guitar, facts.pickup.name, position))
    if bar_size is not None and not facts.new_bar:
        raise InputError("a bar size is given, but no bar goes in; leave it out or add magnet=...")
    fit = fit_of(facts, bar_size)
    candidate = Candidate(pickup=facts.pickup.name, changes=facts.changes, tasks=facts.tasks)
    hung = hangs_on(candidate, guitar)
    return WorkSheet(
        guitar=guitar.name, invented=guitar.invented, pickup=facts.pickup.name, construction=facts.pickup.construction,
        changes=tuple(one.text for one in facts.changes), position=facts.found.position,
        position_words=_position_words(facts),
        outcome=tuple(dict.fromkeys(steps.outcome(one) for one in facts.tasks)),
        minutes=sum(one.minutes for one in facts.tasks), risk=_risk(facts),
        parts=_parts(facts), customer=_head(customer, "customer"),
        job=_head(job, "job"), date=_head(date, "date"), sections=_sections(facts), effects=effects_of(facts),
        effects_note=_effects_note(facts), bars=trials(facts, bars, draws=draws, bench=there, size=bar_size), fit=fit,
        cautions=notes_for(steps.caution_keys(facts)), defer=DEFER, owner=owner_sheet(facts),
        hangs_on=() if hung is None else ((_assumed(hung, guitar), hung.settle),), seed=bench.seed,
        version=__version__, constants=constants_hash(),
    )  # fmt: skip


def with_head(
    sheet: WorkSheet, *, customer: str | None = None, job: str | None = None, date: str | None = None
) -> WorkSheet:
    """Return the same sheet with another head; nothing is computed again.

    Raises
    ------
    InputError
        When a line is too long for the head of a page.
    """
    return replace(sheet, customer=_head(customer, "customer"), job=_head(job, "job"), date=_head(date, "date"))


def _head(text: str | None, what: str) -> str | None:
    """Return one line for the head of the page, or None."""
    if text is None or not text.strip():
        return None
    plain = " ".join(text.split())
    if len(plain) > LONGEST:
        raise InputError(f"{what} has {len(plain)} characters; at most {LONGEST} fit in the head of the sheet.")
    return plain


def _assumed(one: Assumption, guitar: Guitar) -> str:
    return f"{assumed_words(one.path, guitar)}: {one.value}"


def _parts(facts: Facts) -> tuple[str, ...]:
    """Return what has to be there, without a price."""
    costs = ("one cover" if one.kind == "cover" and one.direction != "take off" else one.cost for one in facts.tasks)
    return tuple(dict.fromkeys(one for one in costs if not one.startswith("none")))


def _risk(facts: Facts) -> str:
    return max((one.risk for one in facts.tasks), key=lambda one: RISKS.index(one.partition(":")[0].partition(",")[0]))


def _position_words(facts: Facts) -> str:
    """Say in which position of the switches all of it is heard, and which the change moves; "" where there is one."""
    if len(positions_of(facts.guitar)) < 2:
        return ""
    return f"Heard in the position {facts.found.position}; the change moves what is heard " + positions_words(
        facts.guitar, facts.found.moved
    )


def _effects_note(facts: Facts) -> str:
    found = facts.found
    if not facts.resets or found.lowered is None:
        return "Bands are against the level: match the loudness by the amplifier before you judge."
    if abs((found.difference_at_old_level or {}).get("level_db", 0.0)) >= 0.1:
        return "The old loudness is not reached at any safe height; the last column is as near as it comes."
    way = "lowered" if found.lowered > 0 else "raised"
    return f"Last column: {way} by {abs(found.lowered) * 1e3:.1f} mm to be as loud as before."


def _sections(facts: Facts) -> tuple[Section, ...]:
    """Return the parts of the bench sheet that have anything in them, in the order of work."""
    strings = readings.per_string(facts, done=False)
    probe = (
        "Gauss: flat probe on the pole top, its element about 1 mm above; turn the probe for the largest reading; sign "
        "as read. " * bool(facts.tops)
    )
    every = (
        Section(
            key="baseline", title="Baseline, before anything is loosened",
            note="Without these there is no proof afterwards.", steps=steps.prepare(facts),
            blanks=readings.before(facts),
        ),
        Section(key="baseline_strings", title="String by string, before", note=probe.strip(), blanks=strings),
        Section(key="stops", title="Stop when", steps=steps.stops(facts)),
        Section(key="opening", title="On the way in", steps=steps.opening(facts)),
        Section(key="marking", title="Mark it, before the bar moves", steps=steps.marking(facts)),
        Section(key="work", title="The work", steps=steps.work(facts)),
        Section(key="after", title="Check-out", steps=steps.check_out(facts), blanks=readings.after(facts)),
        Section(
            key="after_strings", title="String by string, after", blanks=readings.per_string(facts, done=True)
        ),
    )  # fmt: skip
    return tuple(one for one in every if one.steps or one.blanks)
