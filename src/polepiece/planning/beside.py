"""What a change does to the pickups that it was not made for: a part behind the switch is heard on all of them."""

from collections.abc import Iterable

from polepiece.bench import OF_ANY, QUANTITIES, Bench, State, difference, loudest, threshold_of
from polepiece.guitar import Guitar, SwitchPosition, is_heard
from polepiece.moves import KINDS, apply, pickup_words
from polepiece.planning.candidates import Candidate
from polepiece.planning.estimates import StateBench
from polepiece.planning.rows import Judge, Judged


def is_shared(candidate: Candidate) -> bool:
    """Tell whether a candidate moves other pickups too: a part behind the switch, strings, cable."""
    return any(KINDS[task.kind].shared for task in candidate.tasks)


def spoiled(judged: Judged, others: Iterable[Judge]) -> str:
    """Return which other complaint a change makes worse, in words; "" where it makes none.

    Parameters
    ----------
    judged : Judged
    others : iterable of Judge
        Of the other complaints of the same plan, each heard in its own setting.
    """
    candidate = judged.candidate
    for other in others:
        if not other.job.aims.weights or not (is_shared(candidate) or other.job.pickup == candidate.pickup):
            continue
        after = candidate.act(other.job.base)
        if judged.best.then is not None:
            after = apply(after, candidate.pickup, [judged.best.then])
        score = other.score_of(after, candidate)
        worse = [key for key in score.worse if key in other.job.aims.main]
        if score.total < 0.0 and worse:
            key = max(worse, key=lambda one: abs(score.in_thresholds[one]))
            told = QUANTITIES[key].moved_words(score.moved[key])
            return f"{other.job.name} ({other.job.pickup}) gets worse: {told} with {candidate.texts[0]}"
    return ""


class Beside:
    """What rows do to the pickups that nobody complained of."""

    def __init__(self, bench: StateBench, base: Guitar, pickup: str, jobs: Iterable[str]) -> None:
        self.bench, self.base = bench, base
        known = tuple(jobs)
        names = [one.name for one in base.pickups if is_heard(base, one.name)]
        self.names = [one for one in names if one != pickup and one not in known]
        self._before: dict[str, State] = {}

    def losses(self, judged: Judged) -> tuple[str, ...]:
        """Return what is heard of a shared change on each of them; nothing for what is one pickup's own."""
        found: dict[str, list[str]] = {}
        for name in self.names:
            if words := self._heard(judged, name):
                found.setdefault(words, []).append(name)
        return tuple(f"{words} on the {' and '.join(map(pickup_words, names))} too" for words, names in found.items())

    def disturbed(self, judged: Judged, left: Iterable[str]) -> str:
        """Return which of the pickups that are to be left alone a shared change is heard on; "" where it is on none."""
        for name in left:
            if name in self.names and (words := self._heard(judged, name)):
                return f"leave {name} alone: {judged.candidate.texts[0]} is heard there too ({words})"
        return ""

    def _bench_of(self, name: str) -> StateBench:
        """Return the bench of a pickup: in the plan's position if it is on there, else where it is usually heard."""
        bench = self.bench
        if not isinstance(bench, Bench) or bench.heard is None:
            return bench
        on = bench.heard.on if isinstance(bench.heard, SwitchPosition) else bench.heard
        return bench if name in on else bench.heard_in(None)

    def _heard(self, judged: Judged, name: str) -> str:
        """Return what moves most on another pickup, where it is heard side by side; "" where nothing is."""
        if not is_shared(judged.candidate) or judged.candidate.also is not None:
            return ""
        bench = self._bench_of(name)
        if name not in self._before:
            self._before[name] = bench.state(self.base, name)
        moved = difference(self._before[name], bench.state(judged.best.guitar, name))
        key = loudest(moved, OF_ANY)
        if key is None or abs(moved[QUANTITIES[key].number]) < threshold_of(key):
            return ""
        return QUANTITIES[key].beside_words(moved[QUANTITIES[key].number])
