"""What is said of a row besides its numbers: by hand, heard or not, what is lost, where the trade and it part."""

from dataclasses import dataclass

from polepiece.bench import OF_ANY, State, heard_scale
from polepiece.moves import KINDS, hand_words, pickup_words
from polepiece.planning.record import Numbers
from polepiece.planning.rows import Judged
from polepiece.trade import not_found

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
    return Said(
        done=hand.short, done_in_full=hand.full, heard=_scale(judged, likely),
        loses=(*hand.loses, *_lost(judged, before)), parted=not_found(old, new, effect),
    )  # fmt: skip


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
