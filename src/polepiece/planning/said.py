"""What is said of a row besides its numbers: by hand, heard or not, what is lost, where the trade and it part."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from polepiece.bench import OF_ANY, State, heard_scale
from polepiece.guitar import controls_of
from polepiece.moves import KINDS, hand_words, pickup_words, string_words
from polepiece.planning.record import Numbers
from polepiece.planning.rows import Judged
from polepiece.trade import not_found

_DOWN = re.compile(r"\bdown [\d.]+ mm")
BALANCE = 0.5  # dB against the other pickups from which it is said; half of what is heard side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Fields of `record.Row` in words."""

    done: str
    done_in_full: str
    heard: str
    loses: tuple[str, ...]
    parted: str


def said_of(judged: Judged, before: State, likely: str, effect: Numbers) -> Said:
    """Return what is said of one row.

    Parameters
    ----------
    judged : Judged
    before : State
    likely : str
        "yes", "maybe" or "no", from `scoring.heard_word` or `scoring.heard_at_all`.
    effect : mapping
        At the same gap, by dotted key; what a bar's saying is held against.
    """
    best, candidate, base = judged.best, judged.candidate, judged.job.base
    then = () if best.then is None else (best.then,)
    hand = hand_words(base, best.guitar, candidate.pickup, (*candidate.changes, *then), also=candidate.also)
    old, new = (one.pickup(candidate.pickup).magnet.grade for one in (base, best.guitar))
    target = _target(judged)
    parted = not_found(old, new, effect) or _other_cable(judged)
    return Said(
        done=target(hand.short), done_in_full=target(hand.full), heard=_scale(judged, likely),
        loses=(*hand.loses, *_lost(judged, before)), parted=parted,
    )  # fmt: skip


def _other_cable(judged: Judged) -> str:
    """Return where the trade's word on a longer or shorter cable and a row part."""
    wanted = judged.job.aims.weights
    base, after = (controls_of(one, judged.candidate.pickup) for one in (judged.job.base, judged.best.guitar))
    longer = after.cable_capacitance - base.cable_capacitance
    top = wanted.get("presence", 0.0) + wanted.get("highs", 0.0)
    if not longer or top * longer <= 0.0:
        return ""
    moved = judged.best.score.moved
    said, way = ("longer cable darker", "down") if longer > 0 else ("shorter cable brighter", "up")
    return (
        f"People call a {said}; computed here, the resonance goes {way} and with it "
        f"highs {moved.get('highs', 0.0):+.1f}, presence {moved.get('presence', 0.0):+.1f} dB."
    )


def _target(judged: Judged) -> Callable[[str], str]:
    """Return what makes a step of the height a target, where that is what answers: "down to 4.4 mm"."""
    changes = judged.candidate.changes
    if not judged.job.pulls or len(changes) != 1 or not changes[0].key.startswith("lower"):
        return lambda words: words
    there = judged.best.guitar.pickup(judged.candidate.pickup)
    last = string_words(len(judged.job.base.strings))
    whose = "" if changes[0].key == "lower_bass" else f" under the {last} string"
    return lambda words: _DOWN.sub(f"down to {there.gap_bass * 1e3:.1f} mm{whose}", words, count=1)


def _scale(judged: Judged, likely: str) -> str:
    """Return the scale of the answer; where `scoring` was not sure, it is not either."""
    score = judged.best.score
    sizes = [abs(score.in_thresholds.get(key, 0.0)) for key in OF_ANY]
    size = score.heard if judged.job.aims.weights else max(sizes)
    return heard_scale(size, sure=likely == "yes")


def _lost(judged: Judged, before: State) -> tuple[str, ...]:
    """Return hum, balance with the other pickups, and a bar that does not come back whole."""
    candidate, after = judged.candidate, judged.best.state
    out = []
    if before.hum_cancelling and not after.hum_cancelling:
        out.append("hum no longer cancels")
    others = [one.name for one in judged.job.base.pickups if one.name != candidate.pickup]
    alone = candidate.also is None and not any(KINDS[task.kind].shared for task in candidate.tasks)
    louder = after.level_db - before.level_db
    if others and alone and "level" not in judged.job.aims.weights and abs(louder) >= BALANCE:
        way = "louder" if louder > 0 else "quieter"
        against = f"the {pickup_words(others[0])}" if len(others) == 1 else "the other pickups"
        out.append(f"{abs(louder):.1f} dB {way} against {against}")
    if not judged.reversible:
        out.append("no whole way back")
    return tuple(out)


def once_said(sentences: Iterable[str]) -> list[str]:
    """Return sentences of which none repeats a saying with other figures; a saying ends at its ";"."""
    out: dict[str, str] = {}
    for one in sentences:
        out.setdefault(one.partition(";")[0], one)
    return list(out.values())
