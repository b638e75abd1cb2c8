"""Repair first: what the plan says when the fault gate is shut, and the one cure that belongs to it."""

from polepiece.bench import BAND_SOURCE, IN_A_MIX, heard_scale
from polepiece.errors import InputError
from polepiece.guitar import Complaint, Guitar
from polepiece.moves import hand_words, parse_changes
from polepiece.planning.candidates import Candidate, Refusal, tasks_of
from polepiece.planning.cheap_causes import cheap_causes
from polepiece.planning.constraints import Constraints, refusal
from polepiece.planning.faults import PHASE
from polepiece.planning.gate import Finding
from polepiece.planning.record import Plan, Row
from polepiece.planning.words import hangs_on


def repair_first(
    guitar: Guitar, told: tuple[Complaint, ...], findings: tuple[Finding, ...], limits: Constraints
) -> Plan:
    """Return the plan that stops before any voicing."""
    rows, refused = _phase_cures(guitar, told, limits) if _only_phase(findings) else ([], [])
    return Plan(
        verdict="repair-first", complaints=told, repair_first=findings, cheap_causes=cheap_causes(guitar, told),
        advice=(), constraints=limits.texts, rows=tuple(rows), rest=(), refused=tuple(refused), bars_to_have=(),
        considered=len(rows) + len(refused),
    )  # fmt: skip


def _only_phase(findings: tuple[Finding, ...]) -> bool:
    return all(one.fault == PHASE for one in findings)


def _phase_cures(guitar: Guitar, told: tuple[Complaint, ...], limits: Constraints) -> tuple[list[Row], list[Refusal]]:
    """Return the flip as the cure of phase, one row for each pickup whose bar can be turned; turn one, not both.

    For tone a flip is never offered: it does nothing to one pickup alone.
    """
    rows: list[Row] = []
    refused: list[Refusal] = []
    name = ", ".join(one.word for one in told) or PHASE
    for pickup in sorted(guitar.pickups, key=lambda one: (one.cover is not None, one.magnet.charge != "outside")):
        if pickup.lead == "four-conductor":
            reason = "four conductors: exchange the leads instead, the shield stays on ground"
            refused.append(Refusal(change=("flip=yes",), reason=reason, pickup=pickup.name))
            continue
        try:
            changes = parse_changes(["flip=yes"])
            tasks = tasks_of(guitar, pickup.name, changes)
        except InputError as error:
            refused.append(Refusal(change=("flip=yes",), reason=str(error), pickup=pickup.name))
            continue
        broken = refusal(changes, tasks, limits, pickup.name)
        if broken is not None:
            refused.append(Refusal(change=("flip=yes",), reason=broken, pickup=pickup.name))
            continue
        rows.append(_flip_row(len(rows) + 1, name, Candidate(pickup=pickup.name, changes=changes, tasks=tasks), guitar))
    return rows, refused


def _flip_row(rank: int, name: str, candidate: Candidate, guitar: Guitar) -> Row:
    hangs = hangs_on(candidate, guitar)
    task = candidate.tasks[0]
    hand = hand_words(guitar, candidate.act(guitar), candidate.pickup, candidate.changes)
    return Row(
        rank=rank, complaint=name, change=candidate.texts, also=None, kind="flip", pickup=candidate.pickup,
        direction=task.direction, to=task.to, then=None, use="", free=task.free, reversible=task.reversible, effect={},
        effect_at_old_level=None, interval={}, interval_at_old_level={}, better=("phase with the other pickup",),
        worse=(), unchanged=("each pickup alone",), strings=(), likely_heard="yes", threshold=1.0, threshold_unit="dB",
        threshold_source=BAND_SOURCE, fit="n/a", minutes=task.minutes, cost=task.cost, way_back=task.way_back,
        risk=task.risk,
        why="Turns the phase with the other pickup; one pickup alone sounds and hums as before. Turn the bar of one "
        "pickup, not of both, and only after the tap test. The way for a braided lead or a grounded cover.",
        hangs_on=hangs.path if hangs else None, settle=hangs.settle if hangs else None, score=0.0, decides=None,
        done=hand.short, done_in_full=hand.full, heard=heard_scale(IN_A_MIX), loses=hand.loses,
    )  # fmt: skip
