"""From complaints to jobs: one for each pickup and setting in which something is complained about."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from polepiece.bench import State, pickups_on
from polepiece.errors import InputError
from polepiece.guitar import Complaint, Guitar, Pickup, controls_of, positions_of, with_controls
from polepiece.moves import rewire
from polepiece.planning.complaint_word import View, Word
from polepiece.planning.complaints import spelled_out, sudden, word_of
from polepiece.planning.estimates import StateBench
from polepiece.planning.scoring import Aims, aims_of

TURNED_DOWN = 5.0  # setting of the volume at which "dark when volume is down" is judged


@dataclass(frozen=True)
class Job:
    """Everything that is complained about one pickup in one setting."""

    pickup: str
    words: tuple[tuple[Word, int], ...]
    complaints: tuple[Complaint, ...]
    base: Guitar  # in the setting in which it is heard
    view: View = ""
    partner: str | None = None  # the other pickup of a mismatch
    position: str | None = None  # of the switch in which it is heard; None: the pickup by itself
    told_louder: str | None = None  # the pickup of the two that was said to be louder

    @cached_property
    def aims(self) -> Aims:
        """What is wanted; of pull all of it is, for its answer is a target and no step."""
        found = aims_of(self.words)
        return replace(found, enough=inf) if self.pulls else found

    @property
    def pulls(self) -> bool:
        """Whether the magnets are said to pull the strings: a target gap answers, not a step."""
        return any(word.name == "warbling" for word, _ in self.words)

    @property
    def first(self) -> tuple[tuple[str, ...], ...]:
        """First free moves of its words."""
        has_screws = self.base.pickup(self.pickup).built.has_screws
        moves = [move for word, _ in self.words for move in word.first]
        return tuple((move,) for move in moves if has_screws or "screw" not in move)

    @property
    def name(self) -> str:
        """The complaint in words."""
        return ", ".join(one.word for one in self.complaints)


def jobs_of(guitar: Guitar, complaints: Iterable[Complaint], leave: tuple[str, ...] = ()) -> tuple[Job, ...]:
    """Return the jobs in the order of the complaints; pickups in ``leave`` stay as they are where another can move.

    Raises
    ------
    InputError
        For an unknown word or pickup, or a mismatch of pickups where there is one.
    """
    grouped: dict[tuple[str, View, str | None, str | None], list[tuple[Word, Complaint]]] = {}
    for one in spelled_out(complaints, guitar):
        word = word_of(sudden(one.word)[1])
        pickup, partner = _where(guitar, one, word)
        if partner is not None and pickup in leave and partner not in leave:
            pickup, partner = partner, pickup
        grouped.setdefault((pickup, word.view, partner, one.position), []).append((word, one))
    return tuple(
        Job(
            pickup=pickup, words=tuple((word, one.strength) for word, one in found),
            complaints=tuple(one for _, one in found), base=_heard_in(guitar, pickup, view), view=view, partner=partner,
            position=position, told_louder=_told_louder(guitar, found[0][1], found[0][0]),
        )
        for (pickup, view, partner, position), found in grouped.items()
    )  # fmt: skip


def _where(guitar: Guitar, complaint: Complaint, word: Word) -> tuple[str, str | None]:
    if word.kind == "pair":
        if len(guitar.pickups) < 2:
            raise InputError(f"{complaint.word}: this guitar has one pickup; there is nothing to match it with.")
        if word.other is not None:
            return guitar.pickup(_told_louder(guitar, complaint, word) or "").name, guitar.pickup(word.other).name
        by_place = sorted(guitar.pickups, key=lambda one: -one.distance_from_bridge)
        return by_place[0].name, by_place[-1].name
    if complaint.pickup is not None:
        return guitar.pickup(complaint.pickup).name, None
    usual = default_pickup(guitar).name
    if complaint.position is not None:
        on = pickups_on(guitar, complaint.position)
        return (usual if usual in on else on[0]), None
    return usual, None


def _told_louder(guitar: Guitar, complaint: Complaint, word: Word) -> str | None:
    if word.other is None:
        return None
    return guitar.pickup(complaint.pickup or default_pickup(guitar).name).name


def default_pickup(guitar: Guitar) -> Pickup:
    """Return the pickup that is meant when none is named: the one the selector is on, else the first."""
    selector = guitar.controls.selector
    at = [one for one in guitar.pickups if one.position == selector]
    named = [one.on[0] for one in positions_of(guitar) if one.name == selector and len(one.on) == 1]
    return at[0] if at else guitar.pickup(named[0]) if named else guitar.pickups[0]


def _heard_in(guitar: Guitar, pickup: str, view: View) -> Guitar:
    """Return the guitar in the setting in which the complaint is heard."""
    the_pickup = guitar.pickup(pickup)
    if view == "split":
        if not the_pickup.built.can_split:
            raise InputError(f"{pickup} is a {the_pickup.built.words} with one coil; it has no split.")
        if not the_pickup.wiring.startswith("split"):
            return rewire(guitar, guitar.pickups.index(the_pickup), "split-screws")
    if view == "volume down" and controls_of(guitar, pickup).volume_setting > TURNED_DOWN:
        return with_controls(guitar, pickup, volume_setting=TURNED_DOWN)
    return guitar


class Distance:
    """The distance in level between the two pickups of a mismatch, and how a change moves it.

    Where it was said which one is louder, the ear is believed: the distance counts from that one to the other.
    """

    def __init__(self, bench: StateBench, job: Job, before: State) -> None:
        assert job.partner is not None
        self.bench, self.job = bench, job
        self.other_before = bench.state(job.base, job.partner)
        self.before = before.level_db - self.other_before.level_db

    @property
    def louder(self) -> str:
        """The pickup that plays louder, as was said or else as computed."""
        assert self.job.partner is not None
        return self.job.told_louder or (self.job.pickup if self.before >= 0 else self.job.partner)

    def change(self, after: State, guitar: Guitar, *, both_moved: bool) -> float:
        """Return how much larger (+) or smaller (-) the distance is after it, dB."""
        assert self.job.partner is not None
        other = self.bench.state(guitar, self.job.partner) if both_moved else self.other_before
        now = after.level_db - other.level_db
        if self.job.told_louder is None:
            return abs(now) - abs(self.before)
        return (now - self.before) * (1.0 if self.job.told_louder == self.job.pickup else -1.0)

    @property
    def words(self) -> str:
        """What is computed of it beside what was said; "" where they agree."""
        told = self.job.told_louder
        here = self.before if told == self.job.pickup else -self.before
        if told is None or here >= 0:
            return ""
        other = self.job.partner if told == self.job.pickup else self.job.pickup
        return (
            f"Said: {told} is louder than {other}. Computed from the file: {-here:.1f} dB quieter; "
            "look at gaps and readings of both before anything is moved."
        )
