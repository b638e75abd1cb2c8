"""Limits on what a change comes to: level and balance, which only a computed state can tell."""

from dataclasses import dataclass

from polepiece.bench import QUANTITIES, State, threshold_of
from polepiece.guitar import Guitar
from polepiece.moves import KINDS, Change
from polepiece.planning.candidates import Candidate
from polepiece.planning.constraints import KEPT_DB, Constraints
from polepiece.planning.estimates import StateBench
from polepiece.planning.jobs import Job
from polepiece.planning.scoring import Score

RESET_MINUTES = 5  # setting the gap anew after a change
ROUNDED = 0.05  # dB: what is shown as 0.0 is no step


@dataclass(frozen=True, kw_only=True)
class Use:
    """One way to use a candidate: the guitar after it, its state and score."""

    kind: str  # "" for a move; "as it is" or "re-set" for a bar
    guitar: Guitar
    state: State
    score: Score
    then: Change | None = None  # the height move beside the bar
    lowered: float | None = None  # m


class Bounds:
    """The limits of one job that its states are held against."""

    def __init__(self, bench: StateBench, job: Job, limits: Constraints, before: State) -> None:
        self.bench, self.job, self.limits, self.before = bench, job, limits, before

    def may_reset(self, candidate: Candidate) -> bool:
        """Tell whether the height may be re-set beside a bar: it is not kept, and there is time."""
        minutes = sum(task.minutes for task in candidate.tasks) + RESET_MINUTES
        return "height" not in self.limits.keep and (self.limits.minutes is None or minutes <= self.limits.minutes)

    def broken(self, candidate: Candidate, use: Use) -> str:
        """Return the limit that a state breaks, with the figure; "" where it keeps all."""
        moved = use.score.moved["level"]
        what = candidate.texts[0]
        if self.limits.keep_output and moved < -KEPT_DB:
            reason = f"keep the output: {what} takes {-moved:.1f} dB off the level"
            return reason + (", also at the smallest safe gap" if candidate.swap else "")
        within = self.limits.level_within
        if within is not None and abs(moved) > within + ROUNDED:
            return f"level within {within:g} dB: {what} moves it by {moved:+.1f} dB"
        for keys, sign, way in ((self.limits.not_less, -1.0, "less"), (self.limits.not_more, 1.0, "more")):
            for pickup, key in (one.rpartition(":")[::2] for one in keys):
                if pickup and self.job.base.pickup(pickup).name != self.job.pickup:
                    continue
                there = use.score.moved.get(key, 0.0)
                if sign * there >= threshold_of(key, self.before):
                    said = QUANTITIES[key].moved_words(there)
                    return f"no {way} {QUANTITIES[key].short}: with {what} {said}"
        return self._too_loud(candidate, use) or self._out_of_balance(candidate, use)

    def _out_of_balance(self, candidate: Candidate, use: Use) -> str:
        """Return which other pickup a change leaves further away in level than is allowed, and than it was."""
        within, here = self.limits.balance_within, self.job.pickup
        if within is None:
            return ""
        for other in (one.name for one in self.job.base.pickups if one.name != here):
            was = abs(self._level(here, None, candidate) - self._level(other, None, candidate))
            now = abs(self._level(here, use, candidate) - self._level(other, use, candidate))
            if now > max(within, was) + ROUNDED:
                return f"pickups within {within:g} dB: {candidate.texts[0]} leaves {here} {now:.1f} dB from {other}"
        return ""

    def _too_loud(self, candidate: Candidate, use: Use) -> str:
        for one, other in self.limits.not_louder:
            if self.job.pickup not in (one, other):
                continue
            was = self._level(one, None, candidate) - self._level(other, None, candidate)
            now = self._level(one, use, candidate) - self._level(other, use, candidate)
            if now > max(was, 0.0) + ROUNDED:
                return f"{one} not louder than {other}: {candidate.texts[0]} makes it {now:.1f} dB louder"
        return ""

    def _level(self, pickup: str, use: Use | None, candidate: Candidate) -> float:
        """Return the level of a pickup, dB: after a change (``use``) or before it; what it does not touch is kept."""
        if use is not None and pickup == self.job.pickup:
            return use.state.level_db
        both = candidate.also is not None or any(KINDS[task.kind].shared for task in candidate.tasks)
        guitar = use.guitar if use is not None and both else self.job.base
        return self.bench.state(guitar, pickup).level_db
